use std::collections::BTreeMap;

use clap::Args;
use serde_json::{Value, json};

use super::chosen::{ChosenRecords, audited};
use super::whole::{RecordFacts, Whole};
use crate::cli::share::told_standing;
use crate::cli::status::{Failure, Outcome, Status};
use crate::console::Screen;
use crate::quantity::so_many;
use crate::record::{Shop, SignerKey, read};
use crate::session::{Audit, RecordFault, RecordRemark};
use crate::share::{Ledger, Trust};

/// Walk each record's procedure again with the answers in it, and say what differs from what the record says.
///
/// The record holds the procedure's texts, so nothing else is needed. Of the whole shop, the records are held
/// against each other and against the ledger as well. Whoever signed is named; that the answers themselves are true,
/// nothing here can show.
#[derive(Debug, Args)]
pub(super) struct RecordsAudit {
    #[command(flatten)]
    chosen: ChosenRecords,
    /// The fingerprint of whoever should have signed, as you heard it from them; anything else is not in order
    #[arg(long, value_name = "DIGITS")]
    signer: Option<String>,
    /// Print one JSON document instead
    #[arg(long)]
    json: bool,
}

struct Audited {
    path: String,
    audit: Audit,
    /// None where it can't be read at all.
    facts: Option<RecordFacts>,
}

impl RecordsAudit {
    pub(super) fn run(self, shop: &Shop) -> Outcome {
        let paths = self.chosen.paths(shop)?;
        let (mut audited, mut status) = audited(&paths, |path, mut audit| {
            // All of a shop's records would fill the memory.
            let record = audit.record.take();
            let facts = record.or_else(|| read(path).ok()).map(|record| RecordFacts::of(&record, path));
            Ok(Audited { path: path.display().to_string(), audit, facts })
        });
        let trust = Trust::of(shop).ok();
        let own = trust.as_ref().and_then(Trust::own);
        let facts: Vec<_> = audited.iter_mut().filter_map(|audited| audited.facts.take()).collect();
        let mut whole = match self.chosen.is_all() {
            true => Whole::of(shop, &Ledger::all(shop).map_err(Failure::wrong)?, own, &facts),
            false => Whole::default(),
        };
        whole.twice(&facts);
        whole.photos(shop, &facts);
        // A copy may have any name; a shop finds a record by the name of its session.
        for Audited { path, audit, .. } in audited.iter().filter(|_| self.chosen.is_all()) {
            for remark in &audit.remarks {
                if let RecordRemark::Name { session, .. } = remark {
                    whole.faults.push(format!("{path} is not named after its session, {session}"));
                }
            }
        }
        let by_other = |audit: &Audit| self.is_by_other(audit);
        let is_wrong = |audit: &Audit| !audit.is_in_order() || by_other(audit);
        if !whole.faults.is_empty() || audited.iter().any(|audited| is_wrong(&audited.audit)) {
            status = status.max(Status::NotInOrder);
        }
        let mut screen = Screen::stdout();
        if self.json {
            let records: Vec<_> =
                audited.iter().map(|audited| document(audited, trust.as_ref(), &by_other)).collect();
            screen.json(&json!({ "records": records, "faults": whole.faults, "remarks": whole.remarks }));
            return Ok(status);
        }
        for Audited { path, audit, .. } in &audited {
            show(&mut screen, path, audit);
            if by_other(audit) {
                screen.line(&format!("{path}: not signed by whom you named"));
            }
        }
        let n_in_order = audited.iter().filter(|audited| !is_wrong(&audited.audit)).count();
        let but = match whole.faults.len() {
            0 => ".".to_owned(),
            n => format!(", but the folder has {}:", so_many(n, "fault")),
        };
        screen.line(&format!("{n_in_order} of {} records in order{but}", paths.len()));
        for fault in &whole.faults {
            screen.item("  - ", &format!("{fault}."));
        }
        for remark in &whole.remarks {
            screen.item("  * ", remark);
        }
        let is_named = |audit: &Audit| self.signer.is_some() && !by_other(audit);
        signatures(&mut screen, &audited, trust.as_ref(), &is_named);
        Ok(status)
    }

    /// Returns whether a record is not signed by whom was named.
    fn is_by_other(&self, audit: &Audit) -> bool {
        let digits = |text: &str| text.chars().filter(char::is_ascii_digit).collect::<String>();
        let is_wanted = |wanted: &String| {
            let found = audit.signer.as_ref().map(|signer| signer.public_key.fingerprint());
            found.is_some_and(|found| digits(&found) == digits(wanted))
        };
        self.signer.as_ref().is_some_and(|wanted| !is_wanted(wanted))
    }
}

/// The most faults of one record that are told one by one.
const MOST_TOLD: usize = 10;

/// Shows what is wrong and what is to be known; nothing of a record of which there is neither.
fn show(screen: &mut Screen, path: &str, audit: &Audit) {
    let state = match (audit.is_of_other_version(), &audit.other_version) {
        (true, Some(version)) => format!(
            "made by version {version} of the program. This is {}, which comes to something else",
            env!("CARGO_PKG_VERSION")
        ),
        _ if !audit.is_in_order() => "not in order".to_owned(),
        _ if !audit.remarks.is_empty() => "in order".to_owned(),
        _ => return,
    };
    screen.item("", &format!("{path}: {state}"));
    if let Some(told) = audit.first_told() {
        screen.item("  = ", &told);
    }
    // One figure that was changed changes many fields; what is none stands before them.
    let mut faults: Vec<&RecordFault> = audit.faults.iter().collect();
    faults.sort_by_key(|fault| matches!(fault, RecordFault::Differs { .. }));
    for fault in faults.iter().take(MOST_TOLD) {
        screen.item("  - ", &fault.told());
    }
    if faults.len() > MOST_TOLD {
        screen.item("  - ", &format!("and {} more, which --json tells too", faults.len() - MOST_TOLD));
    }
    for remark in &audit.remarks {
        screen.item("  * ", &remark.to_string());
    }
    let conclusion = match () {
        () if audit.is_in_order() || audit.is_unread() => return,
        () if audit.is_of_other_version() => {
            "Nothing is said against it. Audit it with the version that made it."
        }
        () if audit.journal_stands => {
            "The journal fits the digest: what differs was changed behind it, unless somebody made a new digest."
        }
        () => "The journal itself, or the digest, is not the one that was stored.",
    };
    screen.item("  = ", conclusion);
}

/// Says who signed how many, and what they are to the shop, or that they are who was named.
fn signatures(
    screen: &mut Screen,
    audited: &[Audited],
    trust: Option<&Trust>,
    is_named: &dyn Fn(&Audit) -> bool,
) {
    let (mut by, mut n_unread) = (BTreeMap::<String, usize>::new(), 0);
    for Audited { audit, .. } in audited {
        let who = match &audit.signer {
            Some(signer) if is_named(audit) => format!("{}, whom you named", signer.signer()),
            Some(signer) => format!("{}, {}", signer.signer(), standing(signer, trust)),
            None if audit.is_falsely_signed() => "whom they name, whose signature does not fit".to_owned(),
            None if audit.is_unread() => {
                n_unread += 1;
                continue;
            }
            None => "nobody".to_owned(),
        };
        *by.entry(who).or_default() += 1;
    }
    for (who, n) in by {
        screen.item("", &format!("{n} signed by {who}."));
    }
    if n_unread > 0 {
        screen.item("", &format!("{n_unread} can't be read, so nothing can be said of who signed."));
    }
}

fn standing(signer: &SignerKey, trust: Option<&Trust>) -> &'static str {
    told_standing(trust.map(|trust| trust.standing(signer)))
}

fn document(audited: &Audited, trust: Option<&Trust>, by_other: &dyn Fn(&Audit) -> bool) -> Value {
    let Audited { path, audit, .. } = audited;
    let faults: Vec<Value> = audit
        .faults
        .iter()
        .map(|fault| {
            json!({
                "kind": fault.kind(),
                "field": fault.field(),
                "circuit": fault.circuit(),
                "text": fault.to_string(),
            })
        })
        .collect();
    let remarks: Vec<_> = audit.remarks.iter().map(ToString::to_string).collect();
    json!({
        "file": path,
        "session": audit.session,
        "in_order": audit.is_in_order() && !by_other(audit),
        "journal_stands": audit.journal_stands,
        "other_version": audit.other_version,
        "signer": audit.signer.as_ref().map(SignerKey::signer),
        "standing": audit.signer.as_ref().map(|signer| standing(signer, trust)),
        "faults": faults,
        "remarks": remarks,
    })
}
