use std::cell::RefCell;
use std::collections::BTreeSet;
use std::rc::Rc;
use std::sync::Arc;

use crate::leak::{Bench, Verdict};
use crate::picture::Picture;
use crate::quantity::{Pressure, Quantity};
use crate::record::{
    Answer, BenchState, Check, Circuit, HoseOn, Photo, PortMap, Question, Spot, TakesOutcome, Told, Wants,
};
use crate::rig::Calibration;

/// Whoever answers a procedure's questions: a person, a journal on replay, a file of answers, an explorer, a
/// simulated rig.
pub(crate) trait Desk {
    fn tell(&mut self, _told: &Told) {}

    /// Answers a question; the answer has been checked against it with [`Question::accepts`].
    fn ask(&mut self, question: &Question, place: &Place) -> Result<Answer, Aside>;

    /// Says what the rig needs before the test of this circuit, or before the end where none is named.
    fn duty(&mut self, _before: Option<&str>) -> Duty {
        Duty::None
    }

    /// Forgets what was shown of readings: the walk begins anew, and what still stands is recalled.
    fn forget(&mut self) {}

    /// Takes note of what was shown before the session was taken up again.
    fn recall(&mut self, _shown: &Shown<'_>) {}

    /// Shows what follows from the answers; nothing that a script could see depends on it.
    fn show(&mut self, _shown: &Shown<'_>) {}
}

/// What a rig needs before it is read on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Duty {
    None,
    /// A look at both points, to see whether it has drifted.
    Check,
    /// A look that was made before it was found to have drifted; more is needed behind that.
    CheckBeforeCalibrating,
    /// A new calibration, because it has.
    Calibrate,
}

/// What is said at a desk instead of an answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Aside {
    /// Go back over this many answers, at least one.
    Back(usize),
    /// Take one answer again, this many before the question, at least one; those after it stay.
    Again(usize),
    /// Keep a note, then ask again.
    Jot(String),
    /// Keep a photo, with what it shows where that is said; then ask again.
    Photo {
        picture: Picture,
        words: Option<String>,
    },
    /// Somebody else tests from here on; then ask again.
    TakenOver(String),
    /// Keep what was done at a simulated bench, then ask again.
    Did(String),
    Park,
    /// The desk can answer no more; says why.
    Lost(String),
}

/// Where in its procedure a walk is.
#[derive(Debug, Clone, Default)]
pub(crate) struct Place {
    /// Title of the section, where there are sections.
    pub section: Option<String>,
    pub circuit: Option<Arc<Circuit>>,
    /// What the barometer in the room stands at, once that was asked.
    pub barometer: Option<Pressure>,
    /// The bench that the circuit is read on, and the probability that a verdict must reach.
    pub bench: Option<Bench>,
    pub confidence: f64,
    /// The circuit that is decided about, after the tests.
    pub decided: Option<Arc<Circuit>>,
    /// The picture of the unit, with its ports.
    pub map: Option<Rc<PortMap>>,
    /// A picture of what is asked for.
    pub picture: Option<String>,
    /// Which take of its reading is asked for, from 1.
    pub take: u32,
    /// What was read last of the circuit.
    pub last: Option<LastTake>,
    /// Circuits whose test has ended.
    pub n_tested: usize,
    /// How many circuits there are to expect.
    pub n_circuits: usize,
}

/// A take that was read before.
#[derive(Debug, Clone)]
pub(crate) struct LastTake {
    pub reading: Pressure,
    /// Which reading of its circuit it is of, where it is named.
    pub label: Option<String>,
}

impl Place {
    /// Comes to a circuit, of which nothing has been read.
    pub(crate) fn begin(&mut self, circuit: Arc<Circuit>, bench: &BenchState) {
        (self.circuit, self.last) = (Some(circuit), None);
        (self.bench, self.confidence) = (bench.bench().copied(), bench.confidence());
    }

    /// Returns where a question has the hose, and what is judged by there; nothing where no circuit is read.
    pub(crate) fn spot(&self, question: &Question) -> Spot {
        match (&question.wants, &self.circuit) {
            (Wants::Reading { on: HoseOn::Circuit { own, .. }, .. }, Some(circuit)) => circuit.spot(own),
            _ => Spot::default(),
        }
    }
}

/// What follows from the answers so far.
#[derive(Debug)]
pub(crate) enum Shown<'a> {
    /// A session goes on in which these cautions were read.
    Cautioned(&'a [&'a str]),
    /// A circuit was left in its middle, and its test begins again.
    BegunAgain(&'a str),
    /// A question was answered before, and the answer still fits.
    Kept { question: &'a Question, answer: &'a Answer },
    /// The rig is set, and what its two points say.
    Calibrated(&'a Calibration),
    /// The bench says what the next step of a calibration is, and why; that is put into words where somebody sees it.
    Coached(&'a BenchState),
    /// Both points of the rig were looked at.
    Checked(&'a Check),
    /// Both are looked at once more; says why.
    LookedAgain(&'a str),
    /// The rig has drifted, and these circuits are tested again; none where nothing was read since it was last good.
    Drifted(&'a [String]),
    /// A drift was found by two looks, and what was answered before it is not taken back.
    NoFurtherBack,
    /// There is no answer that could be taken back.
    NothingBefore,
    /// The last answers were taken back, from this question on, which is asked again.
    TakenBack { n: usize, question: &'a Question, answer: &'a Answer },
    /// A note was kept.
    Noted,
    /// A photo was kept, as one of a circuit where one is under test.
    PhotoKept { circuit: Option<&'a str>, photo: &'a Photo },
    /// A photo could not be kept; says why.
    PhotoLost(&'a str),
    /// Somebody else tests from here on.
    TakenOver(&'a str),
    /// What the takes of one reading mean.
    Judged {
        circuit: &'a str,
        spot: &'a Spot,
        calibration: &'a Calibration,
        outcome: &'a TakesOutcome,
        more: bool,
    },
    Concluded {
        circuit: &'a str,
        /// Its verdict; none where it could not be tested.
        verdict: Option<Verdict>,
        /// How many readings counted.
        n_readings: usize,
    },
}

/// A place in a script that calls a word.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Site {
    /// The file, relative to the procedure's folder.
    pub file: String,
    pub line: usize,
    /// The column in characters, from 1.
    pub column: usize,
}

impl Site {
    pub(crate) fn of(file: &str, position: rhai::Position) -> Site {
        Site {
            file: file.to_owned(),
            line: position.line().unwrap_or_default(),
            column: position.position().unwrap_or_default(),
        }
    }
}

/// The places that walks have come by, for whoever wants to know which were never reached, and what
/// the script looked at.
#[derive(Debug, Clone, Default)]
pub(crate) struct Trail(Rc<RefCell<Steps>>);

#[derive(Debug, Default)]
struct Steps {
    seen: BTreeSet<Site>,
    here: Option<Site>,
    trace: Trace,
}

/// What a script looked at on a walk.
#[derive(Debug, Default)]
pub(crate) struct Trace {
    /// What it asked of answers, each with how many questions came before.
    pub looks: BTreeSet<(usize, &'static str)>,
    /// The tests that a plan passed over, by their circuits, and where they stand.
    pub passed: Vec<(String, Site)>,
    /// Quantities and texts that it compared.
    pub compared: Vec<Compared>,
}

/// Something that a script compared.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Compared {
    Quantity(Quantity),
    Text(String),
}

/// More compared things of one walk than this are of no use.
const MOST_COMPARED: usize = 200;

impl Trail {
    pub(crate) fn step(&self, site: Site) {
        let mut steps = self.0.borrow_mut();
        if !steps.seen.contains(&site) {
            steps.seen.insert(site.clone());
        }
        steps.here = Some(site);
    }

    pub(crate) fn here(&self) -> Option<Site> {
        self.0.borrow().here.clone()
    }

    pub(crate) fn has_seen(&self, site: &Site) -> bool {
        self.0.borrow().seen.contains(site)
    }

    pub(crate) fn n_seen(&self) -> usize {
        self.0.borrow().seen.len()
    }

    /// Takes note that a test was passed over.
    pub(super) fn passed(&self, circuit: &str) {
        let mut steps = self.0.borrow_mut();
        if let Some(here) = steps.here.clone() {
            steps.trace.passed.push((circuit.to_owned(), here));
        }
    }

    pub(crate) fn compared(&self, what: Compared) {
        let compared = &mut self.0.borrow_mut().trace.compared;
        if compared.len() < MOST_COMPARED {
            compared.push(what);
        }
    }

    pub(crate) fn looked(&self, question: usize, at: &'static str) {
        self.0.borrow_mut().trace.looks.insert((question, at));
    }

    /// Returns what was asked of answers so far, each with how many questions came before.
    pub(crate) fn looks(&self) -> Vec<(usize, &'static str)> {
        self.0.borrow().trace.looks.iter().copied().collect()
    }

    /// Gives up what was looked at since it was last asked for.
    pub(crate) fn take(&self) -> Trace {
        std::mem::take(&mut self.0.borrow_mut().trace)
    }
}

/// Where an answer came from, so that whatever is asked of it is seen.
#[derive(Debug, Clone)]
pub(crate) struct Look {
    trail: Trail,
    question: usize,
}

impl Look {
    pub(crate) fn at(&self, property: &'static str) {
        self.trail.looked(self.question, property);
    }
}

impl Trail {
    pub(super) fn look(&self, question: usize) -> Look {
        Look { trail: self.clone(), question }
    }
}
