use crate::console::hidden;

/// Returns a typed text as a procedure can hold it: on one line, with single blanks, and without hidden characters.
pub fn cleaned(text: &str) -> String {
    let spaced: String = text.chars().map(|c| if c.is_whitespace() { ' ' } else { c }).collect();
    let shown: String = spaced.chars().filter(|c| hidden(c.encode_utf8(&mut [0; 4])).is_none()).collect();
    shown.split(' ').filter(|word| !word.is_empty()).collect::<Vec<_>>().join(" ")
}

/// Returns the texts of a typed list, with commas or semicolons between; what differs in case, blanks or hyphens only
/// is taken once.
pub fn listed(text: &str) -> Vec<String> {
    let plain = |text: &str| text.to_lowercase().chars().filter(|c| c.is_alphanumeric()).collect::<String>();
    let mut texts: Vec<String> = Vec::new();
    for text in text.split([',', ';']).map(cleaned).filter(|text| !plain(text).is_empty()) {
        if texts.iter().all(|known| plain(known) != plain(&text)) {
            texts.push(text);
        }
    }
    texts
}
