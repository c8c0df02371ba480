use std::path::{Path, PathBuf};

use clap::Args;

use super::book::{Book, DraftOpening};
use super::desk::{DraftDesk, Turn};
use super::dialogue::dialogue;
use super::saving::{Destination, saved};

use crate::cli::arguments::{ShopFolder, command_in, compile, source_in};
use crate::cli::status::{Failure, Outcome};
use crate::console::Screen;
use crate::disk::LogError;
use crate::draft::Original;
use crate::record::Shop;
use crate::session::{Prompt, Stopped};

/// Write a new procedure from a few plain questions, to go on with in an editor.
///
/// Asks for the unit and its circuits. Limits that nobody knows yet stay marked as to be found, or are proposed from
/// readings on units that you know are good. It never writes over a file. Every answer is kept in the shop the moment
/// it is given: left with Ctrl-C or by a power cut, the draft goes on with --resume.
#[derive(Debug, Args)]
pub(crate) struct DraftCommand {
    /// Copy a procedure, its name or file, under another title and for another unit, with circuits added
    #[arg(long, value_name = "PROCEDURE")]
    from: Option<PathBuf>,
    /// The file to write, ending in .rhai [default: named after the unit, in this folder]
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
    /// Go on with a draft that was left: its name, or nothing for the latest
    #[arg(long, value_name = "DRAFT", num_args = 0..=1, conflicts_with = "from")]
    resume: Option<Option<String>>,
}

impl DraftCommand {
    pub(crate) fn run(self, shop: &ShopFolder) -> Outcome {
        let shop = shop.open()?;
        let mut screen = Screen::stdout();
        let book = match &self.resume {
            Some(name) => left(&shop, name.as_deref())?,
            None => {
                let output = self.output.as_deref().map(absolute);
                let from = self
                    .from
                    .as_deref()
                    .map(|named| if named.is_file() { absolute(named) } else { named.to_owned() });
                Book::new(shop.clone(), DraftOpening { from, output })
            }
        };
        let opening = book.opening.clone();
        let place = match (&self.output, opening.output) {
            // As it was typed, it is shorter to read.
            (Some(typed), _) => Destination::named(typed.clone())?,
            (None, Some(output)) => Destination::named(output)?,
            (None, None) => Destination::Here,
        };
        let original = opening.from.as_deref().map(|named| original(&shop, named)).transpose()?;
        screen.say("A new procedure. Enter alone takes what stands in brackets; what you don't know can be left out and put in later. \
             At any question \"help\" says what is wanted, \"back\" goes to the one before, and Ctrl-C stops and keeps what \
             is answered.",
        );
        match self.resume {
            Some(_) => screen.say("Going on where the draft was left."),
            None => others(&mut screen, &shop),
        }
        if let Some(original) = &original {
            told(&mut screen, original);
        }
        let mut desk = DraftDesk::new(Prompt::open(None).map_err(Failure::wrong)?, book);
        let answered = loop {
            desk.begin();
            match dialogue(&mut desk, original.as_ref()) {
                Err(Turn::Anew) => {}
                Err(Turn::Stopped(why)) => break Err(why),
                Ok(draft) => break Ok(draft),
            }
        };
        let book = desk.book;
        match answered {
            Ok(draft) => {
                screen.line("");
                saved(&mut screen, &draft, &place, book)
            }
            Err(why) => Err(stopped(&shop, &book, why)),
        }
    }
}

fn absolute(path: &Path) -> PathBuf {
    std::path::absolute(path).unwrap_or_else(|_| path.to_owned())
}

/// Opens a draft that was left: the one of that name, or the latest.
fn left(shop: &Shop, name: Option<&str>) -> Result<Book, Failure> {
    let names = Book::names(shop);
    let found = match name {
        Some(name) => names.iter().find(|known| *known == name),
        None => names.last(),
    };
    let Some(found) = found else {
        return Err(Failure::wrong(match (name, names.is_empty()) {
            (_, true) => "no draft was left; spoolproof draft begins one".to_owned(),
            (name, false) => {
                format!(
                    "there is no draft \"{}\"; there are {}",
                    name.unwrap_or_default(),
                    listed(shop, &names)
                )
            }
        }));
    };
    Book::left(shop.clone(), found).map_err(|error| {
        let advice = match error {
            LogError::Damaged { line, .. } => {
                format!(". To go on from there, copy the file, then delete line {line} and all after it")
            }
            _ => String::new(),
        };
        Failure::wrong(format!("the draft {found}: {error}{advice}"))
    })
}

fn original(shop: &Shop, named: &Path) -> Result<Original, Failure> {
    let program = compile(source_in(shop, named)?)?;
    let original =
        Original::of(&program).map_err(|fault| Failure::not_in_order(program.source.render(&[fault])))?;
    original.ok_or_else(|| {
        Failure::not_in_order(format!(
            "title, unit and version of {} are not plain keys between the braces of procedure(#{{ }}); copy the file, and \
             change them in an editor",
            program.source.id
        ))
    })
}

/// Lists drafts by their names, each with the unit that it is of.
fn listed(shop: &Shop, names: &[String]) -> String {
    let named =
        |name: &String| Book::unit(shop, name).map_or(name.clone(), |unit| format!("{name} ({unit})"));
    names.iter().map(named).collect::<Vec<_>>().join(", ")
}

/// Says that drafts were left, and how they go on.
fn others(screen: &mut Screen, shop: &Shop) {
    let names = Book::names(shop);
    let all = listed(shop, &names);
    let told = match names.len() {
        0 => return,
        1 => format!("A draft was left before its end, {all}. It goes on with:"),
        n => format!("{n} drafts were left before their end, {all}. The latest goes on with:"),
    };
    screen.line("");
    screen.say(&told);
    screen.line(&format!("  {}", command_in(shop, "draft --resume")));
}

/// Says what is copied, and what is asked.
fn told(screen: &mut Screen, original: &Original) {
    let unit = original.title.unit.as_ref();
    let renamed = unit.map(|unit| format!(" Where a text names the {unit}, the copy names its own unit."));
    let text = format!(
        "{} stays as it is and is copied whole, comments too. What the copy is called is asked here, and which circuits it \
         has besides; all else is changed in an editor.{}",
        original.named,
        renamed.unwrap_or_default()
    );
    screen.line("");
    screen.say(&text);
}

/// Says that the questions were left, and how they go on.
fn stopped(shop: &Shop, book: &Book, why: Stopped) -> Failure {
    let because = match why {
        Stopped::Left => String::new(),
        Stopped::Ended => "There are no more answers. ".to_owned(),
        Stopped::Failed(why) => format!("{why}. "),
    };
    Failure::paused(match book.name() {
        _ if book.has_failed => format!(
            "{because}Stopped. Not all that was answered could be kept in {}.",
            shop.drafts().display()
        ),
        None => format!("{because}Stopped before anything was answered."),
        Some(name) => format!(
            "{because}Stopped. What was answered is kept; no procedure is written yet. Go on with:\n  {}",
            command_in(shop, &format!("draft --resume {name}"))
        ),
    })
}
