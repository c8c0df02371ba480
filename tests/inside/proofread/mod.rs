//! Proofreading, worksheets and rehearsals.

mod faults;
mod rehearsal;
mod worksheet;
