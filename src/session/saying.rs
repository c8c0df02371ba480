//! The words that are always understood at a prompt.

use crate::console::Screen;
use crate::procedure::Aside;

/// What a typed line is: an answer, or one of the words that are always understood.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Saying {
    Answer(String),
    /// Something else that ends the question.
    Aside(Aside),
    /// `again`, and the name of something; no word of a session, but of a draft.
    AgainOf(String),
    /// `cannot`: the step can't be done, for a reason.
    Cannot(String),
    /// `not fitted`: the unit does not have the circuit under test, and by what that is known.
    NotFitted(String),
    Help,
    /// `progress`: where in the procedure this is.
    Progress,
    /// `more`: all that the last reading says.
    More,
    /// `photo`: a file, and what it shows.
    Photo(String),
    /// One of the words, but not complete; the text says how it is written.
    Incomplete(&'static str),
}

/// The words that are always understood, and what they do.
pub(crate) const SAYINGS: &[(&str, &str)] = &[
    ("help", "or ?: this list, and what is wanted here"),
    ("progress", "where you are and what is left"),
    ("more", "all that the last reading says: hole, scale, advice"),
    ("back", "undo the last answer; back 3 undoes three"),
    ("again", "take the last answer again and keep the rest; again 3 takes the third last"),
    ("jot TEXT", "put a note into the record"),
    ("photo FILE", "put a photo into the record; what it shows may stand behind it"),
    ("technician NAME", "somebody else tests from here on; the record says who read what"),
    ("cannot REASON", "this step can't be done; the record says why"),
    ("not fitted WHY", "this unit does not have this circuit; the record says by what you know"),
    ("park", "stop here; a session keeps everything, and it is told how to go on with it"),
];

/// The most answers that are undone at once.
const FARTHEST_BACK: usize = 9;

/// Reads a line as typed. A text in double quotes is always an answer; where free text is asked for, only a whole line
/// that is one of the short words is taken for that word.
pub(crate) fn read_saying(line: &str) -> Saying {
    let line = line.trim();
    if let Some(quoted) = line.strip_prefix('"').and_then(|rest| rest.strip_suffix('"'))
        && !quoted.is_empty()
        && !quoted.contains('"')
    {
        return Saying::Answer(quoted.to_owned());
    }
    let split = |line: &str| {
        line.split_once(char::is_whitespace).map(|(word, rest)| (word.to_owned(), rest.trim().to_owned()))
    };
    let (mut word, mut rest) = split(line).unwrap_or_else(|| (line.to_owned(), String::new()));
    if word.eq_ignore_ascii_case("not") && rest.to_lowercase().starts_with("fitted") {
        word = "not fitted".to_owned();
        rest = rest["fitted".len()..].trim().to_owned();
    }
    let steps =
        if rest.is_empty() { Some(1) } else { rest.parse().ok().filter(|n| (1..=10_000).contains(n)) };
    match (word.to_lowercase().as_str(), rest.is_empty(), steps) {
        ("help" | "?", true, _) => Saying::Help,
        ("progress", true, _) => Saying::Progress,
        ("more", true, _) => Saying::More,
        ("park", true, _) => Saying::Aside(Aside::Park),
        ("back", _, Some(steps)) if steps > FARTHEST_BACK => {
            Saying::Incomplete("At most nine answers at once, lest a slip of a key undo the session: back 9")
        }
        ("back", _, Some(steps)) => Saying::Aside(Aside::Back(steps)),
        ("again", _, Some(steps)) => Saying::Aside(Aside::Again(steps)),
        ("again", ..) => Saying::AgainOf(rest.to_owned()),
        ("jot", false, _) => Saying::Aside(Aside::Jot(rest.to_owned())),
        ("jot", true, _) => Saying::Incomplete("Write the note behind it: jot plate is nicked at port 3A"),
        ("photo", false, _) => Saying::Photo(rest),
        ("photo", true, _) => {
            Saying::Incomplete("Write its file behind it, or drop the file here: photo bore.jpg")
        }
        ("technician", false, _) => Saying::Aside(Aside::TakenOver(rest)),
        ("technician", true, _) => {
            Saying::Incomplete("Write who tests from here on behind it: technician Mo")
        }
        ("cannot", false, _) => Saying::Cannot(rest.to_owned()),
        ("cannot", true, _) => Saying::Incomplete("Write the reason behind it: cannot no plate for port 3A"),
        ("not fitted", false, _) => Saying::NotFitted(rest),
        ("not fitted", true, _) => {
            Saying::Incomplete("Write behind it by what you know: not fitted this body has no lockup valve")
        }
        _ => Saying::Answer(line.to_owned()),
    }
}

/// Said above the words that are always understood.
pub(crate) const ALSO: &str = "At any question you may also type:";

/// Lists words that may be typed, with what each does.
pub(crate) fn list_words(screen: &mut Screen, indent: usize, heading: &str, words: &[(&str, &str)]) {
    screen.paragraph(indent, heading);
    let listed = || words.iter().filter(|(_, does)| !does.is_empty());
    let width = listed().map(|(word, _)| word.len()).max().unwrap_or_default();
    for (word, does) in listed() {
        screen.item(&format!("{:indent$}{word:<width$}  ", ""), does);
    }
}
