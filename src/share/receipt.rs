use std::collections::BTreeMap;

use serde::Serialize;

use super::catalogue::{ProcedurePlace, versions};
use super::difference::{ChangedLines, VersionChange, difference};
use super::installed::{InstalledError, open_installed};
use super::pack::{Pack, PackError};
use super::trust::{SignerStanding, Trust, Withdrawn};
use super::version::Version;
use crate::procedure::{Outline, Program, SHIPPED};
use crate::record::{Origin, Shop, Signer, SignerKey};

/// What a pack that was received is to the shop, before anything is installed.
#[derive(Debug)]
pub(crate) struct Receipt {
    pub(crate) standing: SignerStanding,
    /// How its version stands to those that are there.
    pub(crate) novelty: Novelty,
    /// Why it is used no longer, where it was withdrawn.
    pub(crate) withdrawn: Option<Withdrawn>,
    /// What the procedure does.
    pub(crate) outline: Outline,
    /// The words of its text that ask or tell, each with how often it stands there.
    pub(crate) asks: Vec<(&'static str, usize)>,
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
        let mut asks = BTreeMap::new();
        program.sites().for_each(|(word, _)| *asks.entry(word).or_insert(0) += 1);
        let mut receipt = Receipt {
            standing: trust.standing(pack.signer()),
            novelty: same.unwrap_or(Novelty::New),
            withdrawn: trust.withdrawn(pack.id(), pack.version(), Some(&pack.signer().signer())).cloned(),
            outline: outline.clone(),
            asks: asks.into_iter().collect(),
            current: None,
            changes: Vec::new(),
            lines: ChangedLines::default(),
        };
        // That of the same signer where there is one, whether or not the signer is still trusted; else any.
        let known = versions(shop, pack.id()).unwrap_or_default();
        let is_own = |signer: &Option<SignerKey>| signer.as_ref() == Some(pack.signer());
        let latest = known.into_iter().max_by_key(|known| (is_own(&known.signer), known.version));
        let used = match latest.map(|known| known.place) {
            Some(ProcedurePlace::Shipped(_)) => shipped,
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
    let digests = digests_of(pack);
    let compare = |is_same: bool| Some(if is_same { Novelty::Same } else { Novelty::Different });
    match open_installed(shop, pack.id(), pack.version()) {
        Ok(there) => {
            return compare(digests_of(&there) == digests);
        }
        Err(InstalledError::Io { .. }) => {}
        Err(_) => return Some(Novelty::Different),
    }
    let shipped = shipped.filter(|shipped| version_of(shipped) == Some(pack.version()))?;
    let files = shipped.source.digests().into_iter().map(|file| (file.name, file.sha256));
    let pictures = shipped.source.picture_digests().into_iter().map(|picture| (picture.name, picture.sha256));
    compare(files.chain(pictures).collect::<Vec<_>>() == digests)
}

/// Returns the name and the digest of everything in a pack.
fn digests_of(pack: &Pack) -> Vec<(String, String)> {
    pack.contents().map(|file| (file.name.to_owned(), file.sha256.to_owned())).collect()
}

fn version_of(program: &Program) -> Option<Version> {
    program.title.version.parse().ok()
}
