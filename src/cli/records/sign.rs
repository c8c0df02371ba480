use std::path::Path;

use clap::Args;

use super::chosen::ChosenRecords;
use crate::cli::sessions::now;
use crate::cli::share::key;
use crate::cli::status::{Failure, Outcome, Status};
use crate::console::Screen;
use crate::disk::write_whole;
use crate::record::{Mode, Record, Shop, document, read};
use crate::session::Auditor;
use crate::share::{OwnKey, enter};

/// Sign records that nobody signed yet, and enter them in the shop's ledger.
///
/// Where the shop has a key, sessions do both by themselves; this is for those before, and for those that came when
/// there was trouble with key or ledger. Only what is in order is signed. A signature says who vouches for a record
/// from now on. A shop without a key has them entered only.
#[derive(Debug, Args)]
pub(super) struct RecordsSign {
    #[command(flatten)]
    chosen: ChosenRecords,
    /// The name that the shop signs under; makes the key the first time
    #[arg(long = "as", value_name = "NAME")]
    name: Option<String>,
}

impl RecordsSign {
    pub(super) fn run(self, shop: &Shop) -> Outcome {
        let paths = self.chosen.paths(shop)?;
        let has_key = OwnKey::of(shop).map_err(Failure::wrong)?.is_some();
        let own = match has_key || self.name.is_some() {
            true => Some(key(shop, self.name.as_deref())?),
            false => None,
        };
        let mut auditor = Auditor::default();
        let mut status = Status::Done;
        let (mut n_signed, mut n_before) = (0, 0);
        for path in &paths {
            match sign(shop, own.as_ref(), &mut auditor, path) {
                Ok(Signing::Done) => n_signed += 1,
                Ok(Signing::Before) => n_before += 1,
                Ok(Signing::None) => {}
                Err(failure) => status = status.max(failure.report()),
            }
        }
        let mut screen = Screen::stdout();
        let before = match n_before {
            0 => ".".to_owned(),
            1 => "; 1 was signed already.".to_owned(),
            n => format!("; {n} were signed already."),
        };
        screen.line(&format!("{n_signed} of {} records signed{before}", paths.len()));
        if own.is_none() {
            screen.say("The shop has no key, so they were only entered in its ledger; --as NAME makes one.");
        }
        Ok(status)
    }
}

/// What became of a record that was to be signed.
enum Signing {
    Done,
    /// Somebody had signed it before.
    Before,
    /// It is none of a bench, or there is no key.
    None,
}

/// Signs a record where nobody did, and enters it.
fn sign(shop: &Shop, own: Option<&OwnKey>, auditor: &mut Auditor, path: &Path) -> Result<Signing, Failure> {
    let audit = auditor.audit_file(path).map_err(Failure::wrong)?;
    let Some(record) = audit.record.filter(|_| audit.faults.is_empty()) else {
        let told = format!("{} is not in order, and is not signed; see records audit", path.display());
        return Err(Failure::not_in_order(told));
    };
    let before = if record.signature.is_some() { Signing::Before } else { Signing::None };
    let of_another = record.signer.is_some() && record.signer != own.map(OwnKey::signer);
    if record.mode != Mode::Bench || of_another {
        return Ok(before);
    }
    let (record, signing) = match own.filter(|_| record.signature.is_none()) {
        Some(own) => (own.sign_record(record).map_err(Failure::wrong)?, Signing::Done),
        None => (record, before),
    };
    if let Signing::Done = signing {
        let text = document(&record).map_err(Failure::wrong)?;
        write_whole(path, text.as_bytes()).map_err(|error| Failure::file(path, error))?;
    }
    if path == shop.record(&record.session) {
        enter(shop, &record, own, now()).map_err(Failure::wrong)?;
    }
    Ok(signing)
}

/// Signs a record that a bench or an exercise has just left, where the shop has a key, and enters that of a bench in
/// the ledger. Trouble with either stops no session: it is said, and the record is stored as it is.
pub(in crate::cli) fn entered(shop: &Shop, record: Record) -> Record {
    if record.mode == Mode::Rehearsal {
        return record;
    }
    // A program that ended behind storing it finds it there.
    if let Ok(stored) = read(&shop.record(&record.session))
        && stored.digest == record.digest
    {
        return stored;
    }
    let mut screen = Screen::stderr();
    // A student's key lies with the attempts, and signs nothing else.
    let own = match (OwnKey::of(shop), shop.of_practice()) {
        (Ok(None), Some(holder)) => OwnKey::of(&holder),
        (own, _) => own,
    };
    let own = own.unwrap_or_else(|error| {
        screen.say(&format!("The record is not signed: {error}."));
        None
    });
    let signed = own.as_ref().and_then(|own| own.sign_record(record.clone()).ok());
    let record = signed.unwrap_or(record);
    if record.mode == Mode::Bench
        && let Err(error) = enter(shop, &record, own.as_ref(), now())
    {
        screen.say(&format!(
            "The record is not in the ledger: {error}. When that is put right, records sign enters it."
        ));
    }
    record
}
