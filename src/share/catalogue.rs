use std::path::PathBuf;

use super::installed::{InstalledError, installed, open_installed};
use super::pack::Pack;
use super::trust::Trust;
use super::version::Version;
use crate::procedure::{Program, SHIPPED, Shipped, Source};
use crate::record::{Circuit, Origin, Shop, Signer};

/// Where a procedure is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Place {
    /// Built into the program, by its place among the shipped.
    Shipped(usize),
    /// Installed in the shop.
    Shop(String, Version),
    /// In a file.
    File(PathBuf),
}

/// A procedure of a catalogue.
#[derive(Debug, Clone)]
pub struct Entry {
    /// Its short name.
    pub id: String,
    /// Its title.
    pub title: String,
    /// The unit that it tests; none for a bench job.
    pub unit: Option<String>,
    /// Its version.
    pub version: String,
    /// Where it came from.
    pub origin: Origin,
    /// Who signed it.
    pub signer: Option<Signer>,
    /// Its circuits.
    pub circuits: Vec<Circuit>,
}

impl Entry {
    /// Reads what a procedure says of itself.
    ///
    /// # Errors
    /// Its faults, with their lines.
    pub fn of(source: Source) -> Result<Entry, String> {
        let shown = source.clone();
        let program = Program::compile(source).map_err(|faults| shown.render(&faults))?;
        let outline = program.outline().map_err(|fault| shown.render(&[fault]))?.clone();
        Ok(Entry {
            id: shown.id,
            title: outline.title.title,
            unit: outline.title.unit,
            version: outline.title.version,
            origin: shown.origin,
            signer: shown.signer,
            circuits: outline.circuits,
        })
    }

    /// Returns whether every word occurs in its name, title, unit, circuits or symptoms, in any case.
    pub fn has(&self, words: &[String]) -> bool {
        let circuits = self.circuits.iter();
        let of_circuits =
            circuits.flat_map(|circuit| std::iter::once(&circuit.name).chain(&circuit.symptoms));
        let own = [&self.id, &self.title].into_iter().chain(&self.unit);
        let texts: Vec<_> = own.chain(of_circuits).map(|text| text.to_lowercase()).collect();
        words.iter().all(|word| texts.iter().any(|text| text.contains(&word.to_lowercase())))
    }
}

impl Place {
    /// Returns the procedure's text; one of the shop's only where its signer is trusted.
    ///
    /// # Errors
    /// Why it cannot be used.
    pub fn source(&self, shop: &Shop, trust: &Trust) -> Result<Source, String> {
        match self {
            Place::Shipped(at) => {
                let shipped = SHIPPED.get(*at).ok_or("there is no such shipped procedure")?;
                shipped.source().map_err(|fault| fault.render(None))
            }
            Place::Shop(id, version) => {
                let pack = open_installed(shop, id, *version).map_err(|error| error.to_string())?;
                trusted(&pack, trust)?;
                pack.source().map_err(|error| error.to_string())
            }
            Place::File(path) => Source::from_path(path).map_err(|fault| fault.render(None)),
        }
    }
}

fn trusted(pack: &Pack, trust: &Trust) -> Result<(), String> {
    if trust.trusts(pack.signer()) {
        return Ok(());
    }
    Err(format!(
        "{} {} is signed by {}, whom this shop does not trust; receive its pack again to decide",
        pack.id(),
        pack.version(),
        pack.signer().signer()
    ))
}

/// Returns where every procedure is that is shipped or installed, by name and then by version.
///
/// # Errors
/// Where the shop's procedures cannot be listed.
pub fn catalogue(shop: &Shop) -> Result<Vec<Place>, InstalledError> {
    let shipped = (0..SHIPPED.len()).map(Place::Shipped);
    let installed = installed(shop)?.into_iter().map(|(id, version)| Place::Shop(id, version));
    Ok(shipped.chain(installed).collect())
}

/// Finds a procedure by its name, or by `name@version`: of several versions the latest, of two alike the shipped one.
///
/// # Errors
/// Where the shop's procedures cannot be listed.
pub fn find(shop: &Shop, named: &str) -> Result<Option<Place>, InstalledError> {
    let (id, wanted) = match named.split_once('@') {
        Some((id, version)) => match version.parse::<Version>() {
            Ok(version) => (id, Some(version)),
            Err(_) => return Ok(None),
        },
        None => (named, None),
    };
    let shipped = SHIPPED.iter().position(|shipped| shipped.id == id);
    let shipped = shipped.and_then(|at| Some((version_of(&SHIPPED[at])?, Place::Shipped(at))));
    let installed = installed(shop)?.into_iter().filter(|(known, _)| known == id);
    let mut found: Vec<_> =
        installed.map(|(id, version)| (version, Place::Shop(id, version))).chain(shipped).collect();
    found.retain(|(version, _)| wanted.is_none_or(|wanted| wanted == *version));
    // Of two of one version the last counts, which is the shipped one.
    Ok(found.into_iter().max_by_key(|(version, _)| *version).map(|(_, place)| place))
}

/// Returns the version of a shipped procedure.
fn version_of(shipped: &Shipped) -> Option<Version> {
    let program = Program::compile(shipped.source().ok()?).ok()?;
    program.title.version.parse().ok()
}
