use std::collections::HashMap;
use std::rc::Rc;
use std::sync::Arc;

use ahash::RandomState;

use super::wording::{RESEAT, at_most, check_question, check_title, check_told, reading_words};
use super::{Desk, Fault, Halt, LastTake, Look, Place, RunnersPart, Shown, Site, Title, Trail};
use crate::leak::{TestEnd, Verdict};
use crate::quantity::Unit;
use crate::record::{
    Answer, Asker, BenchState, Circuit, HoseOn, Next, Question, Refusal, Spot, Takes, TakesOutcome, Told,
    Wants,
};

const MOST_QUESTIONS: usize = 2_000;
const MOST_TOLD: usize = 5_000;
/// The most characters that one walk may tell and ask in all.
const MOST_TEXT: usize = 1_000_000;
pub(crate) const MOST_CIRCUITS: usize = 500;

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
    runner: Option<RunnersPart>,
    /// Whether the tests are over, with the last look at the rig and what was decided.
    is_closed: bool,
    trail: Option<Trail>,
    /// Each with how its test has ended, if it has: with a verdict unless it was left or passed over.
    circuits: Vec<(Arc<Circuit>, Option<Option<Verdict>>)>,
    pub(super) place: Place,
    /// What is still to be done before the circuit under test is read for the first time.
    set_up: Option<String>,
    judged: Vec<Verdict>,
    /// What tells the readings that count of the circuit under test from each other.
    labels: Vec<String>,
    /// The circuits that are sure not to be sound, though no verdict says how bad they are.
    unsound: Vec<String>,
    /// What the reading that is being taken says, were it left now.
    unfinished: Option<Verdict>,
    end: TestEnd,
    /// The circuits that are to be tested, and how many of them on this walk; all where there is none.
    planned: Option<(Vec<String>, usize)>,
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

    pub(crate) fn describe(&mut self, circuit: Arc<Circuit>) -> Result<(), Halt> {
        if self.circuits.iter().any(|(known, _)| known.name == circuit.name) {
            return Err(Fault::of(format!("there is a circuit \"{}\" already", circuit.name))
                .help("give it another name")
                .into());
        }
        if self.circuits.len() == MOST_CIRCUITS {
            return Err(Fault::of(format!("more than {MOST_CIRCUITS} circuits in one procedure")).into());
        }
        self.tell(Told::Described { circuit: Arc::clone(&circuit) })?;
        self.circuits.push((circuit, None));
        if self.planned.is_none() {
            self.place.n_circuits = self.place.n_circuits.max(self.circuits.len());
        }
        Ok(())
    }

    /// Takes note that the unit does not have a circuit, in place of its test.
    pub(crate) fn not_fitted(&mut self, name: &str, why: &str) -> Result<(), Halt> {
        if self.come_to(name)?.is_none() {
            return Ok(());
        }
        self.conclude(
            name,
            Some(Verdict::NotFitted),
            Told::NotFitted { circuit: name.to_owned(), why: why.to_owned() },
        )
    }

    /// Comes to the test of a circuit, once; gives the circuit where it is walked at all.
    fn come_to(&mut self, name: &str) -> Result<Option<Arc<Circuit>>, Halt> {
        if let Some(open) = self.under_test() {
            return Err(Fault::of(format!("the test of \"{open}\" has not ended"))
                .help("test one circuit at a time")
                .into());
        }
        if self.is_closed {
            return Err(Fault::of(format!("the test of \"{name}\" stands behind closing(...)"))
                .help("put closing(...) behind the last test: the rig is looked at there for the last time")
                .into());
        }
        let Some((circuit, ended)) = self.circuits.iter_mut().find(|(circuit, _)| circuit.name == name)
        else {
            return Err(Fault::of(format!("there is no circuit \"{name}\"")).into());
        };
        if ended.is_some() {
            return Err(Fault::of(format!("\"{name}\" has been tested already"))
                .help("test each circuit once")
                .into());
        }
        *ended = Some(None);
        if let Some((planned, n)) = &self.planned
            && !planned.iter().take(*n).any(|planned| planned == name)
        {
            if let Some(trail) = &self.trail {
                trail.passed(name);
            }
            self.desk.tell(&Told::Passed { circuit: name.to_owned() });
            return Ok(None);
        }
        Ok(Some(Arc::clone(circuit)))
    }

    /// Begins the test of a circuit; returns whether it is walked at all.
    pub(crate) fn begin_test(&mut self, name: &str) -> Result<bool, Halt> {
        let Some(circuit) = self.come_to(name)? else { return Ok(false) };
        // What a procedure warns of before its tests is read before a hand is on the rig.
        if self.bench.calibration().is_none() {
            self.calibrate()?;
        }
        self.keep_rig(Some(name))?;
        self.judged.clear();
        self.labels.clear();
        self.unfinished = None;
        self.end = TestEnd::Whole;
        self.set_up.clone_from(&circuit.set_up);
        self.place.begin(circuit, &self.bench);
        self.tell(Told::Began { circuit: name.to_owned() })?;
        Ok(true)
    }

    pub(crate) fn end_test(&mut self) -> Result<(), Halt> {
        let commit = self.runner.and_then(|runner| runner.commit).filter(|_| self.end == TestEnd::Whole);
        if let (Some(commit), Some(circuit)) = (commit, self.place.circuit.clone()) {
            commit(self, &circuit, &self.labels.clone())?;
        }
        let Some(circuit) = self.place.circuit.take() else { return Ok(()) };
        self.judged.extend(self.unfinished.take());
        if self.judged.is_empty() && self.end == TestEnd::Whole {
            return Err(Fault::of(format!(
                "the test of \"{}\" ended without a reading that counts",
                circuit.name
            ))
            .help("end it with read")
            .into());
        }
        let verdict = Verdict::concluded(&self.judged, self.end);
        let n_readings = self.judged.len();
        self.desk.show(&Shown::Concluded { circuit: &circuit.name, verdict, n_readings });
        self.conclude(&circuit.name, verdict, Told::Ended { circuit: circuit.name.clone() })
    }

    fn conclude(&mut self, name: &str, verdict: Option<Verdict>, told: Told) -> Result<(), Halt> {
        if let Some((_, ended)) = self.circuits.iter_mut().find(|(known, _)| known.name == name) {
            *ended = Some(verdict);
        }
        self.tell(told)?;
        match &self.planned {
            // Tested on an earlier walk, and counted there.
            Some((planned, n)) if planned.iter().take(n - 1).any(|earlier| *earlier == name) => Ok(()),
            planned => {
                self.place.n_tested += 1;
                let is_far_enough = planned.as_ref().is_some_and(|(planned, n)| *n < planned.len());
                if is_far_enough { Err(Halt::FarEnough) } else { Ok(()) }
            }
        }
    }

    /// Takes a reading of the circuit under test; where it condemns, seats the plate again and reads again first.
    /// A trial is read once and left out of the circuit's verdict. What the reading does not have to itself is its
    /// circuit's; its own set-up comes on top of that.
    pub(crate) fn read(
        &mut self,
        label: Option<&str>,
        trial: bool,
        own: &Spot,
        set_up: Option<&str>,
    ) -> Result<TakesOutcome, Halt> {
        let (Some(circuit), Some(calibration)) =
            (self.place.circuit.clone(), self.bench.calibration().copied())
        else {
            return Err(Fault::of("read and trial belong inside test(circuit, |t| { ... })").into());
        };
        let has_set_up = self.set_up.is_some();
        let spot = circuit.spot(own);
        // A tight circuit reads as the plugged hose did, and no look at the needle is like another.
        let uncertain = self.bench.bench().map_or(0.0, |bench| bench.repeatability_limit().si());
        if let Some(label) = label.filter(|label| !trial && !self.labels.iter().any(|known| known == label)) {
            self.labels.push(label.to_owned());
        }
        // Where a verdict is committed to, nothing may give it away, asking once more included.
        let mut takes = Takes::new(trial || self.runner.is_some_and(|runner| runner.commit.is_some()));
        self.place.take = 0;
        loop {
            self.place.take += 1;
            let to_do = if self.place.take == 1 { set_up } else { Some(RESEAT) };
            let words = reading_words(to_do, label, has_set_up);
            let wants = Wants::Reading {
                on: HoseOn::Circuit { label: label.map(str::to_owned), trial, own: own.clone() },
                deepest_pa: calibration.plugged().si() + uncertain,
                unit: self.vacuum_unit.symbol.to_owned(),
            };
            if let Answer::Quantity { entry, .. } = self.ask(&words, wants)? {
                takes.add(&entry).map_err(|error| Fault::of(error.to_string()))?;
            }
            let outcome = takes.outcome(&self.bench, &spot).map_err(|error| Fault::of(error.to_string()))?;
            let last = |(reading, _): &_| LastTake { reading: *reading, label: label.map(str::to_owned) };
            self.place.last = outcome.takes.last().map(last);
            let next = takes.next(&outcome);
            let more = next != Next::Enough;
            self.desk.show(&Shown::Judged {
                circuit: &circuit.name,
                spot: &spot,
                calibration: &calibration,
                outcome: &outcome,
                more,
            });
            match next {
                Next::Enough => {
                    self.unfinished = None;
                    if !trial {
                        self.judged.push(outcome.verdict());
                        if outcome.is_sure_amiss {
                            self.unsound.push(circuit.name.clone());
                        }
                    }
                    return Ok(outcome);
                }
                Next::Reseat => self.unfinished = Some(outcome.verdict().unfinished()),
            }
        }
    }

    fn give_out(&mut self, n_characters: usize) -> Result<(), Halt> {
        self.n_characters += n_characters;
        at_most(MOST_TEXT, self.n_characters, "characters of text")
    }

    fn under_test(&self) -> Option<String> {
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
