//! What the records of a shop say of each other, and its ledger of them.

use std::collections::{BTreeMap, HashMap, HashSet};
use std::path::{Path, PathBuf};

use jiff::{SignedDuration, Timestamp};

use crate::disk::LogError;
use crate::quantity::so_many;
use crate::record::{EarlierRecord, Mode, Photo, Record, Shop, SignerKey, photo_beside, pictures_beside};
use crate::session::{Auditor, Journal};
use crate::share::Ledger;

/// What has to be known of a record to hold it against the others.
pub(super) struct RecordFacts {
    path: PathBuf,
    session: String,
    digest: String,
    mode: Mode,
    finished: Timestamp,
    signer: Option<SignerKey>,
    amends: Option<EarlierRecord>,
    after: Option<EarlierRecord>,
    /// Each with the number of its event.
    photos: Vec<(u64, Photo)>,
}

impl RecordFacts {
    pub(super) fn of(record: &Record, path: &Path) -> RecordFacts {
        RecordFacts {
            path: path.to_owned(),
            session: record.session.clone(),
            digest: record.digest.clone().unwrap_or_default(),
            mode: record.mode,
            finished: record.finished,
            signer: record.signer.clone(),
            amends: record.amends.as_ref().map(|amends| amends.earlier.clone()),
            after: record.plan.as_ref().and_then(|plan| plan.after.clone()),
            photos: record.photos().map(|(event, _, photo)| (event.n, photo.clone())).collect(),
        }
    }
}

/// Returns whether a folder holds the session that a record of this digest comes of, all of it. While another program
/// has the session open, it is taken to.
fn is_left_in(folder: &Path, digest: &str) -> bool {
    match Journal::open(&Shop::journal_in(folder)) {
        Ok(journal) => Auditor::default().digest_of(journal).is_some_and(|found| found == digest),
        Err(error) => matches!(error, LogError::InUse(_)),
    }
}

/// What is wrong with a shop's records taken together, and what is to be known of them.
#[derive(Default)]
pub(super) struct Whole {
    pub(super) faults: Vec<String>,
    pub(super) remarks: Vec<String>,
}

impl Whole {
    /// Holds records against each other and against the shop's ledgers, each with what it is called; `own` is as
    /// whom the shop signs.
    pub(super) fn of(
        shop: &Shop,
        ledgers: &[(String, Ledger)],
        own: Option<&SignerKey>,
        all: &[RecordFacts],
    ) -> Whole {
        let mut whole = Whole::default();
        let by_session: HashMap<&str, &RecordFacts> =
            all.iter().map(|facts| (facts.session.as_str(), facts)).collect();
        for (name, ledger) in ledgers {
            whole
                .faults
                .extend(ledger.faults.iter().map(|fault| fault.to_string().replacen("the ledger", name, 1)));
            whole.entered(shop, name, ledger, &by_session);
        }
        if !ledgers.is_empty() {
            whole.in_no_line(ledgers, own, all);
        } else if all.iter().any(|facts| facts.mode == Mode::Bench) {
            whole.remarks.push(
                "This shop keeps no ledger yet, so records that were removed or slipped in do not show."
                    .to_owned(),
            );
        }
        whole.links(all, &by_session);
        whole
    }

    /// Says which records are there more than once, as where a folder holds a copy.
    pub(super) fn twice(&mut self, all: &[RecordFacts]) {
        let mut places: BTreeMap<(&str, &str), Vec<String>> = BTreeMap::new();
        for RecordFacts { path, session, digest, .. } in all {
            places.entry((session, digest)).or_default().push(path.display().to_string());
        }
        for ((session, _), paths) in places.iter().filter(|(_, paths)| paths.len() > 1) {
            self.remarks.push(format!("{session} is the same record in {}.", paths.join(" and ")));
        }
    }

    /// Looks for the photos that records name. They are the folder's: a record is in order without them.
    pub(super) fn photos(&mut self, shop: &Shop, all: &[RecordFacts]) {
        let (mut n_records, mut n_photos) = (0, 0);
        for RecordFacts { path, session, photos, .. } in all.iter().filter(|facts| !facts.photos.is_empty()) {
            if *path != shop.record(session) && !pictures_beside(path).is_dir() {
                n_records += 1;
                n_photos += photos.len();
                continue;
            }
            for (n, photo) in photos {
                if let Err(fault) = photo_beside(path, photo) {
                    self.faults.push(format!("the photo of event {n} of {session}: {fault}"));
                }
            }
        }
        if n_records > 0 {
            self.remarks.push(format!(
                "Not looked for: {} of {}, since no folder of pictures lies beside.",
                so_many(n_photos, "photo"),
                so_many(n_records, "record")
            ));
        }
    }

    /// Looks for the record of each line.
    fn entered(&mut self, shop: &Shop, name: &str, ledger: &Ledger, records: &HashMap<&str, &RecordFacts>) {
        const SOON: SignedDuration = SignedDuration::from_hours(1);
        let mut late = Vec::new();
        for line in &ledger.lines {
            let (session, day) = (&line.session, line.at.strftime("%Y-%m-%d"));
            match records.get(session.as_str()) {
                None if is_left_in(&shop.session(session), &line.digest) => self.remarks.push(format!(
                    "{session} is finished and not stored yet: guide --resume {session} puts it in its place."
                )),
                None if is_left_in(&shop.discarded(session), &line.digest) => self.remarks.push(format!(
                    "{session} was finished, and discarded before it could be stored; moved from {} back to {}, guide \
                     --resume {session} puts it in its place.",
                    shop.discarded(session).display(),
                    shop.open_sessions().display()
                )),
                None => self.faults.push(format!("{session} is missing: {name} has it since {day}")),
                Some(facts) if facts.digest != line.digest => self.faults.push(format!(
                    "{session} is not the record that {name} has since {day}: it was altered or exchanged"
                )),
                Some(facts) if line.at.duration_since(facts.finished).abs() > SOON => {
                    late.push(session.as_str());
                }
                Some(_) => {}
            }
        }
        if !late.is_empty() {
            self.remarks.push(format!(
                "Entered in {name} at another time than they say that they were finished, so that it does not show \
                 when they were made: {}.",
                late.join(", ")
            ));
        }
    }

    fn in_no_line(&mut self, ledgers: &[(String, Ledger)], own: Option<&SignerKey>, all: &[RecordFacts]) {
        let entered: HashSet<&str> =
            ledgers.iter().flat_map(|(_, ledger)| &ledger.lines).map(|line| line.session.as_str()).collect();
        for facts in all.iter().filter(|facts| facts.mode == Mode::Bench) {
            let RecordFacts { session, signer, .. } = facts;
            if entered.contains(session.as_str()) {
                continue;
            }
            match signer.as_ref().filter(|signer| Some(*signer) != own) {
                Some(signer) => self.remarks.push(format!(
                    "{session} came from another bench: it is signed by {} and belongs in that bench's ledger.",
                    signer.signer()
                )),
                None => self.faults.push(format!(
                    "{session} is in no line of the ledger: it was slipped in, came from another bench, or could not be \
                     entered; where you know that it is yours, records sign enters it"
                )),
            }
        }
    }

    /// Follows what a record names: what it amends, and what it tests again.
    fn links(&mut self, all: &[RecordFacts], records: &HashMap<&str, &RecordFacts>) {
        let mut amended: HashMap<&str, Vec<&str>> = HashMap::new();
        for facts in all {
            let session = &facts.session;
            if let Some(earlier) = &facts.amends {
                amended.entry(&earlier.session).or_default().push(session);
                match records.get(earlier.session.as_str()) {
                    None => {
                        self.faults.push(format!("{session} amends {}, which is missing", earlier.session))
                    }
                    Some(found) if found.digest != earlier.digest => self
                        .faults
                        .push(format!("{session} amends {}, which is not as it was then", earlier.session)),
                    Some(_) => {}
                }
            }
            if let Some(earlier) = &facts.after {
                match records.get(earlier.session.as_str()) {
                    None => self
                        .remarks
                        .push(format!("{session} tests {} again, which is not here.", earlier.session)),
                    Some(found) if found.digest != earlier.digest => self.faults.push(format!(
                        "{session} tests {} again, which is not as it was then",
                        earlier.session
                    )),
                    Some(_) => {}
                }
            }
        }
        // Two programs may have done that, or two shops whose records came together.
        let mut twice: Vec<_> = amended.into_iter().filter(|(_, by)| by.len() > 1).collect();
        twice.sort_unstable();
        for (amended, by) in twice {
            self.faults
                .push(format!("{amended} is amended by {}; only the last of them counts", by.join(" and ")));
        }
    }
}
