//! The shop: one folder, and what lies where in it.

use std::io;
use std::path::{Path, PathBuf};

use jiff::Timestamp;
use jiff::civil::DateTime;
use serde::{Deserialize, Serialize};

/// Name of a session's journal in its folder.
pub(crate) const JOURNAL: &str = "journal.jsonl";

/// Name of the file, in the folder of an open session, that says where its procedure came from.
pub(crate) const ORIGIN: &str = "origin";

/// Name of the folder, in a shop, of other benches' ledgers.
const LEDGERS: &str = "ledgers";

/// Name of the folder, in a shop, of rehearsals.
const REHEARSALS: &str = "rehearsals";

/// Name of the folder, in a shop, of attempts at exercises.
const PRACTICE: &str = "practice";

/// What was said so many hours ago or fewer was said on the same day.
const SAME_DAY_HOURS: i64 = 12;

/// The folder that holds the rig, open sessions and records of one bench or school.
#[derive(Debug, Clone)]
pub(crate) struct Shop {
    root: PathBuf,
}
use super::name::session_name;
use super::{Answer, Event, Mode, Wants, What};
use crate::disk::{LARGEST_SETTINGS, make_folder, read_text, sync_folder, write_whole};
use crate::picture::PictureKind;
use crate::quantity::{Temperature, Unit};

/// What the first questions of the session that was left last were answered with, and which session
/// read the gauge last.
#[derive(Debug, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct SaidEarlier {
    session: String,
    /// When it did.
    read_at: Timestamp,
    pub(crate) technician: Option<String>,
    /// As entered.
    pub(crate) barometer: Option<String>,
    /// None where nobody knew it.
    pub(crate) air_k: Option<Temperature>,
    /// When the barometer was read.
    at: Timestamp,
}

impl SaidEarlier {
    /// Takes what was said last in a journal.
    pub(crate) fn of(events: &[Event]) -> SaidEarlier {
        let mut said = SaidEarlier::default();
        for Event { what, at, .. } in events {
            match what {
                What::Opened { opening } => said.session.clone_from(&opening.session),
                What::TakenOver { technician } => said.technician = Some(technician.clone()),
                What::Answered { question, answer } => match (&question.wants, answer) {
                    (Wants::Technician, Answer::Text(name)) => said.technician = Some(name.clone()),
                    (Wants::Barometer, Answer::Barometer { entered, .. }) => {
                        (said.barometer, said.at) = (Some(entered.clone()), *at);
                    }
                    (Wants::AirTemperature, Answer::AirTemperature { air, .. }) => {
                        said.air_k = (!air.is_assumed()).then_some(air.temperature());
                    }
                    (Wants::Reading { .. }, _) => said.read_at = *at,
                    _ => {}
                },
                _ => {}
            }
        }
        said
    }

    /// Returns the answers as they would be typed, each with the kind of its question, in the order of these.
    pub(crate) fn answers(self) -> Vec<(&'static str, String)> {
        let celsius = Unit::by_word("celsius");
        let air = self.air_k.zip(celsius).map(|(air, celsius)| air.in_unit(celsius));
        let answers = [
            (Wants::Technician, self.technician),
            (Wants::Barometer, self.barometer),
            (Wants::AirTemperature, air),
        ];
        answers.into_iter().filter_map(|(wants, line)| Some((wants.kind(), line?))).collect()
    }
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

    /// Opens the shop that records of a mode lie in, which this one may be itself.
    pub(crate) fn of_mode(&self, mode: Mode) -> io::Result<Shop> {
        let is_it = folder_of(mode).is_none_or(|folder| self.holder(folder).is_some());
        if is_it { Ok(self.clone()) } else { Shop::open(&Shop::of_mode_in(&self.root, mode)) }
    }

    /// Returns the folder for records of a mode of one that may be another bench's shop.
    pub(crate) fn of_mode_in(folder: &Path, mode: Mode) -> PathBuf {
        folder_of(mode).map_or(folder.to_owned(), |name| folder.join(name))
    }

    /// Returns the shop whose attempts at exercises this one holds; none where it is a shop itself.
    pub(crate) fn of_practice(&self) -> Option<Shop> {
        self.holder(PRACTICE)
    }

    /// Returns the shop that this one lies in under a name; none where it is a shop itself.
    fn holder(&self, name: &str) -> Option<Shop> {
        let holder = self.root.parent().filter(|_| self.root.ends_with(name))?;
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

    /// Returns where pictures are kept.
    pub(crate) fn pictures(&self) -> PathBuf {
        Shop::pictures_in(&self.root)
    }

    /// Returns where pictures lie in a folder that may be another bench's shop.
    pub(crate) fn pictures_in(folder: &Path) -> PathBuf {
        folder.join("pictures")
    }

    /// Returns where the picture of a digest is kept.
    pub(crate) fn picture(&self, digest: &str, kind: PictureKind) -> PathBuf {
        self.pictures().join(format!("{digest}.{}", kind.ending()))
    }

    /// Returns the file of the key that the shop signs with.
    pub(crate) fn key(&self) -> PathBuf {
        self.root.join("keys").join("signing.json")
    }

    /// Returns the file in which every record of the shop has its line.
    pub(crate) fn ledger(&self) -> PathBuf {
        Shop::ledger_in(&self.root)
    }

    /// Returns the ledger of a folder that may be another bench's shop.
    pub(crate) fn ledger_in(folder: &Path) -> PathBuf {
        folder.join("ledger.jsonl")
    }

    /// Returns the folder of the ledgers that came with the records of other benches.
    pub(crate) fn ledgers(&self) -> PathBuf {
        self.root.join(LEDGERS)
    }

    /// Returns the ledgers that a shop's folder keeps of other benches, in the alphabet's order.
    pub(crate) fn ledgers_in(folder: &Path) -> io::Result<Vec<PathBuf>> {
        let folder = folder.join(LEDGERS);
        if !folder.is_dir() {
            return Ok(Vec::new());
        }
        let stems =
            names(&folder, |path| path.is_file(), |name| name.strip_suffix(".jsonl").map(str::to_owned))?;
        Ok(stems.iter().map(|stem| folder.join(format!("{stem}.jsonl"))).collect())
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

    /// Returns the file that remembers who tested last, and in what air.
    fn said_earlier_file(&self) -> PathBuf {
        self.root.join("earlier.json")
    }

    /// Returns whether another session read the gauge since a time.
    pub(crate) fn was_rig_used(&self, session: &str, since: Timestamp) -> bool {
        let last = self.last_said();
        last.session != session && last.read_at > since
    }

    fn last_said(&self) -> SaidEarlier {
        let text = read_text(&self.said_earlier_file(), LARGEST_SETTINGS).unwrap_or_default();
        serde_json::from_str(&text).unwrap_or_default()
    }

    /// Returns who tested earlier the same day, and in what air; nothing where nobody did.
    pub(crate) fn said_earlier(&self, now: Timestamp) -> SaidEarlier {
        let said = self.last_said();
        let hours = now.duration_since(said.at).as_hours();
        if (0..SAME_DAY_HOURS).contains(&hours) { said } else { SaidEarlier::default() }
    }

    /// Remembers who tested, in what air, and whether no session has read the gauge since. A folder that can't be
    /// written stops nothing: it is asked for again.
    pub(crate) fn remember(&self, mut said: SaidEarlier) {
        let last = self.last_said();
        if last.read_at > said.read_at {
            (said.session, said.read_at) = (last.session, last.read_at);
        }
        if let (true, Ok(text)) = (said.barometer.is_some(), serde_json::to_string(&said)) {
            let _ = write_whole(&self.said_earlier_file(), text.as_bytes());
        }
    }

    /// Returns the log of what the program does, for bug reports.
    pub(crate) fn log(&self) -> PathBuf {
        self.root.join("log.txt")
    }

    pub(crate) fn prices(&self) -> PathBuf {
        self.root.join("prices.json")
    }

    /// Returns the folder of the shop's own exercises.
    pub(crate) fn exercises(&self) -> PathBuf {
        self.root.join("exercises")
    }

    /// Returns the journals of all sessions that were begun and left no record: open ones and those
    /// that were discarded.
    pub(crate) fn journals_without_record(&self) -> Vec<PathBuf> {
        let folders = [self.open_sessions(), self.discarded("")];
        let sessions = folders.iter().filter_map(|folder| std::fs::read_dir(folder).ok()).flatten().flatten();
        sessions
            .map(|session| Shop::journal_in(&session.path()))
            .filter(|journal| journal.is_file())
            .collect()
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

    /// Makes the folder of a new session and returns its name.
    pub(crate) fn new_session(
        &self,
        on_the_wall: DateTime,
        mut chance: impl FnMut() -> io::Result<u32>,
    ) -> io::Result<String> {
        loop {
            let name = session_name(on_the_wall, chance()?);
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

/// Returns the name of the folder, in a shop, of what is of a mode: beside the bench's records, never among
/// them. None of the bench.
fn folder_of(mode: Mode) -> Option<&'static str> {
    match mode {
        Mode::Bench => None,
        Mode::Rehearsal => Some(REHEARSALS),
        Mode::Practice => Some(PRACTICE),
    }
}

/// Returns the names of the JSON documents in a folder without their ending, in the alphabet's order.
pub(crate) fn names_of_documents(folder: &Path) -> io::Result<Vec<String>> {
    names(folder, |path| path.is_file(), |name| name.strip_suffix(".json").map(str::to_owned))
}

/// Returns the JSON documents in a folder and in all folders below it, in the alphabet's order; links to
/// folders are not followed.
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
