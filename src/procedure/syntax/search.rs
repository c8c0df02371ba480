//! The search for the edits that let a piece of a script parse.

use std::cell::Cell;
use std::cmp::Reverse;
use std::collections::{BinaryHeap, HashSet};

use rhai::{Engine, ParseError};

use super::edits::Edit;
use super::guesses::{Guess, Reason, Stuck};
use super::lexicon::Lexicon;
use super::parse_errors::is_no_slip;
use super::strain::strain;
use super::tokens::{Token, tokens, tokens_again};

/// What a strange look of the text costs an edit that leaves it, for each.
const STRAIN: usize = 6;
/// How much of the strange looks of a text one edit takes away at most.
const EASED: usize = 8;
/// The dearest edit of a text that parses, and the dearest that may be needed any number of times.
const DEAREST: (usize, usize) = (7, 2);
/// How many dearer edits one piece may need, and how many in all.
const MOST_EDITS: (usize, usize) = (3, 24);
/// How many edits are tried at one place.
const MOST_TRIED: usize = 60;
/// The largest piece in which is searched, in bytes, and how often it must be possible to parse it.
const LARGEST_PIECE: (usize, usize) = (24 << 10, 8);

/// A piece of a script as far as it has been mended.
pub(super) struct Attempt {
    pub(super) text: String,
    /// Why it still can't be parsed.
    pub(super) error: Option<ParseError>,
    /// What it costs that it looks as it does.
    look: usize,
}

/// Looks for the edits that let the pieces of a script parse.
pub(super) struct Search {
    /// One that does not check names.
    pub(super) engine: Engine,
    pub(super) lexicon: Lexicon,
    pub(super) lines_before: usize,
    /// How many bytes have been parsed or looked at.
    pub(super) work: Cell<usize>,
}

impl Search {
    /// Parses a piece; returns why it can't be.
    pub(super) fn parse(&self, text: &str) -> Option<ParseError> {
        self.work.update(|work| work + text.len() + 32);
        // A last statement without its semicolon is an error like any other.
        self.engine.compile(format!("{text}\nlet _end = 0;")).err()
    }

    fn look(&self, tokens: &[Token<'_>]) -> usize {
        strain(tokens, &self.lexicon) * STRAIN
    }

    /// Returns what a text looks like after an edit.
    fn look_after(&self, edited: &str, guess: &Guess, stuck: &Stuck<'_>) -> usize {
        self.work.update(|work| work + edited.len() / 16 + 32);
        self.look(&tokens_again(stuck.tokens, edited, &guess.bytes, guess.with.len()))
    }

    /// Mends a piece as far as it can be, for no more than a share of the budget; returns what was edited, in order.
    pub(super) fn mended(&self, text: &str, share: usize) -> (Attempt, Vec<Edit>) {
        let mut way = self.attempt(text.to_owned(), self.look(&tokens(text)));
        let (mut edits, mut n_dear) = (Vec::new(), 0);
        if text.len() > LARGEST_PIECE.0 || share < LARGEST_PIECE.1 * text.len() {
            return (way, edits);
        }
        let most = self.work.get() + share;
        while edits.len() < MOST_EDITS.1 {
            let Some((next, edit, price)) = self.next(&way, n_dear < MOST_EDITS.0, most) else { break };
            n_dear += usize::from(price > DEAREST.1);
            edits.push(edit);
            way = next;
        }
        (way, edits)
    }

    fn attempt(&self, text: String, look: usize) -> Attempt {
        Attempt { error: self.parse(&text), text, look }
    }

    /// Tries the edits at the place where a text got stuck, the most likely first: takes the first that lets it parse,
    /// else the likeliest of those that get further, a dear one only where that may be. Returns its price too.
    fn next(&self, way: &Attempt, may_be_dear: bool, most: usize) -> Option<(Attempt, Edit, usize)> {
        let tokens = tokens(&way.text);
        let error = way.error.as_ref().map(ParseError::err_type);
        let stop = way.stop(&tokens, &self.lexicon)?;
        let (text, lexicon, lines_before) = (way.text.as_str(), &self.lexicon, self.lines_before);
        let stuck = Stuck { text, tokens: &tokens, lexicon, stop, error, lines_before };
        if let Some(guess) = stuck.sure() {
            // There is no doubt about it, wherever it gets.
            let edited = way.edited(&guess);
            let look = self.look_after(&edited, &guess, &stuck);
            return Some((self.attempt(edited, look), Edit::of(&guess, &stuck), guess.price));
        }
        if error.is_some_and(is_no_slip) {
            return None;
        }
        let guesses = stuck.guesses();
        let least = way.look.saturating_sub(EASED * STRAIN);
        let waiting = guesses.iter().enumerate();
        let mut waiting: BinaryHeap<_> =
            waiting.map(|(n, guess)| Reverse((guess.price + least, false, n, None))).collect();
        let (mut seen, mut n_tried, mut further) = (HashSet::new(), 0, Vec::new());
        while let Some(Reverse((price, _, n, edited))) = waiting.pop() {
            let guess = &guesses[n];
            let Some(edited) = edited else {
                let is_sensible = way.error.is_some() || guess.is_sensible();
                if is_sensible && seen.insert((guess.bytes.clone(), guess.with.as_str())) {
                    let edited = way.edited(guess);
                    let look = self.look_after(&edited, guess, &stuck);
                    waiting.push(Reverse((guess.price + look, true, n, Some(edited))));
                }
                continue;
            };
            // Where it parses already, only an edit that makes more sense of it is one.
            if way.error.is_none() && price >= way.look || n_tried >= MOST_TRIED || self.work.get() >= most {
                break;
            }
            n_tried += 1;
            let next = self.attempt(edited, price - guess.price);
            if next.error.is_none() {
                return Some((next, Edit::of(guess, &stuck), guess.price));
            }
            if next.left() < way.left() && (may_be_dear || guess.price <= DEAREST.1) {
                further.push((price, next.left(), n, next));
            }
        }
        let (.., n, next) = further.into_iter().min_by_key(|(price, left, ..)| (*price, *left))?;
        Some((next, Edit::of(&guesses[n], &stuck), guesses[n].price))
    }
}

impl Guess {
    /// Returns whether it may make more sense of a text that parses.
    fn is_sensible(&self) -> bool {
        let is_mark = self.bytes.is_empty() && matches!(self.reason, Reason::Edit);
        self.price <= DEAREST.0 && (!is_mark || [".", "("].contains(&self.with.as_str()))
    }
}

impl Attempt {
    fn edited(&self, guess: &Guess) -> String {
        let (before, behind) = (&self.text[..guess.bytes.start], &self.text[guess.bytes.end..]);
        format!("{before}{}{behind}", guess.with)
    }

    /// Returns the token at which it is stuck.
    fn stop(&self, tokens: &[Token<'_>], lexicon: &Lexicon) -> Option<usize> {
        if self.error.is_none() {
            return (0..tokens.len()).find(|n| lexicon.is_unknown(tokens, *n));
        }
        let at = self.text.len() - self.left();
        Some(tokens.partition_point(|token| token.end() <= at))
    }

    /// Returns how many bytes have not been parsed.
    fn left(&self) -> usize {
        let place = self.error.as_ref().map(ParseError::position);
        let Some((line, column)) =
            place.and_then(|place| Some((place.line()?, place.position().unwrap_or(1))))
        else {
            return 0;
        };
        let lines = self.text.split_inclusive('\n').take(line - 1);
        let before: usize = lines.map(str::len).sum();
        let rest = &self.text[before..];
        rest.char_indices().nth(column.saturating_sub(1)).map_or(0, |(at, _)| rest.len() - at)
    }
}
