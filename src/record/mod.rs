//! The record: what was asked, answered and found, as events, as a document, and as the fold of the one into the other.

mod across;
mod answer;
mod audit;
mod bench_state;
mod canonical;
mod circuit;
mod digest;
mod event;
mod fold;
mod model;
mod money;
mod opening;
mod plan;
mod provenance;
mod question;
mod rig_step;
mod schema;
mod shop;
mod store;
mod takes;

pub use across::across;
pub use answer::{Answer, Refusal};
pub use audit::{Audit, Fault, KeptFile, Place, audit, audit_file};
pub use bench_state::{ASSUMED_AIR, BenchError, BenchState, Check};
pub use canonical::canonical;
pub use circuit::{Circuit, Repair};
pub use digest::digest;
pub use event::{Event, Step, Told, What, latest_procedure, latest_rig};
pub use fold::{FoldError, fold};
pub use model::{
    AnswerRecord, BarometerRecord, CalibrationRecord, CheckRecord, CircuitRecord, DriftRecord, FORMAT,
    FindingRecord, LimitsHere, NoteRecord, ReadingRecord, Record, RigReadingRecord, Summary, TakeRecord,
};
pub use money::{Account, DecisionRecord, LEAVE_IT, Prices, REPLACE, options};
pub use opening::{Amendment, FileDigest, LONGEST_JOB, Mode, Opening, ProcedureIdentity, RigParts};
pub use plan::{EarlierRecord, Plan, Planned};
pub use provenance::{Origin, Signer, provenance};
pub use question::{Asker, HoseOn, Question, Wants};
pub use rig_step::RigStep;
pub use schema::{RECORD_SCHEMA, Schema, is_valid, validate};
pub use shop::{JOURNAL, Shop};
pub use store::{StoreError, document, read, store};
pub use takes::{MOST_TAKES, Next, Outcome, Takes, TakesError};
