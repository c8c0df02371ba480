use clap::Args;
use serde_json::{Value, json};

use super::chosen_records::ChosenRecords;
use super::status::{Failure, Outcome, Status};
use crate::console::{Progress, Screen};
use crate::procedure::{SHIPPED, Shipped};
use crate::record::{Audit, Shop, StoreError, across, audit_file};

/// Work every number of records out again and say what differs.
///
/// Checks the schema, the digest, each value against what was typed, each field against the journal, every byte, and
/// the shipped procedures' files.
#[derive(Debug, Args)]
pub(super) struct RecordsAudit {
    #[command(flatten)]
    chosen: ChosenRecords,
    /// Print one JSON document instead
    #[arg(long)]
    json: bool,
}

impl RecordsAudit {
    pub(super) fn run(self, shop: &Shop) -> Outcome {
        let paths = self.chosen.paths(shop)?;
        let progress = Progress::new("records audited", paths.len());
        let audits = across(&paths, |path| {
            let audit = audit_file(path);
            progress.step();
            audit
        });
        drop(progress);
        let mut status = Status::Done;
        let mut screen = Screen::stdout();
        let mut documents = Vec::new();
        let mut n_in_order = 0;
        for (path, audit) in paths.iter().zip(audits) {
            match audit {
                Err(error) => status = status.max(unreadable(&error)),
                Ok(audit) => {
                    n_in_order += usize::from(audit.is_in_order());
                    if !audit.is_in_order() {
                        status = status.max(Status::NotInOrder);
                    }
                    if self.json {
                        documents.push(document(&path.display().to_string(), &audit));
                    } else {
                        show(&mut screen, &path.display().to_string(), &audit);
                    }
                }
            }
        }
        if self.json {
            screen.document(&format!("{:#}\n", json!({ "records": documents })));
        } else {
            screen.line(&format!("{n_in_order} of {} records in order.", paths.len()));
        }
        Ok(status)
    }
}

fn unreadable(error: &StoreError) -> Status {
    Failure::wrong(error).report()
}

/// Returns the files of a shipped procedure that are not those that ran.
fn changed_files(audit: &Audit) -> Vec<&str> {
    let is_it = |shipped: &&Shipped| {
        audit.files.first().is_some_and(|first| first.name == format!("{}.rhai", shipped.id))
    };
    let now = SHIPPED.iter().find(is_it).and_then(|shipped| shipped.source().ok());
    now.map_or(Vec::new(), |now| audit.changed_since(&now.digests()))
}

/// Shows what is wrong or has changed; nothing of a record where neither is.
fn show(screen: &mut Screen, path: &str, audit: &Audit) {
    if !audit.is_in_order() {
        screen.line(&format!("{path}: not in order"));
        for fault in &audit.faults {
            screen.item("  - ", &fault.to_string());
        }
        let conclusion = if audit.journal_stands {
            "The journal is the one that was stored, so the values that it gives are the true ones."
        } else {
            "The journal itself, or the digest, is not the one that was stored."
        };
        screen.item("  = ", conclusion);
    }
    for file in changed_files(audit) {
        screen
            .item("", &format!("{path}: the procedure's file {file} has changed since; the record stands."));
    }
}

fn document(path: &str, audit: &Audit) -> Value {
    let faults: Vec<Value> = audit
        .faults
        .iter()
        .map(|fault| json!({ "kind": fault.kind(), "field": fault.field(), "text": fault.to_string() }))
        .collect();
    json!({
        "file": path,
        "session": audit.session,
        "in_order": audit.is_in_order(),
        "journal_stands": audit.journal_stands,
        "faults": faults,
        "procedure_files_changed_since": changed_files(audit),
    })
}
