use std::collections::HashSet;
use std::path::{Path, PathBuf};

use clap::Args;

use super::chosen::audited;
use crate::cli::arguments::{ChosenMode, ShopFolder};
use crate::cli::server::{ChosenServer, Fetched};
use crate::cli::status::{Failure, Outcome, Status};
use crate::console::Screen;
use crate::disk::{self, LARGEST_DOCUMENT, write_new, write_whole};
use crate::picture::{DRAWING, PHOTO, Picture};
use crate::record::{
    Mode, Photo, PictureFault, Record, Shop, SignerKey, names_of_documents, photo_beside, picture_in,
    pictures_beside, read, sha256,
};
use crate::session::Audit;
use crate::share::{InLedgers, Ledger, LedgerKept, SignerStanding, Trust, keep_beside, standing_in};

/// Take in the records of other benches and shops, each of them audited.
///
/// What is here already is left as it is, but for a signature that it lacked, so the same again does nothing, and what
/// was interrupted is gone on with. Photos come along from the folder pictures of the shop that the records lie in; a
/// server has none. Refused is what is not in order, what has the name of another record, what is of another mode than
/// was asked for, and what nobody vouches for: it is neither signed nor in the ledger that comes with it, nor on the
/// server that benches share. Ledgers are kept beside the shop's own, and records audit goes by all of them.
#[derive(Debug, Args)]
pub(super) struct RecordsImport {
    /// Shops' folders, of which the records and the ledger are taken, folders of records, or records' files;
    /// folders in folders are looked into. Where none is named, the server is meant that benches share: all that
    /// the login may see there
    #[arg(value_name = "PLACE")]
    places: Vec<PathBuf>,
    #[command(flatten)]
    server: ChosenServer,
    #[command(flatten)]
    chosen: ChosenMode,
}

const NOBODY_VOUCHES: &str = "nobody signed it, and no ledger that came with it has it: take the folder of the shop that it \
                              comes from, or have it signed there (records sign --as NAME)";

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
    signer: Option<SignerKey>,
    photos: Vec<Photo>,
    /// The digests of its procedure's pictures.
    pictures: Vec<String>,
    /// What tells a person which it is.
    told: String,
}

impl RecordsImport {
    pub(super) fn run(self, shop: &ShopFolder) -> Outcome {
        let ChosenMode { mode } = self.chosen;
        let fetched = match self.places.is_empty() {
            true => Some(self.server.fetched(shop, mode)?),
            false => None,
        };
        let found = self.gathered(mode, fetched.as_ref())?;
        // Not before there is something to take: a slip in a place begins no shop.
        let holder = shop.open()?;
        let trust = Trust::of(&holder).map_err(Failure::wrong)?;
        let shop = &holder.of_mode(mode).map_err(Failure::wrong)?;
        let called = |path: &Path| match &fetched {
            Some(_) => format!("number {} on the server", path.file_stem().unwrap_or_default().display()),
            None => path.display().to_string(),
        };
        let read = |path| disk::read(path, LARGEST_DOCUMENT).map_err(|error| Failure::file(path, error));
        let texts = found.ledgers.iter().map(|path| read(path)).collect::<Result<Vec<_>, _>>()?;
        let (ledgers, mut status) = ledgers(&found.ledgers, &texts, called);
        let own = Ledger::of(shop).map_err(Failure::wrong)?.unwrap_or_default();
        let known = Ledger::all(shop).map_err(Failure::wrong)?;
        let vouched =
            |session: &str, digest: &str| match standing_in(known.iter().chain(&ledgers), session, digest) {
                InLedgers::Exchanged(why) => Err(why),
                InLedgers::Nowhere if fetched.is_none() => Err(NOBODY_VOUCHES.to_owned()),
                _ => Ok(()),
            };
        let (mut sound, audited) = audited(&found.records, |path, audit| {
            sound(path, audit, mode, &trust, vouched)
                .map_err(|why| Failure::not_in_order(format!("refused  {}: {why}", called(path))))
        });
        status = status.max(audited);
        // Of one that came with and without its signature, the signed one is taken.
        sound.sort_by_key(|record| record.signer.is_none());
        let mut tally = Tally::default();
        for record in &sound {
            let is_ours = own.lines.iter().any(|line| line.session == record.session);
            // Others may sign what they did not make, and not what this shop made.
            let may_sign = !is_ours || record.signer.as_ref() == trust.own();
            status = status.max(tally.take(shop, record, may_sign, &called(&record.path))?);
        }
        let stems = found.records.iter().filter_map(|path| path.file_stem()?.to_str().map(str::to_owned));
        let came = fetched.map_or_else(|| stems.collect(), |fetched| fetched.sessions);
        let mut screen = Screen::stdout();
        if tally.n_photos_left > 0 {
            screen.say(&format!(
                "Photos that the records name and that did not come with them: {}.",
                tally.n_photos_left
            ));
        }
        for (called, bytes) in ledgers.iter().zip(&texts) {
            status = status.max(keep(shop, called, bytes, &came, &mut screen)?);
        }
        let n_refused = found.records.len() - sound.len() + tally.n_clashes;
        let Tally { n_taken, n_here, .. } = tally;
        screen.line(&format!("{n_taken} taken, {n_here} here already, {n_refused} refused."));
        Ok(status)
    }

    /// Finds what lies at the places that were named, or came from the server: some record at each.
    fn gathered(&self, mode: Mode, fetched: Option<&Fetched>) -> Result<Gathered, Failure> {
        let mut found = Gathered::default();
        let fetched_here = fetched.iter().map(|fetched| fetched.folder.path());
        for place in fetched_here.chain(self.places.iter().map(PathBuf::as_path)) {
            let before = found.records.len();
            let of_mode = Some(Shop::of_mode_in(place, mode)).filter(|folder| folder.is_dir());
            gather(of_mode.as_deref().unwrap_or(place), &mut found)
                .map_err(|error| Failure::file(place, error))?;
            if found.records.len() == before {
                return Err(Failure::wrong(match fetched {
                    Some(_) => "there are no records on the server that this login may see".to_owned(),
                    None => format!("there are no records in {}", place.display()),
                }));
            }
        }
        Ok(found)
    }
}

/// What became of the sound records so far.
#[derive(Default)]
struct Tally {
    n_taken: usize,
    n_here: usize,
    n_clashes: usize,
    n_photos_left: usize,
}

impl Tally {
    /// Takes a record and what lies beside it, counts it, and says what became of it.
    fn take(&mut self, shop: &Shop, record: &Sound, may_sign: bool, called: &str) -> Outcome {
        let mut status = Status::Done;
        let taken = take(shop, record, may_sign)?;
        if !matches!(taken, Taken::Clashes) {
            self.n_photos_left += take_photos(shop, record, &mut status)?;
        }
        let mut screen = Screen::stdout();
        let session = &record.session;
        match taken {
            Taken::New => {
                self.n_taken += 1;
                screen.item("taken    ", &format!("{session}: {}", record.told));
            }
            Taken::Here => self.n_here += 1,
            Taken::Signed(by) => {
                self.n_here += 1;
                screen.item("signed   ", &format!("{session}: was here, and now with the signature of {by}"));
            }
            Taken::Clashes => {
                self.n_clashes += 1;
                let told = format!(
                    "refused  {called}: the shop has another record of the name {session}; both stay as they are"
                );
                status = status.max(Failure::not_in_order(told).report());
            }
        }
        Ok(status)
    }
}

/// Reads the ledgers that came, each with what it is called, and says what is wrong with them.
fn ledgers(
    paths: &[PathBuf],
    texts: &[Vec<u8>],
    called: impl Fn(&Path) -> String,
) -> (Vec<(String, Ledger)>, Status) {
    let mut status = Status::Done;
    let read = paths.iter().zip(texts).map(|(path, text)| {
        let ledger = Ledger::read(text);
        for fault in &ledger.faults {
            status = status.max(Failure::not_in_order(format!("{}: {fault}", called(path))).report());
        }
        (format!("the ledger {}", called(path)), ledger)
    });
    (read.collect(), status)
}

/// Keeps a ledger that came beside the shop's own, and says which of its records are missing.
fn keep(
    shop: &Shop,
    (name, ledger): &(String, Ledger),
    bytes: &[u8],
    came: &HashSet<String>,
    screen: &mut Screen,
) -> Outcome {
    let mut status = Status::Done;
    if ledger.lines.is_empty() {
        return Ok(status);
    }
    match keep_beside(shop, bytes).map_err(|error| Failure::file(&shop.ledgers(), error))? {
        LedgerKept::New => screen.item("kept     ", name),
        LedgerKept::Known => {}
        LedgerKept::Differs => {
            let told = format!(
                "refused  {name}: it does not go on from the ledger that is kept of this bench: lines were changed or removed"
            );
            status = status.max(Failure::not_in_order(told).report());
        }
    }
    if let Some(told) = missing(shop, name, ledger, came) {
        status = status.max(Failure::not_in_order(told).report());
    }
    Ok(status)
}

/// Says which records of a ledger neither came with it nor are here; none where there are none.
fn missing(shop: &Shop, name: &str, ledger: &Ledger, came: &HashSet<String>) -> Option<String> {
    let is_missing = |session: &&str| !came.contains(*session) && !shop.record(session).is_file();
    let missing: Vec<&str> =
        ledger.lines.iter().map(|line| line.session.as_str()).filter(is_missing).collect();
    let more = match missing.len() {
        0 => return None,
        1 => String::new(),
        n => format!(" and {} more; records audit names all", n - 1),
    };
    Some(format!("missing  {}{more}: {name} has it, and it neither came nor is here", missing[0]))
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
    mode: Mode,
    trust: &Trust,
    vouched: impl Fn(&str, &str) -> Result<(), String>,
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
    if record.mode != mode {
        let told = match record.mode {
            Mode::Bench => "it was read at a bench",
            Mode::Rehearsal => "it is a rehearsal, in which nothing was measured",
            Mode::Practice => "it is an attempt at an exercise: practice grades takes those of a class",
        };
        return Err(told.to_owned());
    }
    if Path::new(&record.session).file_name() != Some(record.session.as_ref())
        || record.session.starts_with('.')
    {
        return Err(format!("\"{}\" can't be the name of a file", record.session));
    }
    let digest = record.digest.as_deref().unwrap_or_default();
    match audit.signer.as_ref().map(|signer| (trust.standing(signer), signer)) {
        Some((SignerStanding::OtherKey(known) | SignerStanding::OtherName(known), signer)) => {
            return Err(format!(
                "{} signed it, and the shop knows {}: ask which of them it is; trust forget ends what the shop knows",
                signer.signer(),
                known.signer()
            ));
        }
        Some(_) => {}
        None => vouched(&record.session, digest)?,
    }
    let bytes = disk::read(path, LARGEST_DOCUMENT).map_err(|error| error.to_string())?;
    Ok(Sound {
        path: path.to_owned(),
        bytes: sha256(&bytes),
        told: told(&record),
        photos: record.photos().map(|(.., photo)| photo.clone()).collect(),
        pictures: record.procedure.pictures.iter().map(|picture| picture.sha256.clone()).collect(),
        session: record.session,
        digest: record.digest,
        signer: audit.signer,
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
    /// It was here, and nobody had signed it; says who has now.
    Signed(String),
    /// The shop has another one of its name.
    Clashes,
}

/// Takes the photos of a record, and the pictures of its procedure, that lie beside it and are not here; returns how
/// many neither lie there nor here.
fn take_photos(shop: &Shop, record: &Sound, status: &mut Status) -> Result<usize, Failure> {
    let mut n_left = 0;
    // A report can do without those of the procedure.
    for digest in record.pictures.iter().filter(|digest| shop.kept_picture(digest, DRAWING).is_none()) {
        if let Some(picture) = picture_in(&pictures_beside(&record.path), digest, DRAWING) {
            shop.keep_picture(&picture).map_err(|error| Failure::file(&shop.pictures(), error))?;
        }
    }
    for photo in &record.photos {
        if photo_beside(&shop.record(&record.session), photo).is_ok() {
            continue;
        }
        let found = match photo_beside(&record.path, photo) {
            Err(PictureFault::Missing(_)) => {
                n_left += 1;
                continue;
            }
            Err(fault) => Err(fault.to_string()),
            Ok(bytes) => Picture::of(bytes, PHOTO).map_err(|error| error.to_string()),
        };
        match found {
            Ok(picture) => shop
                .keep_picture(&picture)
                .map(drop)
                .map_err(|error| Failure::file(&shop.pictures(), error))?,
            Err(why) => {
                let told = format!("refused  a photo of {}: {why}", record.session);
                *status = Failure::not_in_order(told).report().max(*status);
            }
        }
    }
    Ok(n_left)
}

fn take(shop: &Shop, record: &Sound, may_sign: bool) -> Result<Taken, Failure> {
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
            let here = read(&path).ok().filter(|here| here.digest == record.digest);
            match (here, &record.signer) {
                (None, _) => Ok(Taken::Clashes),
                (Some(here), Some(signer)) if may_sign && here.signature.is_none() => {
                    write_whole(&path, &bytes).map_err(|error| Failure::file(&path, error))?;
                    Ok(Taken::Signed(signer.signer().to_string()))
                }
                _ => Ok(Taken::Here),
            }
        }
        Err(error) => Err(Failure::file(&path, error)),
    }
}
