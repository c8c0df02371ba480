use std::fs::File;
use std::io::BufReader;
use std::path::PathBuf;

use clap::Args;
use jiff::{Timestamp, Unit};

use super::arguments::{ShopFolder, compile, program};
use super::status::{Failure, Outcome, Status};
use crate::console::{Screen, is_interactive};
use crate::leak::DEFAULT_CONFIDENCE;
use crate::procedure::{Desk, Program};
use crate::quantity::UNITS;
use crate::record::{Mode, Opening, ProcedureIdentity, RigParts, Shop, What};
use crate::session::{
    Chain, Ended, Input, Journal, Lines, Person, Session, SessionError, Terminal, keep_files, kept_files,
    screens,
};

/// Walk through a procedure at the bench and leave a record.
///
/// Every answer is on the disk before the next question comes. Type help at any prompt.
#[derive(Debug, Args)]
pub(super) struct Guide {
    /// A shipped procedure's name, or the file of any other
    #[arg(required_unless_present = "resume")]
    procedure: Option<PathBuf>,
    /// Take up a parked session: its name, or nothing for the latest
    #[arg(long, value_name = "SESSION", num_args = 0..=1, conflicts_with = "procedure")]
    resume: Option<Option<String>>,
    /// Take answers from a file first, one a line; # begins a comment
    #[arg(long, value_name = "FILE")]
    answers: Option<PathBuf>,
}

impl Guide {
    pub(super) fn run(self, shop: &ShopFolder) -> Outcome {
        let shop = shop.open()?;
        let (program, opening, journal) = match (&self.resume, &self.procedure) {
            (Some(name), _) => resume(&shop, name.as_deref())?,
            (None, Some(named)) => begin(&shop, program(named)?, Mode::Bench)?,
            (None, None) => return Err(Failure::wrong("name a procedure")),
        };
        let input = input(self.answers.as_deref())?;
        let person = Person::new(Screen::stdout(), input, &UNITS[0]);
        walk(shop, &program, opening, journal, Box::new(person))
    }
}

/// Opens a new session of a procedure: its folder, a copy of the procedure's files, and an empty journal.
pub(super) fn begin(
    shop: &Shop,
    program: Program,
    mode: Mode,
) -> Result<(Program, Opening, Journal), Failure> {
    let title = program.title().map_err(|fault| Failure::not_in_order(program.source.render(&[fault])))?;
    let unusable =
        |error: std::io::Error| Failure::wrong(format!("the shop folder can't be written: {error}"));
    let session = shop.new_session(now(), &program.source.id).map_err(unusable)?;
    keep_files(&shop.session(&session), &program.source).map_err(unusable)?;
    let journal = Journal::create(&shop.journal(&session)).map_err(Failure::wrong)?;
    let opening = Opening {
        session,
        mode,
        program: env!("CARGO_PKG_VERSION").to_owned(),
        procedure: ProcedureIdentity {
            id: program.source.id.clone(),
            title: title.title,
            unit: title.unit,
            version: title.version,
            oil: title.oil,
            files: program.source.digests(),
        },
        rig: RigParts::USUAL,
        confidence: DEFAULT_CONFIDENCE,
    };
    Ok((program, opening, journal))
}

/// Takes up a session that is not finished, with the files of the procedure that it began with.
fn resume(shop: &Shop, name: Option<&str>) -> Result<(Program, Opening, Journal), Failure> {
    let names = shop.open_names().map_err(Failure::wrong)?;
    let name = match name {
        Some(name) if names.iter().any(|known| known == name) => name.to_owned(),
        Some(name) => {
            return Err(Failure::wrong(format!(
                "there is no open session \"{name}\"; open are: {}",
                names.join(", ")
            )));
        }
        None => names
            .last()
            .cloned()
            .ok_or_else(|| Failure::wrong("there is no open session; begin one with guide PROCEDURE"))?,
    };
    let journal = Journal::open(&shop.journal(&name)).map_err(Failure::wrong)?;
    let Some(What::Opened { opening }) = journal.events().first().map(|event| event.what.clone()) else {
        return Err(Failure::wrong(format!(
            "the session \"{name}\" was never opened; remove {}",
            shop.session(&name).display()
        )));
    };
    let source = kept_files(&shop.session(&name), &opening.procedure)
        .map_err(|fault| Failure::wrong(fault.render(None)))?;
    Ok((compile(source)?, *opening, journal))
}

/// Takes answers from a file first, then from the terminal or from standard input's lines.
pub(super) fn input(answers: Option<&std::path::Path>) -> Result<Box<dyn Input>, Failure> {
    let file = answers.map(|path| {
        let file =
            File::open(path).map_err(|error| Failure::wrong(format!("{}: {error}", path.display())))?;
        Ok::<_, Failure>(Lines::new(BufReader::new(file)))
    });
    let file = file.transpose()?;
    if is_interactive() {
        let terminal = Terminal::open()
            .map_err(|error| Failure::wrong(format!("the terminal can't be used: {error}")))?;
        return Ok(match file {
            Some(file) => Box::new(Chain(file, Some(terminal))),
            None => Box::new(terminal),
        });
    }
    Ok(match file {
        Some(file) => Box::new(file),
        None => Box::new(Lines::new(BufReader::new(std::io::stdin()))),
    })
}

/// Walks a session to its end or until it is parked, and says how it ended.
pub(super) fn walk(
    shop: Shop,
    program: &Program,
    opening: Opening,
    journal: Journal,
    live: Box<dyn Desk>,
) -> Outcome {
    let mut screen = Screen::stdout();
    screens::opened(&mut screen, &opening, !journal.events().is_empty());
    let name = opening.session.clone();
    let session = Session::new(shop, opening, journal, live, now, &UNITS[0]).map_err(Failure::wrong)?;
    let ended = session.run(program).map_err(|error| {
        if let SessionError::Store(_, Some(text)) = &error {
            screen.line("The record could not be stored; this is its whole text:");
            screen.document(text);
        }
        Failure::wrong(error)
    })?;
    match ended {
        Ended::Finished(record, path) => {
            screens::finished(&mut screen, &record, &path);
            Ok(Status::Done)
        }
        Ended::Parked => {
            screen.line(&format!("Parked. Nothing is lost; go on with: spoolproof guide --resume {name}"));
            Ok(Status::Paused)
        }
        Ended::Lost(why) => Err(Failure::paused(format!(
            "Stopped: {why}. Every answer is kept; go on with: spoolproof guide --resume {name}"
        ))),
        Ended::Broken(fault) => {
            let text = program.source.render(&[*fault]);
            Err(Failure::not_in_order(format!(
                "{text}\n\nThe procedure has a fault. Every answer is kept in the session {name}."
            )))
        }
    }
}

/// The only clock: the machine's, to the millisecond.
fn now() -> Timestamp {
    let now = Timestamp::now();
    now.round(Unit::Millisecond).unwrap_or(now)
}
