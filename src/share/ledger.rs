//! The ledger: one line a record, each holding the digest of the line before it, so that a record that was removed,
//! slipped in, exchanged or dated back shows.

use std::collections::HashMap;
use std::fmt;
use std::io;

use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use super::sign::OwnKey;
use super::strict_json::parse_strict;
use crate::disk::{self, Alone, LARGEST_DOCUMENT, Log, LogError, make_folder, write_whole};
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
        match disk::read(&shop.ledger(), LARGEST_DOCUMENT) {
            Ok(bytes) => Ok(Some(Ledger::read(&bytes))),
            Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
            Err(error) => Err(error),
        }
    }

    /// Reads every ledger that a shop has, its own first, then those that came with other benches' records; each
    /// with what it is called.
    pub(crate) fn all(shop: &Shop) -> io::Result<Vec<(String, Ledger)>> {
        let own = Ledger::of(shop)?.map(|ledger| ("the ledger".to_owned(), ledger));
        let beside = Shop::ledgers_in(shop.root())?.into_iter().map(|path| {
            let ledger = Ledger::read(&disk::read(&path, LARGEST_DOCUMENT)?);
            let signer = ledger.lines.iter().rev().find_map(|line| line.signer.as_ref());
            let name = match (signer, path.file_name()) {
                (Some(signer), _) => format!("the ledger of {}", signer.signer()),
                (None, name) => format!("the ledger {}", name.unwrap_or_default().display()),
            };
            Ok((name, ledger))
        });
        own.into_iter().map(Ok).chain(beside).collect()
    }

    pub(crate) fn read(bytes: &[u8]) -> Ledger {
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
        ledger
    }
}

/// What ledgers have of a record.
pub(crate) enum InLedgers {
    Entered,
    /// They have another by its name; says which ledger, and since when.
    Exchanged(String),
    Nowhere,
}

/// Looks a record up in ledgers, each with what it is called.
pub(crate) fn standing_in<'a>(
    ledgers: impl IntoIterator<Item = &'a (String, Ledger)>,
    session: &str,
    digest: &str,
) -> InLedgers {
    let mut exchanged = InLedgers::Nowhere;
    for (name, ledger) in ledgers {
        for line in ledger.lines.iter().filter(|line| line.session == session) {
            if line.digest == digest {
                return InLedgers::Entered;
            }
            let day = line.at.strftime("%Y-%m-%d");
            exchanged = InLedgers::Exchanged(format!(
                "it is not the record that {name} has since {day}: it was altered or exchanged"
            ));
        }
    }
    exchanged
}

/// Enters a record that has its digest in the shop's ledger, unless it has its line already. The line
/// is on the disk then.
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

/// What became of a ledger that came with other records.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum LedgerKept {
    /// It is kept now, or goes on from the one that was.
    New,
    Known,
    /// It is no continuation of the one that is kept.
    Differs,
}

/// Keeps a ledger beside the shop's own. It is known again by its first line, since a ledger only grows.
pub(crate) fn keep_beside(shop: &Shop, bytes: &[u8]) -> io::Result<LedgerKept> {
    let first = |bytes: &[u8]| bytes.split(|byte| *byte == b'\n').next().map(sha256).unwrap_or_default();
    let path = shop.ledgers().join(format!("{}.jsonl", &first(bytes)[..16]));
    let _alone = Alone::in_folder(shop.root())?;
    for known in [shop.ledger(), path.clone()] {
        match disk::read(&known, LARGEST_DOCUMENT) {
            Ok(known) if known.starts_with(bytes) => return Ok(LedgerKept::Known),
            Ok(known) if first(&known) == first(bytes) && !bytes.starts_with(&known) => {
                return Ok(LedgerKept::Differs);
            }
            Err(error) if error.kind() != io::ErrorKind::NotFound => return Err(error),
            _ => {}
        }
    }
    make_folder(&shop.ledgers())?;
    write_whole(&path, bytes)?;
    Ok(LedgerKept::New)
}
