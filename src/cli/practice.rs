use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use clap::{Args, Subcommand};

use super::arguments::{ShopFolder, command_in, program_or_pack, quoted};
use super::grades::Grades;
use super::open_sessions;
use super::sessions::{Begun, begin, resume, walk};
use super::status::{Failure, Outcome, Status};
use crate::console::Screen;
use crate::disk::{LARGEST_SETTINGS, read_text, write_new};
use crate::practice::{HARDEST, Prepared, Workbench, debrief, drawn, point_name, shipped, summed};
use crate::procedure::{Outline, Program};
use crate::quantity::{UNITS, shown};
use crate::record::{Circuit, Exercise, Mode, Plan, Record, Shop, read};
use crate::rehearse::Student;
use crate::session::{Enter, Person, Plain, Prompt, Said, screens};

/// Practise at a simulated rig with hidden defects: everything by hand, then the truth and a grade.
///
/// Without a name it lists the exercises, each with the best grade in this shop. Beside answering you turn the valves, move the hose and
/// look at the needle; help at any prompt lists the words. Whoever reads the program or a record can work out the defects.
#[derive(Debug, Args)]
#[command(args_conflicts_with_subcommands = true)]
pub(super) struct Practice {
    #[command(subcommand)]
    instructors: Option<Instructors>,
    /// Name of an exercise, or the file of one, NAME.json; or a procedure by its name or file, for a unit that is drawn
    exercise: Option<PathBuf>,
    /// Of a drawn unit, what the customer complains of; you say which circuits are worth testing
    #[arg(long, value_name = "TEXT", requires = "exercise")]
    complaint: Option<String>,
    /// How hard a drawn unit is
    #[arg(long, default_value_t = 1, value_parser = clap::value_parser!(u64).range(1..=HARDEST))]
    level: u64,
    /// Draw the unit with this number; the same number gives the same unit
    #[arg(long, value_parser = clap::value_parser!(u64).range(1..))]
    seed: Option<u64>,
    /// Take up a parked attempt, by its name where there are several
    #[arg(long, value_name = "ATTEMPT", num_args = 0..=1, conflicts_with_all = ["exercise", "seed"])]
    resume: Option<Option<String>>,
    /// Take answers and doings from a file first, one a line; # begins a comment
    #[arg(long, value_name = "FILE")]
    answers: Option<PathBuf>,
}

/// What an instructor does.
#[derive(Debug, Subcommand)]
enum Instructors {
    /// Write an exercise to a file, with all of it that can be changed: defects, complaint, weights
    Prepare {
        /// Name of an exercise
        exercise: String,
        /// The file, NAME.json
        #[arg(short, long, value_name = "FILE")]
        output: PathBuf,
    },
    Grades(Grades),
}

impl Practice {
    pub(super) fn run(self, folder: &ShopFolder) -> Outcome {
        match &self.instructors {
            Some(Instructors::Prepare { exercise, output }) => return prepare(exercise, output),
            Some(Instructors::Grades(grades)) => return grades.run(folder),
            None => {}
        }
        let shop = folder.open()?;
        let attempts = shop.practice().map_err(Failure::wrong)?;
        let mut prompt = Prompt::open(self.answers.as_deref()).map_err(Failure::wrong)?;
        let begun = if let Some(name) = &self.resume {
            let name = open_sessions::found(&attempts, name.as_deref(), &mut prompt)?;
            resume(&mut Screen::stdout(), &attempts, &name, true)?
        } else {
            let Some(named) = &self.exercise else { return list(&shop, &attempts) };
            self.begun(&shop, &attempts, named, &mut prompt)?
        };
        let Some(exercise) = begun.opening.exercise.clone() else {
            return Err(Failure::wrong("this session is no attempt at an exercise"));
        };
        let bench =
            Workbench::new(&exercise, &outline(&begun.program)?.circuits).after(begun.journal.events());
        let begun = Begun { unit: Some(exercise.teaches.clone()), ..begun };
        let person = Person::new(prompt, &UNITS[0]).with_prices(begun.opening.prices.clone());
        walk(attempts, begun, Box::new(Student::new(person, bench)))
    }

    fn begun(
        &self,
        shop: &Shop,
        attempts: &Shop,
        named: &Path,
        prompt: &mut Prompt,
    ) -> Result<Begun, Failure> {
        let known = known(named)?;
        if known.is_some() && (self.seed.is_some() || self.complaint.is_some() || self.level > 1) {
            return Err(Failure::wrong(
                "--seed, --level and --complaint are for a unit that is drawn; an exercise has its own",
            ));
        }
        let procedure = known.as_ref().map_or(named.to_owned(), |known| PathBuf::from(&known.procedure));
        let program = program_or_pack(shop, &procedure)
            .map_err(|failure| if procedure.exists() { failure } else { failure.or(&exercises()) })?;
        let outline = outline(&program)?.clone();
        let circuits = &outline.circuits;
        let prepared = match known {
            Some(known) => known,
            None => {
                let seed =
                    self.seed.unwrap_or_else(|| super::sessions::now().as_millisecond().unsigned_abs());
                drawn(&program.source.id, circuits, self.complaint.clone(), self.level, seed)
            }
        };
        if let Some(fault) = prepared.fault(&outline) {
            return Err(Failure::wrong(format!("{}: {fault}", prepared.exercise.name)));
        }
        let chosen = match &prepared.exercise.complaint {
            Some(complaint) => chosen(complaint, circuits, prompt)?,
            None => Vec::new(),
        };
        let plan = prepared.plan(&chosen, circuits);
        let mut begun = begin(attempts, program, Some(&procedure), Mode::Practice, plan, None)?;
        begun.opening.exercise = Some(Box::new(prepared.exercise));
        Ok(begun)
    }
}

/// Finds an exercise by its file or its name; none where what is named is neither.
pub(super) fn known(named: &Path) -> Result<Option<Prepared>, Failure> {
    if !is_exercise_file(named) {
        return Ok(shipped().into_iter().find(|known| named.to_str() == Some(&known.exercise.name)));
    }
    let text = read_text(named, LARGEST_SETTINGS).map_err(|error| Failure::file(named, error))?;
    serde_json::from_str(&text).map(Some).map_err(|error| Failure::file(named, error))
}

fn is_exercise_file(path: &Path) -> bool {
    path.extension().is_some_and(|ending| ending == "json")
}

/// Says which exercises there are.
fn exercises() -> String {
    let names: Vec<String> = shipped().into_iter().map(|known| known.exercise.name).collect();
    format!("The exercises are {}.", names.join(", "))
}

fn prepare(name: &str, output: &Path) -> Outcome {
    let Some(mut prepared) = shipped().into_iter().find(|known| known.exercise.name == name) else {
        return Err(Failure::wrong(format!("there is no exercise \"{name}\". {}", exercises())));
    };
    let Some(own) = output.file_stem().and_then(|own| own.to_str()).filter(|_| is_exercise_file(output))
    else {
        return Err(Failure::wrong("the file of an exercise is named NAME.json"));
    };
    // It is another exercise as soon as it is changed, and the name of its file is what students call it by.
    own.clone_into(&mut prepared.exercise.name);
    let text = serde_json::to_string_pretty(&prepared.with_weights()).map_err(Failure::wrong)?;
    write_new(output, format!("{text}\n").as_bytes(), None).map_err(|error| match error.kind() {
        ErrorKind::AlreadyExists => Failure::wrong(format!(
            "{} is there already and stays as it is; give another name",
            output.display()
        )),
        _ => Failure::file(output, error),
    })?;
    Screen::stdout().say(&format!(
        "Change what you like in it and hand it out; a student begins it with:\nspoolproof practice {}\nIts defects stand in \
         it in plain words, and in the record of each attempt: an examination is sat at the school's machine.",
        quoted(&output.display().to_string())
    ));
    Ok(Status::Done)
}

fn outline(program: &Program) -> Result<&Outline, Failure> {
    program.outline().map_err(|fault| Failure::not_in_order(program.source.render(&[fault])))
}

/// Has a student say which circuits a complaint makes worth testing.
fn chosen(complaint: &str, circuits: &[Circuit], prompt: &mut Prompt) -> Result<Vec<String>, Failure> {
    if let Err(missed) = Plan::from_complaints(&[complaint.to_owned()], circuits) {
        return Err(Failure::wrong(format!("no circuit of this procedure covers \"{}\"", missed.join("; "))));
    }
    prompt.screen.say(&format!("The customer says: {complaint}. These are the circuits:"));
    for (n, circuit) in circuits.iter().enumerate() {
        let means = circuit.means.as_deref().unwrap_or_default();
        prompt.screen.item(&format!("{:>4}  ", n + 1), &format!("{}. {means}", circuit.name));
    }
    let question = Plain {
        words: "Which are worth testing",
        enter: Enter::Refused("Type their numbers with commas: 2, 5"),
        help: "Every circuit that can cause the complaint is to be tested, and each other one costs time. Type their numbers \
               with commas: 2, 5",
    };
    let read = |text: &str| {
        let number =
            |part: &str| part.trim().parse::<usize>().ok().filter(|n| (1..=circuits.len()).contains(n));
        let parts = text.split([',', ' ', ';']).filter(|part| !part.trim().is_empty());
        let numbers: Option<std::collections::BTreeSet<usize>> = parts.map(number).collect();
        numbers
            .filter(|numbers| !numbers.is_empty())
            .ok_or(format!("Type numbers from 1 to {}.", circuits.len()))
    };
    match prompt
        .ask_plainly(&question, &[], read)
        .map_err(|why| Failure::stopped(why, "Nothing was begun."))?
    {
        Said::Answer(numbers) => Ok(numbers.into_iter().map(|n| circuits[n - 1].name.clone()).collect()),
        Said::Enter | Said::Word(_) => Err(Failure::paused("Nothing was begun.")),
    }
}

/// Lists the exercises, each with what it teaches and the best grade of the attempts that lie in this shop.
fn list(shop: &Shop, attempts: &Shop) -> Outcome {
    let mut screen = Screen::stdout();
    let records = attempts.record_names().map_err(Failure::wrong)?;
    let read = |name: &String| read(&attempts.record(name)).ok();
    let grades: Vec<(Exercise, f64)> = records
        .iter()
        .filter_map(read)
        .filter_map(|record| Some((record.opening()?.exercise.as_deref()?.clone(), record.grade?.total)))
        .collect();
    for Prepared { exercise, .. } in shipped() {
        let of = grades.iter().filter(|(of, _)| *of == exercise).map(|(_, total)| *total);
        let best = of.reduce(f64::max).map_or("-".to_owned(), |best| shown(best, 0));
        screen.item(&format!("{best:>4}  "), &format!("{}: {}", exercise.name, exercise.teaches));
    }
    screen.say(&format!(
        "The figure is the best grade of 100 in this shop. Begin with:\n{}",
        command_in(shop, "practice read-the-needle")
    ));
    Ok(Status::Done)
}

/// Tells a student what was true, and what their work is worth.
pub(super) fn tell_grade(screen: &mut Screen, record: &Record) {
    for (heading, lines) in debrief(record) {
        screen.line("");
        screens::rule(screen, &heading);
        lines.iter().for_each(|line| screen.paragraph(screens::INDENT, line));
    }
    let Some(grade) = &record.grade else { return };
    screen.line("");
    screens::rule(screen, "grade");
    for point in &grade.points {
        let got = shown(point.share * point.weight, 1);
        let marker = format!("{got:>5} of {:<3} ", shown(point.weight, 1));
        screen.item(&marker, &format!("{}: {}.", point_name(point.point), point.because));
    }
    screen.say(&summed(grade));
}
