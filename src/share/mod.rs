//! Passing procedures and exercises on: packs that are signed, signers that are trusted, what a new version changes,
//! and where procedures live.

mod catalogue;
mod difference;
mod hand_out;
mod installed;
mod ledger;
mod pack;
mod receipt;
mod sign;
mod strict_json;
mod trust;
mod version;
mod withdrawal;

pub(crate) use catalogue::{Listing, ProcedurePlace, catalogue, find};
pub(crate) use difference::ChangedLines;
pub(crate) use hand_out::HandOut;
pub(crate) use installed::{install, installed, open_installed};
pub(crate) use ledger::{InLedgers, Ledger, LedgerKept, enter, keep_beside, standing_in};
pub(crate) use pack::{ENDING as PACK, Pack, PackError, files_in};
pub(crate) use receipt::{Novelty, Receipt};
pub(crate) use sign::{OwnKey, heard};
pub(crate) use trust::{SignerStanding, Trust, Withdrawn};
pub(crate) use version::Version;
pub(crate) use withdrawal::{ENDING as WITHDRAWN, Withdrawal};
#[cfg(test)]
pub(crate) use {
    difference::difference,
    pack::{LARGEST_PACK, PackedFile, signed_bytes},
    strict_json::parse_strict,
};
