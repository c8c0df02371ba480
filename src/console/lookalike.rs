use unicode_security::confusable_detection::skeleton;

/// Returns what a name looks like: the same for two that a reader can't tell apart, whatever alphabet their letters are
/// of (Unicode UTS #39), or can tell apart by a capital, a blank or a hyphen only.
///
/// It is for comparing, not for reading. A hyphen between digits stays: 1-2 and 12 are two things.
pub(crate) fn looks(name: &str) -> String {
    let letters: Vec<char> = name.trim().chars().collect();
    let is_digit = |at: Option<usize>| at.and_then(|at| letters.get(at)).is_some_and(char::is_ascii_digit);
    let mut joined = String::new();
    for (at, letter) in letters.iter().enumerate() {
        match letter {
            letter if !is_gap(*letter) => joined.push(*letter),
            _ if is_digit(at.checked_sub(1)) && is_digit(Some(at + 1)) => joined.push('-'),
            _ => {}
        }
    }
    // A capital may look like another letter than the small one does.
    let folded = skeleton(&joined).collect::<String>().to_lowercase();
    skeleton(&folded).collect()
}

fn is_gap(letter: char) -> bool {
    letter.is_whitespace() || matches!(letter, '-' | '_' | '\u{2010}'..='\u{2015}' | '\u{2212}')
}
