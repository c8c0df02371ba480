use std::fs::{File, OpenOptions, TryLockError};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use crate::record::Shop;

/// What was answered of a draft so far, in a file of the shop: a line for each answer, on the disk before the next question.
#[derive(Debug)]
pub(super) struct Kept {
    path: PathBuf,
    file: File,
}

/// What stands in one of its lines.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "what", rename_all = "snake_case", deny_unknown_fields)]
pub(super) enum Entry {
    /// How the draft was begun.
    Begun(Opening),
    /// A question was answered.
    Answered {
        /// The question.
        question: String,
        /// The line that was typed.
        line: String,
    },
    /// Answers were taken back.
    TakenBack {
        /// Their questions.
        questions: Vec<String>,
    },
}

/// How a draft was begun.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Opening {
    /// The procedure that it started from: its name or file.
    pub(super) from: Option<PathBuf>,
    /// The file that it is to be written to.
    pub(super) output: Option<PathBuf>,
}

const ENDING: &str = "jsonl";
/// The question for the unit, which is asked before any circuit.
const UNIT: &str = "/unit";

impl Kept {
    /// Begins a file of that name, or the next one like it that is not there.
    pub(super) fn begin(shop: &Shop, name: &str, opening: &Opening) -> io::Result<Kept> {
        std::fs::create_dir_all(shop.drafts())?;
        for n in 1..1000 {
            let name = if n == 1 { name.to_owned() } else { format!("{name}-{n}") };
            let path = shop.drafts().join(name).with_extension(ENDING);
            match OpenOptions::new().append(true).create_new(true).open(&path) {
                Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {}
                file => {
                    let mut kept = Kept { path, file: file? };
                    kept.lock()?;
                    kept.append(&Entry::Begun(opening.clone()))?;
                    return Ok(kept);
                }
            }
        }
        Err(io::Error::new(io::ErrorKind::AlreadyExists, "too many drafts in one second"))
    }

    /// Opens the file of that name and reads what is in it; a last line that was cut off is dropped.
    pub(super) fn open(shop: &Shop, name: &str) -> io::Result<(Kept, Vec<Entry>)> {
        let path = shop.drafts().join(name).with_extension(ENDING);
        let file = OpenOptions::new().append(true).open(&path)?;
        let kept = Kept { path, file };
        kept.lock()?;
        let text = std::fs::read_to_string(&kept.path)?;
        let whole = text.rfind('\n').map_or(0, |last| last + 1);
        kept.file.set_len(whole as u64)?;
        let entry = |(n, line): (usize, &str)| {
            serde_json::from_str(line).map_err(|_| {
                let what = format!("line {} of {} is damaged", n + 1, kept.path.display());
                io::Error::new(io::ErrorKind::InvalidData, what)
            })
        };
        let entries = text[..whole].lines().enumerate().map(entry).collect::<io::Result<_>>()?;
        Ok((kept, entries))
    }

    /// Returns the names of the drafts that were left, oldest first.
    pub(super) fn names(shop: &Shop) -> Vec<String> {
        let Ok(entries) = std::fs::read_dir(shop.drafts()) else { return Vec::new() };
        let name = |path: &Path| Some(path.file_stem()?.to_str()?.to_owned());
        let mut names: Vec<_> = entries
            .flatten()
            .map(|entry| entry.path())
            .filter(|path| path.extension().is_some_and(|ending| ending == ENDING))
            .filter_map(|path| name(&path))
            .collect();
        names.sort();
        names
    }

    /// Returns the unit that a draft is of, as far as that was answered; it is looked at only, whoever answers it.
    pub(super) fn unit(shop: &Shop, name: &str) -> Option<String> {
        let text = std::fs::read_to_string(shop.drafts().join(name).with_extension(ENDING)).ok()?;
        text.lines().rev().find_map(|line| match serde_json::from_str(line).ok()? {
            Entry::Answered { question, line } if question == UNIT && !line.is_empty() => Some(line),
            _ => None,
        })
    }

    /// Returns its name.
    pub(super) fn name(&self) -> String {
        self.path.file_stem().unwrap_or_default().to_string_lossy().into_owned()
    }

    /// Writes a line and waits until it is on the disk.
    pub(super) fn append(&mut self, entry: &Entry) -> io::Result<()> {
        // A file that was removed, or went with its disk, still takes what is written, and keeps none of it.
        std::fs::metadata(&self.path)?;
        let before = self.file.metadata()?.len();
        let line = format!("{}\n", serde_json::to_string(entry)?);
        let written = self.file.write_all(line.as_bytes()).and_then(|()| self.file.sync_data());
        if written.is_err() {
            // Half a line must not stay in front of a later one.
            let _ = self.file.set_len(before);
        }
        written
    }

    /// Removes the file: what it holds has become a procedure.
    pub(super) fn remove(self) -> io::Result<()> {
        std::fs::remove_file(&self.path)
    }

    /// Takes the file for this program alone, until it ends. Where the file system has no locks, nobody is kept out.
    fn lock(&self) -> io::Result<()> {
        match self.file.try_lock() {
            Err(TryLockError::WouldBlock) => Err(io::Error::new(
                io::ErrorKind::WouldBlock,
                "it is being answered elsewhere at this moment",
            )),
            _ => Ok(()),
        }
    }
}
