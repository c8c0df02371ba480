use std::cell::Cell;
use std::cmp::Reverse;
use std::collections::{BinaryHeap, HashSet};
use std::ops::Range;

use rhai::{Engine, ParseError, ParseErrorType};

use super::edits::Said;
use super::guesses::{Does, Guess, Stuck};
use super::lexicon::Lexicon;
use super::strain::strain;
use super::tokens::{Token, tokens};

/// What a strange look of the text costs an edit that leaves it, for each.
const STRAIN: usize = 6;
/// The dearest edit of a text that parses.
const DEAREST: usize = 7;
/// How many edits of no known slip one piece may need.
const MOST_EDITS: usize = 3;
/// How many edits in all one piece may need.
const MOST_ROUNDS: usize = 24;
/// How many of those that got further are followed.
const MOST_WAYS: usize = 3;
/// How many edits are tried at one place.
const MOST_TRIED: usize = 160;
/// How often a piece must be parsed at least, for a search to be worth it.
const LEAST_ROUNDS: usize = 8;
/// The largest piece in which is searched, in bytes.
const LARGEST_PIECE: usize = 24 << 10;

/// An edit of a text, and what is said of it.
#[derive(Clone)]
pub(super) struct Edit {
    pub(super) bytes: Range<usize>,
    pub(super) with: String,
    pub(super) said: Said,
    /// Whether whatever else is found on its line follows from it.
    pub(super) covers: bool,
}

/// A piece of a script as far as it has been mended.
#[derive(Clone)]
pub(super) struct Way {
    pub(super) text: String,
    pub(super) edits: Vec<Edit>,
    /// Why it still can't be parsed.
    pub(super) error: Option<ParseError>,
    /// What all its edits cost, and what it looks like.
    price: usize,
    /// What all its edits cost.
    spent: usize,
    n_unknown: usize,
}

/// Looks for the edits that let the pieces of a script parse.
pub(super) struct Search<'a> {
    /// The engine, without checks of names.
    pub(super) engine: &'a Engine,
    /// What words mean.
    pub(super) lexicon: Lexicon,
    /// How many lines stand before the piece.
    pub(super) lines_before: usize,
    /// How many bytes may still be parsed.
    pub(super) budget: Cell<usize>,
}

impl Search<'_> {
    /// Parses a piece; returns why it can't be.
    pub(super) fn parse(&self, text: &str) -> Option<ParseError> {
        self.budget.set(self.budget.get().saturating_sub(text.len() + 32));
        // A last statement without its semicolon is an error like any other.
        self.engine.compile(format!("{text}\nlet _end = 0;")).err()
    }

    /// Mends a piece as far as it can be, for no more than a share of the budget.
    pub(super) fn mended(&self, text: &str, share: usize) -> Way {
        let error = self.parse(text);
        let look = strain(&tokens(text), &self.lexicon) * STRAIN;
        let mut best =
            Way { text: text.to_owned(), edits: vec![], error, price: look, spent: 0, n_unknown: 0 };
        if text.len() > LARGEST_PIECE || share < LEAST_ROUNDS * text.len() {
            return best;
        }
        let reserve = self.budget.get().saturating_sub(share);
        self.mend_sure(&mut best, reserve);
        let mut ways = vec![best.clone()];
        for _ in 0..MOST_ROUNDS {
            let mut whole: Vec<Way> = Vec::new();
            let mut further: Vec<Way> = Vec::new();
            for way in &ways {
                self.follow(way, reserve, &mut whole, &mut further);
            }
            if let Some(found) = whole.into_iter().min_by_key(|way| way.price) {
                best = found;
                ways = vec![best.clone()];
                continue;
            }
            further.retain(|way| way.n_unknown <= MOST_EDITS);
            if best.error.is_none() || further.is_empty() {
                break;
            }
            further.sort_by_key(|way| (way.price + way.lines_left().min(24), way.left()));
            let mut seen = HashSet::new();
            further.retain(|way| seen.insert((way.left(), way.price)));
            further.truncate(MOST_WAYS);
            ways = further;
            best = ways[0].clone();
        }
        best
    }

    /// Mends what can't be meant wherever it stands.
    fn mend_sure(&self, way: &mut Way, reserve: usize) {
        while self.budget.get() > reserve && !way.text.is_ascii() {
            let tokens = tokens(&way.text);
            let stuck = Stuck {
                text: &way.text,
                tokens: &tokens,
                lexicon: &self.lexicon,
                stop: 0,
                error: None,
                lines_before: self.lines_before,
            };
            let Some(guess) = stuck.sure() else { return };
            let said = Said::of(&guess, &stuck);
            let text = way.edited(&guess);
            way.edits.push(Edit { bytes: guess.bytes, with: guess.with, said, covers: false });
            way.error = self.parse(&text);
            way.price = strain(&super::tokens::tokens(&text), &self.lexicon) * STRAIN;
            way.text = text;
        }
    }

    /// Tries the edits at the place where a way got stuck, the most likely first: the first that lets it parse ends the
    /// search there; those that get further are kept.
    fn follow(&self, way: &Way, reserve: usize, whole: &mut Vec<Way>, further: &mut Vec<Way>) {
        let tokens = tokens(&way.text);
        let Some(stop) = way.stop(&tokens, &self.lexicon) else { return };
        let error = way.error.as_ref().map(ParseError::err_type);
        if matches!(error, Some(ParseErrorType::DuplicatedProperty(_))) {
            return;
        }
        let stuck = Stuck {
            text: &way.text,
            tokens: &tokens,
            lexicon: &self.lexicon,
            stop,
            error,
            lines_before: self.lines_before,
        };
        let guesses = stuck.guesses();
        let strain_now = strain(&tokens, &self.lexicon);
        // No edit takes more than that out of the looks of a text.
        let least = strain_now.saturating_sub(8) * STRAIN;
        let mut waiting: BinaryHeap<_> = guesses
            .iter()
            .enumerate()
            .map(|(n, guess)| Reverse((guess.price + least, false, n, None)))
            .collect();
        let mut seen = HashSet::new();
        let mut n_tried = 0;
        while let Some(Reverse((price, _, n, edited))) = waiting.pop() {
            let guess = &guesses[n];
            let Some(edited) = edited else {
                if seen.insert((guess.bytes.clone(), guess.with.as_str())) {
                    let edited = way.edited(guess);
                    let look = strain(&super::tokens::tokens(&edited), &self.lexicon);
                    self.budget.set(self.budget.get().saturating_sub(edited.len() / 4));
                    waiting.push(Reverse((guess.price + look * STRAIN, true, n, Some(edited))));
                }
                continue;
            };
            // Where it parses already, only an edit that makes more sense of it is one.
            let is_no_better = way.error.is_none() && (price >= strain_now * STRAIN || !is_sensible(guess));
            if is_no_better && !is_sensible(guess) {
                continue;
            }
            if is_no_better || n_tried >= MOST_TRIED || self.budget.get() <= reserve {
                return;
            }
            n_tried += 1;
            let error = self.parse(&edited);
            if error.is_some() && way.error.is_none() {
                continue;
            }
            let is_known = matches!(guess.does, Does::Rule(_) | Does::Rename(_));
            let mut edits = way.edits.clone();
            edits.push(Edit {
                bytes: guess.bytes.clone(),
                with: guess.with.clone(),
                said: Said::of(guess, &stuck),
                covers: matches!(guess.does, Does::Quote { .. }),
            });
            let (spent, n_unknown) = (way.spent + guess.price, way.n_unknown + usize::from(!is_known));
            let next = Way { text: edited, edits, error, price: price + way.spent, spent, n_unknown };
            if next.error.is_none() {
                whole.push(next);
                return;
            }
            if next.left() < way.left() {
                further.push(next);
            }
        }
    }
}

/// Returns whether an edit may make more sense of a text that parses.
fn is_sensible(guess: &Guess<'_>) -> bool {
    guess.price <= DEAREST && !matches!(guess.does, Does::Insert(_, mark) if mark != "." && mark != "(")
}

impl Way {
    fn edited(&self, guess: &Guess<'_>) -> String {
        let (before, behind) = (&self.text[..guess.bytes.start], &self.text[guess.bytes.end..]);
        format!("{before}{}{behind}", guess.with)
    }

    /// Returns the token at which it is stuck.
    fn stop(&self, tokens: &[Token<'_>], lexicon: &Lexicon) -> Option<usize> {
        let is_unknown = |n: &usize| lexicon.is_unknown(tokens, *n);
        match &self.error {
            Some(error) => {
                let at = self.text.len() - self.left();
                let stop = tokens.partition_point(|token| token.end() <= at);
                // What can't be given a value is told where it begins.
                let is_assignment = matches!(error.err_type(), ParseErrorType::AssignmentToInvalidLHS(_));
                let equals = (stop..tokens.len()).find(|n| tokens[*n].is("=")).filter(|_| is_assignment);
                Some(equals.unwrap_or(stop))
            }
            None => (0..tokens.len()).find(is_unknown),
        }
    }

    /// Returns how many bytes have not been parsed.
    fn left(&self) -> usize {
        let place = self.error.as_ref().map(ParseError::position);
        let Some((line, column)) =
            place.and_then(|place| Some((place.line()?, place.position().unwrap_or(1))))
        else {
            return 0;
        };
        let mut lines = self.text.split_inclusive('\n');
        let before: usize = lines.by_ref().take(line - 1).map(str::len).sum();
        let rest = &self.text[before..];
        let inside = rest.char_indices().nth(column - 1).map_or(rest.len(), |(at, _)| at);
        self.text.len() - before - inside
    }

    fn lines_left(&self) -> usize {
        self.text[self.text.len() - self.left()..].matches('\n').count()
    }
}
