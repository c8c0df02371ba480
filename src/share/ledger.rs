//! The ledger: one line a record, each holding the digest of the line before it, so that a record that was removed, slipped
//! in, exchanged or dated back shows.

use std::collections::HashMap;
use std::fmt;
use std::io;

use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use super::sign::OwnKey;
use super::strict_json::parse_strict;
use crate::disk::{self, Alone, LARGEST_DOCUMENT, Log, LogError};
use crate::record::{Record, Shop, SignerKey, canonical, sha256};

/// The line of a record.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct LedgerLine {
    pub(crate) session: String,
    /// The record's digest.
    pub(crate) digest: String,
    /// When the line was written.
    pub(crate) at: Timestamp,
    /// SHA-256 of the line before it, in hexadecimal; none of the first.
    before: Option<String>,
    /// Whose key signed it.
    #[serde(skip_serializing_if = "Option::is_none")]
    signer: Option<SignerKey>,
    /// The signature over the canonical form of the line without it.
    #[serde(skip_serializing_if = "Option::is_none")]
    signature: Option<String>,
}

impl LedgerLine {
    fn message(&self) -> serde_json::Result<Vec<u8>> {
        canonical(self, &["signature"])
    }

    fn read(line: &[u8]) -> Result<LedgerLine, String> {
        serde_json::from_value(parse_strict(line)?).map_err(|error| error.to_string())
    }

    fn is_signed(&self) -> bool {
        let (Some(signer), Some(signature)) = (&self.signer, &self.signature) else { return false };
        self.message().is_ok_and(|message| signer.public_key.verifies(&message, signature))
    }
}

/// What is wrong with a ledger at a line, counted from 1.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum LedgerFault {
    Unreadable {
        line: usize,
        why: String,
    },
    /// It does not hold the digest of the line before it.
    Broken {
        line: usize,
    },
    Signature {
        line: usize,
    },
    /// The session has a line already.
    Twice {
        line: usize,
        session: String,
    },
    Backwards {
        line: usize,
    },
}

impl fmt::Display for LedgerFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            LedgerFault::Unreadable { line, why } => {
                write!(f, "line {line} of the ledger is none ({why})")
            }
            LedgerFault::Broken { line } => write!(
                f,
                "line {line} of the ledger does not follow on the one before it: lines were changed, removed, slipped in or moved"
            ),
            LedgerFault::Signature { line } => {
                write!(
                    f,
                    "the signature of line {line} of the ledger is not that of the signer whom it names"
                )
            }
            LedgerFault::Twice { line, session } => {
                write!(f, "line {line} of the ledger enters {session} a second time, with another digest")
            }
            LedgerFault::Backwards { line } => {
                write!(f, "line {line} of the ledger is stamped earlier than the one before it")
            }
        }
    }
}

/// All lines of a shop's ledger, and what is wrong with them.
#[derive(Debug, Default)]
pub(crate) struct Ledger {
    pub(crate) lines: Vec<LedgerLine>,
    pub(crate) faults: Vec<LedgerFault>,
}

impl Ledger {
    /// Reads a shop's ledger; none where it keeps none.
    pub(crate) fn of(shop: &Shop) -> io::Result<Option<Ledger>> {
        let bytes = match disk::read(&shop.ledger(), LARGEST_DOCUMENT) {
            Ok(bytes) => bytes,
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
            Err(error) => return Err(error),
        };
        let mut ledger = Ledger::default();
        let (mut before, mut at, mut digests) = (None, Timestamp::MIN, HashMap::new());
        for (index, text) in bytes.split(|byte| *byte == b'\n').filter(|text| !text.is_empty()).enumerate() {
            let number = index + 1;
            match LedgerLine::read(text) {
                Ok(line) => {
                    if line.before != before {
                        ledger.faults.push(LedgerFault::Broken { line: number });
                    }
                    if line.signer.is_some() && !line.is_signed() {
                        ledger.faults.push(LedgerFault::Signature { line: number });
                    }
                    if line.at < at {
                        ledger.faults.push(LedgerFault::Backwards { line: number });
                    }
                    if digests.insert(line.session.clone(), line.digest.clone()).is_some() {
                        let session = line.session.clone();
                        ledger.faults.push(LedgerFault::Twice { line: number, session });
                    }
                    at = line.at;
                    ledger.lines.push(line);
                }
                Err(why) => ledger.faults.push(LedgerFault::Unreadable { line: number, why }),
            }
            before = Some(sha256(text));
        }
        Ok(Some(ledger))
    }
}

/// Enters a record that has its digest in the shop's ledger, unless it has its line already. The line is on the disk then.
pub(crate) fn enter(
    shop: &Shop,
    record: &Record,
    own: Option<&OwnKey>,
    at: Timestamp,
) -> Result<(), LogError> {
    let path = shop.ledger();
    let failed = |error| LogError::Io(path.clone(), error);
    let _alone = Alone::in_folder(shop.root()).map_err(failed)?;
    let (mut log, lines) = match path.exists() {
        true => Log::open(&path, |text| LedgerLine::read(text).map(|line| (line, sha256(text))))?,
        false => (Log::create(&path)?, Vec::new()),
    };
    let digest = record.digest.clone().unwrap_or_default();
    if lines.iter().any(|(line, _)| (&line.session, &line.digest) == (&record.session, &digest)) {
        return Ok(());
    }
    let before = lines.last().map(|(_, digest)| digest.clone());
    let session = record.session.clone();
    let mut line =
        LedgerLine { session, digest, at, before, signer: own.map(OwnKey::signer), signature: None };
    let json = |error: serde_json::Error| LogError::Io(path.clone(), error.into());
    if let Some(own) = own {
        line.signature = Some(own.sign(&line.message().map_err(json)?));
    }
    log.append(&serde_json::to_string(&line).map_err(json)?)
}
