//! The engine's errors of parsing in the words of procedures.

use rhai::{LexError, ParseErrorType};

/// Marks that a statement needs: how each is called, and what to do.
const NAMED: &[(&str, &str, &str)] = &[
    (";", "a semicolon", "end each statement with a semicolon"),
    (",", "a comma", "put a comma between the two"),
    (":", "a colon", "write a colon between a key and its value, as in port: \"3A\""),
    ("{", "a {", "put a { at the end of the line above"),
    ("}", "a }", "put a comma after each entry, and close with } where it ends"),
    (")", "a )", "close with ) what was opened with ("),
    ("]", "a ]", "put commas between the entries of a list, and close it with ]"),
    ("|", "a |", "write |t| { for the steps of a test"),
    ("=", "a =", "write let NAME = ... to give a name to something"),
];

/// Returns what a mark that is missing is called, and what helps.
pub(super) fn mark_missing(mark: &str) -> (String, String) {
    let known = NAMED.iter().find(|(known, ..)| *known == mark);
    known.map_or_else(
        || (format!("a {mark}"), format!("write {mark} here")),
        |(_, name, help)| ((*name).to_owned(), (*help).to_owned()),
    )
}

/// Returns whether an error is no slip of the pen, so that no edit would be what was meant.
pub(super) fn is_no_slip(error: &ParseErrorType) -> bool {
    use ParseErrorType::{
        BadInput, DuplicatedProperty, ExprTooDeep, LiteralTooLarge, LoopBreak, TooManyFunctions,
        WrongFnDefinition,
    };
    matches!(
        error,
        DuplicatedProperty(_)
            | ExprTooDeep
            | LoopBreak
            | WrongFnDefinition
            | TooManyFunctions
            | LiteralTooLarge(..)
            | BadInput(LexError::StringTooLong(_))
    )
}

/// Returns whether an error is a word that is kept out of procedures: what stands in its place is no question of marks.
pub(super) fn is_barred(error: &ParseErrorType) -> bool {
    matches!(error, ParseErrorType::BadInput(LexError::ImproperSymbol(_, said)) if said.ends_with("is disabled"))
}

/// Returns what an error of the engine's means, and what helps where that is known.
pub(super) fn explain(error: &ParseErrorType) -> (String, String) {
    use ParseErrorType::{
        AssignmentToConstant, DuplicatedProperty, FnDuplicatedDefinition, LoopBreak, MissingToken,
        ModuleUndefined, PropertyExpected, Reserved, UnexpectedEOF, WrongFnDefinition,
    };
    let (message, help) = match error {
        MissingToken(mark, _) => {
            let (name, help) = mark_missing(mark);
            return (format!("{name} is missing before this"), help);
        }
        ModuleUndefined(name) => {
            let help = format!("write import \"FILE\" as {name}; above, FILE without its ending");
            return (format!("no module has been imported as \"{name}\""), help);
        }
        Reserved(word) if word == "switch" => {
            ("there is no switch".to_owned(), "write if ... else if ... else")
        }
        Reserved(_) => (lowered(error), "this word is reserved; choose another"),
        UnexpectedEOF => ("the file ends in the middle of a statement".to_owned(), ""),
        DuplicatedProperty(name) => (format!("the key \"{name}\" stands here twice"), "keep one of the two"),
        FnDuplicatedDefinition(name, _) => {
            (format!("the function \"{name}\" is defined twice"), "give one of the two another name")
        }
        AssignmentToConstant(name) => {
            let message = format!("\"{name}\" is a constant and can't change");
            (message, "write let instead of const where it is defined")
        }
        WrongFnDefinition => {
            let message = "a function can't be defined inside something else".to_owned();
            (message, "move it to the left edge, before what uses it")
        }
        LoopBreak => {
            let help = "remove it, or look whether a } above ends its loop too early";
            ("break and continue belong inside a loop".to_owned(), help)
        }
        PropertyExpected => {
            let help = "write a unit as in 20.inHg, or end a sentence's number with a blank";
            ("a point must be followed by a unit or a word".to_owned(), help)
        }
        _ => (lowered(error), ""),
    };
    (message, help.to_owned())
}

/// Returns what the engine says, without its capital.
fn lowered(error: &ParseErrorType) -> String {
    let text = error.to_string();
    let mut letters = text.chars();
    let first = letters.next().map(|c| c.to_lowercase().to_string()).unwrap_or_default();
    format!("{first}{}", letters.as_str())
}
