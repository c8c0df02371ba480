use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Mutex;

use clap::Args;
use clap::builder::{OsStringValueParser, PossibleValuesParser, TypedValueParser};
use etcetera::BaseStrategy;

use super::practice::{is_exercise_file, procedure_of_exercise};
use super::status::Failure;
use crate::console::Screen;
use crate::disk::{LARGEST_SETTINGS, append_to, read_text};
use crate::procedure::{Fault, Outline, Program, SHIPPED, Source, is_plain_name, nearest};
use crate::record::{Mode, Record, Shop, texts};
use crate::share::{PACK, Pack, Version, find as find_place, installed};

pub(super) const SHOP_VARIABLE: &str = "SPOOLPROOF_SHOP";

/// Which records are meant: those of one mode, never of two together.
#[derive(Debug, Clone, Copy, Args)]
pub(super) struct ChosenMode {
    /// Which records: those of the bench, of rehearsals or of practice
    #[arg(long, global = true, value_name = "MODE", default_value = "bench", value_parser = mode())]
    pub(super) mode: Mode,
}

fn mode() -> impl TypedValueParser<Value = Mode> {
    PossibleValuesParser::new(Mode::ALL.map(Mode::word)).map(|word| {
        let named = Mode::ALL.into_iter().find(|mode| mode.word() == word);
        named.unwrap_or(Mode::Bench)
    })
}

/// A shop folder's name may be empty here: that is refused with what to do where the shop is opened.
pub(super) fn shop_folder() -> impl TypedValueParser<Value = PathBuf> {
    OsStringValueParser::new().map(PathBuf::from)
}

/// The shop folder as it was named, if it was.
pub(super) struct ShopFolder(pub(super) Option<PathBuf>);

impl ShopFolder {
    /// Opens the shop: the folder named by the flag or the environment, else the user's data folder.
    pub(super) fn open(&self) -> Result<Shop, Failure> {
        self.refuse_empty()?;
        let folder = self.0.clone().or_else(users_shop).ok_or_else(|| {
            Failure::wrong("there is no home folder to keep a shop in; name one with --shop DIR")
        })?;
        if folder.to_string_lossy().contains(|c: char| c.is_control()) {
            return Err(Failure::wrong(
                "the name of the shop folder has a line break or the like; name another with --shop DIR",
            ));
        }
        let is_new = self.0.is_some() && !folder.exists();
        let shop = Shop::open(&folder).map_err(|error| {
            Failure::wrong(format!(
                "the shop folder {} can't be used: {error}; name another with --shop DIR",
                folder.display()
            ))
        })?;
        if is_new {
            // A slip in the name must not pass for a shop whose records are gone.
            Screen::stderr().say(&format!("A new shop is begun in {}.", folder.display()));
        }
        begin_log(&shop);
        Ok(shop)
    }

    /// Opens the shop to look at what it holds: a folder that was named must be there.
    pub(super) fn open_to_read(&self) -> Result<Shop, Failure> {
        self.refuse_empty()?;
        if let Some(folder) = self.0.as_ref().filter(|folder| !folder.is_dir()) {
            return Err(Failure::wrong(format!(
                "there is no shop in {}; look at the name, or begin one there with guide, rig set or shop set",
                folder.display()
            )));
        }
        self.open()
    }

    fn refuse_empty(&self) -> Result<(), Failure> {
        if self.0.as_ref().is_none_or(|folder| !folder.as_os_str().is_empty()) {
            return Ok(());
        }
        Err(Failure::wrong(format!(
            "the shop folder is named, and the name is empty: give --shop or {SHOP_VARIABLE} a folder, or take it out (unset \
             {SHOP_VARIABLE}) for the shop in your data folder"
        )))
    }
}

/// Returns the shop in the user's data folder; none where there is no home.
fn users_shop() -> Option<PathBuf> {
    Some(etcetera::choose_base_strategy().ok()?.data_dir().join("spoolproof"))
}

pub(super) fn resume_command(shop: &Shop, session: &str) -> String {
    match shop.of_practice() {
        Some(shop) => command_in(&shop, &format!("practice --resume {session}")),
        None => command_in(shop, &format!("guide --resume {session}")),
    }
}

/// Writes a command of the program: with the shop's folder where it would not find it by itself.
pub(super) fn command_in(shop: &Shop, words: &str) -> String {
    let found = std::env::var_os(SHOP_VARIABLE).map(PathBuf::from).or_else(users_shop);
    if found.as_deref() == Some(shop.root()) {
        return format!("spoolproof {words}");
    }
    format!("spoolproof --shop {} {words}", quoted(&shop.root().display().to_string()))
}

/// Writes a word of a command as a shell takes it: in single quotes where anything in it could mean something else
/// (POSIX, Shell Command Language, 2.2).
pub(super) fn quoted(word: &str) -> String {
    let is_plain = |c: char| c.is_alphanumeric() || "/\\:._-".contains(c);
    if !word.is_empty() && word.chars().all(is_plain) {
        return word.to_owned();
    }
    format!("'{}'", word.replace('\'', "'\\''"))
}

/// Finds a procedure by its name or by the path of its file, and checks it.
pub(super) fn program(shop: &Shop, named: &Path) -> Result<Program, Failure> {
    compile(source_in(shop, named)?)
}

/// Takes the procedure out of the record that it left.
pub(super) fn of_record(record: &Record) -> Result<Program, Failure> {
    let source = Source::kept(&record.procedure, texts(&record.journal));
    compile(source.map_err(|fault| Failure::not_in_order(fault.render(None)))?)
}

/// Compiles a procedure; its faults are printed with their lines.
pub(super) fn compile(source: Source) -> Result<Program, Failure> {
    let shown = source.clone();
    Program::compile(source).map_err(|faults| Failure::not_in_order(shown.render(&faults)))
}

/// Returns what a procedure contains; where it cannot be walked, the fault is printed with its line.
pub(super) fn outline(program: &Program) -> Result<&Outline, Failure> {
    program.outline().map_err(|fault| Failure::not_in_order(program.source.render(&[fault])))
}

/// Finds a procedure that is only looked at, which may lie in a pack that was not received, or in an exercise
/// that was handed out.
pub(super) fn program_or_pack(shop: &Shop, named: &Path) -> Result<Program, Failure> {
    packed(named).unwrap_or_else(|| source_in(shop, named)).and_then(compile)
}

/// Returns the text of the procedure in a pack or in an exercise that was handed out, where one is named.
fn packed(named: &Path) -> Option<Result<Source, Failure>> {
    let pack = match named.to_string_lossy().ends_with(PACK) {
        true => Pack::open(named).map(|(pack, _)| pack).map_err(|error| Failure::file(named, error)),
        false if is_exercise_file(named) => procedure_of_exercise(named),
        false => return None,
    };
    Some(pack.and_then(|pack| {
        let program = pack.program();
        let unsound = |error| Failure::not_in_order(format!("{}: {error}", named.display()));
        Ok(program.map_err(unsound)?.source)
    }))
}

/// Finds the text of a procedure by its name, by the path of its file, which needs no shop, or in a pack.
pub(super) fn source(shop: &ShopFolder, named: &Path) -> Result<Source, Failure> {
    if let Some(source) = packed(named) {
        return source;
    }
    match name_of(named) {
        Some(_) => source_in(&shop.open()?, named),
        None => file(named),
    }
}

/// Finds the text of a procedure by its name, which may end with `@` and a version, or by the path of its file.
pub(super) fn source_in(shop: &Shop, named: &Path) -> Result<Source, Failure> {
    let Some(name) = name_of(named) else { return file(named) };
    match find_place(shop, name).map_err(Failure::wrong)? {
        Some(place) => place.source(shop).map_err(Failure::not_in_order),
        None if named.is_file() => file(named),
        None => Err(unknown(shop, name)),
    }
}

fn file(path: &Path) -> Result<Source, Failure> {
    if path.to_string_lossy().ends_with(PACK) && path.is_file() {
        let command = format!("spoolproof receive {}", quoted(&path.display().to_string()));
        return Err(Failure::wrong(format!(
            "{} is a pack: receive it first, which shows who signed it and what it brings: {command}",
            path.display()
        )));
    }
    let source = Source::from_path(path).map_err(|fault| unread(path, &fault))?;
    Ok(source.shown_in(path.parent().unwrap_or(Path::new(""))))
}

/// Returns what was named where it can be a procedure's name: it has no folder and not the ending of a file.
pub(super) fn name_of(named: &Path) -> Option<&str> {
    let name = named.to_str()?;
    let (id, _) = name.split_once('@').unwrap_or((name, ""));
    (is_plain_name(id) && !name.ends_with(".rhai")).then_some(name)
}

fn unknown(shop: &Shop, name: &str) -> Failure {
    let (id, version) = name.split_once('@').unwrap_or((name, ""));
    let installed = installed(shop).unwrap_or_default();
    let versions: Vec<_> =
        installed.iter().filter(|(known, _)| known == id).map(|(_, version)| version.to_string()).collect();
    if !versions.is_empty() {
        return Failure::wrong(format!(
            "there is no version {version} of {id}; installed are {}",
            versions.join(", ")
        ));
    }
    let ids = names(installed);
    let near = nearest(id, ids.iter().map(String::as_str));
    let near = near.map(|near| format!(" Did you mean {near}?")).unwrap_or_default();
    Failure::wrong(format!(
        "there is no procedure \"{name}\".{near} Known are {}; any other is given by its file, NAME.rhai.",
        ids.join(", ")
    ))
}

/// Says that a procedure has to be named, and which there are.
pub(super) fn unnamed(shop: &Shop) -> Failure {
    Failure::wrong(format!(
        "name a procedure: {}, or the file of any other. procedures says what each tests; --resume takes up a session.",
        names(installed(shop).unwrap_or_default()).join(", ")
    ))
}

/// Returns the names of all procedures, the shipped ones first.
fn names(installed: Vec<(String, Version)>) -> Vec<String> {
    let mut names: Vec<String> = SHIPPED.iter().map(|shipped| shipped.id.to_owned()).collect();
    for (id, _) in installed {
        if !names.contains(&id) {
            names.push(id);
        }
    }
    names
}

/// Says why a procedure could not be read: a file that can't be is wrong input, a line that can't is
/// the procedure's fault.
fn unread(named: &Path, fault: &Fault) -> Failure {
    if fault.line.is_none() {
        return Failure::wrong(fault.render(None));
    }
    let text = read_text(&named.with_file_name(&fault.file), LARGEST_SETTINGS);
    Failure::not_in_order(fault.render(text.ok().as_deref()))
}

/// A log larger than this is moved aside, in bytes.
const LARGEST_LOG: u64 = 1 << 20;

/// Begins to write what the program does into the shop's log, for a bug report. Names, answers, readings and paths are
/// never logged; the screen stays quiet. A log that can't be written stops nothing.
fn begin_log(shop: &Shop) {
    if open_log(shop).is_err() {
        return;
    }
    tracing::info!(version = env!("CARGO_PKG_VERSION"), os = std::env::consts::OS, "started");
    std::panic::set_hook(Box::new(|panic| {
        let place = panic.location().map(ToString::to_string).unwrap_or_default();
        tracing::error!(place, "a fault in the program itself");
        Screen::stderr().line(&format!(
            "spoolproof has a fault ({place}). Every answer given is kept; resume the session."
        ));
    }));
}

fn open_log(shop: &Shop) -> io::Result<()> {
    let path = shop.log();
    if fs::metadata(&path).is_ok_and(|log| log.len() > LARGEST_LOG) {
        fs::rename(&path, path.with_extension("old.txt"))?;
    }
    let file = append_to(&path)?;
    let subscriber = tracing_subscriber::fmt()
        .log_internal_errors(false)
        .with_writer(Mutex::new(file))
        .with_ansi(false)
        .with_target(false)
        .finish();
    tracing::subscriber::set_global_default(subscriber).map_err(io::Error::other)
}
