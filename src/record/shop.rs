//! The shop: one folder, and what lies where in it.

use std::io;
use std::path::{Path, PathBuf};

use jiff::Timestamp;
use serde::{Deserialize, Serialize};

/// Name of a session's journal in its folder.
pub(crate) const JOURNAL: &str = "journal.jsonl";

/// Name of the file, in the folder of an open session, that says where its procedure came from.
pub(crate) const ORIGIN: &str = "origin";

/// Name of the folder, in a shop, of attempts at exercises.
const PRACTICE: &str = "practice";

/// What was read or said so many hours ago or fewer was so on the same day.
pub(crate) const SAME_DAY_HOURS: i64 = 12;

/// The folder that holds the rig, open sessions and records of one bench or school.
#[derive(Debug, Clone)]
pub(crate) struct Shop {
    root: PathBuf,
}
use crate::disk::{LARGEST_SETTINGS, make_folder, read_text, sync_folder, write_whole};
use crate::quantity::Temperature;

/// The temperature of the air at the rig, and when it was read.
#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct RememberedAir {
    temperature_k: Temperature,
    at: Timestamp,
}

impl Shop {
    /// Opens a shop folder, making it where it is not there yet.
    pub(crate) fn open(root: &Path) -> io::Result<Shop> {
        let shop = Shop { root: root.to_owned() };
        for folder in [shop.records(), shop.open_sessions()] {
            make_folder(&folder)?;
        }
        Ok(shop)
    }

    /// Opens the shop that rehearsals write to: beside the real one's records, never among them.
    pub(crate) fn rehearsals(&self) -> io::Result<Shop> {
        Shop::open(&self.root.join("rehearsals"))
    }

    /// Opens the shop that attempts at exercises write to, for the same reason.
    pub(crate) fn practice(&self) -> io::Result<Shop> {
        Shop::open(&self.root.join(PRACTICE))
    }

    /// Returns the shop whose attempts at exercises this one holds; none where it is a shop itself.
    pub(crate) fn of_practice(&self) -> Option<Shop> {
        let holder = self.root.parent().filter(|_| self.root.ends_with(PRACTICE))?;
        let holder = Shop { root: holder.to_owned() };
        holder.records().is_dir().then_some(holder)
    }

    pub(crate) fn root(&self) -> &Path {
        &self.root
    }

    /// Returns the folder of finished records.
    pub(crate) fn records(&self) -> PathBuf {
        self.root.join("records")
    }

    /// Returns the file of a session's record.
    pub(crate) fn record(&self, session: &str) -> PathBuf {
        self.records().join(format!("{session}.json"))
    }

    /// Returns the folder of sessions that are not finished.
    pub(crate) fn open_sessions(&self) -> PathBuf {
        self.root.join("open")
    }

    /// Returns the folder of procedures that are being drafted: what was answered so far.
    pub(crate) fn drafts(&self) -> PathBuf {
        self.root.join("drafts")
    }

    /// Returns the folder of procedures that were received, each version in a folder of its own.
    pub(crate) fn procedures(&self) -> PathBuf {
        self.root.join("procedures")
    }

    /// Returns the file of the key that the shop signs with.
    pub(crate) fn key(&self) -> PathBuf {
        self.root.join("keys").join("signing.json")
    }

    /// Returns the file in which every record of the shop has its line.
    pub(crate) fn ledger(&self) -> PathBuf {
        self.root.join("ledger.jsonl")
    }

    /// Returns the file of what is noted of jobs.
    pub(crate) fn jobs(&self) -> PathBuf {
        self.root.join("jobs.jsonl")
    }

    /// Returns the file of the shop's name and address.
    pub(crate) fn address(&self) -> PathBuf {
        self.root.join("shop.json")
    }

    /// Returns the file of the signers that the shop trusts.
    pub(crate) fn trusted(&self) -> PathBuf {
        self.root.join("trusted.json")
    }

    /// Returns the file that describes the shop's rig.
    pub(crate) fn rig(&self) -> PathBuf {
        self.root.join("rig.json")
    }

    /// Returns the file that remembers the temperature of the air at the rig.
    fn air(&self) -> PathBuf {
        self.root.join("air.json")
    }

    /// Returns the temperature of the air that was read at the rig earlier the same day.
    pub(crate) fn remembered_air(&self, now: Timestamp) -> Option<Temperature> {
        let remembered: RememberedAir =
            serde_json::from_str(&read_text(&self.air(), LARGEST_SETTINGS).ok()?).ok()?;
        let hours = now.duration_since(remembered.at).as_hours();
        (0..SAME_DAY_HOURS).contains(&hours).then_some(remembered.temperature_k)
    }

    /// Remembers the temperature of the air that was read at the rig. A folder that can't be written stops nothing: it is asked
    /// for again.
    pub(crate) fn remember_air(&self, temperature_k: Temperature, at: Timestamp) {
        if let Ok(text) = serde_json::to_string(&RememberedAir { temperature_k, at }) {
            let _ = write_whole(&self.air(), text.as_bytes());
        }
    }

    /// Returns the log of what the program does, for bug reports.
    pub(crate) fn log(&self) -> PathBuf {
        self.root.join("log.txt")
    }

    pub(crate) fn prices(&self) -> PathBuf {
        self.root.join("prices.json")
    }

    /// Returns the file of what the shop's customers say, and what procedures call it.
    pub(crate) fn sayings(&self) -> PathBuf {
        self.root.join("sayings.csv")
    }

    /// Returns the file that says where the procedure of an open session came from.
    pub(crate) fn origin(&self, name: &str) -> PathBuf {
        self.session(name).join(ORIGIN)
    }

    pub(crate) fn session(&self, name: &str) -> PathBuf {
        self.open_sessions().join(name)
    }

    pub(crate) fn journal(&self, name: &str) -> PathBuf {
        Shop::journal_in(&self.session(name))
    }

    /// Returns the journal in a session's folder, wherever that lies.
    pub(crate) fn journal_in(folder: &Path) -> PathBuf {
        folder.join(JOURNAL)
    }

    /// Returns where a session lies once it is discarded.
    pub(crate) fn discarded(&self, name: &str) -> PathBuf {
        self.root.join("discarded").join(name)
    }

    /// Moves a session that will not be finished out of the way, and returns where it lies now.
    pub(crate) fn discard(&self, name: &str) -> io::Result<PathBuf> {
        let place = self.discarded(name);
        place.parent().map_or(Ok(()), make_folder)?;
        std::fs::rename(self.session(name), &place)?;
        Ok(place)
    }

    /// Makes the folder of a new session, named after the time and the procedure, and returns its name.
    pub(crate) fn new_session(&self, now: Timestamp, procedure: &str) -> io::Result<String> {
        let time = now.strftime("%Y%m%d-%H%M%S");
        for attempt in 1..1000 {
            let name = match attempt {
                1 => format!("{time}-{procedure}"),
                n => format!("{time}-{procedure}-{n}"),
            };
            // The ledger may have a line for one that could not be stored and was discarded.
            if self.record(&name).exists() || self.discarded(&name).exists() {
                continue;
            }
            match std::fs::create_dir(self.open_sessions().join(&name)) {
                Ok(()) => return sync_folder(&self.open_sessions()).map(|()| name),
                Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {}
                Err(error) => return Err(error),
            }
        }
        Err(io::Error::new(io::ErrorKind::AlreadyExists, "too many sessions in one second"))
    }

    /// Returns the names of the sessions that have begun and are not finished, oldest first.
    pub(crate) fn open_names(&self) -> io::Result<Vec<String>> {
        names(
            &self.open_sessions(),
            |path| std::fs::metadata(path.join(JOURNAL)).is_ok_and(|journal| journal.len() > 0),
            |name| Some(name.to_owned()),
        )
    }

    /// Returns the names of the finished records, oldest first.
    pub(crate) fn record_names(&self) -> io::Result<Vec<String>> {
        names_of_documents(&self.records())
    }
}

/// Returns the names of the JSON documents in a folder without their ending, in the alphabet's order.
pub(crate) fn names_of_documents(folder: &Path) -> io::Result<Vec<String>> {
    names(folder, |path| path.is_file(), |name| name.strip_suffix(".json").map(str::to_owned))
}

/// Returns the JSON documents in a folder and in all folders below it, in the alphabet's order; links to folders are not followed.
pub(crate) fn documents_below(folder: &Path) -> io::Result<Vec<PathBuf>> {
    let names = names_of_documents(folder)?;
    let mut found: Vec<PathBuf> = names.iter().map(|name| folder.join(format!("{name}.json"))).collect();
    for entry in std::fs::read_dir(folder)? {
        let entry = entry?;
        if entry.file_type()?.is_dir() {
            found.extend(documents_below(&entry.path())?);
        }
    }
    found.sort();
    Ok(found)
}

fn names(
    folder: &Path,
    is_kind: fn(&Path) -> bool,
    name: fn(&str) -> Option<String>,
) -> io::Result<Vec<String>> {
    let mut found = Vec::new();
    for entry in std::fs::read_dir(folder)? {
        let entry = entry?;
        if is_kind(&entry.path()) {
            found.extend(entry.file_name().to_str().filter(|n| !n.starts_with('.')).and_then(name));
        }
    }
    found.sort();
    Ok(found)
}
