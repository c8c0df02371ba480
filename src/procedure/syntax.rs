use rhai::{ParseError, ParseErrorType};

use super::tokens::{Kind, Token};
use super::{Diagnostic, VOCABULARY, nearest};

/// Explains a syntax error that is no known slip of the pen.
pub(super) fn explain(file: &str, error: &ParseError, tokens: &[Token<'_>]) -> Diagnostic {
    let diagnostic = Diagnostic::new(file, error.position(), message(error.err_type()));
    match help(error.err_type(), tokens) {
        Some(help) => diagnostic.help(help),
        None => diagnostic,
    }
}

fn message(error: &ParseErrorType) -> String {
    match error {
        ParseErrorType::MissingToken(token, _) if token == ";" => {
            "a statement should have ended before this".to_owned()
        }
        ParseErrorType::MissingToken(token, why) => format!("\"{token}\" is missing here, {why}"),
        ParseErrorType::UnexpectedEOF => "the file ends in the middle of a statement".to_owned(),
        ParseErrorType::VariableUndefined(name) => format!("\"{name}\" has not been defined"),
        ParseErrorType::VariableExists(name) => format!("\"{name}\" is defined already"),
        ParseErrorType::DuplicatedProperty(name) => format!("the key \"{name}\" stands here twice"),
        ParseErrorType::FnDuplicatedDefinition(name, _) => {
            format!("the function \"{name}\" is defined twice")
        }
        ParseErrorType::AssignmentToConstant(name) => format!("\"{name}\" is a constant and can't change"),
        ParseErrorType::WrongFnDefinition => "a function can't be defined inside something else".to_owned(),
        ParseErrorType::LoopBreak => "break and continue belong inside a loop".to_owned(),
        ParseErrorType::PropertyExpected => "a point must be followed by a unit or a word".to_owned(),
        ParseErrorType::ModuleUndefined(name) => format!("no module has been imported as \"{name}\""),
        other => {
            let text = other.to_string();
            let mut letters = text.chars();
            let first = letters.next().map(|c| c.to_lowercase().to_string()).unwrap_or_default();
            format!("{first}{}", letters.as_str())
        }
    }
}

fn help(error: &ParseErrorType, tokens: &[Token<'_>]) -> Option<String> {
    let text = match error {
        ParseErrorType::VariableUndefined(name) => return Some(undefined(name, tokens)),
        ParseErrorType::ModuleUndefined(name) => {
            return Some(format!("write import \"FILE\" as {name}; above, FILE without its ending"));
        }
        ParseErrorType::Reserved(_) => "this word is reserved; choose another",
        ParseErrorType::MissingToken(token, _) if token == ";" => "end the line above with a semicolon",
        ParseErrorType::MissingToken(token, _) if token == "," || token == "}" => {
            "inside #{ ... } put a comma after each entry, and close it with }"
        }
        ParseErrorType::VariableExists(_) => "give it another name, or leave out let to change the first",
        ParseErrorType::DuplicatedProperty(_) => "keep one of the two",
        ParseErrorType::FnDuplicatedDefinition(..) => "give one of the two another name",
        ParseErrorType::AssignmentToConstant(_) => "write let instead of const where it is defined",
        ParseErrorType::WrongFnDefinition => "move it to the left edge, before what uses it",
        ParseErrorType::PropertyExpected => {
            "write a unit as in 20.inHg, or end a sentence's number with a blank"
        }
        _ => return None,
    };
    Some(text.to_owned())
}

/// Says what a name that is not defined may have been meant to be.
fn undefined(name: &str, tokens: &[Token<'_>]) -> String {
    if let Some(word) = VOCABULARY.iter().find(|word| word.name == name) {
        return format!("it is a word of the language; write it like {}", word.form);
    }
    let named = tokens.windows(2).filter(|pair| {
        pair[1].kind == Kind::Word && ["let", "const", "for", "|"].iter().any(|before| pair[0].is(before))
    });
    let names = named.map(|pair| pair[1].text).filter(|known| *known != name);
    match nearest(name, names.chain(["true", "false"])) {
        Some(near) => format!("did you mean {near}?"),
        None => "define it first with let, or put a text in double quotes".to_owned(),
    }
}
