use rhai::{ParseError, ParseErrorType};

use super::tokens::{Kind, Token};
use super::{Fault, VOCABULARY, nearest};

/// What is said behind a name that nobody has defined.
pub(crate) const NOT_DEFINED: &str = " has not been defined";
/// What is said behind a name that is given twice.
pub(crate) const DEFINED_ALREADY: &str = " is defined already";
/// What help begins with where another name was meant.
pub(crate) const MEANT: &str = "did you mean ";

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
    match NAMED.iter().find(|(known, ..)| *known == mark) {
        Some((_, name, help)) => ((*name).to_owned(), (*help).to_owned()),
        None => (format!("a {mark}"), format!("write {mark} here")),
    }
}

/// Explains a syntax error that is no known slip of the pen.
pub(crate) fn explain(file: &str, error: &ParseError, tokens: &[Token<'_>]) -> Fault {
    if let ParseErrorType::VariableUndefined(name) = error.err_type()
        && let Some(fault) = misnamed(file, name, error, tokens)
    {
        return fault;
    }
    if let Some(before) = unended(error, tokens) {
        let fault = Fault::new(file, before.position(), "a semicolon is missing behind this");
        return fault.help("end each statement with a semicolon");
    }
    let fault = Fault::new(file, error.position(), message(error.err_type()));
    match help(error.err_type(), tokens) {
        Some(help) => fault.help(help),
        None => fault,
    }
}

/// Returns what ends a statement without its semicolon, where the next begins on a line below it.
fn unended<'a>(error: &ParseError, tokens: &'a [Token<'a>]) -> Option<&'a Token<'a>> {
    let ParseErrorType::MissingToken(mark, _) = error.err_type() else { return None };
    let (line, column) = (error.position().line()?, error.position().position()?);
    let n = tokens.iter().position(|token| (token.line, token.column) == (line, column))?;
    let before = tokens.get(n.checked_sub(1)?)?;
    (mark == ";" && before.line < line && !before.text.contains('\n')).then_some(before)
}

fn message(error: &ParseErrorType) -> String {
    match error {
        ParseErrorType::MissingToken(token, _) => match NAMED.iter().find(|(mark, ..)| mark == token) {
            Some((_, name, _)) => format!("{name} is missing before this"),
            None => format!("\"{token}\" is missing before this"),
        },
        ParseErrorType::UnexpectedEOF => "the file ends in the middle of a statement".to_owned(),
        ParseErrorType::VariableUndefined(name) => format!("\"{name}\"{NOT_DEFINED}"),
        ParseErrorType::VariableExists(name) => format!("\"{name}\"{DEFINED_ALREADY}"),
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
        ParseErrorType::MissingToken(token, _) => {
            return NAMED.iter().find(|(mark, ..)| mark == token).map(|(.., help)| (*help).to_owned());
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
    let is_compared =
        |pair: &[Token<'_>]| pair[1].is(name) && ["==", "!="].iter().any(|mark| pair[0].is(mark));
    if ["yes", "no"].contains(&name) && tokens.windows(2).any(is_compared) {
        return format!("a choice is a text: write \"{name}\"");
    }
    let is_label = |four: &[Token<'_>]| {
        let takes_text = ["read", "trial"].iter().any(|word| four[0].is(word));
        takes_text && four[1].is("(") && four[2].is(name) && four[3].is(")")
    };
    if tokens.windows(4).any(is_label) {
        return format!("a label is a text: write \"{name}\"");
    }
    let near = meant(name, tokens);
    match near {
        Some(near) => format!("{MEANT}{near}?"),
        None => "define it first with let, or put a text in double quotes".to_owned(),
    }
}

/// Returns the name given above that was meant by one that nobody has given.
pub(super) fn meant<'t>(name: &str, tokens: &[Token<'t>]) -> Option<&'t str> {
    // What is given further down is not there yet.
    let used = tokens.iter().position(|token| token.is(name)).unwrap_or(tokens.len());
    let names = given(&tokens[..used]).map(|token| token.text).filter(|known| *known != name);
    nearest(name, names.chain(["true", "false"]))
}

/// Returns the places where a name is given to something.
fn given<'t, 's>(tokens: &'s [Token<'t>]) -> impl Iterator<Item = &'s Token<'t>> {
    let named = tokens.windows(2).filter(|pair| {
        pair[1].kind == Kind::Word && ["let", "const", "for", "|"].iter().any(|before| pair[0].is(before))
    });
    named.map(|pair| &pair[1])
}

/// Returns where a name is given that is used nowhere, most likely as another that nobody has given.
pub(super) fn given_as<'s, 't>(
    name: &str,
    before: &'s [Token<'t>],
    tokens: &[Token<'_>],
) -> Option<&'s Token<'t>> {
    let uses = |name: &str| tokens.iter().filter(|token| token.is(name)).count();
    let given: Vec<_> = given(before).filter(|token| uses(token.text) == 1).collect();
    let near = nearest(name, given.iter().map(|token| token.text))?;
    let is_meant = uses(name) > 1 || near.len() < name.len();
    given.into_iter().rfind(|token| token.is(near)).filter(|_| is_meant)
}

/// Explains a name that has no `let`, or that is given under another name, which is used nowhere then.
fn misnamed(file: &str, name: &str, error: &ParseError, tokens: &[Token<'_>]) -> Option<Fault> {
    let place = (error.position().line()?, error.position().position()?);
    let n = tokens.partition_point(|token| (token.line, token.column) < place);
    let begins =
        n.checked_sub(1).is_none_or(|before| [";", "{", "}"].iter().any(|mark| tokens[before].is(mark)));
    if let Some(token) = given_as(name, &tokens[..n], tokens) {
        let message = format!("{} is used nowhere, and {name} given nowhere", token.text);
        return Some(Fault::new(file, token.position(), message).help("write the two alike"));
    }
    let is_given = begins && tokens.get(n + 1).is_some_and(|next| next.is("="));
    is_given.then(|| {
        Fault::new(file, error.position(), format!("{name} has no let"))
            .help(format!("write let {name} = ..."))
    })
}
