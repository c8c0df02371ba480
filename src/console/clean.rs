/// Returns the text without anything that could move a cursor, recolour a terminal or reorder a line.
///
/// Control characters other than the line feed, escape sequences' introducers, bidirectional controls, zero-width
/// characters and line separators are each replaced by `·`, so that a hostile text stays visible as such.
pub(crate) fn clean(text: &str) -> String {
    text.chars().map(|c| if c != '\n' && is_hidden(c) { '·' } else { c }).collect()
}

/// Returns the first character that [`clean`] would replace.
pub(crate) fn hidden(text: &str) -> Option<char> {
    // Most texts are plain, which is seen at a glance: many bytes are looked at at once.
    if text.bytes().fold(true, |is_plain, byte| is_plain & matches!(byte, b'\n' | b' '..=b'~')) {
        return None;
    }
    text.chars().find(|c| *c != '\n' && is_hidden(*c))
}

/// Returns a JSON text with every character that [`clean`] would replace as an escape, which means the same in JSON.
pub(super) fn escaped(json: &str) -> String {
    let mut shown = String::with_capacity(json.len());
    for c in json.chars() {
        if c == '\n' || !is_hidden(c) {
            shown.push(c);
        } else {
            for unit in c.encode_utf16(&mut [0; 2]) {
                shown.push_str(&format!("\\u{unit:04x}"));
            }
        }
    }
    shown
}

fn is_hidden(c: char) -> bool {
    c.is_control()
        || matches!(c,
            '\u{00AD}' | '\u{061C}' | '\u{180E}' | '\u{200B}'..='\u{200F}' | '\u{2028}'..='\u{202E}'
            | '\u{2060}'..='\u{206F}' | '\u{FEFF}' | '\u{FFF9}'..='\u{FFFB}' | '\u{E0000}'..='\u{E007F}')
}

#[cfg(test)]
#[path = "../../tests/inside/console.rs"]
mod tests;
