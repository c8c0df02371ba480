use crate::procedure::Aside;

/// What a typed line is: an answer, or one of the words that are always understood.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Saying {
    /// An answer to the question.
    Answer(String),
    /// Something else that ends the question.
    Aside(Aside),
    /// `again`, and the name of something; no word of a session, but of a draft.
    AgainOf(String),
    /// `cannot`: the step can't be done, for a reason.
    Cannot(String),
    /// `help`: what can be said here.
    Help,
    /// `progress`: where in the procedure this is.
    Progress,
    /// One of the words, but not complete; the text says how it is written.
    Incomplete(&'static str),
}

/// The words that are always understood, and what they do.
pub const SAYINGS: &[(&str, &str)] = &[
    ("help", "or ?: this list, and what is wanted here"),
    ("progress", "where you are and what is left"),
    ("back", "undo the last answer; back 3 undoes three"),
    ("again", "take the last answer again and keep the rest; again 3 takes the third last"),
    ("jot TEXT", "put a note into the record"),
    ("cannot REASON", "this step can't be done; the record says why"),
    ("park", "stop here and keep everything; resume with guide --resume"),
];

/// The most answers that are undone at once.
const FARTHEST_BACK: usize = 9;

/// Reads a line as typed. A text in double quotes is always an answer; where free text is asked for, only a whole line
/// that is one of the short words is taken for that word.
pub fn read_saying(line: &str) -> Saying {
    let line = line.trim();
    if let Some(quoted) = line.strip_prefix('"').and_then(|rest| rest.strip_suffix('"'))
        && !quoted.is_empty()
        && !quoted.contains('"')
    {
        return Saying::Answer(quoted.to_owned());
    }
    let (word, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
    let rest = rest.trim();
    let steps =
        if rest.is_empty() { Some(1) } else { rest.parse().ok().filter(|n| (1..=10_000).contains(n)) };
    match (word.to_lowercase().as_str(), rest.is_empty(), steps) {
        ("help" | "?", true, _) => Saying::Help,
        ("progress", true, _) => Saying::Progress,
        ("park", true, _) => Saying::Aside(Aside::Park),
        ("back", _, Some(steps)) if steps > FARTHEST_BACK => {
            Saying::Incomplete("At most nine answers at once, lest a slip of a key undo the session: back 9")
        }
        ("back", _, Some(steps)) => Saying::Aside(Aside::Back(steps)),
        ("again", _, Some(steps)) => Saying::Aside(Aside::Again(steps)),
        ("again", ..) => Saying::AgainOf(rest.to_owned()),
        ("jot", false, _) => Saying::Aside(Aside::Jot(rest.to_owned())),
        ("jot", true, _) => Saying::Incomplete("Write the note behind it: jot plate is nicked at port 3A"),
        ("cannot", false, _) => Saying::Cannot(rest.to_owned()),
        ("cannot", true, _) => Saying::Incomplete("Write the reason behind it: cannot no plate for port 3A"),
        _ => Saying::Answer(line.to_owned()),
    }
}
