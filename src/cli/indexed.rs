use std::sync::OnceLock;

use super::status::Failure;
use crate::console::{Progress, is_interrupted, mark_interrupts};
use crate::history::{Index, IndexError, Update};
use crate::record::{EarlierRecord, Mode, Record, Shop, read};

/// Brings an index up to the records that are there; says what it had to do.
pub(super) fn brought_up(mut index: Index, is_rebuilt: bool) -> Result<(Index, Update), Failure> {
    // Where there is a handler already, Ctrl-C ends the program; the index is whole then as well.
    let _ = mark_interrupts();
    let progress = OnceLock::new();
    let step = |n_all: usize| progress.get_or_init(|| Progress::new("records read", n_all)).step();
    let update =
        if is_rebuilt { index.rebuild(&is_interrupted, &step) } else { index.update(&is_interrupted, &step) };
    drop(progress);
    Ok((index, update?))
}

/// Asks the index one thing; none where it can't be asked, which must not keep anybody from a record.
pub(super) fn asked<T>(shop: &Shop, question: impl Fn(&Index) -> Result<T, IndexError>) -> Option<T> {
    let (index, _) = brought_up(Index::open(shop, Mode::Bench).ok()?, false).ok()?;
    question(&index).ok()
}

/// Returns the session whose record amends that of another, and counts in its place; none where nobody amended it.
pub(super) fn amended_by(shop: &Shop, session: &str) -> Option<String> {
    asked(shop, |index| index.standing_for(session))?.filter(|standing| standing != session)
}

/// Reads the record that another one tests again, as it was amended last; none where the shop has it not, or has
/// another one of its name.
pub(super) fn tested_before(shop: &Shop, record: &Record) -> Option<Record> {
    let EarlierRecord { session, digest } = record.plan.as_ref()?.after.as_ref()?;
    let earlier =
        read(&shop.record(session)).ok().filter(|earlier| earlier.digest.as_ref() == Some(digest))?;
    match amended_by(shop, session) {
        Some(standing) => read(&shop.record(&standing)).ok().or(Some(earlier)),
        None => Some(earlier),
    }
}
