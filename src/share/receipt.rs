use serde::Serialize;

use super::catalogue::{ProcedurePlace, find};
use super::difference::{ChangedLines, VersionChange, difference};
use super::installed::{InstalledError, open_installed};
use super::pack::{Pack, PackError};
use super::trust::{SignerStanding, Trust};
use super::version::Version;
use crate::procedure::{Program, SHIPPED};
use crate::record::{Origin, Shop, Signer};

/// What a pack that was received is to the shop, before anything is installed.
#[derive(Debug)]
pub(crate) struct Receipt {
    pub(crate) standing: SignerStanding,
    /// How its version stands to those that are there.
    pub(crate) novelty: Novelty,
    pub(crate) n_circuits: usize,
    /// The version that is used now, where there is one.
    pub(crate) current: Option<Current>,
    /// What is different from that one, what matters most in front.
    pub(crate) changes: Vec<VersionChange>,
    /// The lines of its text that are others than that one's.
    pub(crate) lines: ChangedLines,
}

/// The version of a procedure that a shop uses now.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Current {
    pub(crate) version: Version,
    pub(crate) origin: Origin,
    pub(crate) signer: Option<Signer>,
}

/// How a version stands to those that are there.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub(crate) enum Novelty {
    /// There is none of that name.
    New,
    /// It is later than the one that is used.
    Newer,
    /// It is earlier than the one that is used.
    Older,
    /// It is there, file for file.
    Same,
    /// That version is there with other content.
    Different,
}

impl Receipt {
    /// Weighs a pack against what the shop has; its procedure must be without faults.
    pub(crate) fn of(pack: &Pack, shop: &Shop, trust: &Trust) -> Result<Receipt, PackError> {
        let program = pack.program()?;
        let outline =
            program.outline().map_err(|fault| PackError::Faults(program.source.render(&[fault])))?;
        let shipped = SHIPPED.iter().find(|shipped| shipped.id == pack.id());
        let shipped = shipped.and_then(|shipped| Program::compile(shipped.source().ok()?).ok());
        let same = same_version(pack, shop, shipped.as_ref());
        let mut receipt = Receipt {
            standing: trust.standing(pack.signer()),
            novelty: same.unwrap_or(Novelty::New),
            n_circuits: outline.circuits.len(),
            current: None,
            changes: Vec::new(),
            lines: ChangedLines::default(),
        };
        let used = match find(shop, pack.id()).ok().flatten() {
            Some(ProcedurePlace::Shipped(_)) => shipped,
            // Whether or not its signer is still trusted.
            Some(ProcedurePlace::Shop(id, version)) => {
                open_installed(shop, &id, version).ok().and_then(|pack| pack.program().ok())
            }
            _ => None,
        };
        if let Some((used, version)) = used.and_then(|used| version_of(&used).map(|version| (used, version)))
        {
            let is_newer = pack.version() > version;
            receipt.novelty = same.unwrap_or(if is_newer { Novelty::Newer } else { Novelty::Older });
            receipt.changes = used.outline().map(|before| difference(before, outline)).unwrap_or_default();
            receipt.lines = ChangedLines::between(&used, &program);
            let (origin, signer) = (used.source.origin, used.source.signer);
            receipt.current = Some(Current { version, origin, signer });
        }
        Ok(receipt)
    }
}

/// Returns whether that very version is there, and with the same content.
fn same_version(pack: &Pack, shop: &Shop, shipped: Option<&Program>) -> Option<Novelty> {
    let digests: Vec<_> = pack.files().iter().map(|file| (&file.name, &file.sha256)).collect();
    let compare = |is_same: bool| Some(if is_same { Novelty::Same } else { Novelty::Different });
    match open_installed(shop, pack.id(), pack.version()) {
        Ok(there) => {
            let there = there.files().iter().map(|file| (&file.name, &file.sha256));
            return compare(there.collect::<Vec<_>>() == digests);
        }
        Err(InstalledError::Io { .. }) => {}
        Err(_) => return Some(Novelty::Different),
    }
    let shipped = shipped.filter(|shipped| version_of(shipped) == Some(pack.version()))?;
    let files = shipped.source.files.iter().map(|file| (&file.name, &file.sha256));
    compare(files.collect::<Vec<_>>() == digests)
}

fn version_of(program: &Program) -> Option<Version> {
    program.title.version.parse().ok()
}
