//! The record: what was asked, answered and found, as events, as a document, and as the fold of the one into the other.

mod across;
mod answer;
mod audit;
mod bench_state;
mod circuit;
mod event;
mod fold;
mod model;
mod money;
mod opening;
mod question;
mod seal;
mod shop;
mod store;
mod takes;

pub use across::across;
pub use answer::{Answer, Refusal, yes_or_no};
pub use audit::{Audit, KeptFile, audit_file};
#[cfg(test)]
pub use audit::{RecordFault, audit};
pub use bench_state::{ASSUMED_AIR, BenchState, BenchStateError, Check};
#[cfg(test)]
pub use circuit::Planned;
pub use circuit::{Circuit, EarlierRecord, Plan};
pub use event::{Event, Step, Told, What, latest_procedure, latest_rig};
pub use fold::{FoldError, fold};
pub use model::{
    AnswerRecord, BarometerRecord, CalibrationRecord, CheckRecord, CircuitRecord, DriftRecord, FORMAT,
    FindingRecord, LimitsHere, NoteRecord, ReadingRecord, Record, RigReadingRecord, TakeRecord,
    VerdictCounts,
};
pub use money::{Account, DecisionRecord, LEAVE_IT, Prices, REPLACE, Repair, options};
pub use opening::{
    Amendment, FileDigest, LONGEST_JOB, Mode, Opening, Origin, ProcedureIdentity, RigParts, Signer,
    provenance,
};
pub use question::{Asker, HoseOn, Question, RigStep, Wants};
pub use seal::{canonical, digest, sha256};
pub use shop::{JOURNAL, Shop};
#[cfg(test)]
pub use store::RECORD_SCHEMA;
pub use store::{Schema, StoreError, document, is_valid, read, readable_by_all, store, validate};
pub use takes::{Next, Takes, TakesError, TakesOutcome};
