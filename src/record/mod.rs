//! The record: what was asked and answered as events, and the document that a session leaves.

mod across;
mod address;
mod answer;
mod bench_state;
mod circuit;
mod clock;
mod decimal;
mod escape;
mod event;
mod exercise;
mod job;
mod layout;
mod line;
mod looks;
mod model;
mod money;
mod name;
mod opening;
mod pictures;
mod port_map;
mod question;
mod rounds;
mod sayings;
mod seal;
mod shop;
mod signer;
mod sink;
mod store;
mod takes;
mod words;

pub(crate) use across::across;
pub(crate) use address::ShopAddress;
pub(crate) use answer::{Answer, Refusal, yes_or_no};
pub(crate) use bench_state::{BenchState, BenchStateError, Check, GO_ON};
pub(crate) use circuit::{Circuit, EarlierRecord, Plan, Planned, Spot};
pub(crate) use clock::minute;
pub(crate) use event::{
    COULD_NOT_BE_DONE, Event, Photo, Told, What, latest_procedure, latest_program, latest_rig, taken_over_by,
    texts,
};
pub(crate) use exercise::{Cause, Defect, Exercise, HandedOut, Mark, Point, PointMark, Weight};
pub(crate) use job::{DoneRepair, JobNote, JobNotes, Stage, forget_customer, job_notes, note_of_job};
pub(crate) use layout::is_written_as;
pub use model::Record;
pub(crate) use model::{
    BarometerRecord, CalibrationRecord, CheckRecord, CircuitRecord, FORMAT, FindingRecord, LimitsHere,
    ReadingRecord, TakeRecord, VerdictCounts,
};
pub(crate) use money::{
    Account, DecisionRecord, LEAVE_IT, MOST_OF_A_FIGURE, Prices, REPLACE, Repair, Unaccounted, options,
};
pub(crate) use name::{is_meant_by, letters};
pub(crate) use opening::{
    Amendment, FileDigest, LONGEST_JOB, Mode, Opening, Origin, ProcedureIdentity, RigParts, Signer,
    provenance,
};
pub(crate) use pictures::{PictureFault, photo_beside, picture_in, pictures_beside};
pub(crate) use port_map::{PictureDigest, Pixel, PortMap};
pub(crate) use question::{Asker, HoseOn, Question, RigStep, Wants};
pub(crate) use rounds::piece_in_round;
pub(crate) use sayings::{Sayings, complaints_in, nearest_symptoms};
pub(crate) use seal::{canonical, digest, digest_of_text, sha256, signed_bytes_of};
pub(crate) use shop::{JOURNAL, ORIGIN, SaidEarlier, Shop, documents_below, names_of_documents};
pub(crate) use signer::{PublicKey, Signatures, SignerKey, Verifier, from_hex};
#[cfg(test)]
pub(crate) use store::RECORD_SCHEMA;
pub use store::document;
pub(crate) use store::{Schema, StoreError, are_valid, read, sealed, store, validate};
pub(crate) use takes::{Agreement, MOST_TAKES, Next, Takes, TakesOutcome};
