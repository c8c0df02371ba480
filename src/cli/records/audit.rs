use clap::Args;
use serde_json::{Value, json};

use super::chosen::{ChosenRecords, of_each};
use crate::cli::indexed::asked;
use crate::cli::status::{Failure, Outcome, Status};
use crate::console::Screen;
use crate::history::Index;
use crate::record::Shop;
use crate::session::{Audit, Auditor};

/// Work every number of records out again and say what differs.
///
/// Walks each record's procedure again with the answers in it, and compares all that comes of it, every byte, with what
/// the record says.
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
        let (audits, mut status) = of_each("records audited", &paths, |auditor: &mut Auditor, path| {
            let mut audit = auditor.audit_file(path).map_err(Failure::wrong)?;
            // All of a shop's records would fill the memory.
            audit.record = None;
            Ok((path.display().to_string(), audit))
        });
        let mut screen = Screen::stdout();
        let mut documents = Vec::new();
        let mut n_in_order = 0;
        for (path, audit) in audits {
            n_in_order += usize::from(audit.is_in_order());
            if !audit.is_in_order() {
                status = status.max(Status::NotInOrder);
            }
            if self.json {
                documents.push(document(&path, &audit));
            } else {
                show(&mut screen, &path, &audit);
            }
        }
        if self.json {
            screen.json(&json!({ "records": documents }));
        } else {
            screen.line(&format!("{n_in_order} of {} records in order.", paths.len()));
            // Two programs may have done that, or two shops whose records came together.
            let amendments = if self.chosen.is_all() { asked(shop, Index::amendments) } else { None };
            for (amended, by) in amendments.unwrap_or_default().iter().filter(|(_, by)| by.len() > 1) {
                let told =
                    format!("{amended} is amended by {}; only the last of them counts.", by.join(" and "));
                status = status.max(Failure::not_in_order(told).report());
            }
        }
        Ok(status)
    }
}

/// Shows what is wrong; nothing of a record that is in order.
fn show(screen: &mut Screen, path: &str, audit: &Audit) {
    if audit.is_in_order() {
        return;
    }
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

fn document(path: &str, audit: &Audit) -> Value {
    let faults: Vec<Value> = audit
        .faults
        .iter()
        .map(|fault| json!({ "kind": fault.kind(), "field": fault.field(), "text": fault.to_string() }))
        .collect();
    let remarks = audit.remarks.iter().map(ToString::to_string);
    json!({
        "file": path,
        "session": audit.session,
        "in_order": audit.is_in_order(),
        "journal_stands": audit.journal_stands,
        "faults": faults,
        "remarks": remarks.collect::<Vec<_>>(),
    })
}
