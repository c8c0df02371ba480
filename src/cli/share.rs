use std::io;
use std::path::{Path, PathBuf};

use clap::{Args, Subcommand};
use serde_json::json;

use super::arguments::{ShopFolder, outline, program};
use super::status::{Failure, Outcome, Status};
use crate::console::{Screen, is_interactive};
use crate::disk::{LARGEST_DOCUMENT, make_folder, read, write_whole};
use crate::procedure::{Program, is_plain_name};
use crate::record::{Shop, SignerKey};
use crate::session::{Enter, Plain, Prompt, Said, yes_no};
use crate::share::{OwnKey, Pack, SignerStanding, Trust, Version, Withdrawal, Withdrawn, open_installed};

/// Sign procedures and write them as packs to hand to somebody else.
///
/// Whoever receives a pack sees who signed it, that nobody changed it, and what is different from what they use. A
/// procedure that was received is passed on as its author signed it.
#[derive(Debug, Args)]
pub(super) struct Share {
    /// The procedures: names, or files
    #[arg(required_unless_present = "withdraw")]
    procedures: Vec<PathBuf>,
    /// The name to sign as, wanted once: the key is made then
    #[arg(long = "as", value_name = "NAME")]
    name: Option<String>,
    /// Withdraw one version of yours, NAME@VERSION, instead: write a signed notice that puts it out of use
    /// wherever it is received
    #[arg(long, value_name = "NAME@VERSION", requires = "reason", conflicts_with_all = ["procedures", "name"])]
    withdraw: Option<String>,
    /// Why it is withdrawn, in a line that everybody who used it reads
    #[arg(long, value_name = "TEXT", requires = "withdraw")]
    reason: Option<String>,
    /// Put the packs into a folder, which others can browse
    #[arg(long, value_name = "DIR")]
    folder: Option<PathBuf>,
    /// Print one JSON document instead
    #[arg(long)]
    json: bool,
}

impl Share {
    pub(super) fn run(self, shop: &ShopFolder) -> Outcome {
        let shop = shop.open()?;
        if let (Some(named), Some(reason)) = (&self.withdraw, &self.reason) {
            return withdraw(&shop, named, reason, &self.folder.unwrap_or_default(), self.json);
        }
        // A procedure that is not in order must not be what a key is made for.
        let programs: Vec<Program> =
            self.procedures.iter().map(|named| in_order(&shop, named)).collect::<Result<_, _>>()?;
        let own = key(&shop, self.name.as_deref())?;
        let packs: Vec<Pack> =
            programs.iter().map(|program| pack(&shop, program, &own)).collect::<Result<_, _>>()?;
        let mut screen = Screen::stdout();
        let folder = self.folder.unwrap_or_default();
        let paths: Vec<PathBuf> = packs.iter().map(|pack| put(&folder, pack)).collect::<Result<_, _>>()?;
        if self.json {
            let packs: Vec<_> = packs.iter().zip(&paths).map(|(pack, path)| summary(pack, path)).collect();
            screen.json(&json!({ "packs": packs, "signer": own.signer().signer() }));
            return Ok(Status::Done);
        }
        for (pack, path) in packs.iter().zip(&paths) {
            let signer = pack.signer().signer();
            screen.line(&format!("{}: {}@{}", path.display(), pack.id(), pack.version()));
            screen.paragraph(4, &format!("signed by {signer}"));
        }
        screen.say(&format!(
                "Whoever receives them for the first time should hear your fingerprint from you, over the telephone: {}",
                own.signer().public_key.fingerprint()
            ),
        );
        Ok(Status::Done)
    }
}

/// Writes a signed notice that a version is used no longer, and uses it no longer here.
fn withdraw(shop: &Shop, named: &str, reason: &str, folder: &Path, as_json: bool) -> Outcome {
    let (id, version) = one_version(named)?;
    let own = key(shop, None)?;
    let notice = Withdrawal::make(id, version, reason, &own).map_err(Failure::wrong)?;
    let path = folder.join(notice.file_name());
    let failed = |error| Failure::file(&path, error);
    if !folder.as_os_str().is_empty() {
        make_folder(folder).map_err(failed)?;
    }
    write_whole(&path, notice.document().map_err(Failure::wrong)?.as_bytes()).map_err(failed)?;
    Trust::withdraw(shop, notice.withdrawn()).map_err(Failure::wrong)?;
    let mut screen = Screen::stdout();
    if as_json {
        screen.json(&json!({ "notice": path.display().to_string(), "withdrawal": notice }));
    } else {
        screen.line(&format!("{}: {id}@{version} is withdrawn", path.display()));
        screen.say("Hand the notice to everybody who has that version, or put it beside the packs: receive takes it from there.");
    }
    Ok(Status::Done)
}

/// Reads a name with its version, `NAME@VERSION`.
fn one_version(named: &str) -> Result<(&str, Version), Failure> {
    let parts = named.split_once('@').and_then(|(id, version)| Some((id, version.parse().ok()?)));
    parts.filter(|(id, _)| is_plain_name(id)).ok_or_else(|| {
        Failure::wrong(format!("\"{named}\" names no version; write NAME@VERSION, as in brook-b2@1.0.0"))
    })
}

/// Compiles a procedure; what nobody could receive is not handed out.
fn in_order(shop: &Shop, named: &Path) -> Result<Program, Failure> {
    let program = program(shop, named)?;
    outline(&program)?;
    Ok(program)
}

/// Returns the shop's key; makes it where there is none, for which a name is needed. Everybody of the shop can see
/// then as whom it signs.
pub(super) fn key(shop: &Shop, name: Option<&str>) -> Result<OwnKey, Failure> {
    let own = key_named(shop, name)?;
    Trust::sign_as(shop, &own.signer()).map_err(Failure::wrong)?;
    Ok(own)
}

fn key_named(shop: &Shop, name: Option<&str>) -> Result<OwnKey, Failure> {
    match (name, OwnKey::of(shop).map_err(Failure::wrong)?) {
        (None, Some(own)) => Ok(own),
        (Some(name), Some(own)) if own.signer().name == name => Ok(own),
        // Where the shop signs under another name already, that is refused.
        (Some(name), _) => make_key(shop, name),
        (None, None) if is_interactive() => {
            Screen::stdout().say(
                "The shop signs for the first time. Under which name? It stands on all that it signs, and stays.",
            );
            let question = Plain {
                words: "name",
                enter: Enter::Declines,
                help: "The name of the shop or of whoever signs for it, as in North Bench.",
            };
            let sure = Plain {
                words: "That name for good, yes or no",
                enter: Enter::Declines,
                help: "Others come to know the shop by it. To sign under another, the key has to go and a new one be made.",
            };
            let asked = Prompt::open(None).and_then(|mut prompt| {
                let name = prompt.ask_plainly(&question, &[], |name| Ok(name.to_owned()))?;
                Ok((name, prompt.ask_plainly(&sure, &[], yes_no)?))
            });
            let asked = asked.map_err(|why| Failure::stopped(why, "nothing was signed"))?;
            let (Said::Answer(name), Said::Answer(true)) = &asked else {
                return Err(Failure::wrong("nothing was signed, and no key was made"));
            };
            make_key(shop, name)
        }
        (None, None) => {
            Err(Failure::wrong("this shop has not signed anything yet; say once as whom: --as NAME"))
        }
    }
}

/// Says what a signer is to the shop, behind their name.
pub(super) fn told_standing(standing: Option<SignerStanding>) -> &'static str {
    match standing {
        Some(SignerStanding::Own) => "this shop",
        Some(SignerStanding::Trusted) => "whom this shop trusts",
        Some(SignerStanding::OtherKey(_)) => "a name that this shop knows with another key",
        Some(SignerStanding::OtherName(_)) => "a key that this shop knows under another name",
        Some(SignerStanding::Stranger(_)) | None => {
            "whom this shop does not know: ask them for their fingerprint"
        }
    }
}

fn make_key(shop: &Shop, name: &str) -> Result<OwnKey, Failure> {
    let own = OwnKey::make(shop, name).map_err(Failure::wrong)?;
    Screen::stderr().say(&format!(
        "Made a key for \"{name}\" in {}. Whoever has that file signs as you: keep it, and keep a copy safe.",
        shop.key().display()
    ));
    Ok(own)
}

/// Packs a procedure; one that was received is passed on as it was signed.
pub(super) fn pack(shop: &Shop, program: &Program, own: &OwnKey) -> Result<Pack, Failure> {
    let version = program.title.version.parse::<Version>().ok();
    let trust = Trust::of(shop).map_err(Failure::wrong)?;
    let signer = program.source.signer.clone().unwrap_or_else(|| own.signer().signer());
    if let Some(withdrawn) =
        version.and_then(|version| trust.withdrawn(&program.source.id, version, Some(&signer)))
    {
        return Err(Failure::not_in_order(format!("{withdrawn}. Raise the version to share another")));
    }
    match version.filter(|_| program.source.signer.is_some()) {
        Some(version) => open_installed(shop, &program.source.id, version).map_err(Failure::not_in_order),
        None => Pack::make(program, own).map_err(Failure::not_in_order),
    }
}

/// Puts a pack into a folder, or into the working folder where none is named; another one of that name stays.
fn put(folder: &Path, pack: &Pack) -> Result<PathBuf, Failure> {
    let path = folder.join(pack.file_name());
    let failed = |error| Failure::file(&path, error);
    let text = pack.document().map_err(Failure::wrong)?;
    if !folder.as_os_str().is_empty() {
        make_folder(folder).map_err(failed)?;
    }
    match read(&path, LARGEST_DOCUMENT) {
        Ok(there) if there == text.as_bytes() => {}
        Ok(_) => {
            return Err(Failure::wrong(format!(
                "{} exists with other content; move it away, or raise the procedure's version",
                path.display()
            )));
        }
        Err(error) if error.kind() == io::ErrorKind::NotFound => {
            write_whole(&path, text.as_bytes()).map_err(failed)?;
        }
        Err(error) => return Err(failed(error)),
    }
    Ok(path)
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

/// See whom the shop trusts to sign procedures, and no longer trust somebody.
///
/// Trust begins with receiving a pack.
#[derive(Debug, Args)]
pub(super) struct TrustCommand {
    #[command(subcommand)]
    command: Option<TrustVerb>,
}

#[derive(Debug, Subcommand)]
enum TrustVerb {
    /// List the shop's own key and the trusted signers, with their fingerprints
    List {
        /// Print one JSON document instead
        #[arg(long)]
        json: bool,
    },
    /// Use one version no longer here, whoever signed it; what was installed stays
    Withdraw {
        /// NAME@VERSION
        version: String,
        /// Why, in a line that whoever wants to use it reads
        #[arg(long)]
        reason: String,
    },
    /// Use a version again that this shop withdrew
    Restore {
        /// NAME@VERSION
        version: String,
    },
    /// No longer trust a signer; what was installed of them stays, but is not used
    Forget {
        /// The signer's name
        name: String,
    },
}

impl TrustCommand {
    pub(super) fn run(self, shop: &ShopFolder) -> Outcome {
        let shop = shop.open()?;
        let mut screen = Screen::stdout();
        let trust = Trust::of(&shop).map_err(Failure::wrong)?;
        let own = trust.own().map(SignerKey::signer);
        match self.command.unwrap_or(TrustVerb::List { json: false }) {
            TrustVerb::List { json: true } => {
                let trusted: Vec<_> = trust.signers().iter().map(|known| known.signer()).collect();
                screen.json(&json!({ "own": own, "trusted": trusted, "withdrawn": trust.all_withdrawn() }));
            }
            TrustVerb::List { json: false } => {
                match own {
                    Some(own) => screen.item("this shop  ", &own.to_string()),
                    None => screen.line("This shop has not signed anything yet."),
                }
                if trust.signers().is_empty() {
                    screen.line("Nobody else is trusted yet; trust begins with receiving a pack.");
                }
                for known in trust.signers() {
                    screen.item("trusted    ", &known.signer().to_string());
                }
                for known in trust.all_withdrawn() {
                    screen.item("withdrawn  ", &known.to_string());
                }
            }
            TrustVerb::Withdraw { version, reason } => {
                let (id, version) = one_version(&version)?;
                let withdrawn = Withdrawn { id: id.to_owned(), version, reason, by: None };
                Trust::withdraw(&shop, withdrawn.clone()).map_err(Failure::wrong)?;
                screen
                    .say(&format!("{withdrawn}. To use it again:\nspoolproof trust restore {id}@{version}"));
            }
            TrustVerb::Restore { version } => {
                let (id, version) = one_version(&version)?;
                if !Trust::restore(&shop, id, version).map_err(Failure::wrong)? {
                    return Err(Failure::wrong(format!("this shop has not withdrawn {id}@{version}")));
                }
                screen.line(&format!("{id}@{version} is used again."));
            }
            TrustVerb::Forget { name } => {
                let forgotten = Trust::forget(&shop, &name).map_err(Failure::wrong)?;
                screen.say(&format!("No longer trusted: {}", forgotten.signer()));
            }
        }
        Ok(Status::Done)
    }
}
