/// Returns a text in which `port OLD` has become `port NEW`, wherever it stands as words.
pub fn with_port(text: &str, old: &str, new: &str) -> String {
    let mut moved = String::new();
    let mut rest = text;
    while let Some(at) = port_of(rest, old) {
        let end = at + "port ".len();
        moved += &rest[..end];
        moved += new;
        rest = &rest[end + old.len()..];
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

/// Finds where `port OLD` begins, as words.
fn port_of(text: &str, old: &str) -> Option<usize> {
    let wanted = format!("port {old}");
    let is_edge = |c: Option<char>| c.is_none_or(|c| !c.is_alphanumeric());
    text.match_indices(&wanted)
        .find(|(at, found)| {
            is_edge(text[..*at].chars().next_back()) && is_edge(text[at + found.len()..].chars().next())
        })
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
        assert_eq!(with_port("port A", "A", "port"), "port port");
    }

    #[test]
    fn a_port_that_is_named_without_the_word_is_seen() {
        assert!(names_bare("Block 3A with a pad.", "3A") && names_bare("from F.", "F"));
        assert!(!names_bare("Block 3AB.", "3A") && !names_bare("the rear feed", "rear"));
    }
}
