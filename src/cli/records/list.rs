use clap::Args;
use serde_json::{Value, json};

use super::chosen::of_each;
use crate::cli::arguments::resume_command;
use crate::cli::open_sessions::{found_alone, show_open};
use crate::cli::practice::refuse_held_back;
use crate::cli::status::{Failure, Outcome, Status};
use crate::console::Screen;
use crate::disk::LogError;
use crate::record::{Record, Shop, read};
use crate::session::{Discarded, Journal, discard};
use crate::tell;

pub(super) fn list(shop: &Shop, as_json: bool) -> Outcome {
    let names = shop.record_names().map_err(Failure::wrong)?;
    let open = shop.open_names().map_err(Failure::wrong)?;
    let mut screen = Screen::stdout();
    let (records, status) = of_each("records read", &names, |(), name| {
        read(&shop.record(name)).map_err(|error| Failure::not_in_order(format!("{name}: {error}")))
    });
    if as_json {
        let records: Vec<Value> = records.iter().map(|record| summary(shop, record)).collect();
        screen.json(&json!({ "records": records, "open": open }));
        return Ok(status);
    }
    if names.is_empty() && open.is_empty() {
        screen.line(&format!("No records yet in {}.", shop.records().display()));
    }
    for record in &records {
        screen.item(&format!("{}  ", record.session), &listed(shop, record, &records));
    }
    for name in &open {
        show_open(&mut screen, shop, name);
    }
    Ok(status)
}

/// Says in a line what a record is, and which one among all stands in for it.
fn listed(shop: &Shop, record: &Record, all: &[Record]) -> String {
    let amends = |other: &&Record| {
        other.amends.as_ref().is_some_and(|amends| amends.earlier.session == record.session)
    };
    let amended_by: Vec<&str> = all.iter().filter(amends).map(|other| other.session.as_str()).collect();
    let after = record.plan.as_ref().and_then(|plan| plan.after.as_ref());
    let parts = [
        (!record.is_as_stored()).then(|| "NOT AS STORED, see records audit".to_owned()),
        Some(record.minute(record.finished)),
        record.procedure.unit.clone(),
        Some(match refuse_held_back(shop, record) {
            Ok(()) => tell::summary(&record.summary),
            Err(_) => "what it comes to is held back".to_owned(),
        }),
        record.job.as_ref().map(|job| format!("job {job}")),
        record.tested_by().map(|name| format!("by {name}")),
        after.map(|after| format!("tests {} again", after.session)),
        record.amends.as_ref().map(|amends| format!("amends {}", amends.earlier.session)),
        (!amended_by.is_empty()).then(|| format!("amended by {}", amended_by.join(" and "))),
    ];
    parts.into_iter().flatten().collect::<Vec<_>>().join("; ")
}

fn summary(shop: &Shop, record: &Record) -> Value {
    json!({
        "session": record.session,
        "as_stored": record.is_as_stored(),
        "job": record.job,
        "finished": record.finished,
        "technician": record.tested_by(),
        "procedure": record.procedure.id,
        "version": record.procedure.version,
        "unit": record.procedure.unit,
        "signer": record.procedure.signer,
        "tests_again": record.plan.as_ref().and_then(|plan| plan.after.as_ref()).map(|after| &after.session),
        "amends": record.amends.as_ref().map(|amends| &amends.earlier.session),
        "summary": refuse_held_back(shop, record).ok().map(|()| &record.summary),
    })
}

/// Cut an open session's damaged journal back to the lines before the damage.
#[derive(Debug, Args)]
pub(super) struct RecordsMend {
    /// The open session's name, what it begins with or the letters at its end, or its job
    session: String,
}

impl RecordsMend {
    pub(super) fn run(self, shop: &Shop) -> Outcome {
        let session = found_alone(shop, &self.session)?;
        let mended = Journal::mend(&shop.journal(&session)).map_err(Failure::wrong)?;
        let mut screen = Screen::stdout();
        match mended {
            None => screen.line("Its journal is not damaged; nothing was changed."),
            Some((lines, kept)) => {
                screen.line(&format!(
                    "The first {lines} lines stand; the damaged journal is kept as {}",
                    kept.display()
                ));
                screen.line(&format!("Go on with: {}", resume_command(shop, &session)));
            }
        }
        Ok(Status::Done)
    }
}

/// Take a session that will not be finished from the list; nothing of it is deleted.
#[derive(Debug, Args)]
pub(super) struct RecordsDiscard {
    /// The open session's name, what it begins with or the letters at its end, or its job
    session: String,
}

impl RecordsDiscard {
    pub(super) fn run(self, shop: &Shop) -> Outcome {
        let session = found_alone(shop, &self.session)?;
        // A damaged journal may go; one that another program is writing may not.
        if let Err(error @ LogError::InUse(_)) = Journal::open(&shop.journal(&session)).map(drop) {
            return Err(Failure::wrong(error));
        }
        let Discarded { folder, n_photos, n_shared } = discard(shop, &session).map_err(Failure::wrong)?;
        let photos = match (n_photos, n_shared) {
            (0, _) => String::new(),
            (n, 0) => format!(" Its photos lie there too, and among the shop's pictures no longer ({n})."),
            (n, shared) => {
                let pictures = shop.pictures();
                let pictures = pictures.display();
                format!(
                    " Its photos lie there too ({n}); what a record or an open session names stays in {pictures} ({shared})."
                )
            }
        };
        Screen::stdout().say(&format!(
            "Discarded. All that was answered lies in {}; moved back to {}, it can be gone on with.{photos}",
            folder.display(),
            shop.open_sessions().display()
        ));
        Ok(Status::Done)
    }
}
