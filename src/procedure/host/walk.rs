use std::collections::HashMap;
use std::rc::Rc;
use std::sync::Arc;

use ahash::RandomState;

use super::wording::{at_most, check_question, check_title, check_told};
use super::{Desk, Fault, Halt, Look, Place, RunnersPart, Shown, Site, Title, Trail};
use crate::leak::{TestEnd, Verdict};
use crate::quantity::Unit;
use crate::record::{Answer, Asker, BenchState, Circuit, Question, Refusal, Told, Wants};

const MOST_QUESTIONS: usize = 2_000;
const MOST_TOLD: usize = 5_000;
/// The most characters that one walk may tell and ask in all.
const MOST_TEXT: usize = 1_000_000;

/// One walk through a procedure: what it has asked, told and found so far, in front of a desk.
///
/// It knows nothing of scripts; the words of the language are calls of its methods.
pub(crate) struct Walk {
    pub(super) desk: Box<dyn Desk>,
    pub(super) bench: BenchState,
    pub(super) vacuum_unit: &'static Unit,
    times_asked: HashMap<String, u32, RandomState>,
    n_asked: usize,
    n_told: usize,
    n_characters: usize,
    title: Option<Title>,
    title_only: bool,
    pub(super) runner: Option<RunnersPart>,
    /// Whether the tests are over, with the last look at the rig and what was decided.
    pub(super) is_closed: bool,
    pub(super) trail: Option<Trail>,
    /// Each with how its test has ended, if it has: with a verdict unless it was left or passed over.
    pub(super) circuits: Vec<(Arc<Circuit>, Option<Option<Verdict>>)>,
    pub(super) place: Place,
    /// What is still to be done before the circuit under test is read for the first time.
    pub(super) set_up: Option<String>,
    pub(super) judged: Vec<Verdict>,
    /// What tells the readings that count of the circuit under test from each other.
    pub(super) labels: Vec<String>,
    /// The circuits that are sure not to be sound, though no verdict says how bad they are.
    pub(super) unsound: Vec<String>,
    /// What the reading that is being taken says, were it left now.
    pub(super) unfinished: Option<Verdict>,
    pub(super) end: TestEnd,
    /// The circuits that are to be tested, and how many of them on this walk; all where there is none.
    pub(super) planned: Option<(Vec<String>, usize)>,
}

impl Walk {
    /// Begins a walk on a bench, with a bare reading taken in this unit.
    pub(crate) fn new(desk: Box<dyn Desk>, bench: BenchState, vacuum_unit: &'static Unit) -> Walk {
        Walk {
            desk,
            bench,
            vacuum_unit,
            times_asked: HashMap::default(),
            n_asked: 0,
            n_told: 0,
            n_characters: 0,
            title: None,
            title_only: false,
            runner: None,
            is_closed: false,
            trail: None,
            circuits: Vec::new(),
            place: Place::default(),
            set_up: None,
            judged: Vec::new(),
            labels: Vec::new(),
            unsound: Vec::new(),
            unfinished: None,
            end: TestEnd::Whole,
            planned: None,
        }
    }

    /// Walks only the tests of the first `n` of these circuits; the others are passed over in silence. Where that
    /// leaves some for another walk, this one ends after the test of the nth.
    #[must_use]
    pub(crate) fn first_of(mut self, n: usize, circuits: &[String]) -> Walk {
        self.planned = Some((circuits.to_vec(), n));
        self.place.n_tested = n.saturating_sub(1);
        self
    }

    /// Ends the walk as soon as the procedure has declared its title.
    #[must_use]
    pub(crate) fn up_to_title(mut self) -> Walk {
        self.title_only = true;
        self
    }

    /// Leaves a trail of the places in the script that it comes by.
    #[must_use]
    pub(crate) fn leaving(mut self, trail: Trail) -> Walk {
        self.trail = Some(trail);
        self
    }

    /// Returns where the last answer came from, where a trail is left.
    pub(crate) fn last_look(&self) -> Option<Look> {
        Some(self.trail.as_ref()?.look(self.n_asked.saturating_sub(1)))
    }

    pub(crate) fn trail(&self) -> Option<&Trail> {
        self.trail.as_ref()
    }

    /// Takes note of the place in the script that calls a word.
    pub(crate) fn stand_at(&mut self, site: impl FnOnce() -> Site) {
        if let Some(trail) = &self.trail {
            trail.step(site());
        }
    }

    /// Says what the runner does where the procedure asks for it.
    #[must_use]
    pub(crate) fn with_runner(mut self, runner: RunnersPart) -> Walk {
        self.runner = Some(runner);
        self
    }

    /// Sets the rig, at the place in the procedure that asks for it.
    pub(crate) fn calibrate(&mut self) -> Result<(), Halt> {
        if let Some(open) = self.under_test() {
            return Err(Fault::of(format!("calibrate() can't stand inside the test of \"{open}\"")).into());
        }
        match self.runner {
            Some(runner) => (runner.set_rig)(self),
            None => Err(Fault::of("the rig can't be set here").into()),
        }
    }

    /// Ends the tests, before anything is put together that a last look at the rig or a repair would have to open
    /// again; what comes then has this title.
    pub(crate) fn close(&mut self, title: String) -> Result<(), Halt> {
        if let Some(open) = self.under_test() {
            return Err(Fault::of(format!("closing(...) can't stand inside the test of \"{open}\"")).into());
        }
        if self.is_closed {
            return Err(Fault::of("closing(...) stands once, behind the last test").into());
        }
        if let Some(runner) = self.runner {
            (runner.close)(self)?;
        }
        self.is_closed = true;
        self.tell(Told::Section { title })
    }

    /// Ends the tests where the procedure has not done so itself.
    pub(crate) fn close_if_open(&mut self) -> Result<(), Halt> {
        match self.runner.filter(|_| !self.is_closed) {
            Some(runner) => (runner.close)(self),
            None => Ok(()),
        }
    }

    pub(crate) fn title(&self) -> Option<&Title> {
        self.title.as_ref()
    }

    /// Returns the circuits that are sure not to be as they should, and their verdicts.
    pub(crate) fn amiss(&self) -> impl Iterator<Item = (&Arc<Circuit>, Verdict)> {
        let ended = self.circuits.iter().filter_map(|(circuit, ended)| Some((circuit, ended.flatten()?)));
        ended.filter(|(circuit, verdict)| {
            verdict.is_amiss() || *verdict == Verdict::Retest && self.unsound.contains(&circuit.name)
        })
    }

    pub(crate) fn bench(&self) -> &BenchState {
        &self.bench
    }

    pub(crate) fn vacuum_unit(&self) -> &'static Unit {
        self.vacuum_unit
    }

    pub(crate) fn expect_circuits(&mut self, n_circuits: usize) {
        self.place.n_circuits = self.planned.as_ref().map_or(n_circuits, |(circuits, _)| circuits.len());
    }

    pub(crate) fn titled(&mut self, title: Title) -> Result<(), Halt> {
        if self.title.is_some() {
            return Err(Fault::of("procedure(...) stands once, at the top").into());
        }
        check_title(&title)?;
        self.place.map = title.map.clone().map(Rc::new);
        self.title = Some(title);
        if self.title_only { Err(Halt::FarEnough) } else { Ok(()) }
    }

    pub(crate) fn tell(&mut self, told: Told) -> Result<(), Halt> {
        self.n_told += 1;
        at_most(MOST_TOLD, self.n_told, "things said and described")?;
        let n_characters = check_told(&told)?;
        self.give_out(n_characters)?;
        if let Told::Section { title } = &told {
            self.place.section = Some(title.clone());
        }
        self.desk.tell(&told);
        Ok(())
    }

    /// Takes note of a conclusion, about the circuit under test where there is one.
    pub(crate) fn found(&mut self, text: String) -> Result<(), Halt> {
        let circuit = self.under_test();
        self.tell(Told::Found { circuit, text })
    }

    /// Asks a question of the procedure's. The first of a test for which something is done, or a reading taken, has the
    /// circuit's set-up with it.
    pub(crate) fn ask(&mut self, words: &str, wants: Wants) -> Result<Answer, Halt> {
        let is_done = matches!(wants, Wants::Ready | Wants::Wait { .. } | Wants::Reading { .. });
        let set_up = if is_done { self.set_up.take() } else { None };
        let words = match set_up {
            Some(set_up) => [&set_up, words].join(" ").trim().to_owned(),
            None => words.trim().to_owned(),
        };
        let answer = self.put(Asker::Procedure, words, wants)?;
        self.end = match answer {
            Answer::Unable(_) => TestEnd::Left,
            Answer::NotFitted(_) => TestEnd::NotFitted,
            _ => return Ok(answer),
        };
        if self.place.circuit.is_some() { Err(Halt::LeaveCircuit) } else { Ok(answer) }
    }

    /// Asks a question of the runner's own, which belongs to the circuit under test where there is one.
    pub(crate) fn ask_for_runner(&mut self, words: impl Into<String>, wants: Wants) -> Result<Answer, Halt> {
        self.put(Asker::Runner, words.into(), wants)
    }

    /// Asks what is to be done about a circuit, after the tests.
    pub(crate) fn ask_about(
        &mut self,
        circuit: &Arc<Circuit>,
        words: String,
        wants: Wants,
    ) -> Result<(), Halt> {
        self.place.decided = Some(Arc::clone(circuit));
        self.ask_for_runner(words, wants)?;
        self.place.decided = None;
        Ok(())
    }

    pub(crate) fn begin_calibration(&mut self) {
        self.bench.begin_calibration();
    }

    pub(crate) fn show_coaching(&mut self) {
        self.desk.show(&Shown::Coached(&self.bench));
    }

    pub(crate) fn show_calibration(&mut self) {
        if let Some(calibration) = self.bench.calibration() {
            self.desk.show(&Shown::Calibrated(calibration));
        }
    }

    fn give_out(&mut self, n_characters: usize) -> Result<(), Halt> {
        self.n_characters += n_characters;
        at_most(MOST_TEXT, self.n_characters, "characters of text")
    }

    pub(super) fn under_test(&self) -> Option<String> {
        self.place.circuit.as_ref().map(|circuit| circuit.name.clone())
    }

    fn put(&mut self, asker: Asker, words: String, wants: Wants) -> Result<Answer, Halt> {
        self.n_asked += 1;
        at_most(MOST_QUESTIONS, self.n_asked, "questions")?;
        let n_characters = check_question(&words, &wants)?;
        self.give_out(n_characters)?;
        let circuit = self.under_test();
        // Nothing that a script names or asks holds this character.
        let key = [asker.word(), wants.kind(), circuit.as_deref().unwrap_or_default(), &words].join("\0");
        let times = self.times_asked.entry(key).or_insert(0);
        *times += 1;
        let question = Question { asker, circuit, words, occurrence: *times, wants };
        let answer = self.desk.ask(&question, &self.place)?;
        self.place.picture = None;
        let refused = |refusal: Refusal| Fault::of(format!("the answer does not fit: {refusal}"));
        question.accepts(&answer).map_err(refused)?;
        self.bench.learn(&question, &answer).map_err(|error| Fault::of(error.to_string()))?;
        self.place.barometer = self.bench.barometer().map(|barometer| barometer.station());
        Ok(answer)
    }
}
