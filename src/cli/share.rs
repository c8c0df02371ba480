use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use clap::Args;
use serde_json::json;

use super::arguments::{ShopFolder, own_key, program};
use super::status::{Failure, Outcome, Status};
use crate::console::{Screen, is_interactive};
use crate::record::Shop;
use crate::session::{Enter, Plain, Prompt, Said};
use crate::share::{Index, OwnKey, Pack, Version, open_installed};

/// Sign procedures and write them as packs to hand to somebody else.
///
/// Whoever receives a pack sees who signed it, that nobody changed it, and what is different from what they use. A
/// procedure that was received is passed on as its author signed it.
#[derive(Debug, Args)]
pub(super) struct Share {
    /// The procedures: names, or files; without any, --folder writes the index of what is there
    #[arg(required_unless_present = "folder")]
    procedures: Vec<PathBuf>,
    /// The name to sign as, wanted once: the key is made then
    #[arg(long = "as", value_name = "NAME")]
    name: Option<String>,
    /// Put the packs into a folder, with an index that others can browse
    #[arg(long, value_name = "DIR")]
    folder: Option<PathBuf>,
    /// Print one JSON document instead
    #[arg(long)]
    json: bool,
}

impl Share {
    pub(super) fn run(self, shop: &ShopFolder) -> Outcome {
        let shop = shop.open()?;
        // A procedure that is not in order must not be what a key is made for.
        for named in &self.procedures {
            program(&shop, named)?;
        }
        let own = key(&shop, self.name.as_deref())?;
        let packs: Vec<Pack> =
            self.procedures.iter().map(|named| pack(&shop, named, &own)).collect::<Result<_, _>>()?;
        let mut screen = Screen::stdout();
        let mut status = Status::Done;
        let mut paths = Vec::new();
        match &self.folder {
            Some(folder) => {
                let (index, left_out) = Index::share(folder, &packs, &own).map_err(Failure::wrong)?;
                for error in left_out {
                    // One file that is not in order must not keep the others from being listed.
                    Failure::not_in_order(format!("left out: {error}")).report();
                    status = Status::NotInOrder;
                }
                if !self.json {
                    let n = index.procedures().len();
                    screen.line(&format!("{}: packs in the index: {n}", folder.display()));
                }
                paths.extend(packs.iter().map(|pack| folder.join(pack.file_name())));
            }
            None => {
                for pack in &packs {
                    paths.push(PathBuf::from(pack.file_name()));
                    write(pack).map_err(Failure::wrong)?;
                }
            }
        }
        if self.json {
            let packs: Vec<_> = packs.iter().zip(&paths).map(|(pack, path)| summary(pack, path)).collect();
            screen.json(&json!({ "packs": packs, "signer": own.signer().signer() }));
            return Ok(status);
        }
        for (pack, path) in packs.iter().zip(&paths) {
            let signer = pack.signer().signer();
            screen.line(&format!("{}: {}@{}", path.display(), pack.id(), pack.version()));
            screen.paragraph(4, &format!("signed by {signer}"));
        }
        screen.paragraph(
            0,
            &format!(
                "Whoever receives them for the first time should hear your fingerprint from you, over the telephone: {}",
                own.signer().public_key.fingerprint()
            ),
        );
        Ok(status)
    }
}

/// Returns the shop's key; makes it where there is none, for which a name is needed.
fn key(shop: &Shop, name: Option<&str>) -> Result<OwnKey, Failure> {
    let own = own_key(shop)?;
    let (name, own) = match (name, own) {
        (None, Some(own)) => return Ok(own),
        (Some(name), Some(own)) if own.signer().name == name => return Ok(own),
        (Some(name), own) => (name.to_owned(), own),
        (None, None) if is_interactive() => {
            Screen::stdout().paragraph(
                0,
                "The shop signs for the first time. Under which name? It stands on every pack and stays.",
            );
            let question = Plain {
                words: "name",
                enter: Enter::Declines,
                help: "The name of the shop or of whoever signs for it, as in North Bench.",
            };
            let asked = Prompt::open(None)
                .and_then(|mut prompt| prompt.ask_plainly(&question, &[], |name| Ok(name.to_owned())));
            let asked = asked.map_err(|why| Failure::stopped(why, "nothing was signed"))?;
            (if let Said::Answer(name) = asked { name } else { String::new() }, None)
        }
        (None, None) => {
            return Err(Failure::wrong("this shop has not signed anything yet; say once as whom: --as NAME"));
        }
    };
    if own.is_none() {
        let own = OwnKey::make(shop, &name).map_err(Failure::wrong)?;
        Screen::stderr().paragraph(
            0,
            &format!(
                "Made a key for \"{name}\" in {}. Whoever has that file signs as you: keep it, and keep a copy safe.",
                shop.key().display()
            ),
        );
        return Ok(own);
    }
    // Says that the shop signs under another name already.
    OwnKey::make(shop, &name).map_err(Failure::wrong)
}

/// Packs a procedure; one that was received is passed on as it was signed.
fn pack(shop: &Shop, named: &Path, own: &OwnKey) -> Result<Pack, Failure> {
    let program = program(shop, named)?;
    if program.source.signer.is_some() {
        let version = program.title.version.parse::<Version>().ok();
        if let Some(version) = version {
            return open_installed(shop, &program.source.id, version).map_err(Failure::not_in_order);
        }
    }
    let pack = Pack::make(&program, own).map_err(Failure::not_in_order)?;
    // What nobody could receive is not handed out.
    let received = pack.program().map_err(Failure::not_in_order)?;
    received.outline().map_err(|fault| Failure::not_in_order(received.source.render(&[fault])))?;
    Ok(pack)
}

/// Writes a pack into the working folder; another one of that name stays.
fn write(pack: &Pack) -> Result<(), String> {
    let name = pack.file_name();
    let text = pack.document().map_err(|error| error.to_string())?;
    let written = fs::File::create_new(&name).and_then(|mut file| file.write_all(text.as_bytes()));
    match written {
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => match fs::read_to_string(&name) {
            Ok(there) if there == text => Ok(()),
            _ => Err(format!(
                "{name} exists with other content; move it away, or raise the procedure's version"
            )),
        },
        other => other.map_err(|error| format!("{name}: {error}")),
    }
}

fn summary(pack: &Pack, path: &Path) -> serde_json::Value {
    json!({
        "path": path.display().to_string(),
        "id": pack.id(),
        "version": pack.version().to_string(),
        "title": pack.title(),
        "unit": pack.unit(),
        "signer": pack.signer().signer(),
    })
}
