use std::path::Path;

use clap::{Args, Subcommand};
use serde_json::{Value, json};

use super::arguments::{ShopFolder, resume_command};
use super::chosen_records::path;
use super::records_audit::RecordsAudit;
use super::records_discard::RecordsDiscard;
use super::records_export::RecordsExport;
use super::records_report::{RecordsReport, latest, warnings};
use super::status::{Failure, Outcome, Status};
use crate::console::{Progress, Screen};
use crate::record::{Record, Shop, StoreError, across, read};
use crate::report::facts;
use crate::session::{Journal, LogError, screens};
use crate::tell;

/// Look at what sessions have left.
#[derive(Debug, Args)]
pub(super) struct Records {
    #[command(subcommand)]
    command: RecordsCommand,
}

#[derive(Debug, Subcommand)]
enum RecordsCommand {
    /// List the records of the shop, and the sessions that are still open
    List {
        /// Print one JSON document instead
        #[arg(long)]
        json: bool,
    },
    /// Show one record
    Show {
        /// Its session's name, its job or its file, or nothing for the latest
        record: Option<String>,
        /// Print the record's own JSON instead
        #[arg(long)]
        json: bool,
    },
    /// Take a session that will not be finished from the list
    Discard(RecordsDiscard),
    /// Work every number of records out again and say what differs
    Audit(RecordsAudit),
    /// Tell a record in words, for the customer and the file
    Report(RecordsReport),
    /// Write readings as a table for spreadsheets and notebooks
    Export(RecordsExport),
}

impl Records {
    pub(super) fn run(self, shop: &ShopFolder) -> Outcome {
        let shop = shop.open_to_read()?;
        match self.command {
            RecordsCommand::List { json } => list(&shop, json),
            RecordsCommand::Show { record, json } => show(&shop, record, json),
            RecordsCommand::Discard(discard) => discard.run(&shop),
            RecordsCommand::Audit(audit) => audit.run(&shop),
            RecordsCommand::Report(report) => report.run(&shop),
            RecordsCommand::Export(export) => export.run(&shop),
        }
    }
}

fn list(shop: &Shop, as_json: bool) -> Outcome {
    let names = shop.record_names().map_err(Failure::wrong)?;
    let open = shop.open_names().map_err(Failure::wrong)?;
    let mut screen = Screen::stdout();
    let mut status = Status::Done;
    let progress = Progress::new("records read", names.len());
    let records = across(&names, |name| {
        let record = read(&shop.records().join(format!("{name}.json")));
        progress.step();
        record
    });
    drop(progress);
    let records: Vec<(String, Result<Record, StoreError>)> = names.into_iter().zip(records).collect();
    for (name, record) in &records {
        if let Err(error) = record {
            // One file that cannot be read must not hide the others.
            Failure::not_in_order(format!("{name}: {error}")).report();
            status = Status::NotInOrder;
        }
    }
    if as_json {
        let records: Vec<Value> =
            records.iter().filter_map(|(_, record)| record.as_ref().ok()).map(summary).collect();
        let document = json!({ "records": records, "open": open });
        screen.document(&format!("{document:#}\n"));
        return Ok(status);
    }
    if records.is_empty() && open.is_empty() {
        screen.line(&format!("No records yet in {}.", shop.records().display()));
    }
    let sound: Vec<&Record> = records.iter().filter_map(|(_, record)| record.as_ref().ok()).collect();
    for record in &sound {
        screen.item(&format!("{}  ", record.session), &listed(record, &sound));
    }
    for name in &open {
        screen.line(&format!("{name}  {}; go on with: {}", stands(shop, name), resume_command(shop, name)));
    }
    Ok(status)
}

/// Says in a line what a record is, and which one among all stands in for it.
fn listed(record: &Record, all: &[&Record]) -> String {
    let amends = |other: &&&Record| {
        other.amends.as_ref().is_some_and(|amends| amends.earlier.session == record.session)
    };
    let amended_by: Vec<&str> = all.iter().filter(amends).map(|other| other.session.as_str()).collect();
    let after = record.plan.as_ref().and_then(|plan| plan.after.as_ref());
    let parts = [
        (!record.is_as_stored()).then(|| "NOT AS STORED, see records audit".to_owned()),
        Some(record.finished.strftime("%Y-%m-%d").to_string()),
        record.procedure.unit.clone(),
        Some(tell::summary(&record.summary)),
        record.job.as_ref().map(|job| format!("job {job}")),
        record.technician.as_ref().map(|name| format!("by {name}")),
        after.map(|after| format!("tests {} again", after.session)),
        record.amends.as_ref().map(|amends| format!("amends {}", amends.earlier.session)),
        (!amended_by.is_empty()).then(|| format!("amended by {}", amended_by.join(" and "))),
    ];
    parts.into_iter().flatten().collect::<Vec<_>>().join("; ")
}

/// Says where an open session stands.
fn stands(shop: &Shop, name: &str) -> String {
    let journal = match Journal::open(&shop.journal(name)) {
        Ok(journal) => journal,
        Err(LogError::InUse(_)) => return "open in another program".to_owned(),
        Err(error) => return format!("open, but {error}"),
    };
    let (mut n, mut at) = (0, String::new());
    for (_, question, _) in journal.standing() {
        n += 1;
        at = question.circuit.as_ref().map(|circuit| format!(", at {circuit}")).unwrap_or_default();
    }
    format!("open, {n} {}{at}", if n == 1 { "answer" } else { "answers" })
}

fn summary(record: &Record) -> Value {
    json!({
        "session": record.session,
        "as_stored": record.is_as_stored(),
        "job": record.job,
        "finished": record.finished,
        "technician": record.technician,
        "procedure": record.procedure.id,
        "version": record.procedure.version,
        "unit": record.procedure.unit,
        "signer": record.procedure.signer,
        "tests_again": record.plan.as_ref().and_then(|plan| plan.after.as_ref()).map(|after| &after.session),
        "amends": record.amends.as_ref().map(|amends| &amends.earlier.session),
        "summary": record.summary,
    })
}

fn show(shop: &Shop, named: Option<String>, as_json: bool) -> Outcome {
    let path = match named {
        Some(named) => path(shop, Path::new(&named))?,
        None => latest(shop)?,
    };
    let mut screen = Screen::stdout();
    if as_json {
        let text = std::fs::read_to_string(&path).map_err(Failure::wrong)?;
        screen.document(&text);
        return Ok(Status::Done);
    }
    let record = read(&path).map_err(Failure::not_in_order)?;
    let (warnings, status) = warnings(shop, &path, &record);
    let facts = facts(&record, None);
    let warnings = warnings.into_iter().map(|warning| ("Mind".to_owned(), warning));
    screens::record(&mut screen, &record, &warnings.chain(facts).collect::<Vec<_>>());
    Ok(status)
}
