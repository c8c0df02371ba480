use std::sync::OnceLock;
use std::sync::mpsc::channel;
use std::thread;
use std::time::Duration;

use clap::{Args, Subcommand};
use tempfile::TempDir;

use super::arguments::{ShopFolder, command_in};
use super::status::{Failure, Outcome, Status};
use crate::console::{Progress, Screen};
use crate::disk::write_new;
use crate::history::{Address, Archive, Index, Sending, ServerError};
use crate::record::{Shop, ShopAddress};

const DATABASE_VARIABLE: &str = "SPOOLPROOF_DATABASE";

/// How long the end of a session waits for a server.
const PATIENCE: Duration = Duration::from_secs(5);

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

    /// Fetches the texts of the records that the login may see into a folder, which is gone with what is returned.
    pub(super) fn fetched(&self, shop: &Shop) -> Result<TempDir, Failure> {
        let address = self.needed(shop)?;
        let failed = |error| Failure::wrong(format!("a folder for what is fetched can't be made: {error}"));
        let folder = TempDir::new().map_err(failed)?;
        let mut n = 0;
        Archive::open(&address)?.fetch(|text| {
            n += 1;
            // What a sender calls its records is no name of a file that can be trusted.
            let path = folder.path().join(format!("{n}.json"));
            write_new(&path, text, None).map_err(|error| Failure::file(&path, error))
        })?;
        Ok(folder)
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
            }
            None => {
                let mut archive = Archive::open(&address)?;
                let may = if archive.may_ask()? { "may ask" } else { "may not ask" };
                let n = archive.n_seen()?;
                let records = if n == 1 { "record" } else { "records" };
                screen.say(&format!("{address}: {} sees {n} {records} and {may}.", address.login()));
            }
        }
        Ok(Status::Done)
    }
}

/// Hand over to the server what it lacks of the shop's records.
#[derive(Debug, Args)]
pub(super) struct RecordsSend {
    #[command(flatten)]
    server: ChosenServer,
}

impl RecordsSend {
    pub(super) fn run(self, shop: &Shop) -> Outcome {
        let address = self.server.needed(shop)?;
        let progress = OnceLock::new();
        let step = |n_all: usize| progress.get_or_init(|| Progress::new("records sent", n_all)).step();
        let sending = Archive::open(&address)?.send_records(shop, &step)?;
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
    let Sending { n_sent, n_there, .. } = sending;
    let records = if *n_sent == 1 { "record" } else { "records" };
    format!("Sent to {address}: {n_sent} {records}; {n_there} had arrived before.")
}

/// Hands over what the server lacks, where the shop has one and it answers soon; returns a line that says what came of it.
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
        let sent = Archive::open(&address_there).and_then(|mut it| it.send_records(&shop_there, &|_| {}));
        // Nobody listens any more where it took too long.
        let _ = done.send(sent);
    });
    match wait.recv_timeout(PATIENCE) {
        Ok(Ok(sending)) => Some(told(&sending, &address)),
        Ok(Err(error)) => Some(later(error.to_string())),
        Err(_) => Some(later(format!("no answer within {} s", PATIENCE.as_secs()))),
    }
}

impl From<ServerError> for Failure {
    fn from(error: ServerError) -> Failure {
        Failure::wrong(error)
    }
}
