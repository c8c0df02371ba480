/// Returns the text without anything that could move a cursor, recolour a terminal or reorder a line.
///
/// Control characters other than the line feed, escape sequences' introducers, bidirectional controls, zero-width
/// characters and line separators are each replaced by `·`, so that a hostile text stays visible as such.
pub fn clean(text: &str) -> String {
    text.chars().map(|c| if c != '\n' && is_hidden(c) { '·' } else { c }).collect()
}

/// Returns the first character that [`clean`] would replace.
pub fn hidden(text: &str) -> Option<char> {
    text.chars().find(|c| *c != '\n' && is_hidden(*c))
}

fn is_hidden(c: char) -> bool {
    c.is_control()
        || matches!(c,
            '\u{00AD}' | '\u{061C}' | '\u{180E}' | '\u{200B}'..='\u{200F}' | '\u{2028}'..='\u{202E}'
            | '\u{2060}'..='\u{206F}' | '\u{FEFF}' | '\u{FFF9}'..='\u{FFFB}' | '\u{E0000}'..='\u{E007F}')
}

#[cfg(test)]
mod tests {
    use super::clean;

    #[test]
    fn escapes_and_bidirectional_controls_become_visible_dots() {
        assert_eq!(clean("a\u{1b}[2Jb\u{202e}c\rd\u{9b}e"), "a·[2Jb·c·d·e");
    }

    #[test]
    fn ordinary_text_and_line_feeds_pass_unchanged() {
        assert_eq!(clean("Größe 0,5 µm\n½ in"), "Größe 0,5 µm\n½ in");
    }
}
