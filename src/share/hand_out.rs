use serde::{Deserialize, Serialize};

use super::pack::{Pack, PackError, signed_bytes};
use super::sign::{OwnKey, check_name};
use super::strict_json::parse_strict;
use crate::practice::Prepared;
use crate::record::HandedOut;

const FORMAT: &str = "spoolproof/exercise/1";

/// An exercise as it is handed out: with its procedure, by which rules it is worked at, and signed as packs are.
///
/// There is none that has not been checked. Its defects stand in it in plain words.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct HandOut {
    format: String,
    prepared: Prepared,
    pack: Pack,
    signature: String,
}

impl HandOut {
    /// Signs an exercise with its procedure; says by whom it is handed out.
    pub(crate) fn make(
        mut prepared: Prepared,
        pack: Pack,
        (attempts, is_held_back): (Option<u32>, bool),
        own: &OwnKey,
    ) -> Result<HandOut, PackError> {
        prepared.exercise.handed_out = Some(HandedOut { by: own.signer(), attempts, is_held_back });
        let mut hand_out = HandOut { format: FORMAT.to_owned(), prepared, pack, signature: String::new() };
        let message = signed_bytes(&hand_out)?;
        hand_out.signature = own.sign(&message);
        Ok(hand_out)
    }

    /// Reads one and checks both signatures: its own and that of its procedure.
    pub(crate) fn read(bytes: &[u8]) -> Result<HandOut, PackError> {
        let document = parse_strict(bytes).map_err(PackError::NoJson)?;
        let message = signed_bytes(&document)?;
        Pack::of(&document["pack"])?;
        let invalid = |why: String| PackError::Invalid(vec![why]);
        let hand_out: HandOut =
            serde_json::from_value(document).map_err(|error| invalid(error.to_string()))?;
        let exercise = &hand_out.prepared.exercise;
        let Some(HandedOut { by, .. }) = exercise.handed_out.as_ref().filter(|_| hand_out.format == FORMAT)
        else {
            return Err(invalid("it does not say who handed it out, or not in this format".to_owned()));
        };
        check_name(&by.name).map_err(PackError::SignerName)?;
        if !by.public_key.verifies(&message, &hand_out.signature) {
            return Err(PackError::Signature(by.name.clone()));
        }
        if hand_out.pack.id() != hand_out.prepared.procedure {
            return Err(invalid("its procedure is another than it says".to_owned()));
        }
        Ok(hand_out)
    }

    pub(crate) fn document(&self) -> Result<String, PackError> {
        Ok(serde_json::to_string_pretty(self)? + "\n")
    }

    /// Returns the exercise, and the procedure that came with it.
    pub(crate) fn opened(self) -> (Prepared, Pack) {
        (self.prepared, self.pack)
    }
}
