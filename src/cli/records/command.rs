use std::path::PathBuf;

use clap::{Args, Subcommand};

use super::audit::RecordsAudit;
use super::export::RecordsExport;
use super::import::RecordsImport;
use super::list::{RecordsDiscard, RecordsMend, list};
use super::show::show;
use super::sign::RecordsSign;

use crate::cli::arguments::{ChosenMode, ShopFolder};
use crate::cli::server::RecordsSend;
use crate::cli::status::{Failure, Outcome};

#[derive(Debug, Args)]
pub(crate) struct Records {
    #[command(subcommand)]
    command: RecordsCommand,
}

#[derive(Debug, Subcommand)]
enum RecordsCommand {
    /// List the records of the shop, and the sessions that are still open
    List {
        #[command(flatten)]
        chosen: ChosenMode,
        /// Print one JSON document instead
        #[arg(long)]
        json: bool,
    },
    /// Show one record
    Show {
        /// Its session's name, its job or its file, or nothing for the latest
        record: Option<PathBuf>,
        /// Print the record's own JSON instead
        #[arg(long)]
        json: bool,
    },
    /// Take a session that will not be finished from the list
    Discard(RecordsDiscard),
    /// Cut an open session's damaged journal back to the lines before the damage; the damaged file is kept
    Mend(RecordsMend),
    /// Work every number of records out again and say what differs
    Audit(RecordsAudit),
    /// Sign records that nobody signed yet, and enter them in the shop's ledger
    Sign(RecordsSign),
    /// Take in the records of other benches and shops
    Import(RecordsImport),
    /// Write readings as a table for spreadsheets and notebooks
    Export(RecordsExport),
    /// Hand over to the server that benches share what it lacks of the shop's records
    Send(RecordsSend),
}

impl Records {
    pub(crate) fn run(self, shop: &ShopFolder) -> Outcome {
        let shop_to_read = || shop.open_to_read();
        match self.command {
            RecordsCommand::List { chosen, json } => {
                let shop = shop_to_read()?.of_mode(chosen.mode).map_err(Failure::wrong)?;
                list(&shop, json)
            }
            RecordsCommand::Show { record, json } => show(&shop_to_read()?, record.as_deref(), json),
            RecordsCommand::Discard(discard) => discard.run(&shop_to_read()?),
            RecordsCommand::Mend(mend) => mend.run(&shop_to_read()?),
            RecordsCommand::Audit(audit) => audit.run(&shop_to_read()?),
            RecordsCommand::Sign(sign) => sign.run(&shop_to_read()?),
            RecordsCommand::Import(import) => import.run(shop),
            RecordsCommand::Export(export) => export.run(&shop_to_read()?),
            RecordsCommand::Send(send) => send.run(&shop_to_read()?),
        }
    }
}
