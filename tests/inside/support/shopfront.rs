use std::cell::RefCell;
use std::io::{Cursor, Write};
use std::path::{Path, PathBuf};
use std::rc::Rc;
use std::time::Duration;

use crate::console::Screen;
use crate::disk::LogError;
use crate::leak::DEFAULT_CONFIDENCE;
use crate::procedure::{Aside, Desk, Place, Program, Shown};
use crate::quantity::UNITS;
use crate::record::{
    Answer, Asker, Event, Mode, Opening, Origin, Prices, ProcedureIdentity, Question, Record, RigParts, Shop,
    Signer, Told,
};
use crate::session::{Changes, Ended, Input, Journal, Person, ProcedureNow, Prompt, Session, SessionError};
use jiff::Timestamp;
use serde_json::{Value, json};

use super::{Script, runner_line};

/// What the opening of a session has where nothing about it is unusual.
pub(crate) fn opening(session: &str, program: &Program) -> Opening {
    Opening {
        session: session.to_owned(),
        job: None,
        mode: Mode::Bench,
        program: env!("CARGO_PKG_VERSION").to_owned(),
        procedure: program.identity(),
        texts: program.source.texts(),
        rig: RigParts::USUAL,
        rig_is_assumed: false,
        bench: None,
        minutes_ahead: 0,
        confidence: DEFAULT_CONFIDENCE,
        plan: None,
        prices: Prices::default(),
        amends: None,
        exercise: None,
    }
}

/// One session in a shop of its own, which goes with it.
pub(crate) struct Shopfront {
    /// The folder of the shop.
    _folder: tempfile::TempDir,
    /// The shop.
    pub(crate) shop: Shop,
    /// The procedure, which may be exchanged between two walks.
    pub(crate) program: Program,
    /// What its opening has in place of the usual.
    pub(crate) unusual: fn(&mut Opening),
    shown: Rc<RefCell<Vec<u8>>>,
}

/// The name of the one session.
const NAME: &str = "20260101-080000-test";

impl Shopfront {
    /// Opens a shop with a session of a script that goes on after the usual first line.
    pub(crate) fn new(script: &str) -> Shopfront {
        Shopfront::of(Script::new(script).compile().expect("a sound script"))
    }

    /// Opens a shop with a session of a procedure.
    pub(crate) fn of(program: Program) -> Shopfront {
        let folder = folder();
        let shop = Shop::open(folder.path()).expect("a shop");
        std::fs::create_dir(shop.session(NAME)).expect("a folder");
        Shopfront { _folder: folder, shop, program, unusual: |_| {}, shown: Rc::default() }
    }

    /// Forgets the session and its record, so that it begins anew.
    pub(crate) fn begin_anew(&self) {
        let _ = std::fs::remove_dir_all(self.shop.session(NAME));
        let _ = std::fs::remove_file(self.record_path());
        std::fs::create_dir(self.shop.session(NAME)).expect("a folder");
    }

    /// The session's journal.
    pub(crate) fn journal_path(&self) -> PathBuf {
        self.shop.journal(NAME)
    }

    /// The session's record, once it is finished.
    pub(crate) fn record_path(&self) -> PathBuf {
        self.shop.records().join(format!("{NAME}.json"))
    }

    /// Opens the journal of the session, or begins it.
    pub(crate) fn journal(&self) -> Journal {
        let path = self.journal_path();
        let journal = if path.exists() { journal_at(&path) } else { Journal::create(&path) };
        journal.expect("a journal")
    }

    /// Walks with lines that answer the procedure's questions; the runner's are answered as usual.
    pub(crate) fn walk(&self, lines: &[&str]) -> Ended {
        self.walk_with(Box::new(self.usual(lines))).expect("a session")
    }

    /// Somebody who types these lines to the procedure's questions and answers the runner's as usual.
    pub(crate) fn usual(&self, lines: &[&str]) -> Usual<Person> {
        Usual(self.person(lines))
    }

    /// Writes the journal anew with these events.
    pub(crate) fn rewrite_journal(&self, events: &[Event]) {
        let mut journal = Journal::create(&self.journal_path()).expect("a journal");
        for event in events {
            journal.append(event.at, event.what.clone()).expect("an event");
        }
    }

    /// Walks with lines that answer every question.
    pub(crate) fn walk_bare(&self, lines: &[&str]) -> Ended {
        self.walk_with(Box::new(self.person(lines))).expect("a session")
    }

    /// Walks to the end with lines that answer the procedure's questions.
    pub(crate) fn finish(&self, lines: &[&str]) -> Record {
        self.finished(self.walk(lines))
    }

    /// Walks to the end with lines that answer every question.
    pub(crate) fn finish_bare(&self, lines: &[&str]) -> Record {
        self.finished(self.walk_bare(lines))
    }

    fn finished(&self, ended: Ended) -> Record {
        match ended {
            Ended::Finished(record, path) => {
                assert_eq!(path, self.record_path());
                *record
            }
            other => panic!("{other:?}\n{}", self.shown()),
        }
    }

    /// Walks with any desk, taking up the session where it was left.
    pub(crate) fn walk_with(&self, live: Box<dyn Desk>) -> Result<Ended, SessionError> {
        self.walk_by(tick, live)
    }

    /// Walks with any desk by any clock.
    pub(crate) fn walk_by(&self, now: fn() -> Timestamp, live: Box<dyn Desk>) -> Result<Ended, SessionError> {
        self.walk_changed(Changes::default(), now, live)
    }

    /// Walks with any desk by any clock, after the procedure or the rig has changed.
    pub(crate) fn walk_changed(
        &self,
        changes: Changes,
        now: fn() -> Timestamp,
        live: Box<dyn Desk>,
    ) -> Result<Ended, SessionError> {
        let session =
            Session::new(self.shop.clone(), self.opening(), changes, self.journal(), live, now, &UNITS[0])?;
        session.run(&self.program, |record| record)
    }

    /// A person who types these lines, in front of a screen that this shop keeps.
    pub(crate) fn person(&self, lines: &[&str]) -> Person {
        Person::new(self.prompt(lines), &UNITS[0]).at_bench()
    }

    /// A prompt at which these lines are typed, with a screen that this shop keeps.
    pub(crate) fn prompt(&self, lines: &[&str]) -> Prompt {
        let screen = Screen::new(Box::new(Paper(self.shown.clone())), 100);
        let lines: String = lines.iter().map(|line| format!("{line}\n")).collect();
        Prompt::new(screen, Input::lines(Cursor::new(lines)))
    }

    /// Everything that was shown so far.
    pub(crate) fn shown(&self) -> String {
        String::from_utf8_lossy(&self.shown.borrow()).into_owned()
    }

    /// Everything that was shown so far in one line, without its breaks.
    pub(crate) fn flat(&self) -> String {
        self.shown().split_whitespace().collect::<Vec<_>>().join(" ")
    }

    fn opening(&self) -> Opening {
        let mut opening = Opening { procedure: self.identity(), ..opening(NAME, &self.program) };
        (self.unusual)(&mut opening);
        opening
    }

    /// The procedure as one that has changed.
    pub(crate) fn changed(&self) -> Box<ProcedureNow> {
        Box::new(ProcedureNow { identity: self.identity(), texts: self.program.source.texts() })
    }

    /// Which procedure this is.
    pub(crate) fn identity(&self) -> ProcedureIdentity {
        ProcedureIdentity {
            origin: Origin::File,
            signer: Some(Signer {
                name: "an invented school".to_owned(),
                fingerprint: "12345 12345 12345 12345 12345 12345".to_owned(),
            }),
            ..self.program.identity()
        }
    }
}

/// Opens a journal. A child that another test is just starting holds all files that are open for a
/// moment, and their locks.
pub(crate) fn journal_at(path: &Path) -> Result<Journal, LogError> {
    for _ in 0..200 {
        match Journal::open(path) {
            Err(LogError::InUse(_)) => std::thread::sleep(Duration::from_millis(10)),
            opened => return opened,
        }
    }
    Journal::open(path)
}

/// A temporary folder, in memory where there is such a place: many sessions wait for the disk at every answer.
fn folder() -> tempfile::TempDir {
    let memory = Path::new("/dev/shm");
    tempfile::tempdir_in(memory).or_else(|_| tempfile::tempdir()).expect("a folder")
}

/// A clock that goes on by a second at every look, so that no two events have one time.
pub(crate) fn tick() -> Timestamp {
    thread_local! { static SECONDS: RefCell<i64> = const { RefCell::new(1_767_254_400) } }
    SECONDS.with_borrow_mut(|seconds| {
        *seconds += 1;
        Timestamp::from_second(*seconds).expect("a time")
    })
}

/// Somebody who answers the runner's questions as usual, and has the procedure's answered by another.
pub(crate) struct Usual<D>(D);

impl<D: Desk> Desk for Usual<D> {
    fn tell(&mut self, told: &Told) {
        self.0.tell(told);
    }

    fn ask(&mut self, question: &Question, place: &Place) -> Result<Answer, Aside> {
        match (question.asker, runner_line(question)) {
            (Asker::Runner, Some(line)) => Ok(question.read(&line).expect("an answer that fits")),
            _ => self.0.ask(question, place),
        }
    }

    fn show(&mut self, shown: &Shown<'_>) {
        self.0.show(shown);
    }
}

/// A writer into memory.
struct Paper(Rc<RefCell<Vec<u8>>>);

impl Write for Paper {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        self.0.borrow_mut().extend_from_slice(bytes);
        Ok(bytes.len())
    }

    fn flush(&mut self) -> std::io::Result<()> {
        Ok(())
    }
}

/// What is shown on a screen of so many columns.
pub(crate) fn shown(columns: usize, show: impl FnOnce(&mut Screen)) -> String {
    let paper = Rc::default();
    show(&mut Screen::new(Box::new(Paper(Rc::clone(&paper))), columns));
    String::from_utf8(paper.take()).expect("text")
}

/// What a record says, times and the way there aside: without its journal, the numbers of its events, and the digest
/// over all of it.
pub(crate) fn essence(record: &Record) -> Value {
    let mut value = serde_json::to_value(record).expect("a document");
    leave_out(&mut value, &["event", "plugged", "through", "started", "finished", "journal", "digest"]);
    let said = |n: &u64| {
        record.answered(*n).map(|(question, answer)| json!([question.circuit, question.words, answer]))
    };
    value["answers"] = record.answers.iter().map(said).collect();
    let calibrations = record.calibrations.iter().zip(value["calibrations"].as_array_mut().unwrap());
    for (calibration, value) in calibrations {
        value["readings"] = calibration.readings.iter().map(said).collect();
    }
    let checks = record.checks.iter().flat_map(|check| [said(&check.plugged), said(&check.through)]);
    value["checks"] = checks.collect();
    let takes =
        record.circuits.iter().flat_map(|circuit| &circuit.readings).flat_map(|reading| &reading.takes);
    value["takes"] = takes.map(|take| said(&take.event)).collect();
    value
}

/// Takes the fields of these names out of a document, however deep they stand.
pub(crate) fn leave_out(value: &mut Value, names: &[&str]) {
    match value {
        Value::Object(fields) => {
            for name in names {
                fields.remove(*name);
            }
            fields.values_mut().for_each(|value| leave_out(value, names));
        }
        Value::Array(items) => items.iter_mut().for_each(|value| leave_out(value, names)),
        _ => {}
    }
}

/// Calls back with every value in a document and its place (RFC 6901).
pub(crate) fn each_value(value: &Value, place: &str, visit: &mut dyn FnMut(&str, &Value)) {
    visit(place, value);
    for (name, inner) in value.as_object().into_iter().flatten() {
        each_value(inner, &format!("{place}/{}", name.replace('~', "~0").replace('/', "~1")), visit);
    }
    for (n, inner) in value.as_array().into_iter().flatten().enumerate() {
        each_value(inner, &format!("{place}/{n}"), visit);
    }
}
