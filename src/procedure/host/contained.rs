use std::panic::{AssertUnwindSafe, catch_unwind};

/// Says that a procedure has brought out a fault of the program itself.
pub(crate) const FAULT: &str = "the script brought out a fault of the program itself, which stopped it";

/// Does something that a script has a hand in; `None` where that panics.
///
/// Nothing that was touched is used afterwards: a walk that panics is dropped, and what was answered is in the journal.
pub(crate) fn contained<T>(act: impl FnOnce() -> T) -> Option<T> {
    catch_unwind(AssertUnwindSafe(act)).ok()
}
