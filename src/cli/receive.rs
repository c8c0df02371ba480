use std::path::{Path, PathBuf};

use clap::Args;
use serde_json::json;

use super::arguments::{ShopFolder, quoted};
use super::procedures::{listing_document, show_listing};
use super::receipt::{explain, novelty, receipt_document, standing};
use super::status::{Failure, Outcome, Status};
use crate::console::{Screen, is_interactive};
use crate::disk::{self, LARGEST_SETTINGS};
use crate::procedure::Program;
use crate::proofread::proofread;
use crate::record::{Shop, Signer, SignerKey};
use crate::session::{Enter, Journal, Plain, Prompt, Said, Stopped, yes_no};
use crate::share::{
    Listing, Novelty, PACK, Pack, PackError, Receipt, SignerStanding, Trust, WITHDRAWN, Withdrawal,
    Withdrawn, files_in, install, open_installed,
};

/// Check a pack that was handed to you, see what it changes, and install it.
///
/// Given a folder of packs, lists what is there; with a procedure's name behind, receives that one.
#[derive(Debug, Args)]
pub(super) struct Receive {
    /// The pack, or a folder of packs
    from: PathBuf,
    /// Which procedure of the folder, as NAME or NAME@VERSION
    procedure: Option<String>,
    /// Trust the signer from now on, whose fingerprint you have been told: six groups of five digits
    #[arg(long, value_name = "FINGERPRINT")]
    trust: Option<String>,
    /// Install without asking, where the signer is trusted
    #[arg(long)]
    yes: bool,
    /// Install a version that is older than the one in use
    #[arg(long)]
    older: bool,
    /// Only check and show; nothing is installed
    #[arg(long, conflicts_with = "yes")]
    check: bool,
    /// Print one JSON document instead; nothing is asked
    #[arg(long)]
    json: bool,
}

impl Receive {
    pub(super) fn run(self, shop: &ShopFolder) -> Outcome {
        let shop = shop.open()?;
        let mut screen = Screen::stdout();
        let mut trust = Trust::of(&shop).map_err(Failure::wrong)?;
        for (path, notice) in notices(&self.from)? {
            let taken = take(&mut screen, &shop, &trust, &notice, self.check || self.json);
            // One that is nobody's to give must not keep the packs beside it from being seen.
            match taken
                .map_err(|failure| Failure::not_in_order(format!("{}: {}", path.display(), failure.text)))
            {
                Err(failure) if self.from.is_dir() => drop(failure.report()),
                taken => taken?,
            }
            trust = Trust::of(&shop).map_err(Failure::wrong)?;
            if !self.from.is_dir() {
                return Ok(Status::Done);
            }
        }
        let (pack, bytes) = match (self.from.is_dir(), &self.procedure) {
            (true, None) => return browse(&mut screen, &shop, &self.from, &trust, self.json),
            (true, Some(wanted)) => named(&self.from, wanted)?,
            (false, _) => read(&self.from)?,
        };
        let receipt = Receipt::of(&pack, &shop, &trust).map_err(Failure::not_in_order)?;
        let remarks = remarks(&pack, &receipt)?;
        if !self.json {
            explain(&mut screen, &pack, &receipt, &remarks);
        }
        self.refuse(&pack, &receipt)?;
        let is_there = receipt.novelty == Novelty::Same;
        let is_decided = !self.check && self.decide(&mut screen, &shop, &pack, &receipt)?;
        let is_installed = is_decided && !is_there;
        if is_installed {
            let folder = install(&shop, &pack, &bytes).map_err(Failure::wrong)?;
            if !self.json {
                screen.line(&format!("Installed in {}.", folder.display()));
                if receipt.novelty == Novelty::Older {
                    let (id, version) = (pack.id(), pack.version());
                    screen.say(&format!("The later version stays in use; this one runs as {id}@{version}."));
                }
            }
        }
        if self.json {
            screen.json(&receipt_document(&pack, &receipt, &remarks, is_installed));
        } else if is_decided && is_there {
            screen.line("It is here already; its signer is trusted from now on.");
        } else if is_there {
            screen.line("It is here already; nothing was installed.");
        } else if !is_installed && !self.check {
            screen.line("Nothing was installed.");
        }
        Ok(Status::Done)
    }

    /// Refuses what is not to be installed whoever asks.
    fn refuse(&self, pack: &Pack, receipt: &Receipt) -> Result<(), Failure> {
        let name = &pack.signer().name;
        if let Some(withdrawn) = receipt.withdrawn.as_ref().filter(|_| !self.check) {
            return Err(Failure::not_in_order(format!("Refused: {withdrawn}.")));
        }
        match &receipt.standing {
            SignerStanding::OtherKey(known) => Err(Failure::not_in_order(format!(
                "Refused: \"{name}\" is known here with another key ({}), and this was signed with {}. Somebody may be \
                 signing in that name. Ask them over the telephone; if they have a new key, forget the old one first:\n\
                 spoolproof trust forget \"{}\"",
                known.public_key.fingerprint(),
                pack.signer().public_key.fingerprint(),
                known.name
            ))),
            SignerStanding::OtherName(known) => Err(Failure::not_in_order(format!(
                "Refused: this key is known here as that of \"{}\", and now it signs as \"{name}\".",
                known.name
            ))),
            _ if receipt.novelty == Novelty::Different => Err(Failure::not_in_order(format!(
                "Refused: version {} of {} is here with other content. A version never changes; ask for one with a \
                 higher number.",
                pack.version(),
                pack.id()
            ))),
            _ if receipt.novelty == Novelty::Older && !self.older && !self.check => {
                Err(Failure::not_in_order(format!(
                    "Refused: version {} is older than the one in use. To install it all the same: --older",
                    pack.version()
                )))
            }
            _ => Ok(()),
        }
    }

    /// Asks what has to be asked; returns whether the pack is to be installed, or where it is here already, whether its
    /// signer, who was forgotten, is met again. Trusts its signer where that is decided.
    fn decide(
        &self,
        screen: &mut Screen,
        shop: &Shop,
        pack: &Pack,
        receipt: &Receipt,
    ) -> Result<bool, Failure> {
        let is_there = receipt.novelty == Novelty::Same;
        let is_forgotten = matches!(receipt.standing, SignerStanding::Stranger(_));
        if is_there && !(is_forgotten && (self.trust.is_some() || self.may_ask())) {
            return Ok(false);
        }
        if !self.meet(screen, &pack.signer().signer(), &receipt.standing)? {
            return Ok(false);
        }
        if !is_there && !self.yes {
            if !self.may_ask() {
                return Err(Failure::wrong("nothing was installed; to install without being asked: --yes"));
            }
            if !is_wanted()? {
                return Ok(false);
            }
        }
        Trust::add(shop, pack.signer()).map_err(Failure::not_in_order)?;
        Ok(true)
    }

    fn may_ask(&self) -> bool {
        is_interactive() && !self.json
    }

    /// Has a stranger's fingerprint compared; returns whether the signer is one to trust.
    fn meet(&self, screen: &mut Screen, signer: &Signer, standing: &SignerStanding) -> Result<bool, Failure> {
        match (standing, &self.trust) {
            (SignerStanding::Stranger(_), Some(told)) => same_fingerprint(told, signer).map(|()| true),
            (SignerStanding::Stranger(_), None) if self.may_ask() => is_told(screen, signer),
            (SignerStanding::Stranger(_), None) => Err(Failure::not_in_order(format!(
                "Nobody here trusts \"{}\" yet. Hear the fingerprint from them, over the telephone, and say: \
                 --trust \"THE SIX GROUPS\"",
                signer.name
            ))),
            _ => Ok(true),
        }
    }
}

/// Returns what proofreading remarks of a procedure of which no version is here.
fn remarks(pack: &Pack, receipt: &Receipt) -> Result<Vec<String>, Failure> {
    if receipt.current.is_some() {
        return Ok(Vec::new());
    }
    let report = proofread(pack.program().map_err(Failure::not_in_order)?.source.clone());
    Ok(report.faults.iter().map(|found| found.fault.message.clone()).collect())
}

fn is_wanted() -> Result<bool, Failure> {
    let question = Plain {
        words: "Install it? yes or no",
        enter: Enter::Declines,
        help: "Yes installs it, and its signer is trusted from now on; no or Enter alone installs nothing.",
    };
    declinable(&question, yes_no)
}

/// Asks whether the fingerprint is the one that the signer says; the last group has to be typed, so that a stray key
/// trusts nobody.
fn is_told(screen: &mut Screen, signer: &Signer) -> Result<bool, Failure> {
    screen.say(&format!(
        "Call \"{}\" and compare all six groups. If they are the same, type the last one; else press Enter.",
        signer.name
    ));
    let question = Plain {
        words: "last group",
        enter: Enter::Declines,
        help: "The last of the six groups of the fingerprint above, as the signer says it. Enter alone trusts nobody.",
    };
    declinable(&question, |typed| {
        // Somebody who has compared all six may type all six.
        let is_it = typed == signer.fingerprint || signer.fingerprint.rsplit(' ').next() == Some(typed);
        let why = "That is not the last group of the fingerprint above. Enter alone trusts nobody.";
        if is_it { Ok(true) } else { Err(why.to_owned()) }
    })
}

/// Asks what Enter alone, or leaving, says no to.
fn declinable(question: &Plain<'_>, read: impl Fn(&str) -> Result<bool, String>) -> Result<bool, Failure> {
    match Prompt::open(None).and_then(|mut prompt| prompt.ask_plainly(question, &[], read)) {
        Ok(said) => Ok(matches!(said, Said::Answer(true))),
        Err(Stopped::Left | Stopped::Ended) => Ok(false),
        Err(Stopped::Failed(why)) => Err(Failure::wrong(why)),
    }
}

fn same_fingerprint(told: &str, signer: &Signer) -> Result<(), Failure> {
    let digits = |text: &str| text.chars().filter(|c| !c.is_whitespace() && *c != '-').collect::<String>();
    if digits(told) == digits(&signer.fingerprint) {
        return Ok(());
    }
    Err(Failure::not_in_order(format!(
        "Refused: the fingerprint of this pack's signer is {}, not the one that you were told.",
        signer.fingerprint
    )))
}

/// Reads the notices of withdrawal that are in a folder, or that a file is; those that are not in order are told.
fn notices(from: &Path) -> Result<Vec<(PathBuf, Withdrawal)>, Failure> {
    let paths = match from.is_dir() {
        true => files_in(from, WITHDRAWN).map_err(|error| Failure::file(from, error))?,
        false if from.to_string_lossy().ends_with(WITHDRAWN) => vec![from.to_owned()],
        false => Vec::new(),
    };
    let mut found = Vec::new();
    for path in paths {
        let bytes = disk::read(&path, LARGEST_SETTINGS).map_err(|error| Failure::file(&path, error))?;
        match Withdrawal::read(&bytes) {
            Ok(notice) => found.push((path, notice)),
            Err(error) if from.is_dir() => drop(left_out(&path, &error)),
            Err(error) => return Err(Failure::not_in_order(format!("{}: {error}", path.display()))),
        }
    }
    Ok(found)
}

/// Uses a version no longer that its signer withdrew. Only somebody who is trusted here, or whose key signed the
/// version that is installed, can do that.
fn take(
    screen: &mut Screen,
    shop: &Shop,
    trust: &Trust,
    notice: &Withdrawal,
    is_only_shown: bool,
) -> Result<(), Failure> {
    let (withdrawn, key) = (notice.withdrawn(), &notice.signer.public_key);
    if trust.withdrawn(&notice.id, notice.version, Some(&notice.signer.signer())).is_some() {
        return Ok(());
    }
    let is_installed =
        open_installed(shop, &notice.id, notice.version).is_ok_and(|pack| pack.signer().public_key == *key);
    if !trust.trusts(&notice.signer) && !is_installed {
        return Err(Failure::not_in_order(format!(
            "the notice is signed by {}, whom nobody here trusts, and nothing of that key is here",
            notice.signer.signer()
        )));
    }
    if is_only_shown {
        return Ok(());
    }
    screen.item("  ! ", &format!("{withdrawn}. It is used here no longer."));
    for session in open_with(shop, &withdrawn) {
        screen.item("  ! ", &format!("the open session {session} was begun with it"));
    }
    Trust::withdraw(shop, withdrawn).map_err(Failure::wrong)
}

/// Returns the open sessions that were begun with a version.
fn open_with(shop: &Shop, withdrawn: &Withdrawn) -> Vec<String> {
    let version = withdrawn.version.to_string();
    let is_it = |name: &String| {
        let opened = Journal::opening(&shop.journal(name));
        opened.is_some_and(|opening| {
            let procedure = &opening.procedure;
            let signer = withdrawn.by.as_ref().map(SignerKey::signer);
            procedure.id == withdrawn.id && procedure.version == version && procedure.signer == signer
        })
    };
    shop.open_names().unwrap_or_default().into_iter().filter(is_it).collect()
}

/// A pack with its bytes, and the file that it came from.
type PackFile = (PathBuf, Pack, Vec<u8>);

/// Reads the packs of a folder, by name and version; tells of those that are not in order, and returns
/// the status for them.
fn packs(folder: &Path) -> Result<(Vec<PackFile>, Status), Failure> {
    let (mut packs, mut status) = (Vec::new(), Status::Done);
    for path in files_in(folder, PACK).map_err(|error| Failure::file(folder, error))? {
        match Pack::open(&path) {
            Ok((pack, bytes)) => packs.push((path, pack, bytes)),
            // One file that is not in order must not keep the others from being listed.
            Err(error) => status = left_out(&path, &error),
        }
    }
    if packs.is_empty() && status == Status::Done {
        return Err(Failure::wrong(format!("{} holds no packs (NAME.pack.json)", folder.display())));
    }
    packs.sort_by_key(|(_, pack, _)| (pack.id().to_owned(), pack.version()));
    Ok((packs, status))
}

fn left_out(path: &Path, error: &PackError) -> Status {
    Failure::not_in_order(format!("left out: {}: {error}", path.display())).report()
}

fn browse(screen: &mut Screen, shop: &Shop, folder: &Path, trust: &Trust, as_json: bool) -> Outcome {
    let (packs, mut status) = packs(folder)?;
    let mut documents = Vec::new();
    for (path, pack, _) in &packs {
        let seen =
            Receipt::of(pack, shop, trust).and_then(|receipt| Ok((listing(&pack.program()?)?, receipt)));
        let (listing, receipt) = match seen {
            Ok(seen) => seen,
            Err(error) => {
                status = left_out(path, &error);
                continue;
            }
        };
        if as_json {
            let mut document = listing_document(&listing);
            document["pack"] = json!(path.display().to_string());
            document["novelty"] = json!(receipt.novelty);
            document["withdrawn"] = json!(receipt.withdrawn);
            documents.push(document);
        } else {
            show_listing(screen, &listing, true, &listing.symptoms());
            screen.paragraph(4, &standing(&receipt.standing));
            screen.paragraph(4, &novelty(pack, &receipt));
        }
    }
    if as_json {
        screen.json(&json!({ "procedures": documents }));
    } else {
        screen.say(&format!(
            "To receive one:\nspoolproof receive {} NAME",
            quoted(&folder.display().to_string())
        ));
    }
    Ok(status)
}

fn listing(program: &Program) -> Result<Listing, PackError> {
    Listing::of(program).map_err(|fault| PackError::Faults(program.source.render(&[fault])))
}

/// Opens one procedure of a folder: the latest version, unless one is named.
fn named(folder: &Path, wanted: &str) -> Result<(Pack, Vec<u8>), Failure> {
    let (mut packs, _) = packs(folder)?;
    let (id, version) = wanted.split_once('@').unwrap_or((wanted, ""));
    let fits = |pack: &Pack| pack.id() == id && (version.is_empty() || pack.version().to_string() == version);
    packs.retain(|(_, pack, _)| fits(pack));
    let latest = packs.last().map(|(_, pack, _)| pack.version());
    packs.retain(|(_, pack, _)| Some(pack.version()) == latest);
    match (packs.pop(), packs.pop()) {
        (Some((_, pack, bytes)), None) => Ok((pack, bytes)),
        (Some((one, ..)), Some((other, ..))) => Err(Failure::wrong(format!(
            "{} and {} are the same version of {id}; name the file of the one to receive",
            other.display(),
            one.display()
        ))),
        (None, _) => Err(Failure::wrong(format!("{} holds no {wanted}", folder.display()))),
    }
}

fn read(path: &Path) -> Result<(Pack, Vec<u8>), Failure> {
    if path.extension().is_some_and(|extension| extension == "rhai") {
        return Err(Failure::wrong(format!(
            "{} is a procedure, not a pack: it can be walked by its path as it is. Who wrote it makes a pack of it with \
             spoolproof share",
            path.display()
        )));
    }
    Pack::open(path).map_err(|error| match error {
        PackError::Io(error) => Failure::file(path, error),
        error => Failure::not_in_order(format!("{}: {error}", path.display())),
    })
}
