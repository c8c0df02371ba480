use super::catalogue::{Place, find};
use super::change::Change;
use super::difference::difference;
use super::installed::{InstalledError, open_installed};
use super::pack::Pack;
use super::pack_error::PackError;
use super::text_changes::lines_changed;
use super::trust::{Standing, Trust};
use super::version::Version;
use crate::procedure::{Outline, Program, SHIPPED};
use crate::record::{Origin, Shop, Signer};

/// What a pack that was received is to the shop, before anything is installed.
#[derive(Debug)]
pub struct Receipt {
    /// How its signer stands with the shop.
    pub standing: Standing,
    /// How its version stands to those that are there.
    pub novelty: Novelty,
    /// What it does.
    pub outline: Outline,
    /// The version that is used now, where there is one.
    pub current: Option<Current>,
    /// What is different from that one, what matters most in front.
    pub changes: Vec<Change>,
    /// How many lines of its text are others than that one's, comments aside.
    pub lines_changed: usize,
}

/// The version of a procedure that a shop uses now.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Current {
    /// The version.
    pub version: Version,
    /// Where it came from.
    pub origin: Origin,
    /// Who signed it.
    pub signer: Option<Signer>,
}

/// How a version stands to those that are there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Novelty {
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
    /// Weighs a pack against what the shop has.
    ///
    /// # Errors
    /// Where its procedure has faults.
    pub fn of(pack: &Pack, shop: &Shop, trust: &Trust) -> Result<Receipt, PackError> {
        let program = pack.program()?;
        let outline =
            program.outline().map_err(|fault| PackError::Faults(program.source.render(&[fault])))?.clone();
        let standing = trust.standing(pack.signer());
        let same = same_version(pack, shop);
        let used = find(shop, pack.id()).ok().flatten().and_then(|place| used(&place, shop));
        let Some((current, used)) = used else {
            let novelty = same.unwrap_or(Novelty::New);
            return Ok(Receipt {
                standing,
                novelty,
                outline,
                current: None,
                changes: Vec::new(),
                lines_changed: 0,
            });
        };
        let novelty =
            same.unwrap_or(if pack.version() > current.version { Novelty::Newer } else { Novelty::Older });
        let changes = used.outline().map(|before| difference(before, &outline)).unwrap_or_default();
        let lines_changed = lines_changed(&used, &program);
        Ok(Receipt { standing, novelty, outline, current: Some(current), changes, lines_changed })
    }
}

/// Returns whether that very version is there, and with the same content.
fn same_version(pack: &Pack, shop: &Shop) -> Option<Novelty> {
    let digests: Vec<_> = pack.files().iter().map(|file| (&file.name, &file.sha256)).collect();
    let compare = |is_same: bool| if is_same { Novelty::Same } else { Novelty::Different };
    match open_installed(shop, pack.id(), pack.version()) {
        Ok(there) => {
            return Some(compare(
                there.files().iter().map(|file| (&file.name, &file.sha256)).collect::<Vec<_>>() == digests,
            ));
        }
        Err(InstalledError::Io(..)) => {}
        Err(_) => return Some(Novelty::Different),
    }
    let shipped = SHIPPED.iter().find(|shipped| shipped.id == pack.id())?;
    let program = Program::compile(shipped.source().ok()?).ok()?;
    let version: Version = program.title.version.parse().ok()?;
    let same_files =
        program.source.files.iter().map(|file| (&file.name, &file.sha256)).collect::<Vec<_>>() == digests;
    (version == pack.version()).then(|| compare(same_files))
}

/// Returns the procedure that is used now, whether or not its signer is still trusted.
fn used(place: &Place, shop: &Shop) -> Option<(Current, Program)> {
    let program = match place {
        Place::Shipped(at) => Program::compile(SHIPPED.get(*at)?.source().ok()?).ok()?,
        Place::Shop(id, version) => open_installed(shop, id, *version).ok()?.program().ok()?,
        Place::File(_) => return None,
    };
    let version = program.title.version.parse().ok()?;
    let (origin, signer) = (program.source.origin, program.source.signer.clone());
    Some((Current { version, origin, signer }, program))
}
