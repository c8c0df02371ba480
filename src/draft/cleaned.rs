use crate::console::hidden;

/// Returns a typed text as a procedure can hold it: on one line, with single blanks, and without hidden characters.
pub fn cleaned(text: &str) -> String {
    let spaced: String = text.chars().map(|c| if c.is_whitespace() { ' ' } else { c }).collect();
    let shown: String = spaced.chars().filter(|c| hidden(c.encode_utf8(&mut [0; 4])).is_none()).collect();
    shown.split(' ').filter(|word| !word.is_empty()).collect::<Vec<_>>().join(" ")
}

/// Returns the texts of a typed list, with commas or semicolons between, save inside double quotes; what differs in case,
/// blanks or hyphens only is taken once.
pub fn listed(text: &str) -> Vec<String> {
    let plain = |text: &str| text.to_lowercase().chars().filter(|c| c.is_alphanumeric()).collect::<String>();
    let mut is_quoted = false;
    let parts = text.split(|c| {
        is_quoted ^= c == '"';
        !is_quoted && [',', ';'].contains(&c)
    });
    let mut texts: Vec<String> = Vec::new();
    for text in parts.map(|part| cleaned(unquoted(part))).filter(|text| !plain(text).is_empty()) {
        if texts.iter().all(|known| plain(known) != plain(&text)) {
            texts.push(text);
        }
    }
    texts
}

/// Returns a text without the double quotes around it, where it has them.
pub fn unquoted(text: &str) -> &str {
    let text = text.trim();
    text.strip_prefix('"').and_then(|text| text.strip_suffix('"')).unwrap_or(text)
}

#[cfg(test)]
mod tests {
    use super::listed;

    #[test]
    fn commas_and_semicolons_part_a_list_save_inside_quotes() {
        assert_eq!(listed("late upshift, flare 2-3; shudder"), ["late upshift", "flare 2-3", "shudder"]);
        assert_eq!(listed("\"ream, then sleeve\", new seals"), ["ream, then sleeve", "new seals"]);
        assert_eq!(listed("\"ream, then sleeve\""), ["ream, then sleeve"]);
    }
}
