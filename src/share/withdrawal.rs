use serde::{Deserialize, Serialize};

use super::pack::{PackError, signed_bytes};
use super::sign::{OwnKey, check_name};
use super::strict_json::parse_strict;
use super::trust::Withdrawn;
use super::version::Version;
use crate::console::hidden;
use crate::procedure::is_plain_name;
use crate::record::SignerKey;

/// What a notice says that it is.
pub(crate) const FORMAT: &str = "spoolproof/withdrawal/1";

/// The end of the names of files that hold one.
pub(crate) const ENDING: &str = ".withdrawn.json";

const LONGEST_REASON: usize = 400;

/// A signer's notice that a version of theirs is to be used no longer.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Withdrawal {
    format: String,
    pub(crate) id: String,
    pub(crate) version: Version,
    pub(crate) reason: String,
    pub(crate) signer: SignerKey,
    signature: String,
}

impl Withdrawal {
    pub(crate) fn make(
        id: &str,
        version: Version,
        reason: &str,
        own: &OwnKey,
    ) -> Result<Withdrawal, PackError> {
        check_reason(reason)?;
        let mut notice = Withdrawal {
            format: FORMAT.to_owned(),
            id: id.to_owned(),
            version,
            reason: reason.to_owned(),
            signer: own.signer(),
            signature: String::new(),
        };
        let message = signed_bytes(&notice)?;
        notice.signature = own.sign(&message);
        Ok(notice)
    }

    /// Reads a notice and checks all of it.
    pub(crate) fn read(bytes: &[u8]) -> Result<Withdrawal, PackError> {
        let document = parse_strict(bytes).map_err(PackError::NoJson)?;
        let message = signed_bytes(&document)?;
        let notice: Withdrawal =
            serde_json::from_value(document).map_err(|error| PackError::Invalid(vec![error.to_string()]))?;
        if notice.format != FORMAT {
            return Err(PackError::Invalid(vec![format!("its format is {}", notice.format)]));
        }
        check_name(&notice.signer.name).map_err(PackError::SignerName)?;
        check_reason(&notice.reason)?;
        if !is_plain_name(&notice.id) {
            return Err(PackError::Name(notice.id));
        }
        match notice.signer.public_key.verifies(&message, &notice.signature) {
            true => Ok(notice),
            false => Err(PackError::Signature(notice.signer.name)),
        }
    }

    /// What it puts out of use.
    pub(crate) fn withdrawn(&self) -> Withdrawn {
        let (id, reason) = (self.id.clone(), self.reason.clone());
        Withdrawn { id, version: self.version, reason, by: Some(self.signer.clone()) }
    }

    pub(crate) fn document(&self) -> Result<String, PackError> {
        Ok(serde_json::to_string_pretty(self)? + "\n")
    }

    pub(crate) fn file_name(&self) -> String {
        format!("{}-{}{ENDING}", self.id, self.version)
    }
}

/// Checks that a reason can be shown in a paragraph.
pub(super) fn check_reason(reason: &str) -> Result<(), PackError> {
    let n = reason.trim().chars().count();
    let is_shown = hidden(reason).is_none() && !reason.contains('\n');
    match (1..=LONGEST_REASON).contains(&n) && is_shown {
        true => Ok(()),
        false => {
            let why = format!("a reason is one line of 1 to {LONGEST_REASON} characters that can be seen");
            Err(PackError::Invalid(vec![why]))
        }
    }
}
