use std::collections::{BTreeMap, BTreeSet};
use std::io;

use super::kept::{Entry, Kept, Opening};
use crate::cli::walking::now;
use crate::record::Shop;

/// Every line that was typed at a question of a draft, the last one at each, and which of them stand. Whatever is taken
/// back is only offered again; nothing is forgotten.
pub(super) struct Book {
    shop: Shop,
    opening: Opening,
    kept: Option<Kept>,
    has_failed: bool,
    lines: BTreeMap<String, String>,
    standing: BTreeSet<String>,
}

impl Book {
    /// Opens an empty book; its file is made with the first answer.
    pub(super) fn new(shop: Shop, opening: Opening) -> Book {
        Book {
            shop,
            opening,
            kept: None,
            has_failed: false,
            lines: BTreeMap::new(),
            standing: BTreeSet::new(),
        }
    }

    /// Opens a book that was left.
    pub(super) fn left(shop: Shop, name: &str) -> io::Result<Book> {
        let (kept, entries) = Kept::open(&shop, name)?;
        let mut book = Book::new(shop, Opening::default());
        for entry in entries {
            book.note(entry);
        }
        book.kept = Some(kept);
        Ok(book)
    }

    /// Returns how the draft was begun.
    pub(super) fn opening(&self) -> &Opening {
        &self.opening
    }

    /// Returns the shop that it is kept in.
    pub(super) fn shop(&self) -> &Shop {
        &self.shop
    }

    /// Returns the name that it is kept under; none before the first answer.
    pub(super) fn name(&self) -> Option<String> {
        self.kept.as_ref().map(Kept::name)
    }

    /// Returns the answer to a question that stands.
    pub(super) fn standing(&self, question: &str) -> Option<&str> {
        self.standing.contains(question).then(|| self.last(question)).flatten()
    }

    /// Returns what was answered last, whether it stands or not.
    pub(super) fn last(&self, question: &str) -> Option<&str> {
        self.lines.get(question).map(String::as_str)
    }

    /// Returns whether something could not be put on the disk.
    pub(super) fn has_failed(&self) -> bool {
        self.has_failed
    }

    /// Keeps an answer.
    ///
    /// # Errors
    /// Where it could not be put on the disk; it is kept in the book all the same.
    pub(super) fn answer(&mut self, question: &str, line: &str) -> io::Result<()> {
        self.keep(Entry::Answered { question: question.to_owned(), line: line.to_owned() })
    }

    /// Takes answers back.
    ///
    /// # Errors
    /// Where that could not be put on the disk.
    pub(super) fn take_back(&mut self, questions: Vec<String>) -> io::Result<()> {
        self.keep(Entry::TakenBack { questions })
    }

    /// Closes the book: its answers have become a procedure.
    ///
    /// # Errors
    /// Where its file can't be removed.
    pub(super) fn close(self) -> io::Result<()> {
        self.kept.map_or(Ok(()), Kept::remove)
    }

    fn keep(&mut self, entry: Entry) -> io::Result<()> {
        let kept = self.write(&entry);
        self.note(entry);
        self.has_failed |= kept.is_err();
        kept
    }

    fn write(&mut self, entry: &Entry) -> io::Result<()> {
        if let Some(kept) = &mut self.kept {
            return kept.append(entry);
        }
        let name = now().strftime("%Y%m%d-%H%M%S").to_string();
        self.kept.insert(Kept::begin(&self.shop, &name, &self.opening)?).append(entry)
    }

    fn note(&mut self, entry: Entry) {
        match entry {
            Entry::Begun(opening) => self.opening = opening,
            Entry::Answered { question, line } => {
                self.standing.insert(question.clone());
                self.lines.insert(question, line);
            }
            Entry::TakenBack { questions } => self.standing.retain(|known| !questions.contains(known)),
        }
    }
}
