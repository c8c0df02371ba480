use std::path::PathBuf;

use super::installed::{InstalledError, installed, open_installed};
use super::trust::Trust;
use super::version::Version;
use crate::procedure::{Fault, Program, SHIPPED, Source};
use crate::record::{Circuit, Origin, Shop, Signer};

/// Where a procedure is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum ProcedurePlace {
    /// Built into the program, by its place among the shipped.
    Shipped(usize),
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

impl ProcedurePlace {
    /// Returns the procedure's text; one of the shop's only where its signer is trusted.
    pub(crate) fn source(&self, shop: &Shop) -> Result<Source, String> {
        match self {
            ProcedurePlace::Shipped(at) => {
                let shipped = SHIPPED.get(*at).ok_or("there is no such shipped procedure")?;
                shipped.source().map_err(|fault| fault.render(None))
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
                pack.source().map_err(|error| error.to_string())
            }
            ProcedurePlace::File(path) => Source::from_path(path).map_err(|fault| fault.render(None)),
        }
    }
}

/// Returns where every procedure is that is shipped or installed, by name and then by version.
pub(crate) fn catalogue(shop: &Shop) -> Result<Vec<ProcedurePlace>, InstalledError> {
    let shipped = (0..SHIPPED.len()).map(ProcedurePlace::Shipped);
    let installed = installed(shop)?.into_iter().map(|(id, version)| ProcedurePlace::Shop(id, version));
    Ok(shipped.chain(installed).collect())
}

/// Finds a procedure by its name, or by `name@version`: of several versions the latest, of two alike the shipped one.
pub(crate) fn find(shop: &Shop, named: &str) -> Result<Option<ProcedurePlace>, InstalledError> {
    let (id, wanted) = match named.split_once('@') {
        Some((id, version)) => match version.parse::<Version>() {
            Ok(version) => (id, Some(version)),
            Err(_) => return Ok(None),
        },
        None => (named, None),
    };
    let shipped = SHIPPED.iter().position(|shipped| shipped.id == id);
    let installed = installed(shop)?.into_iter().filter(|(known, _)| known == id);
    let mut found: Vec<_> =
        installed.map(|(id, version)| (version, ProcedurePlace::Shop(id, version))).collect();
    if let Some(at) = shipped {
        if found.is_empty() && wanted.is_none() {
            return Ok(Some(ProcedurePlace::Shipped(at)));
        }
        let program = SHIPPED[at].source().ok().and_then(|source| Program::compile(source).ok());
        let version = program.and_then(|program| program.title.version.parse().ok());
        // Of two of one version the last counts, which is the shipped one.
        found.extend(version.map(|version| (version, ProcedurePlace::Shipped(at))));
    }
    found.retain(|(version, _)| wanted.is_none_or(|wanted| wanted == *version));
    Ok(found.into_iter().max_by_key(|(version, _)| *version).map(|(_, place)| place))
}
