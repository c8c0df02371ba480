use std::path::{Path, PathBuf};

use etcetera::BaseStrategy;

use super::log;
use super::status::Failure;
use crate::procedure::{Program, SHIPPED, Source, nearest};
use crate::record::{ProcedureIdentity, Shop};
use crate::session::kept_files;

/// The shop folder as it was named, if it was.
pub(super) struct ShopFolder(pub(super) Option<PathBuf>);

impl ShopFolder {
    /// Opens the shop: the folder named by the flag or the environment, else the user's data folder.
    pub(super) fn open(&self) -> Result<Shop, Failure> {
        let folder = match &self.0 {
            Some(folder) => folder.clone(),
            None => etcetera::choose_base_strategy()
                .map_err(|_| {
                    Failure::wrong("there is no home folder to keep a shop in; name one with --shop DIR")
                })?
                .data_dir()
                .join("spoolproof"),
        };
        let shop = Shop::open(&folder).map_err(|error| {
            Failure::wrong(format!(
                "the shop folder {} can't be used: {error}; name another with --shop DIR",
                folder.display()
            ))
        })?;
        log::begin(&shop);
        Ok(shop)
    }
}

/// Finds a procedure by the path of its file or by the name of a shipped one, and checks it.
pub(super) fn program(named: &Path) -> Result<Program, Failure> {
    compile(source(named)?)
}

/// Finds the procedure that an earlier session ran, by the digests of its files.
pub(super) fn find(shop: &Shop, identity: &ProcedureIdentity) -> Result<Program, Failure> {
    compile(kept_files(shop, identity).map_err(|fault| Failure::wrong(fault.render(None)))?)
}

/// Compiles a procedure; its faults are printed with their lines.
pub(super) fn compile(source: Source) -> Result<Program, Failure> {
    let shown = source.clone();
    Program::compile(source).map_err(|diagnostics| Failure::not_in_order(shown.render(&diagnostics)))
}

/// Finds the text of a procedure by the path of its file or by the name of a shipped one.
pub(super) fn source(named: &Path) -> Result<Source, Failure> {
    let unreadable = |diagnostic: crate::procedure::Diagnostic| Failure::wrong(diagnostic.render(None));
    let name = named.to_string_lossy();
    if named.extension().is_none() && !named.exists() {
        if let Some(shipped) = SHIPPED.iter().find(|shipped| shipped.id == name) {
            return shipped.source().map_err(unreadable);
        }
        let ids: Vec<_> = SHIPPED.iter().map(|shipped| shipped.id).collect();
        let near = nearest(&name, ids.iter().copied())
            .map(|near| format!(" Did you mean {near}?"))
            .unwrap_or_default();
        return Err(Failure::wrong(format!(
            "there is no procedure \"{name}\".{near} Shipped are {}; any other is given by its file, NAME.rhai.",
            ids.join(", ")
        )));
    }
    Source::from_path(named).map_err(unreadable)
}
