use super::super::VOCABULARY;
use super::super::tokens::{Kind, Token};
use super::Slip;

/// Words that begin something of the language's, or of another one's.
const BEGINNING: &[&str] = &[
    "let", "const", "if", "else", "for", "while", "loop", "fn", "import", "return", "do", "switch",
    "private", "export", "elif", "elseif", "elsif", "function", "def", "var", "end", "endif",
];

/// How many words in a row are no part of a script.
const SENTENCE: usize = 3;

/// Finds notes that are not marked as such: whole lines of plain words, and `/` where `//` was meant.
pub(super) fn find(tokens: &[Token<'_>]) -> Vec<Slip> {
    let mut found = Vec::new();
    let mut begin = 0;
    let mut before: &[Token<'_>] = &[];
    while begin < tokens.len() {
        let length = tokens[begin..].iter().take_while(|token| token.line == tokens[begin].line).count();
        let line = &tokens[begin..begin + length];
        found.extend(lost(line, before).or_else(|| half(line)).or_else(|| behind(line)));
        before = line;
        begin += length;
    }
    found
}

/// A line that begins with three words and nothing between them, and has nothing in it that a script is made of.
fn lost(line: &[Token<'_>], before: &[Token<'_>]) -> Option<Slip> {
    let (first, last) = (line.first()?, line.last()?);
    let words = line.iter().take_while(|token| token.kind == Kind::Word).count();
    let is_foreign = |token: &Token<'_>| ["=", "#{", "{", "|", "=="].iter().any(|mark| token.is(mark));
    let is_open =
        |token: &&Token<'_>| token.kind == Kind::Text { closed: false } && token.text.starts_with('"');
    // The text before it goes on here, or it is an entry of a list.
    let goes_on = before.last().is_some_and(|token| is_open(&token))
        || last.is(",")
        || line.iter().any(|t| is_open(&t));
    let is_word = VOCABULARY.iter().any(|word| first.is(word.name));
    if words < SENTENCE + usize::from(is_word)
        || BEGINNING.iter().any(|word| first.is(word))
        || goes_on
        || line.iter().any(is_foreign)
    {
        return None;
    }
    Some(note(first, first, last, "this looks like a note"))
}

/// Words behind the end of a statement.
fn behind(line: &[Token<'_>]) -> Option<Slip> {
    let end = line.iter().rposition(|token| token.is(";"))?;
    let (first, last) = (line.get(end + 1)?, line.last()?);
    let is_word = |token: &Token<'_>| token.kind == Kind::Word;
    let begins_something =
        BEGINNING.iter().any(|word| first.is(word)) || VOCABULARY.iter().any(|word| first.is(word.name));
    let is_note = line[end + 1..].len() > 1 && line[end + 1..].iter().all(is_word) && !begins_something;
    is_note.then(|| note(first, first, last, "this looks like a note"))
}

/// `/ a note`, and what begins one elsewhere: `* a note`, `-- a note`, `\\ a note`.
fn half(line: &[Token<'_>]) -> Option<Slip> {
    let begins = |n: usize| n == 0 || [";", ",", "{", "}"].iter().any(|mark| line[n - 1].is(mark));
    let other = |n: usize| match line[n..] {
        [star, word, next, ..] if star.is("*") => [word, next].iter().all(|token| token.kind == Kind::Word),
        [one, other, ..] => one.is("\\") || (one.is("-") && other.is("-") && one.end() == other.start),
        _ => false,
    };
    let at = (0..line.len()).find(|n| begins(*n) && (line[*n].is("/") || other(*n)))?;
    Some(note(&line[at], &line[at], line.last()?, "a note begins with two strokes"))
}

fn note(at: &Token<'_>, first: &Token<'_>, last: &Token<'_>, message: &str) -> Slip {
    Slip::at(at, message, "begin a note with //").with(first.start..last.end(), "").covering_its_line()
}
