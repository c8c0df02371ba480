use rhai::{ParseError, ParseErrorType};

use super::Diagnostic;
use super::source::SourceFile;

/// Explains a syntax error, with what to write instead for the slips that people make most.
pub(super) fn explain(file: &SourceFile, error: &ParseError) -> Diagnostic {
    let position = error.position();
    let diagnostic = Diagnostic::new(&file.name, position, message(error.err_type()));
    let line = position.line().and_then(|line| file.text.lines().nth(line - 1)).unwrap_or_default();
    match slip(error.err_type(), line) {
        Some(help) => diagnostic.help(help),
        None => diagnostic,
    }
}

fn message(error: &ParseErrorType) -> String {
    match error {
        ParseErrorType::MissingToken(token, why) => format!("\"{token}\" is missing here, {why}"),
        ParseErrorType::UnexpectedEOF => "the file ends in the middle of a statement".to_owned(),
        ParseErrorType::VariableUndefined(name) => format!("\"{name}\" has not been defined"),
        ParseErrorType::VariableExists(name) => format!("\"{name}\" is defined already"),
        other => {
            let text = other.to_string();
            let mut letters = text.chars();
            let first = letters.next().map(|c| c.to_lowercase().to_string()).unwrap_or_default();
            format!("{first}{}", letters.as_str())
        }
    }
}

fn slip(error: &ParseErrorType, line: &str) -> Option<&'static str> {
    let text = error.to_string();
    let word = |word: &str| line.split(|c: char| !c.is_alphanumeric() && c != '_').any(|found| found == word);
    if line.contains(['“', '”', '„', '‘', '’', '«', '»']) {
        return Some("use straight quotes, \"like these\"; word processors turn them into curly ones");
    }
    if word("try") || word("catch") {
        return Some("a procedure can't catch errors: what goes wrong must stop it");
    }
    if word("eval") {
        return Some("a procedure can't run text as a script");
    }
    if word("switch") {
        return Some("write if ... else if ... else");
    }
    if word("print") || word("debug") {
        return Some("use say(\"...\") to tell the technician something");
    }
    if word("elif") || word("elseif") {
        return Some("write else if");
    }
    if word("and") || word("or") || word("not") {
        return Some("write && for and, || for or, ! for not");
    }
    if line.contains('%') {
        return Some("there is no percent sign: write 5 % as 0.05");
    }
    if line.contains('\'') && text.contains('\'') || text.contains("character") {
        return Some("texts stand in double quotes, \"like this\"");
    }
    if line.as_bytes().windows(3).any(|w| w[0].is_ascii_digit() && w[1] == b',' && w[2].is_ascii_digit()) {
        return Some("write decimals with a point, 12.7, not a comma");
    }
    match error {
        ParseErrorType::Reserved(_) => Some("this name is reserved; choose another"),
        ParseErrorType::VariableUndefined(_) => {
            Some("define it first with let, or put a text in double quotes")
        }
        ParseErrorType::MissingToken(token, _) if token == ";" => {
            Some("end the statement before with a semicolon")
        }
        ParseErrorType::MissingToken(token, _) if token == "," || token == "}" => {
            Some("inside #{ ... } put a comma after each line, and close it with }")
        }
        ParseErrorType::VariableExists(_) => {
            Some("give it another name: nothing may be hidden by a second let")
        }
        _ => None,
    }
}
