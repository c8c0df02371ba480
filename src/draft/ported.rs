/// Returns a text in which `port OLD` has become `port NEW`, wherever it stands as words; also at the beginning of a sentence,
/// and as the first of several `ports`.
pub fn with_port(text: &str, old: &str, new: &str) -> String {
    let mut moved = String::new();
    let mut rest = text;
    while let Some(at) = port_of(rest, old) {
        moved += &rest[..at];
        moved += new;
        rest = &rest[at + old.len()..];
    }
    moved + rest
}

/// Returns whether a text names something as a port is named, without saying `port`: a word of its own that has a figure in
/// it, or is one capital letter.
pub fn names_bare(text: &str, old: &str) -> bool {
    let is_like_one = old.chars().any(|c| c.is_ascii_digit()) || old.chars().count() == 1;
    let mut words = text.split(|c: char| !c.is_alphanumeric());
    is_like_one && words.any(|word| word == old)
}

/// Finds where a port of this name stands behind the word.
fn port_of(text: &str, old: &str) -> Option<usize> {
    let is_edge = |c: Option<char>| c.is_none_or(|c| !c.is_alphanumeric());
    let is_behind = |before: &str| {
        let before = before.strip_suffix(' ').unwrap_or_default().to_lowercase();
        let word = before.rsplit(|c: char| !c.is_alphanumeric()).next();
        word.is_some_and(|word| word == "port" || word == "ports")
    };
    text.match_indices(old)
        .find(|(at, found)| is_behind(&text[..*at]) && is_edge(text[at + found.len()..].chars().next()))
        .map(|(at, _)| at)
}

#[cfg(test)]
mod tests {
    use super::{names_bare, with_port};

    #[test]
    fn a_port_moves_where_it_stands_as_words_and_nowhere_else() {
        let moved = |text| with_port(text, "3A", "4C");
        assert_eq!(moved("Plate over port 3A, valve in."), "Plate over port 4C, valve in.");
        assert_eq!(moved("port 3A and port 3AB, support 3A"), "port 4C and port 3AB, support 3A");
        assert_eq!(moved("Port 3A open, ports 3A and 3B."), "Port 4C open, ports 4C and 3B.");
        assert_eq!(with_port("port A", "A", "port"), "port port");
    }

    #[test]
    fn a_port_that_is_named_without_the_word_is_seen() {
        assert!(names_bare("Block 3A with a pad.", "3A") && names_bare("from F.", "F"));
        assert!(!names_bare("Block 3AB.", "3A") && !names_bare("the rear feed", "rear"));
    }
}
