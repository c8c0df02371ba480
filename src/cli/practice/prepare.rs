//! What an instructor writes: an exercise that is handed out, one to be changed, a table of weights.

use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use clap::Args;

use super::command::DrawnUnit;
use super::exercises::{Known, is_exercise_file, known, names};
use crate::cli::arguments::{ShopFolder, outline, program_or_pack, quoted};
use crate::cli::share::{key, pack};
use crate::cli::status::{Failure, Outcome, Status};
use crate::console::Screen;
use crate::disk::{LARGEST_SETTINGS, read_text, write_new};
use crate::practice::{ENOUGH, Prepared, point_name, read_weights, weight_rows};
use crate::procedure::Program;
use crate::quantity::shown;
use crate::record::{Defect, Shop, Weight};
use crate::report::csv;
use crate::share::{HandOut, Pack};

/// Write an exercise to a file that students are given: with its procedure, its rules and its weights, and signed
///
/// To change defects, room or words, write it with --to-edit, change the file, and prepare that file. The defects stand
/// in the file in plain words.
#[derive(Debug, Args)]
pub(super) struct Prepare {
    /// Name or file of an exercise; or a procedure by its name or file, for a unit that is drawn
    exercise: PathBuf,
    #[command(flatten)]
    unit: DrawnUnit,
    /// The file, NAME.json; students call it by that name
    #[arg(short, long, value_name = "FILE")]
    output: PathBuf,
    /// What each point of the grade weighs, in CSV; practice weights prints a table to begin with
    #[arg(long, value_name = "FILE")]
    weights: Option<PathBuf>,
    /// How many attempts a student may make
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..))]
    attempts: Option<u32>,
    /// Hold truth and grade back at the end of an attempt: you tell them, with practice grades and report
    #[arg(long)]
    hold_back: bool,
    /// Write it to be changed: without rules, and signed by nobody
    #[arg(long, conflicts_with_all = ["attempts", "hold_back", "name"])]
    to_edit: bool,
    /// The name to sign as, wanted once: the key is made then
    #[arg(long = "as", value_name = "NAME")]
    name: Option<String>,
}

impl Prepare {
    pub(super) fn run(&self, shop: &ShopFolder) -> Outcome {
        let shop = shop.open()?;
        let (mut known, program) = self.chosen(&shop)?;
        let Some(own_name) =
            self.output.file_stem().and_then(|name| name.to_str()).filter(|_| is_exercise_file(&self.output))
        else {
            return Err(Failure::wrong("the file of an exercise is named NAME.json"));
        };
        // It is another exercise as soon as it is changed, and the name of its file is what students call it by.
        own_name.clone_into(&mut known.prepared.exercise.name);
        if let Some(path) = &self.weights {
            let text = read_text(path, LARGEST_SETTINGS).map_err(|error| Failure::file(path, error))?;
            known.prepared.exercise.weights =
                read_weights(&text).map_err(|error| Failure::file(path, error))?;
        }
        if let Some(fault) = known.prepared.fault(outline(&program)?) {
            return Err(Failure::wrong(format!("{own_name}: {fault}")));
        }
        known.prepared.exercise.handed_out = None;
        let prepared = known.prepared.with_weights();
        if self.to_edit {
            let file = quoted(&self.output.display().to_string());
            let text = serde_json::to_string_pretty(&prepared).map_err(Failure::wrong)?;
            write(&self.output, &format!("{text}\n"))?;
            Screen::stdout().say(&format!(
                "Change what you like in it, and hand out what this makes of it:\nspoolproof practice prepare {file} -o OTHER.json"
            ));
            return Ok(Status::Done);
        }
        self.hand_out(&shop, prepared, known.pack, &program)
    }

    /// Returns the exercise as it is known or drawn, and its procedure.
    fn chosen(&self, shop: &Shop) -> Result<(Known, Program), Failure> {
        let found = known(shop, &self.exercise)?;
        self.unit.fits(found.is_some())?;
        if let Some(known) = found {
            let program = known.program(shop)?;
            return Ok((known, program));
        }
        let program = program_or_pack(shop, &self.exercise).map_err(|failure| failure.or(&names()))?;
        let prepared = self.unit.drawn(shop, &program, &self.exercise)?;
        Ok((Known { prepared, pack: None }, program))
    }

    fn hand_out(&self, shop: &Shop, prepared: Prepared, known: Option<Pack>, program: &Program) -> Outcome {
        let (own_name, file) = (prepared.exercise.name.clone(), quoted(&self.output.display().to_string()));
        let own = key(shop, self.name.as_deref())?;
        let rules = rules(&prepared, self.attempts, self.hold_back);
        let pack = match known {
            Some(pack) => pack,
            None => pack(shop, program, &own)?,
        };
        let hand_out = HandOut::make(prepared, pack, (self.attempts, self.hold_back), &own);
        let text = hand_out.and_then(|hand_out| hand_out.document()).map_err(Failure::wrong)?;
        // What nobody could begin is not handed out.
        HandOut::read(text.as_bytes()).map_err(Failure::wrong)?;
        write(&self.output, &text)?;
        let mut screen = Screen::stdout();
        screen.say(&format!("{own_name}, as it was signed:"));
        for (marker, rule) in rules {
            screen.item(marker, &rule);
        }
        screen.say(&format!(
            "Signed by {}. Hand it out; a student begins it with:\nspoolproof practice {file}\nIts defects stand in it in plain \
             words, and in the record of each attempt: an examination is sat at \
             the school's machine.",
            own.signer().signer()
        ));
        if self.hold_back {
            screen.say(
                "Who works in this shop has your key, and nothing is held back from them: students use another, with --shop DIR.",
            );
        }
        Ok(Status::Done)
    }
}

/// Says what an exercise is, and by which rules it is handed out.
fn rules(prepared: &Prepared, attempts: Option<u32>, is_held_back: bool) -> [(&'static str, String); 5] {
    let Prepared { exercise, procedure, circuits } = prepared;
    let tested = match (&exercise.complaint, circuits.len()) {
        (Some(complaint), _) => format!("the student chooses for \"{complaint}\""),
        (None, 0) => "all circuits".to_owned(),
        (None, _) => circuits.join(", "),
    };
    let defect = |defect: &Defect| {
        let place = defect.circuit.iter().chain(&defect.reading).map(String::as_str).collect::<Vec<_>>();
        format!(
            "{} ({})",
            defect.cause.words(),
            if place.is_empty() { "the rig".to_owned() } else { place.join(": ") }
        )
    };
    let defects: Vec<String> = exercise.defects.iter().map(defect).collect();
    let weighs = |weight: &Weight| format!("{} {}", point_name(weight.point), shown(weight.weight, 1));
    let weights: Vec<String> = exercise.weights.iter().map(weighs).collect();
    let told = if is_held_back { "held back; you tell them" } else { "told at the end of each attempt" };
    [
        ("tested    ", format!("{procedure}: {tested}")),
        ("defects   ", if defects.is_empty() { "none".to_owned() } else { defects.join("; ") }),
        ("attempts  ", attempts.map_or("any number".to_owned(), |n| format!("{n} a student"))),
        ("grade     ", format!("truth and grade are {told}; {} of 100 are needed to pass", shown(ENOUGH, 0))),
        ("weights   ", weights.join(", ")),
    ]
}

fn write(path: &Path, text: &str) -> Result<(), Failure> {
    write_new(path, text.as_bytes(), None).map_err(|error| match error.kind() {
        ErrorKind::AlreadyExists => Failure::wrong(format!(
            "{} is there already and stays as it is; give another name",
            path.display()
        )),
        _ => Failure::file(path, error),
    })
}

/// Prints the usual weights.
pub(super) fn weights() -> Outcome {
    Screen::stdout().document(&csv(&weight_rows()).map_err(Failure::wrong)?);
    Ok(Status::Done)
}
