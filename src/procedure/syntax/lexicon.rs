//! Which words mean something: those of the language, and those that a file gives a meaning to.

use std::collections::HashSet;

use rhai::Token as EngineToken;

use super::tokens::{Kind, Token, is_closing};
use super::{PROPERTIES, Sort, Stands, VOCABULARY, is_general, property_names, word_named};

/// The words that a file gives a meaning to itself, beside those of the language.
pub(super) struct Lexicon {
    /// What is given by `let`, as what a loop goes through, as what steps or a function take, and functions.
    given: HashSet<String>,
    /// Keys of the file's own descriptions.
    keys: HashSet<String>,
    /// What is called somewhere.
    called: HashSet<String>,
}

impl Lexicon {
    /// Gathers them.
    pub(super) fn of(tokens: &[Token<'_>]) -> Lexicon {
        let mut lexicon = Lexicon { given: HashSet::new(), keys: HashSet::new(), called: HashSet::new() };
        lexicon.add(tokens);
        lexicon
    }

    /// Adds those of another text.
    pub(super) fn add(&mut self, tokens: &[Token<'_>]) {
        const NAMES: &[(&str, usize)] =
            &[("let", 1), ("const", 1), ("for", 1), ("as", 1), ("fn", 16), ("|", 8)];
        for (n, token) in tokens.iter().enumerate() {
            match tokens.get(n + 1).filter(|_| token.kind == Kind::Word).map(|next| next.text) {
                Some(":") => _ = self.keys.insert(token.text.to_owned()),
                Some("(") => _ = self.called.insert(token.text.to_owned()),
                _ => {}
            }
            if let Some((_, most)) = NAMES.iter().find(|(word, _)| token.is(word)) {
                let line = tokens[n + 1..].iter().take_while(|next| next.line == token.line).take(*most);
                let names = line.take_while(|next| next.kind == Kind::Word || next.is(",") || next.is("("));
                let names = names.filter(|next| {
                    let is_own = !is_a(next.text, "KEYWORD") || std::ptr::eq(*next, &tokens[n + 1]);
                    next.kind == Kind::Word && is_own && !is_a(next.text, "CALL")
                });
                self.given.extend(names.map(|next| next.text.to_owned()));
            }
        }
    }

    /// Returns whether the file gives this name to something.
    pub(super) fn is_given(&self, name: &str) -> bool {
        self.given.contains(name.trim_end_matches('_'))
    }

    /// Returns whether something of this name is called somewhere.
    pub(super) fn is_called(&self, name: &str) -> bool {
        self.called.contains(name)
    }

    /// Returns whether a word means nothing where it stands.
    pub(super) fn is_unknown(&self, tokens: &[Token<'_>], n: usize) -> bool {
        let word = tokens[n].text;
        match tokens[n].kind {
            Kind::Word => {}
            Kind::Mark => return is_odd(tokens, n),
            _ => return false,
        }
        let before = n.checked_sub(1).map_or("", |before| tokens[before].text);
        let after = tokens.get(n + 1).map_or("", |after| after.text);
        let (is_called, is_entry) = (after == "(", ["#{", ",", "{"].contains(&before));
        match before {
            "." if n > 1 && tokens[n - 2].is(".") => !self.is_given(word),
            // A quantity is asked nothing.
            "." if n > 3 && tokens[n - 4].kind == Kind::Number && is_a(tokens[n - 2].text, "PROPERTY") => {
                true
            }
            "." if n > 1 && tokens[n - 2].kind == Kind::Number => {
                let is_text = n > 3 && tokens[n - 3].is(":") && is_a(tokens[n - 4].text, "TEXTS");
                is_text || !is_a(word, "PROPERTY")
            }
            "." if is_called => !is_a(word, "METHOD") && !is_general(word),
            "." => !is_a(word, "PROPERTY") && !self.keys.contains(word),
            "let" | "const" | "fn" | "for" | "as" => is_a(word, "KEYWORD") || is_a(word, "CALL"),
            ":" if n > 1 && tokens[n - 2].is(":") => false,
            "|" if after == "|" || after == "," => false,
            _ if after == ":" && is_entry => !is_a(word, "KEY") && !self.keys.contains(word),
            _ if is_a(word, "KEYWORD") || self.is_given(word) => false,
            _ => !(is_called && is_a(word, "ALONE")),
        }
    }
}

/// Words of the engine that begin, join or end something in a procedure.
pub(super) fn keywords() -> impl Iterator<Item = &'static str> {
    use EngineToken::{As, Const, Else, False, Fn, For, If, Import, In, Let, Loop, Return, True, While};
    [Let, If, Else, For, In, Fn, While, Return, Import, As, Const, Loop, True, False]
        .map(|token| token.literal_syntax())
        .into_iter()
}

/// Returns whether the language has a word of this sort, by the names that patterns give to sorts.
pub(super) fn is_a(word: &str, sort: &str) -> bool {
    let stands = || word_named(word).map(|known| known.stands);
    let mut keys = VOCABULARY.iter().flat_map(|known| &known.keys).filter(|key| key.name == word);
    match sort {
        "KEYWORD" => EngineToken::lookup_symbol_from_syntax(word).is_some_and(|t| t.is_standard_keyword()),
        "CALL" => stands().is_some_and(|stands| stands != Stands::Inside),
        "METHOD" => matches!(stands(), Some(Stands::InTest | Stands::Anywhere)),
        "ALONE" => matches!(stands(), Some(Stands::Alone | Stands::Anywhere)) || is_general(word),
        "KEY" => keys.next().is_some(),
        "LISTS" => keys.any(|key| matches!(key.sort, Sort::List(_))),
        "TEXTS" => keys.any(|key| key.sort == Sort::Text),
        "PROPERTY" => property_names().any(|name| name == word),
        "ASKED" => PROPERTIES.iter().any(|property| property.name == word && property.gives == Sort::YesNo),
        _ => false,
    }
}

/// Returns whether a `|` stands behind a value, with another two tokens on: a comma is missing before it.
fn is_odd(tokens: &[Token<'_>], n: usize) -> bool {
    let before = n.checked_sub(1).map(|before| &tokens[before]);
    tokens[n].is("|")
        && tokens.get(n + 2).is_some_and(|third| third.is("|"))
        && before.is_some_and(|before| before.kind != Kind::Mark || is_closing(before))
}
