use std::cell::Cell;
use std::collections::HashSet;
use std::io;
use std::path::{Path, PathBuf};
use std::rc::Rc;
use std::sync::OnceLock;
use std::sync::mpsc::channel;
use std::thread;
use std::time::Duration;

use clap::{Args, Subcommand};
use tempfile::TempDir;

use super::arguments::{ChosenMode, ShopFolder, command_in};
use super::indexed::brought_up;
use super::status::{Failure, Outcome, Status};
use crate::console::{Progress, Screen};
use crate::disk::{self, LARGEST_DOCUMENT, make_folder, write_new};
use crate::history::{Address, Archive, Index, LedgerSent, Sending, ServerError};
use crate::quantity::so_many;
use crate::record::{Mode, Record, Shop, ShopAddress};
use crate::session::Auditor;
use crate::share::{InLedgers, Ledger, standing_in};

const DATABASE_VARIABLE: &str = "SPOOLPROOF_DATABASE";

/// How long the end of a session waits for a server.
const PATIENCE: Duration = Duration::from_secs(5);

pub(super) struct Fetched {
    /// A shop's folder, which is gone with this: a file for each record and each ledger, called by numbers.
    pub(super) folder: TempDir,
    /// The names of the sessions whose records came.
    pub(super) sessions: HashSet<String>,
}

/// Which server is meant.
#[derive(Debug, Clone, Args)]
pub(super) struct ChosenServer {
    /// The server that benches share, as postgres://LOGIN@HOST/DATABASE [default: the one of shop set --database]
    #[arg(long, global = true, value_name = "ADDRESS", env = DATABASE_VARIABLE, hide_env_values = true)]
    database: Option<String>,
}

impl ChosenServer {
    /// Returns the address that was named, or else that of the shop; none where there is neither.
    pub(super) fn address(&self, shop: &Shop) -> Result<Option<Address>, Failure> {
        address(shop, self.database.clone())
    }

    /// Fetches the records of a mode that the login may see, and their ledgers.
    ///
    /// Where an address is named, no shop needs to be there yet.
    pub(super) fn fetched(&self, shop: &ShopFolder, mode: Mode) -> Result<Fetched, Failure> {
        let address = match &self.database {
            Some(named) => Address::parse(named)?,
            None => self.needed(&shop.open_to_read()?)?,
        };
        let failed = |error| Failure::wrong(format!("a folder for what is fetched can't be made: {error}"));
        let folder = TempDir::new().map_err(failed)?;
        // What lies in it is a shop's, but for its files' names: what a sender calls its records can't
        // be trusted to be one.
        let shop = Shop::open(folder.path()).map_err(failed)?;
        let write = |path: &Path, text: &[u8]| {
            write_new(path, text, None).map_err(|error| Failure::file(path, error))
        };
        let mut archive = Archive::open(&address, mode)?;
        let mut sessions = HashSet::new();
        archive.fetch(|sent| {
            sessions.insert(sent.session.to_owned());
            write(&shop.record(&sent.number.to_string()), sent.text)
        })?;
        make_folder(&shop.ledgers()).map_err(failed)?;
        for (n, ledger) in (1..).zip(archive.ledgers()?) {
            write(&shop.ledgers().join(format!("{n}.jsonl")), &ledger)?;
        }
        Ok(Fetched { folder, sessions })
    }

    fn needed(&self, shop: &Shop) -> Result<Address, Failure> {
        self.address(shop)?.ok_or_else(|| {
            Failure::wrong(
                "no server is named; name one with --database, or for good with shop set --database",
            )
        })
    }
}

fn address(shop: &Shop, named: Option<String>) -> Result<Option<Address>, Failure> {
    let kept = || ShopAddress::of(shop).map_err(|error| Failure::file(&shop.address(), error));
    let named = match named {
        Some(named) => Some(named),
        None => kept()?.database,
    };
    Ok(named.map(|named| Address::parse(&named)).transpose()?)
}

/// See how the server stands that benches share, or prepare it.
#[derive(Debug, Args)]
pub(super) struct ServerCommand {
    #[command(subcommand)]
    command: Option<ServerTask>,
    #[command(flatten)]
    server: ChosenServer,
}

#[derive(Debug, Subcommand)]
enum ServerTask {
    /// Make what the records need on the server, or bring it up to this program; for a login that may make roles
    Prepare,
    /// Take up what arrived, so that who may only ask has it in the answers; for the login that administers the server
    TakeUp,
}

impl ServerCommand {
    pub(super) fn run(self, shop: &ShopFolder) -> Outcome {
        let shop = shop.open_to_read()?;
        let address = self.server.needed(&shop)?;
        let mut screen = Screen::stdout();
        match self.command {
            Some(ServerTask::Prepare) => {
                let n = Index::prepare_server(&address)?;
                screen.say(&format!(
                    "{address} is prepared{}. Its login {} administers it.",
                    if n == 0 { ", as it was" } else { "" },
                    address.login()
                ));
                screen.say(
                    "Let others in with psql: who is of spoolproof_bench may add records and see those that it sent; who is of \
                     spoolproof_instructor may ask. For each:",
                );
                screen.line("  CREATE ROLE north_bench LOGIN IN ROLE spoolproof_bench;");
                screen.line("  \\password north_bench");
                screen.say(
                    "What arrives, this login takes up when it asks, and else by server take-up, which a timer of the system may \
                     run: who may only ask has no right to write the tables that answers come from.",
                );
            }
            Some(ServerTask::TakeUp) => {
                let mut n = 0;
                for mode in Mode::ALL {
                    let (_, update) = brought_up(Index::on_server(&address, mode)?, false)?;
                    if update.n_waiting > 0 {
                        return Err(ServerError::MayNotTakeUp(address.login().to_owned()).into());
                    }
                    n += update.added;
                }
                screen.say(&format!("{address}: records taken up: {n}."));
            }
            None => {
                let mut archive = Archive::open(&address, Mode::Bench)?;
                let may = if archive.may_ask()? { "may ask" } else { "may not ask" };
                let n = archive.n_seen()?;
                let records = so_many(n, "record");
                screen.say(&format!("{address}: {} sees {records} and {may}.", address.login()));
            }
        }
        Ok(Status::Done)
    }
}

/// Hand over to the server what it lacks of the shop's records and ledgers.
///
/// Photos stay in the shop; the records name them by their digests.
#[derive(Debug, Args)]
pub(super) struct RecordsSend {
    #[command(flatten)]
    server: ChosenServer,
    #[command(flatten)]
    chosen: ChosenMode,
}

impl RecordsSend {
    pub(super) fn run(self, shop: &Shop) -> Outcome {
        let address = self.server.needed(shop)?;
        let ChosenMode { mode } = self.chosen;
        let shop = &shop.of_mode(mode).map_err(Failure::wrong)?;
        let progress = OnceLock::new();
        let step = |n_all: usize| progress.get_or_init(|| Progress::new("records sent", n_all)).step();
        let sending = sent(shop, &address, mode, &step)?;
        drop(progress);
        let mut status = Status::Done;
        for (name, why) in &sending.left_out {
            status = status.max(Failure::not_in_order(format!("{name} is not sent: {why}")).report());
        }
        Screen::stdout().say(&told(&sending, &address));
        Ok(status)
    }
}

fn told(sending: &Sending, address: &Address) -> String {
    let Sending { n_sent, n_there, n_signed, n_photos, .. } = sending;
    let records = so_many(*n_sent, "record");
    let signed = match n_signed {
        0 => String::new(),
        n => format!(", {n} of them without the signature, which is there now"),
    };
    let photos = match n_photos {
        0 => String::new(),
        n => format!(" Photos that these records name and that are not sent: {n}."),
    };
    format!("Sent to {address}: {records}; {n_there} had arrived before{signed}.{photos}")
}

/// Hands over what a server lacks of a shop's records of a mode, and then of its ledgers, as they stood before.
fn sent(shop: &Shop, address: &Address, mode: Mode, step: &dyn Fn(usize)) -> Result<Sending, Failure> {
    let folder = |error| Failure::file(shop.root(), error);
    let n_photos = Rc::default();
    let fit = fit(shop, &n_photos).map_err(folder)?;
    let kept = Shop::ledgers_in(shop.root()).map_err(folder)?;
    let paths = [shop.ledger()].into_iter().filter(|own| own.is_file()).chain(kept);
    let read = |path: PathBuf| match disk::read(&path, LARGEST_DOCUMENT) {
        Ok(bytes) => Ok((path, bytes)),
        Err(error) => Err(Failure::file(&path, error)),
    };
    let ledgers: Vec<(PathBuf, Vec<u8>)> = paths.map(read).collect::<Result<_, _>>()?;
    let mut archive = Archive::open(address, mode)?;
    let mut sending = archive.send_records(shop, fit, step)?;
    sending.n_photos = n_photos.get();
    for (path, bytes) in ledgers {
        if let LedgerSent::Differs(line) = archive.send_ledger(&bytes)? {
            let why = format!(
                "the server has another line {line} of it: lines were changed here, or removed; both stay as they are"
            );
            sending.left_out.push((path.display().to_string(), why));
        }
    }
    Ok(sending)
}

/// Returns what says of a record's text why it is not handed over as a record of the shop: what an audit finds in it,
/// that the shop's ledgers have another of its name, or that nobody vouches for it where there is a ledger.
fn fit(shop: &Shop, n_photos: &Rc<Cell<usize>>) -> io::Result<impl FnMut(&[u8]) -> Result<(), String>> {
    let ledgers = Ledger::all(shop)?;
    let mut auditor = Auditor::default();
    let n_photos = Rc::clone(n_photos);
    Ok(move |text: &[u8]| {
        let audit = auditor.audit(text);
        // What only another version of the program can audit, the ledgers are asked about all the same.
        let record = serde_json::from_slice::<Record>(text).map_err(|error| error.to_string())?;
        if let Some(fault) = audit.faults.first().filter(|_| !audit.is_of_other_version()) {
            return Err(format!("it is not in order: {fault}; records audit says all"));
        }
        match standing_in(&ledgers, &record.session, record.digest.as_deref().unwrap_or_default()) {
            InLedgers::Exchanged(why) => Err(why),
            InLedgers::Nowhere if !ledgers.is_empty() && record.signature.is_none() => {
                Err("nobody signed it, and no ledger of the shop has it; where you know that it is yours, records sign enters it"
                    .to_owned())
            }
            _ => {
                n_photos.set(n_photos.get() + record.photos().count());
                Ok(())
            }
        }
    })
}

/// Hands over what the server lacks, where the shop has one and it answers soon; returns a line that
/// says what came of it.
///
/// The records are on the disk: nobody waits for a server, and nothing is lost where none answers.
pub(super) fn hand_over(shop: &Shop) -> Option<String> {
    let later = |why: String| {
        format!("The record is not on the server yet: {why}. Later: {}", command_in(shop, "records send"))
    };
    let address = match address(shop, std::env::var(DATABASE_VARIABLE).ok()) {
        Ok(address) => address?,
        Err(failure) => return Some(later(failure.text)),
    };
    let (done, wait) = channel();
    let (shop_there, address_there) = (shop.clone(), address.clone());
    thread::spawn(move || {
        // Nobody listens any more where it took too long.
        let _ = done.send(sent(&shop_there, &address_there, Mode::Bench, &|_| {}));
    });
    match wait.recv_timeout(PATIENCE) {
        Ok(Ok(sending)) => {
            let left_out = match sending.left_out.len() {
                0 => String::new(),
                n => format!(" Not sent: {n}; {} says why.", command_in(shop, "records send")),
            };
            Some(told(&sending, &address) + left_out.as_str())
        }
        Ok(Err(failure)) => Some(later(failure.text)),
        Err(_) => Some(later(format!("no answer within {} s", PATIENCE.as_secs()))),
    }
}

impl From<ServerError> for Failure {
    fn from(error: ServerError) -> Failure {
        Failure::wrong(error)
    }
}
