use std::path::{Path, PathBuf};

use clap::Args;
use tempfile::TempDir;

use super::chosen::of_each;
use crate::cli::server::ChosenServer;
use crate::cli::status::{Failure, Outcome, Status};
use crate::console::Screen;
use crate::disk::{self, LARGEST_DOCUMENT, write_new};
use crate::record::{Mode, Record, Shop, names_of_documents, read, sha256};
use crate::session::{Audit, Auditor};
use crate::share::{Ledger, LedgerKept, SignerStanding, Trust, keep_beside};

/// Take in the records of other benches and shops, each of them audited.
///
/// What is here already is left as it is, so the same again does nothing, and what was interrupted is gone on with. Refused is
/// what is not in order, what has the name of another record, what was not read at a bench, and what nobody vouches for: it is
/// neither signed nor in the ledger that comes with it, nor on the server that benches share. Ledgers are kept beside the shop's own, and records audit goes by all of
/// them.
#[derive(Debug, Args)]
pub(super) struct RecordsImport {
    /// Shops' folders, of which the records and the ledger are taken, folders of records, or records' files; folders in folders
    /// are looked into. Where none is named, the server is meant that benches share: all that the login may see there
    #[arg(value_name = "PLACE")]
    places: Vec<PathBuf>,
    #[command(flatten)]
    server: ChosenServer,
}

/// What lies at the places that were named.
#[derive(Default)]
struct Gathered {
    records: Vec<PathBuf>,
    ledgers: Vec<PathBuf>,
}

/// A record that may be taken.
struct Sound {
    path: PathBuf,
    /// SHA-256 of the bytes that were audited.
    bytes: String,
    session: String,
    digest: Option<String>,
    /// What tells a person which it is.
    told: String,
}

impl RecordsImport {
    pub(super) fn run(self, shop: &Shop) -> Outcome {
        let fetched = match self.places.is_empty() {
            true => Some(self.server.fetched(shop)?),
            false => None,
        };
        let mut found = Gathered::default();
        for place in fetched.iter().map(TempDir::path).chain(self.places.iter().map(PathBuf::as_path)) {
            let before = found.records.len();
            gather(place, &mut found).map_err(|error| Failure::file(place, error))?;
            if found.records.len() == before {
                return Err(Failure::wrong(format!("there are no records in {}", place.display())));
            }
        }
        let trust = Trust::of(shop).map_err(Failure::wrong)?;
        let (mut ledgers, mut status) = (Vec::new(), Status::Done);
        for path in &found.ledgers {
            let bytes = disk::read(path, LARGEST_DOCUMENT).map_err(|error| Failure::file(path, error))?;
            let ledger = Ledger::read(&bytes);
            for fault in &ledger.faults {
                status = status.max(Failure::not_in_order(format!("{}: {fault}", path.display())).report());
            }
            ledgers.push((path, bytes, ledger));
        }
        let known = Ledger::all(shop).map_err(Failure::wrong)?;
        let lines: Vec<_> = known
            .iter()
            .map(|(_, ledger)| ledger)
            .chain(ledgers.iter().map(|(.., ledger)| ledger))
            .flat_map(|ledger| &ledger.lines)
            .map(|line| (line.session.as_str(), line.digest.as_str()))
            .collect();
        let (sound, audited) = of_each("records audited", &found.records, |auditor: &mut Auditor, path| {
            let audit = auditor.audit_file(path).map_err(Failure::wrong)?;
            sound(path, audit, &trust, |record| fetched.is_some() || lines.contains(&record))
                .map_err(|why| Failure::not_in_order(format!("refused  {}: {why}", path.display())))
        });
        status = status.max(audited);
        let mut screen = Screen::stdout();
        let (mut n_taken, mut n_here, mut n_clashes) = (0, 0, 0);
        for record in &sound {
            match take(shop, record)? {
                Taken::New => {
                    n_taken += 1;
                    screen.item("taken    ", &format!("{}: {}", record.session, record.told));
                }
                Taken::Here => n_here += 1,
                Taken::Clashes => {
                    n_clashes += 1;
                    let told = format!(
                        "refused  {}: the shop has another record of the name {}; both stay as they are",
                        record.path.display(),
                        record.session
                    );
                    status = status.max(Failure::not_in_order(told).report());
                }
            }
        }
        for (path, bytes, ledger) in &ledgers {
            if ledger.lines.is_empty() {
                continue;
            }
            match keep_beside(shop, bytes).map_err(|error| Failure::file(&shop.ledgers(), error))? {
                LedgerKept::New => screen.item("kept     ", &format!("the ledger {}", path.display())),
                LedgerKept::Known => {}
                LedgerKept::Differs => {
                    let told = format!(
                        "refused  {}: it does not go on from the ledger that is kept of this bench: lines were changed or removed",
                        path.display()
                    );
                    status = status.max(Failure::not_in_order(told).report());
                }
            }
        }
        let n_refused = found.records.len() - sound.len() + n_clashes;
        screen.line(&format!("{n_taken} taken, {n_here} here already, {n_refused} refused."));
        Ok(status)
    }
}

/// Finds the records and ledgers of a place; of a shop only its own records, not what it rehearsed or received.
fn gather(place: &Path, found: &mut Gathered) -> std::io::Result<()> {
    if !place.is_dir() {
        found.records.push(place.to_owned());
        return Ok(());
    }
    let of_shop = place.join("records");
    let is_shop = of_shop.is_dir();
    let records = if is_shop { &of_shop } else { place };
    found
        .records
        .extend(names_of_documents(records)?.iter().map(|name| records.join(format!("{name}.json"))));
    // Of a shop, or of one whose folder of records was named.
    let beside = [place, place.parent().filter(|_| place.ends_with("records")).unwrap_or(place)];
    found.ledgers.extend(beside.map(Shop::ledger_in).into_iter().filter(|ledger| ledger.is_file()).take(1));
    if is_shop {
        found.ledgers.extend(Shop::ledgers_in(place)?);
        return Ok(());
    }
    for entry in std::fs::read_dir(place)? {
        let entry = entry?;
        if entry.file_type()?.is_dir() {
            gather(&entry.path(), found)?;
        }
    }
    Ok(())
}

/// Returns what is to be known of a record that may be taken, or why it may not.
fn sound(
    path: &Path,
    audit: Audit,
    trust: &Trust,
    is_vouched_for: impl Fn((&str, &str)) -> bool,
) -> Result<Sound, String> {
    if audit.is_of_other_version() {
        return Err(format!(
            "version {} of the program made it, and only that can audit it: take it in with that",
            audit.other_version.unwrap_or_default()
        ));
    }
    let n_more = audit.faults.len().saturating_sub(1);
    let Some(record) = audit.record else {
        let why = audit.faults.first().map(ToString::to_string).unwrap_or_default();
        let more = if n_more > 0 { format!(", and {n_more} more") } else { String::new() };
        return Err(format!("it is not in order: {why}{more}; records audit says all"));
    };
    match record.mode {
        Mode::Bench => {}
        Mode::Rehearsal => return Err("it is a rehearsal, in which nothing was measured".to_owned()),
        Mode::Practice => {
            return Err("it is an attempt at an exercise: practice grades takes those of a class".to_owned());
        }
    }
    if Path::new(&record.session).file_name() != Some(record.session.as_ref())
        || record.session.starts_with('.')
    {
        return Err(format!("\"{}\" can't be the name of a file", record.session));
    }
    let digest = record.digest.as_deref().unwrap_or_default();
    match audit.signer.map(|signer| (trust.standing(&signer), signer)) {
        Some((SignerStanding::OtherKey(known) | SignerStanding::OtherName(known), signer)) => {
            return Err(format!(
                "{} signed it, and the shop knows {}: ask which of them it is; trust forget ends what the shop knows",
                signer.signer(),
                known.signer()
            ));
        }
        None if !is_vouched_for((&record.session, digest)) => {
            return Err("nobody signed it, and no ledger that came with it has it: take the folder of the shop that it comes \
                        from, or have it signed there (records sign --as NAME)"
                .to_owned());
        }
        _ => {}
    }
    let bytes = disk::read(path, LARGEST_DOCUMENT).map_err(|error| error.to_string())?;
    Ok(Sound {
        path: path.to_owned(),
        bytes: sha256(&bytes),
        told: told(&record),
        session: record.session,
        digest: record.digest,
    })
}

fn told(record: &Record) -> String {
    let bench = record.opening().and_then(|opening| opening.bench.as_ref());
    let unit = record.procedure.unit.as_ref().unwrap_or(&record.procedure.title);
    let parts = [Some(unit.clone()), record.tested_by(), bench.map(ToString::to_string)];
    parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
}

/// What became of a sound record.
enum Taken {
    New,
    Here,
    /// The shop has another one of its name.
    Clashes,
}

fn take(shop: &Shop, record: &Sound) -> Result<Taken, Failure> {
    let path = shop.record(&record.session);
    let bytes =
        disk::read(&record.path, LARGEST_DOCUMENT).map_err(|error| Failure::file(&record.path, error))?;
    if sha256(&bytes) != record.bytes {
        return Err(Failure::wrong(format!(
            "{} was changed meanwhile; give this again",
            record.path.display()
        )));
    }
    match write_new(&path, &bytes, None) {
        Ok(()) => Ok(Taken::New),
        Err(error) if error.kind() == std::io::ErrorKind::AlreadyExists => {
            match read(&path).is_ok_and(|here| here.digest == record.digest) {
                true => Ok(Taken::Here),
                false => Ok(Taken::Clashes),
            }
        }
        Err(error) => Err(Failure::file(&path, error)),
    }
}
