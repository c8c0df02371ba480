use std::collections::{BTreeMap, BTreeSet};
use std::io;
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use crate::cli::sessions::now;
use crate::disk::{LARGEST_DOCUMENT, Log, LogError, make_folder, read_text};
use crate::record::Shop;

/// Every line that was typed at a question of a draft, the last one at each, and which of them stand. Whatever is taken
/// back is only offered again; nothing is forgotten.
///
/// Each is a line of a file of the shop, on the disk before the next question.
pub(super) struct Book {
    pub(super) shop: Shop,
    pub(super) opening: DraftOpening,
    log: Option<Log>,
    pub(super) has_failed: bool,
    lines: BTreeMap<String, String>,
    standing: BTreeSet<String>,
}

#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct DraftOpening {
    /// The procedure that it started from: its name or file.
    pub(super) from: Option<PathBuf>,
    pub(super) output: Option<PathBuf>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "what", rename_all = "snake_case", deny_unknown_fields)]
enum Kept {
    Begun(DraftOpening),
    /// A question was answered with a line that was typed.
    Answered {
        question: String,
        line: String,
    },
    TakenBack {
        questions: Vec<String>,
    },
}

const ENDING: &str = "jsonl";
/// The question for the unit, which is asked before any circuit.
const UNIT: &str = "/unit";

impl Book {
    /// Opens an empty book; its file is made with the first answer.
    pub(super) fn new(shop: Shop, opening: DraftOpening) -> Book {
        Book {
            shop,
            opening,
            log: None,
            has_failed: false,
            lines: BTreeMap::new(),
            standing: BTreeSet::new(),
        }
    }

    pub(super) fn left(shop: Shop, name: &str) -> Result<Book, LogError> {
        let (log, lines) = Log::open(&file(&shop, name), |line| {
            serde_json::from_slice(line).map_err(|error| error.to_string())
        })?;
        let mut book = Book { log: Some(log), ..Book::new(shop, DraftOpening::default()) };
        lines.into_iter().for_each(|line| book.note(line));
        Ok(book)
    }

    /// Returns the names of the books that were left, oldest first.
    pub(super) fn names(shop: &Shop) -> Vec<String> {
        let Ok(entries) = std::fs::read_dir(shop.drafts()) else { return Vec::new() };
        let paths = entries.flatten().map(|entry| entry.path());
        let paths = paths.filter(|path| path.extension().is_some_and(|ending| ending == ENDING));
        let mut names: Vec<_> = paths.filter_map(|path| name(&path)).collect();
        names.sort();
        names
    }

    /// Returns the unit that a book is of, as far as that was answered; it is looked at only, whoever answers it.
    pub(super) fn unit(shop: &Shop, name: &str) -> Option<String> {
        let text = read_text(&file(shop, name), LARGEST_DOCUMENT).ok()?;
        text.lines().rev().find_map(|line| match serde_json::from_str(line).ok()? {
            Kept::Answered { question, line } if question == UNIT && !line.is_empty() => Some(line),
            _ => None,
        })
    }

    /// Returns the name that it is kept under; none before the first answer.
    pub(super) fn name(&self) -> Option<String> {
        name(self.log.as_ref()?.path())
    }

    pub(super) fn standing(&self, question: &str) -> Option<&str> {
        self.standing.contains(question).then(|| self.last(question)).flatten()
    }

    /// Returns what was answered last, whether it stands or not.
    pub(super) fn last(&self, question: &str) -> Option<&str> {
        self.lines.get(question).map(String::as_str)
    }

    /// Keeps an answer; one that could not be put on the disk is kept in the book all the same.
    pub(super) fn answer(&mut self, question: &str, line: &str) -> Result<(), LogError> {
        self.keep(Kept::Answered { question: question.to_owned(), line: line.to_owned() })
    }

    pub(super) fn take_back(&mut self, questions: Vec<String>) -> Result<(), LogError> {
        self.keep(Kept::TakenBack { questions })
    }

    /// Closes the book: its answers have become a procedure.
    pub(super) fn close(self) -> io::Result<()> {
        self.log.map_or(Ok(()), |log| std::fs::remove_file(log.path()))
    }

    fn keep(&mut self, line: Kept) -> Result<(), LogError> {
        let kept = self.write(&line);
        self.note(line);
        self.has_failed |= kept.is_err();
        kept
    }

    fn write(&mut self, line: &Kept) -> Result<(), LogError> {
        let log = match self.log.take() {
            Some(log) => log,
            None => begun(&self.shop, &self.opening)?,
        };
        append(self.log.insert(log), line)
    }

    fn note(&mut self, line: Kept) {
        match line {
            Kept::Begun(opening) => self.opening = opening,
            Kept::Answered { question, line } => {
                self.standing.insert(question.clone());
                self.lines.insert(question, line);
            }
            Kept::TakenBack { questions } => self.standing.retain(|known| !questions.contains(known)),
        }
    }
}

/// Begins a file that is named after this moment, or the next one like it that is not there.
fn begun(shop: &Shop, opening: &DraftOpening) -> Result<Log, LogError> {
    let folder = shop.drafts();
    make_folder(&folder).map_err(|error| LogError::Io(folder, error))?;
    let moment = now().strftime("%Y%m%d-%H%M%S").to_string();
    let mut n = 1;
    let mut log = loop {
        let name = if n == 1 { moment.clone() } else { format!("{moment}-{n}") };
        match Log::create(&file(shop, &name)) {
            Err(LogError::Io(_, error)) if error.kind() == io::ErrorKind::AlreadyExists => n += 1,
            log => break log?,
        }
    };
    append(&mut log, &Kept::Begun(opening.clone()))?;
    Ok(log)
}

fn append(log: &mut Log, line: &Kept) -> Result<(), LogError> {
    let text = serde_json::to_string(line);
    let text = text.map_err(|error| LogError::Io(log.path().to_owned(), error.into()))?;
    log.append(&text)
}

fn file(shop: &Shop, name: &str) -> PathBuf {
    shop.drafts().join(name).with_extension(ENDING)
}

fn name(path: &Path) -> Option<String> {
    Some(path.file_stem()?.to_str()?.to_owned())
}
