use std::path::PathBuf;

use thiserror::Error;

use super::installed::{InstalledError, installed, open_installed};
use super::trust::{Trust, Withdrawn};
use super::version::Version;
use crate::procedure::{Fault, Program, SHIPPED, Shipped, Source};
use crate::record::{Circuit, Origin, Shop, Signer, SignerKey};

/// Where a procedure is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum ProcedurePlace {
    /// Built into the program.
    Shipped(&'static Shipped),
    Shop(String, Version),
    File(PathBuf),
}

/// What a list says of a procedure.
#[derive(Debug, Clone)]
pub(crate) struct Listing {
    /// Its short name.
    pub(crate) id: String,
    pub(crate) title: String,
    /// The unit that it tests; none for a bench job.
    pub(crate) unit: Option<String>,
    pub(crate) version: String,
    pub(crate) origin: Origin,
    pub(crate) signer: Option<Signer>,
    pub(crate) circuits: Vec<Circuit>,
}

impl Listing {
    /// Reads what a procedure says of itself.
    pub(crate) fn of(program: &Program) -> Result<Listing, Fault> {
        let title = program.title.clone();
        Ok(Listing {
            id: program.source.id.clone(),
            title: title.title,
            unit: title.unit,
            version: title.version,
            origin: program.source.origin,
            signer: program.source.signer.clone(),
            circuits: program.outline()?.circuits.clone(),
        })
    }

    /// Returns whether every word occurs in its name, title, unit, circuits or symptoms, in any case.
    pub(crate) fn has(&self, words: &[String]) -> bool {
        let circuits = self.circuits.iter();
        let of_circuits =
            circuits.flat_map(|circuit| std::iter::once(&circuit.name).chain(&circuit.symptoms));
        let own = [&self.id, &self.title].into_iter().chain(&self.unit);
        let texts: Vec<_> = own.chain(of_circuits).map(|text| text.to_lowercase()).collect();
        words.iter().all(|word| texts.iter().any(|text| text.contains(&word.to_lowercase())))
    }

    pub(crate) fn symptoms(&self) -> Vec<&str> {
        let mut symptoms: Vec<_> =
            self.circuits.iter().flat_map(|circuit| &circuit.symptoms).map(String::as_str).collect();
        symptoms.sort_unstable();
        symptoms.dedup();
        symptoms
    }
}

/// Why it can't be said which procedure a name means.
#[derive(Debug, Error)]
pub(crate) enum FindError {
    #[error(transparent)]
    Installed(#[from] InstalledError),
    /// The name is used by more than one signer; each version that is used, with who signed it.
    #[error("several signers have a procedure \"{id}\"; say which with its version: {}", known.join(", "))]
    Ambiguous { id: String, known: Vec<String> },
}

impl ProcedurePlace {
    /// Returns the procedure's text; one of the shop's only where its signer is trusted, none that was withdrawn.
    pub(crate) fn source(&self, shop: &Shop) -> Result<Source, String> {
        match self {
            ProcedurePlace::Shipped(shipped) => {
                // Only a shop that has withdrawn it is to be told so.
                let withdrawn = shipped_version(shipped).and_then(|version| {
                    Trust::of(shop).ok()?.withdrawn(shipped.id, version, None).map(Withdrawn::to_string)
                });
                match withdrawn {
                    Some(withdrawn) => Err(format!("{withdrawn}. It is used here no longer")),
                    None => shipped.source().map_err(|fault| fault.render(None)),
                }
            }
            ProcedurePlace::Shop(id, version) => {
                let pack = open_installed(shop, id, *version).map_err(|error| error.to_string())?;
                // Only what was received hangs on it: trouble with the list stops nothing else.
                let trust = Trust::of(shop).map_err(|error| error.to_string())?;
                if !trust.trusts(pack.signer()) {
                    return Err(format!(
                        "{id} {version} is signed by {}, whom this shop does not trust; receive its pack again to decide",
                        pack.signer().signer()
                    ));
                }
                match trust.withdrawn(id, *version, Some(&pack.signer().signer())) {
                    Some(withdrawn) => Err(format!("{withdrawn}. It is used here no longer")),
                    None => pack.source().map_err(|error| error.to_string()),
                }
            }
            ProcedurePlace::File(path) => Source::from_path(path).map_err(|fault| fault.render(None)),
        }
    }
}

/// Returns where every procedure is that is shipped or installed, by name and then by version.
pub(crate) fn catalogue(shop: &Shop) -> Result<Vec<ProcedurePlace>, InstalledError> {
    let shipped = SHIPPED.iter().map(ProcedurePlace::Shipped);
    let installed = installed(shop)?.into_iter().map(|(id, version)| ProcedurePlace::Shop(id, version));
    Ok(shipped.chain(installed).collect())
}

/// Finds a procedure by its name, or by `name@version`. A bare name means the latest version that may be used, where
/// all of these are from one hand: nobody takes a name over by signing a higher version.
pub(crate) fn find(shop: &Shop, named: &str) -> Result<Option<ProcedurePlace>, FindError> {
    let (id, wanted) = match named.split_once('@') {
        Some((id, version)) => match version.parse::<Version>() {
            Ok(version) => (id, Some(version)),
            Err(_) => return Ok(None),
        },
        None => (named, None),
    };
    let mut versions = versions(shop, id)?;
    if let Some(wanted) = wanted {
        // Of two of one version the last counts, which is the shipped one.
        versions.retain(|known| known.version == wanted);
        return Ok(versions.pop().map(|known| known.place));
    }
    if versions.iter().any(|known| known.is_used) {
        versions.retain(|known| known.is_used);
    }
    let is_one_hand = versions.windows(2).all(|two| two[0].signer == two[1].signer);
    match is_one_hand {
        true => Ok(versions.into_iter().max_by_key(|known| known.version).map(|known| known.place)),
        false => {
            let known = versions.iter().map(|known| {
                let signer = known.signer.as_ref().map_or("shipped", |signer| &signer.name);
                format!("{id}@{} ({signer})", known.version)
            });
            Err(FindError::Ambiguous { id: id.to_owned(), known: known.collect() })
        }
    }
}

fn shipped_version(shipped: &Shipped) -> Option<Version> {
    Program::compile(shipped.source().ok()?).ok()?.title.version.parse().ok()
}

/// One version of a procedure that is here.
pub(super) struct KnownVersion {
    pub(super) version: Version,
    pub(super) place: ProcedurePlace,
    /// Who signed it; none where it is shipped.
    pub(super) signer: Option<SignerKey>,
    /// Whether its signer is trusted, and nobody withdrew it.
    pub(super) is_used: bool,
}

/// Returns the versions of a procedure that are here, the earliest first and the shipped one last.
pub(super) fn versions(shop: &Shop, id: &str) -> Result<Vec<KnownVersion>, InstalledError> {
    let mut found = Vec::new();
    for (id, version) in installed(shop)?.into_iter().filter(|(known, _)| known == id) {
        let signer = open_installed(shop, &id, version).ok().map(|pack| pack.signer().clone());
        let place = ProcedurePlace::Shop(id, version);
        let is_used = place.source(shop).is_ok();
        found.push(KnownVersion { version, place, signer, is_used });
    }
    if let Some(shipped) = SHIPPED.iter().find(|shipped| shipped.id == id) {
        let place = ProcedurePlace::Shipped(shipped);
        let is_used = place.source(shop).is_ok();
        let version = shipped_version(shipped);
        found.extend(version.map(|version| KnownVersion { version, place, signer: None, is_used }));
    }
    Ok(found)
}
