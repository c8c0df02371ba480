use std::path::{Path, PathBuf};

use etcetera::BaseStrategy;

use super::log;
use super::status::Failure;
use crate::procedure::{Diagnostic, Program, SHIPPED, Source, nearest};
use crate::record::{ProcedureIdentity, Shop};
use crate::session::kept_files;

/// The environment variable that names the shop folder.
pub(super) const SHOP_VARIABLE: &str = "SPOOLPROOF_SHOP";

/// The shop folder as it was named, if it was.
pub(super) struct ShopFolder(pub(super) Option<PathBuf>);

impl ShopFolder {
    /// Opens the shop: the folder named by the flag or the environment, else the user's data folder.
    pub(super) fn open(&self) -> Result<Shop, Failure> {
        let folder = self.0.clone().or_else(users_shop).ok_or_else(|| {
            Failure::wrong("there is no home folder to keep a shop in; name one with --shop DIR")
        })?;
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

/// Returns the shop in the user's data folder; none where there is no home.
fn users_shop() -> Option<PathBuf> {
    Some(etcetera::choose_base_strategy().ok()?.data_dir().join("spoolproof"))
}

/// Writes the command that takes up a session: with the shop's folder where the command would not find it by itself.
pub(super) fn resume_command(shop: &Shop, session: &str) -> String {
    let found = std::env::var_os(SHOP_VARIABLE).map(PathBuf::from).or_else(users_shop);
    if found.as_deref() == Some(shop.root()) {
        return format!("spoolproof guide --resume {session}");
    }
    let folder = shop.root().display().to_string();
    let is_plain = folder.chars().all(|c| c.is_alphanumeric() || "/\\:._-".contains(c));
    let quote = if is_plain { "" } else { "\"" };
    format!("spoolproof --shop {quote}{folder}{quote} guide --resume {session}")
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
    let name = named.to_string_lossy();
    if named.extension().is_none() && !named.exists() {
        if let Some(shipped) = SHIPPED.iter().find(|shipped| shipped.id == name) {
            return shipped.source().map_err(|fault| Failure::wrong(fault.render(None)));
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
    Source::from_path(named).map_err(|fault| unread(named, &fault))
}

/// Says why a procedure could not be read: a file that can't be is wrong input, a line that can't is the procedure's fault.
fn unread(named: &Path, fault: &Diagnostic) -> Failure {
    if fault.line.is_none() {
        return Failure::wrong(fault.render(None));
    }
    let text = std::fs::read_to_string(named.with_file_name(&fault.file));
    Failure::not_in_order(fault.render(text.ok().as_deref()))
}
