//! The table of a class: the attempts that students have handed in, each audited.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use clap::Args;
use jiff::Timestamp;

use super::exercises::{known, refuse_held_back};
use crate::cli::arguments::ShopFolder;
use crate::cli::status::{Failure, Outcome, Status};
use crate::console::Screen;
use crate::disk::{self, LARGEST_DOCUMENT, write_whole};
use crate::practice::{Task, is_passed, point_name};
use crate::quantity::{UNITS, shown, so_many};
use crate::record::{Mark, PointMark, Record, Shop, SignerKey, documents_below};
use crate::report::{Cell, Table, csv, show_table, table_page};
use crate::session::Auditor;
use crate::share::heard;
use crate::stats::mean;

/// Audit the attempts in a folder and make the class's table of them.
///
/// Folders in it are looked into as well. Where there are several exercises, the course's grade is the mean of a
/// student's best in each. Attempts at exercises of one name that are not the same exercise are set apart by a digest
/// of all that decides the grade: defects, weights, circuits and the procedure's text.
#[derive(Debug, Args)]
pub(super) struct Grades {
    /// The folder with the records that students have handed in
    folder: PathBuf,
    /// Count attempts at this exercise only, by its name or file, and say which are at another
    #[arg(long, value_name = "FILE")]
    exercise: Option<PathBuf>,
    /// Write a row for each attempt as CSV, with what it reached of each point
    #[arg(long)]
    csv: bool,
    /// Write the table as a page, for a phone too; with --csv both are written
    #[arg(long, value_name = "FILE")]
    html: Option<PathBuf>,
}

/// A student: the name in small letters, and the key that signed.
type Who = (String, Option<String>);

/// An attempt that an audit found in order.
struct HandedIn {
    file: String,
    student: String,
    task: Task,
    mark: Mark,
    started: Timestamp,
    session: String,
    digest: Option<String>,
    signer: Option<SignerKey>,
}

/// What a document says that it is.
#[derive(serde::Deserialize)]
struct OfFormat {
    format: Option<String>,
}

/// What is counted, and what is to be said of the rest.
#[derive(Default)]
struct Class {
    attempts: Vec<HandedIn>,
    /// Files that count nothing, each with the reason.
    refused: Vec<String>,
    /// What an exercise of a name is, where one of another kind goes by that name too, each by the digest of its task.
    apart: BTreeMap<String, String>,
}

impl Grades {
    /// Audits the attempts and tells the class's table; an attempt that is not in order counts nothing.
    pub(super) fn run(&self, shop: &ShopFolder) -> Outcome {
        let shop = shop.open()?;
        let mut class = handed_in(&shop, &self.folder)?;
        class.count_each_once();
        class.count_what_is_allowed();
        match &self.exercise {
            Some(named) => class.keep(&wanted(&shop, named)?),
            None => class.set_apart(&shop)?,
        }
        let mut screen = Screen::stdout();
        let tables = class.tables();
        let mut aside = Screen::stderr();
        if let Some(path) = &self.html {
            let page = table_page("A class at practice", &tables, &UNITS[0]);
            write_whole(path, page.as_bytes()).map_err(|error| Failure::file(path, error))?;
            let told = format!("Written: {}", path.display());
            // Nothing but the table may stand on the output that is one.
            if self.csv { aside.say(&told) } else { screen.say(&told) }
        }
        if self.csv {
            screen.document(&csv(&class.each_attempt().values()).map_err(Failure::wrong)?);
        } else if self.html.is_none() {
            tables.iter().for_each(|table| show_table(&mut screen, table, &UNITS[0]));
        }
        for refused in &class.refused {
            aside.say(&format!("Not counted: {refused}."));
        }
        for apart in class.apart.values() {
            aside.say(apart);
        }
        let is_in_order = class.refused.is_empty() && class.apart.is_empty();
        Ok(if is_in_order { Status::Done } else { Status::NotInOrder })
    }
}

fn handed_in(shop: &Shop, folder: &Path) -> Result<Class, Failure> {
    let mut documents = Vec::new();
    for path in documents_below(folder).map_err(|error| Failure::file(folder, error))? {
        if !is_something_else(&path)? {
            documents.push(path);
        }
    }
    if documents.is_empty() {
        return Err(Failure::wrong(format!("there is no record in {} or a folder in it", folder.display())));
    }
    let (mut auditor, mut class) = (Auditor::default(), Class::default());
    for path in documents {
        let audit = auditor.audit_file(&path).map_err(|error| Failure::file(&path, error))?;
        let file = path.strip_prefix(folder).unwrap_or(&path).display().to_string();
        let signer = audit.signer.clone();
        let held_back = audit.record.as_ref().and_then(|record| refuse_held_back(shop, record).err());
        if let Some(held_back) = held_back {
            class.refused.push(format!("{file}: {}", held_back.text));
            continue;
        }
        match audit.record.and_then(|record| HandedIn::of(record, file.clone(), signer)) {
            Some(attempt) => class.attempts.push(attempt),
            None => {
                let why = audit.faults.first();
                let why = why.map_or("it is no attempt at an exercise".to_owned(), ToString::to_string);
                class.refused.push(format!("{file}: {why}"));
            }
        }
    }
    class.attempts.sort_by_key(|attempt| attempt.started);
    Ok(class)
}

/// Returns whether a document is sound and no record, as a shop has beside its records: settings, a pack or a key.
fn is_something_else(path: &Path) -> Result<bool, Failure> {
    let bytes = disk::read(path, LARGEST_DOCUMENT).map_err(|error| Failure::file(path, error))?;
    let read: Result<OfFormat, _> = serde_json::from_slice(&bytes);
    Ok(read.is_ok_and(|stated| !stated.format.is_some_and(|format| format.starts_with("spoolproof/record/"))))
}

/// Returns what an exercise is by its name or file, with its procedure as this shop has it.
fn wanted(shop: &Shop, named: &Path) -> Result<Task, Failure> {
    let Some(known) = known(shop, named)? else {
        return Err(Failure::wrong(format!(
            "{} is no exercise; give the name of one, or its file, NAME.json",
            named.display()
        )));
    };
    Ok(known.prepared.task(&known.program(shop)?.identity()))
}

impl HandedIn {
    fn of(record: Record, file: String, signer: Option<SignerKey>) -> Option<HandedIn> {
        let task = Task::of(record.opening()?)?;
        let student = record.technician.unwrap_or_default().trim().to_owned();
        let (mark, started) = (record.grade?, record.started);
        Some(HandedIn {
            file,
            student,
            task,
            mark,
            started,
            session: record.session,
            digest: record.digest,
            signer,
        })
    }

    /// "ann" and "Ann" are one student, and with another key another one.
    fn who(&self) -> Who {
        (heard(&self.student), self.signer.as_ref().map(|signer| signer.signer().to_string()))
    }

    fn signed_by(&self) -> &str {
        self.signer.as_ref().map_or("nobody", |signer| &signer.name)
    }

    /// Names the exercise, with its digest where the name alone does not say which.
    fn exercise(&self, are_alike: bool) -> String {
        let name = self.task.name();
        if are_alike { name.to_owned() } else { format!("{name} {}", self.task.digest()) }
    }
}

impl Class {
    /// Counts a copy of an attempt as no other one. Where two say different things of the same session, one of them was
    /// made of the other, and nobody can say which: neither counts.
    fn count_each_once(&mut self) {
        let mut digests: BTreeMap<String, BTreeSet<Option<String>>> = BTreeMap::new();
        for attempt in &self.attempts {
            digests.entry(attempt.session.clone()).or_default().insert(attempt.digest.clone());
        }
        let mut counted: BTreeMap<String, String> = BTreeMap::new();
        for attempt in std::mem::take(&mut self.attempts) {
            let HandedIn { file, session, .. } = &attempt;
            if digests.get(session).is_some_and(|digests| digests.len() > 1) {
                self.refused.push(format!("{file}: another record says something else of the same attempt"));
            } else if let Some(first) = counted.get(session) {
                self.refused.push(format!("{file}: it is a copy of {first}"));
            } else {
                counted.insert(session.clone(), file.clone());
                self.attempts.push(attempt);
            }
        }
    }

    /// Counts the first attempts of each student only, as many as whoever handed the exercise out allows.
    fn count_what_is_allowed(&mut self) {
        let mut begun: BTreeMap<(Who, String), u32> = BTreeMap::new();
        for attempt in std::mem::take(&mut self.attempts) {
            let n = begun.entry((attempt.who(), attempt.task.digest())).or_default();
            *n += 1;
            match attempt.task.handed_out().and_then(|handed_out| handed_out.attempts) {
                Some(allowed) if *n > allowed => self.refused.push(format!(
                    "{}: it is attempt {n} of {}, and {allowed} may be made",
                    attempt.file, attempt.student
                )),
                _ => self.attempts.push(attempt),
            }
        }
    }

    /// Keeps the attempts at one exercise only.
    fn keep(&mut self, wanted: &Task) {
        for attempt in std::mem::take(&mut self.attempts) {
            match attempt.task.differs(wanted) {
                None => self.attempts.push(attempt),
                Some(how) => {
                    self.refused.push(format!("{}: it is at another exercise; {how}", attempt.file));
                }
            }
        }
    }

    /// Says of each exercise how it differs from what its name stands for: from the one that comes with the program,
    /// else from the one that most attempts are at.
    fn set_apart(&mut self, shop: &Shop) -> Result<(), Failure> {
        let names: BTreeSet<String> =
            self.attempts.iter().map(|attempt| attempt.task.name().to_owned()).collect();
        for name in names {
            let mut tasks: Vec<(&Task, usize)> = Vec::new();
            for task in self.attempts.iter().map(|attempt| &attempt.task).filter(|task| task.name() == name) {
                match tasks.iter_mut().find(|(known, _)| *known == task) {
                    Some((_, n)) => *n += 1,
                    None => tasks.push((task, 1)),
                }
            }
            let shipped = wanted(shop, Path::new(&name)).ok();
            let most = tasks.iter().rev().max_by_key(|(_, n)| *n).map(|(task, _)| (*task).clone());
            let Some(usual) = shipped.clone().or(most) else { continue };
            let whose = if shipped.is_some() { "that comes with the program" } else { "of most attempts" };
            for (task, n) in tasks {
                if let Some(how) = task.differs(&usual) {
                    let attempts = so_many(n, "attempt");
                    let digest = task.digest();
                    let told = format!(
                        "Set apart: {name} {digest}, {attempts}. It is not the exercise {name} {whose}: {how}. With --exercise \
                         FILE only those at your own are counted."
                    );
                    self.apart.insert(digest, told);
                }
            }
        }
        Ok(())
    }

    /// The class's tables: a row for each student and exercise, for each student a course, and where the class
    /// as a whole loses most.
    fn tables(&self) -> Vec<Table> {
        let heads = ["student", "exercise", "attempts", "best", "last", "passed", "signed by"];
        let mut students = Table::new("Grades, of 100", &heads);
        for ((_, exercise), attempts) in self.by_exercise() {
            let marks: Vec<&Mark> = attempts.iter().map(|attempt| &attempt.mark).collect();
            let best = marks.iter().map(|mark| mark.total).fold(0.0, f64::max);
            let last = marks.last().map_or(0.0, |mark| mark.total);
            let passed = if marks.iter().any(|mark| mark.passed) { "yes" } else { "no" };
            let student = attempts.first().map(|attempt| attempt.student.clone()).unwrap_or_default();
            let n = Cell::count(marks.len());
            let [best, last] = [best, last].map(|total| Cell::figure(total, shown(total, 1)));
            let signer = attempts.first().map_or("nobody", |attempt| attempt.signed_by());
            students.row([student.into(), exercise.into(), n, best, last, passed.into(), signer.into()]);
        }
        self.notes().into_iter().for_each(|note| students.note(note));
        [Some(students), self.courses(), Some(self.points())].into_iter().flatten().collect()
    }

    /// The attempts of each student at each exercise.
    fn by_exercise(&self) -> BTreeMap<(Who, String), Vec<&HandedIn>> {
        let mut rows: BTreeMap<(Who, String), Vec<&HandedIn>> = BTreeMap::new();
        for attempt in &self.attempts {
            let exercise = attempt.exercise(self.apart.is_empty());
            rows.entry((attempt.who(), exercise)).or_default().push(attempt);
        }
        rows
    }

    /// A row for each student with the grade of all exercises together; none where there is one exercise only. What is
    /// set apart is in none.
    fn courses(&self) -> Option<Table> {
        let mut courses: BTreeMap<Who, Vec<&HandedIn>> = BTreeMap::new();
        let mut exercises = BTreeSet::new();
        for ((who, exercise), attempts) in self.by_exercise() {
            let counts = |attempt: &&&HandedIn| !self.apart.contains_key(&attempt.task.digest());
            let attempts = attempts.iter().filter(counts);
            let best = attempts.max_by(|one, other| one.mark.total.total_cmp(&other.mark.total));
            if let Some(best) = best {
                courses.entry(who).or_default().push(best);
                exercises.insert(exercise);
            }
        }
        if exercises.len() < 2 {
            return None;
        }
        let heads = ["student", "exercises", "grade", "passed", "signed by"];
        let mut table = Table::new("Grades of the course, of 100", &heads);
        for best in courses.into_values() {
            let student = best.first().map(|attempt| attempt.student.clone()).unwrap_or_default();
            let signer = best.first().map_or("nobody", |attempt| attempt.signed_by());
            let n = Cell::figure(best.len() as f64, format!("{} of {}", best.len(), exercises.len()));
            let total = mean(&best.iter().map(|attempt| attempt.mark.total).collect::<Vec<_>>());
            let passed = match best.len() == exercises.len() {
                true if is_passed(total) => "yes",
                true => "no",
                false => "not all handed in",
            };
            let total = Cell::figure(total, shown(total, 1));
            table.row([student.into(), n, total, passed.into(), signer.into()]);
        }
        table.note(
            "The mean of a student's best grade in each exercise. An exercise that was not handed in is not in it: until \
             all are, the grade is that so far, and nobody has passed or failed the course.",
        );
        Some(table)
    }

    /// Says who signed, and what of who handed out is not shown.
    fn notes(&self) -> Vec<String> {
        let n_unsigned = self.attempts.iter().filter(|attempt| attempt.signer.is_none()).count();
        let mut notes = Vec::new();
        if n_unsigned > 0 {
            notes.push(format!(
                "Signed by nobody: {n_unsigned} of {}. Who knows how can make such a record anew; nothing here would show it.",
                self.attempts.len()
            ));
        }
        let mut students: BTreeMap<String, BTreeSet<&str>> = BTreeMap::new();
        for attempt in &self.attempts {
            if let Some(signer) = &attempt.signer {
                students.entry(signer.signer().to_string()).or_default().insert(&attempt.student);
            }
        }
        let keys: BTreeSet<_> = self.attempts.iter().map(HandedIn::who).collect();
        let names: BTreeSet<&String> = keys.iter().map(|(name, _)| name).collect();
        for name in names {
            let n_keys = keys.iter().filter(|(other, _)| other == name).count();
            if n_keys > 1 {
                notes.push(format!(
                    "{name}: {n_keys} rows of one name, each with a key of its own or none. Whether that is one student, ask."
                ));
            }
        }
        for (signer, students) in students {
            let students = students.into_iter().collect::<Vec<_>>().join(", ");
            notes.push(format!("Signed by {signer}: {students}. Whose key that is, its fingerprint tells."));
        }
        notes
    }

    /// A row for each attempt, with what it reached of each point; nothing where the exercise has nothing for it.
    fn each_attempt(&self) -> Table {
        let points: BTreeSet<&str> = self.marks().map(|mark| point_name(mark.point)).collect();
        let heads = ["student", "exercise", "begun", "total", "passed", "signed by"];
        let heads: Vec<&str> = heads.into_iter().chain(points.iter().copied()).collect();
        let mut table = Table::new("Attempts", &heads);
        for attempt in &self.attempts {
            let HandedIn { student, mark, started, .. } = attempt;
            let exercise = attempt.exercise(self.apart.is_empty());
            let passed = if mark.passed { "yes" } else { "no" };
            let total = Cell::figure(mark.total, shown(mark.total, 1));
            let whole: [Cell; 5] =
                [student.into(), exercise.into(), started.to_string().into(), total, passed.into()];
            let share = |name: &&str| {
                let reached = mark.points.iter().find(|reached| point_name(reached.point) == *name);
                reached.map(|reached| percent(reached.share)).unwrap_or_default()
            };
            let whole = whole.into_iter().chain([attempt.signed_by().into()]);
            table.row(whole.chain(points.iter().map(share)));
        }
        table
    }

    fn marks(&self) -> impl Iterator<Item = &PointMark> {
        self.attempts.iter().flat_map(|attempt| &attempt.mark.points)
    }

    fn points(&self) -> Table {
        let mut shares: BTreeMap<&'static str, Vec<f64>> = BTreeMap::new();
        for point in self.marks() {
            shares.entry(point_name(point.point)).or_default().push(point.share);
        }
        let mut means: Vec<_> =
            shares.iter().map(|(name, shares)| (*name, mean(shares), shares.len())).collect();
        means.sort_by(|one, other| one.1.total_cmp(&other.1));
        let mut points = Table::new(
            "What the class reached of each point, the weakest first",
            &["point", "%", "attempts"],
        );
        for (name, mean, n) in means {
            points.row([name.into(), percent(mean), Cell::count(n)]);
        }
        points
    }
}

fn percent(share: f64) -> Cell {
    Cell::figure(100.0 * share, shown(100.0 * share, 0))
}
