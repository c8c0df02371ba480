//! Names that nobody has given or that are given twice: what was meant, and what stands in for them.

use rhai::{ParseError, ParseErrorType};

use super::edits::{Edit, said};
use super::lexicon::{Lexicon, is_a};
use super::tokens::{Kind, Token, open_before};
use super::{VOCABULARY, nearest};

/// What help begins with where another name was meant.
pub(super) const MEANT: &str = "did you mean ";

/// Explains a name that nobody has given, or that is given twice, and mends the place.
pub(super) fn misnamed(error: &ParseError, tokens: &[Token<'_>]) -> Option<Edit> {
    let place = (error.position().line()?, error.position().position()?);
    let n = tokens.partition_point(|token| (token.line, token.column) < place);
    let token = tokens.get(n)?;
    match error.err_type() {
        ParseErrorType::VariableUndefined(name) if token.is(name) => Some(undefined(tokens, n)),
        ParseErrorType::VariableExists(name) if token.is(name) => doubled(tokens, n),
        _ => None,
    }
}

/// Writes something in place of a token, and says something of one.
fn edit(token: &Token<'_>, with: &str, of: &Token<'_>, message: String, help: impl Into<String>) -> Edit {
    let fault = said(of.line, of.column, message, help);
    Edit { bytes: token.start..token.end(), with: with.to_owned(), fault }
}

/// Returns the places where a name is given to something.
fn given<'t, 's>(tokens: &'s [Token<'t>]) -> impl Iterator<Item = &'s Token<'t>> {
    let named = tokens.windows(2).filter(|pair| {
        pair[1].kind == Kind::Word && ["let", "const", "for", "|"].iter().any(|before| pair[0].is(before))
    });
    named.map(|pair| &pair[1])
}

/// A name that is given twice: where one below it is not given at all, that one was meant.
fn doubled(tokens: &[Token<'_>], n: usize) -> Option<Edit> {
    let (token, lexicon) = (&tokens[n], Lexicon::of(tokens));
    let is_missing = |at: &usize| tokens[*at].kind == Kind::Word && lexicon.is_unknown(tokens, *at);
    let missing = (n + 1..tokens.len()).find(is_missing).map(|at| tokens[at].text);
    let known = || given(tokens).map(|token| token.text);
    let missing = missing.filter(|missing| nearest(missing, known()).is_none_or(|near| near == token.text));
    let message = format!("\"{}\" is defined already", token.text);
    if let Some(missing) = missing {
        let help = format!("give it another name: {missing} is used below and given nowhere");
        return Some(edit(token, missing, token, message, help));
    }
    let help = "give it another name, or leave out let to change the first";
    Some(edit(&tokens[n.checked_sub(1)?], "", token, message, help))
}

/// A name that nobody has given: what it was meant to be stands in for it.
fn undefined(tokens: &[Token<'_>], n: usize) -> Edit {
    let token = &tokens[n];
    let name = token.text;
    let uses = |name: &str| tokens.iter().filter(|token| token.is(name)).count();
    // Given once and used nowhere, a name is the slip, and not every place that uses what was meant.
    let unused: Vec<_> = given(&tokens[..n]).filter(|token| uses(token.text) == 1).collect();
    let near = nearest(name, unused.iter().map(|token| token.text));
    let near = near.filter(|near| uses(name) > 1 || near.len() < name.len());
    // What is given elsewhere, as in another test, was meant as it stands.
    let near = near.filter(|_| given(tokens).all(|token| !token.is(name)));
    if let Some(given) = near.and_then(|near| unused.into_iter().rfind(|token| token.is(near))) {
        let message = format!("{} is used nowhere, and {name} given nowhere", given.text);
        return edit(given, name, given, message, "write the two alike");
    }
    let is_before = |back: usize, words: &[&str]| {
        let before = n.checked_sub(back).map(|before| &tokens[before]);
        before.map_or(words.contains(&";"), |before| words.iter().any(|word| before.is(word)))
    };
    let is_behind = |mark: &str| tokens.get(n + 1).is_some_and(|next| next.is(mark));
    let is_asked = is_behind(".") && tokens.get(n + 2).is_some_and(|asked| is_a(asked.text, "METHOD"));
    let steps =
        (3..n).rev().find(|at| tokens[*at].is("{") && tokens[at - 1].is("|") && tokens[at - 3].is("|"));
    let test = steps.map(|at| tokens[at - 2].text).filter(|_| is_asked && name == "t");
    let around = open_before(tokens, n).first().copied().unwrap_or(0);
    let mut before = (0..around).rev().take_while(|at| ![";", "}"].iter().any(|mark| tokens[*at].is(mark)));
    let function = before.find(|at| tokens[*at].is("fn")).and_then(|at| tokens.get(at + 1));
    let near = nearest(name, given(&tokens[..n]).map(|token| token.text).chain(["true", "false"]));
    let is_outside = near == Some(name);
    let near = near.filter(|_| !is_outside);
    let stand_in = if is_before(1, &["if", "while", "!", "&&", "||"]) { "true" } else { "()" };
    let not_defined = format!("\"{name}\" has not been defined");
    let (message, help) = if is_before(1, &[";", "{", "}"]) && is_behind("=") {
        (format!("{name} has no let"), format!("write let {name} = ..."))
    } else if let Some(word) = VOCABULARY.iter().find(|word| word.name == name) {
        (not_defined, format!("it is a word of the language; write it like {}", word.form))
    } else if ["yes", "no"].contains(&name) && is_before(1, &["==", "!="]) {
        (not_defined, format!("a choice is a text: write \"{name}\""))
    } else if is_before(2, &["read", "trial"]) && is_before(1, &["("]) && is_behind(")") {
        (not_defined, format!("a label is a text: write \"{name}\""))
    } else if let Some(test) = test {
        (not_defined, format!("the test is called {test} here: write {test}.{}(...)", tokens[n + 2].text))
    } else if let Some(function) = function.filter(|_| is_outside || is_asked && name == "t") {
        let message = format!("\"{name}\" is not known inside a function");
        (
            message,
            format!(
                "hand it over: put {name} between the brackets of {}, here and where it is called",
                function.text
            ),
        )
    } else if is_outside {
        let message = format!("\"{name}\" is not known outside the {{ }} that it is given in");
        (message, format!("write let {name} = ...; before the {{, and {name} = ...; inside"))
    } else if let Some(near) = near {
        (not_defined, format!("{MEANT}{near}?"))
    } else {
        (not_defined, "define it first with let, or put a text in double quotes".to_owned())
    };
    edit(token, test.or(near).unwrap_or(stand_in), token, message, help)
}
