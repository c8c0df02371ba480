use std::path::{Path, PathBuf};

use clap::{Args, Subcommand};

use super::exercises::{Counted, admit, known, list, names, refuse_held_back};
use super::grades::Grades;
use super::prepare::{Prepare, weights};
use crate::cli::arguments::{ShopFolder, outline, program_or_pack};
use crate::cli::complaints::from_complaints;
use crate::cli::open_sessions;
use crate::cli::page::PageArguments;
use crate::cli::sessions::{Begun, begin, now, resume, walk};
use crate::cli::share::key;
use crate::cli::status::{Failure, Outcome};
use crate::console::Screen;
use crate::practice::{HARDEST, Prepared, Workbench, debrief, drawn, not_graded, point_name, summed};
use crate::procedure::Program;
use crate::quantity::{UNITS, shown};
use crate::record::{Circuit, Mode, Record, Shop};
use crate::rehearse::Student;
use crate::session::{Enter, Person, Plain, Prompt, Said, screens};
use crate::share::OwnKey;

/// Practise at a simulated rig with hidden defects: everything by hand, then the truth and a grade.
///
/// Without a name it lists the exercises, each with the best grade in this shop. Beside answering you turn the valves,
/// move the hose and look at the needle; help at any prompt lists the words. Whoever reads the program or a record can
/// work out the defects.
#[derive(Debug, Args)]
#[command(args_conflicts_with_subcommands = true)]
pub(in crate::cli) struct Practice {
    #[command(subcommand)]
    instructors: Option<Instructors>,
    /// Name of an exercise, or the file of one, NAME.json; or a procedure by its name or file, for a unit that is drawn
    exercise: Option<PathBuf>,
    #[command(flatten)]
    unit: DrawnUnit,
    /// Take up a parked attempt, by its name where there are several
    #[arg(long, value_name = "ATTEMPT", num_args = 0..=1, conflicts_with_all = ["exercise", "seed"])]
    resume: Option<Option<String>>,
    /// Take answers and doings from a file first, one a line; # begins a comment
    #[arg(long, value_name = "FILE")]
    answers: Option<PathBuf>,
    /// The name to sign attempts at what was handed out as, wanted once: the key is made then
    #[arg(long = "as", value_name = "NAME")]
    name: Option<String>,
    #[command(flatten)]
    page: PageArguments,
}

/// How a unit is drawn.
#[derive(Debug, Args)]
pub(super) struct DrawnUnit {
    /// Of a drawn unit, what the customer complains of, in their words as with guide; students say which
    /// circuits are worth testing
    #[arg(long, value_name = "TEXT", requires = "exercise")]
    complaint: Option<String>,
    /// How hard a drawn unit is
    #[arg(long, default_value_t = 1, value_parser = clap::value_parser!(u64).range(1..=HARDEST))]
    level: u64,
    /// Draw the unit with this number; the same number gives the same unit
    #[arg(long, value_parser = clap::value_parser!(u64).range(1..))]
    seed: Option<u64>,
}

impl DrawnUnit {
    /// Refuses to draw where an exercise says what there is.
    pub(super) fn fits(&self, is_exercise: bool) -> Result<(), Failure> {
        if is_exercise && (self.seed.is_some() || self.complaint.is_some() || self.level > 1) {
            return Err(Failure::wrong(
                "--seed, --level and --complaint are for a unit that is drawn; an exercise has its own",
            ));
        }
        Ok(())
    }

    pub(super) fn drawn(&self, shop: &Shop, program: &Program, named: &Path) -> Result<Prepared, Failure> {
        let circuits = &outline(program)?.circuits;
        let complaint = self.complaint.as_ref().map(std::slice::from_ref);
        let sought = complaint.map(|given| from_complaints(shop, program, named, given)).transpose()?;
        let seed = self.seed.unwrap_or_else(|| now().as_millisecond().unsigned_abs());
        Ok(drawn(&program.source.id, circuits, sought, self.level, seed))
    }
}

/// What an instructor does.
#[derive(Debug, Subcommand)]
enum Instructors {
    Prepare(Prepare),
    Grades(Grades),
    /// Print what each point of a grade weighs and looks at, as a table to change and prepare an exercise with
    Weights,
}

impl Practice {
    pub(in crate::cli) fn run(self, folder: &ShopFolder) -> Outcome {
        match &self.instructors {
            Some(Instructors::Prepare(prepare)) => return prepare.run(folder),
            Some(Instructors::Grades(grades)) => return grades.run(folder),
            Some(Instructors::Weights) => return weights(),
            None => {}
        }
        let shop = folder.open()?;
        let (mut prompt, page) = self.page.prompt(self.answers.as_deref())?;
        let attempts = shop.of_mode(Mode::Practice).map_err(Failure::wrong)?;
        let begun = if let Some(name) = &self.resume {
            let name = open_sessions::found(&attempts, name.as_deref(), &mut prompt)?;
            let mut screen = Screen::stdout();
            page.iter().for_each(|page| page.hears(&mut screen));
            resume(&mut screen, &attempts, &name, true)?
        } else {
            let Some(named) = &self.exercise else { return list(&shop, &attempts) };
            self.begun(&shop, &attempts, named, &mut prompt)?
        };
        let Some(exercise) = begun.opening.exercise.clone() else {
            return Err(Failure::wrong("this session is no attempt at an exercise"));
        };
        let circuits = outline(&begun.program)?.circuits.clone();
        let bench = Workbench::new(&exercise, &circuits).after(begun.journal.events());
        let begun = Begun { unit: Some(exercise.teaches.clone()), page, ..begun };
        let person = Person::new(prompt, &UNITS[0])
            .with_prices(begun.opening.prices.clone())
            .looking_at(begun.opening.rig.dial)
            .through(begun.in_order());
        let counted = Counted {
            attempts: attempts.clone(),
            exercise: *exercise,
            session: begun.opening.session.clone(),
        };
        let student = Student::new(person, bench).admitted(move |name| counted.admits(name));
        walk(attempts, begun, Box::new(student))
    }

    fn begun(
        &self,
        shop: &Shop,
        attempts: &Shop,
        named: &Path,
        prompt: &mut Prompt,
    ) -> Result<Begun, Failure> {
        let known = known(shop, named)?;
        self.unit.fits(known.is_some())?;
        let (prepared, program) = match known {
            Some(known) => {
                let program = known.program(shop)?;
                (known.prepared, program)
            }
            None => {
                let program = program_or_pack(shop, named)
                    .map_err(|failure| if named.exists() { failure } else { failure.or(&names()) })?;
                (self.unit.drawn(shop, &program, named)?, program)
            }
        };
        let outline = outline(&program)?.clone();
        let circuits = &outline.circuits;
        if let Some(fault) = prepared.fault(&outline) {
            return Err(Failure::wrong(format!("{}: {fault}", prepared.exercise.name)));
        }
        if prepared.exercise.handed_out.is_some() {
            admit(shop, &prepared.exercise, &mut prompt.screen)?;
            students_key(shop, attempts, self.name.as_deref())?;
        }
        let chosen = match &prepared.exercise.complaint {
            Some(complaint) => chosen(complaint, circuits, prompt)?,
            None => Vec::new(),
        };
        let plan = prepared.plan(&chosen, circuits);
        let mut begun = begin(attempts, program, None, Mode::Practice, plan, None)?;
        begun.opening.exercise = Some(Box::new(prepared.exercise));
        Ok(begun)
    }
}

/// Makes sure that there is a key to sign an attempt with. A student's lies with the attempts, so that it never signs
/// what the shop tests; whoever signs for the shop is asked for no other.
fn students_key(shop: &Shop, attempts: &Shop, name: Option<&str>) -> Result<(), Failure> {
    let own = OwnKey::of(shop).map_err(Failure::wrong)?;
    let is_shops_own = own.is_some_and(|own| name.is_none_or(|name| own.signer().name == name));
    if is_shops_own && OwnKey::of(attempts).map_err(Failure::wrong)?.is_none() {
        return Ok(());
    }
    key(attempts, name).map(|_| ())
}

/// Has a student say which circuits a complaint makes worth testing.
fn chosen(complaint: &str, circuits: &[Circuit], prompt: &mut Prompt) -> Result<Vec<String>, Failure> {
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

/// Tells a student what was true, and what their work is worth, unless that is held back; and how to leave it behind.
pub(in crate::cli) fn tell_grade(screen: &mut Screen, shop: &Shop, record: &Record, path: &Path) {
    match refuse_held_back(shop, record) {
        Ok(()) => show_grade(screen, record),
        Err(held_back) => screen.say(&format!("Done: {}.", held_back.text)),
    }
    screen.say(&format!("Record: {}", path.display()));
}

fn show_grade(screen: &mut Screen, record: &Record) {
    for (heading, lines) in debrief(record) {
        screen.line("");
        screen.title(&heading);
        lines.iter().for_each(|line| screen.paragraph(screens::INDENT, line));
    }
    let Some(grade) = &record.grade else { return };
    screen.line("");
    screen.title("grade");
    for point in &grade.points {
        let got = shown(point.share * point.weight, 1);
        let marker = format!("{got:>5} of {:<3} ", shown(point.weight, 1));
        screen.item(&marker, &format!("{}: {}.", point_name(point.point), point.because));
    }
    if let Some(not_graded) = not_graded(record) {
        screen.paragraph(screens::INDENT, &not_graded);
    }
    screen.result(&summed(grade));
}
