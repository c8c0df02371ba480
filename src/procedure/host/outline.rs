use std::cell::{Cell, RefCell};
use std::rc::Rc;

use super::{Aside, Desk, Fault, Place, Program, RunnersPart, Shown, Stop, Title, Walk};
use crate::leak::{Limits, OilState};
use crate::quantity::{Dimension, INCH_OF_MERCURY, UNITS, Unit};
use crate::record::{Answer, Asker, BenchState, Circuit, HoseOn, PictureDigest, Question, Spot, Told, Wants};

/// What a procedure does, as far as a few straight walks through it show.
#[derive(Debug, Clone, Default)]
pub(crate) struct Outline {
    pub title: Title,
    /// The circuits that it describes; each name once.
    pub circuits: Vec<Circuit>,
    /// What else circuits of these names are described as, where other answers lead to other limits or texts.
    pub variants: Vec<Circuit>,
    /// The limits of what it has measured, in the order met.
    pub measurements: Vec<Measurement>,
    /// Its readings that have a label.
    pub readings: Vec<LabelledReading>,
    /// Its pictures.
    pub pictures: Vec<PictureDigest>,
    /// Every caution, also those that no walk came by.
    pub cautions: Vec<String>,
    /// Whether a walk came to the hose before any caution had a word of it.
    pub is_silent_on_suction: bool,
}

/// A reading that a procedure tells from others of the circuit.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct LabelledReading {
    pub circuit: String,
    pub label: String,
    /// Where it is taken and what it is judged by.
    pub spot: Spot,
    /// Whether it has some of that to itself.
    pub is_apart: bool,
}

/// The limits of a value that a procedure has measured.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Measurement {
    pub circuit: Option<String>,
    pub words: String,
    /// What lies within, as `12.7 mm to 12.8 mm`.
    pub within: String,
}

impl Outline {
    /// Walks a procedure three times, with everything sound, worn and leaking, and notes what comes; where it breaks
    /// while everything is sound, that is given too.
    pub(super) fn of(program: &Program) -> (Outline, Option<Fault>) {
        let (title, pictures) = (program.title.clone(), program.source.picture_digests());
        let mut outline = Outline { title, pictures, ..Outline::default() };
        program.texts_of("caution").for_each(|text| add_new(&mut outline.cautions, text.clone()));
        let outline = Rc::new(RefCell::new(outline));
        let mut fault = None;
        for mood in [Mood::Sound, Mood::Worn, Mood::Leaking] {
            let set_rig = |walk: &mut Walk| {
                walk.show_calibration();
                Ok(())
            };
            let runner = RunnersPart { set_rig, close: |_| Ok(()), commit: None };
            let walk = Walk::straight(mood, program.title.oil, &outline).with_runner(runner);
            if let Err(Stop::Broken(found)) = program.walk_on(walk) {
                fault = Some(*found).filter(|_| mood == Mood::Sound);
                // A script that loops without end need not do it again.
                break;
            }
        }
        (outline.take(), fault)
    }

    fn asked(&mut self, question: &Question, place: &Place) {
        match &question.wants {
            Wants::Acknowledgement => add_new(&mut self.cautions, question.words.clone()),
            Wants::Number { .. } => {
                if let Some(within) = question.within() {
                    let (circuit, words) = (question.circuit.clone(), question.words.clone());
                    add_new(&mut self.measurements, Measurement { circuit, words, within });
                }
            }
            Wants::Reading { on: HoseOn::Circuit { label: Some(label), own, .. }, .. } => {
                let circuit = question.circuit.clone().unwrap_or_default();
                let (label, spot, is_apart) = (label.clone(), place.spot(question), !own.is_empty());
                add_new(&mut self.readings, LabelledReading { circuit, label, spot, is_apart });
            }
            _ => {}
        }
    }

    fn describe(&mut self, circuit: &Circuit) {
        if self.circuits.iter().all(|known| known.name != circuit.name) {
            self.circuits.push(circuit.clone());
        } else if !self.circuits.contains(circuit) {
            add_new(&mut self.variants, circuit.clone());
        }
    }
}

/// Returns whether a caution, or several in one text, has a word of the hose and its suction.
pub(crate) fn warns_of_suction(caution: &str) -> bool {
    let caution = caution.to_lowercase();
    ["hose", "suction", "vacuum"].iter().any(|word| caution.contains(word))
}

fn add_new<T: PartialEq>(list: &mut Vec<T>, item: T) {
    if !list.contains(&item) {
        list.push(item);
    }
}

/// How whoever answers as a matter of course finds everything.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Mood {
    /// As it should be.
    Sound,
    /// Not as it should be: between the limits, above those of a passage, and below those of a measurement.
    Worn,
    /// Far off: below the limits, and above those of a measurement.
    Leaking,
}

impl Mood {
    /// Says what would be typed to a question, whatever it is.
    pub(crate) fn typed(self, question: &Question, place: &Place) -> String {
        match &question.wants {
            Wants::Acknowledgement => "ok".to_owned(),
            Wants::Ready => "done".to_owned(),
            Wants::Wait { .. } => String::new(),
            Wants::Yes => if self == Mood::Leaking { "no" } else { "yes" }.to_owned(),
            Wants::Choice { options } | Wants::Decision { options, .. } => match self {
                Mood::Sound => "1".to_owned(),
                Mood::Worn => options.len().div_ceil(2).to_string(),
                Mood::Leaking => options.len().to_string(),
            },
            Wants::Text | Wants::Technician => "as it should be".to_owned(),
            Wants::Barometer => "101.325 kPa".to_owned(),
            Wants::AirTemperature => "20 C".to_owned(),
            Wants::Number { low, high, .. } => match question.unit() {
                Some(unit) => self.number(*low, *high, unit),
                None => "1".to_owned(),
            },
            Wants::Reading { .. } => format!("{} Pa", self.reading(place.spot(question).limits)),
        }
    }

    /// Says a number by its limits, in SI: within them, below the lower one or above the upper one.
    pub(crate) fn number(self, low: Option<f64>, high: Option<f64>, unit: &Unit) -> String {
        let (low, high) = (low.map(|si| unit.from_si(si)), high.map(|si| unit.from_si(si)));
        let is_count = unit.dimension == Dimension::Count;
        let margin = |limit: f64| if limit == 0.0 || is_count { 1.0 } else { limit.abs() * 0.1 };
        let number = match (self, low, high) {
            (_, None, None) => 1.0,
            (Mood::Sound, Some(low), _) if is_count => low,
            (Mood::Sound, None, Some(high)) if is_count => high,
            (Mood::Sound, Some(low), Some(high)) => f64::midpoint(low, high),
            (Mood::Sound, Some(low), None) => low + margin(low),
            (Mood::Sound, None, Some(high)) => high - margin(high),
            (Mood::Worn, Some(low), _) | (Mood::Leaking, Some(low), None) => low - margin(low),
            (Mood::Worn, None, Some(high)) | (Mood::Leaking, _, Some(high)) => high + margin(high),
        };
        // As few decimals as leave it on its side of the limits: that is how a technician would write it.
        let is_alike = |other: &f64| {
            low.is_none_or(|low| (*other < low) == (number < low))
                && high.is_none_or(|high| (*other > high) == (number > high))
        };
        let rounded = |scale: f64| (number * scale).round() / scale;
        let number = [1e2, 1e3, 1e4].map(rounded).into_iter().find(is_alike).unwrap_or(rounded(1e6));
        unit.written(number)
    }

    /// A reading in Pa; on a bench that stands exactly on its points it is a standard reading.
    fn reading(self, limits: Option<Limits>) -> f64 {
        let Some(limits) = limits else { return 20.0 * INCH_OF_MERCURY };
        let (lower, upper) = (limits.lower().si(), limits.upper().si());
        match (self, limits.is_window()) {
            (Mood::Sound, false) | (Mood::Worn, true) => f64::midpoint(upper, 25.0 * INCH_OF_MERCURY),
            (Mood::Worn, false) | (Mood::Sound, true) => f64::midpoint(upper, lower),
            (Mood::Leaking, _) => lower / 2.0,
        }
    }
}

/// A desk that answers every question in one mood, and notes in an outline what it comes by.
struct Straight {
    mood: Mood,
    outline: Rc<RefCell<Outline>>,
    /// Whether a caution has had a word of the hose.
    is_warned: Cell<bool>,
}

impl Straight {
    /// Notes that the hose is in somebody's hand from here on.
    fn takes_hose(&self) {
        self.outline.borrow_mut().is_silent_on_suction |= !self.is_warned.get();
    }
}

impl Walk {
    /// Begins a walk in one mood on an exact bench, which notes what it comes by.
    pub(crate) fn straight(mood: Mood, oil: Option<OilState>, outline: &Rc<RefCell<Outline>>) -> Walk {
        let desk = Straight { mood, outline: Rc::clone(outline), is_warned: Cell::default() };
        Walk::new(Box::new(desk), BenchState::exact(oil), &UNITS[0])
    }
}

impl Desk for Straight {
    fn tell(&mut self, told: &Told) {
        match told {
            Told::Described { circuit } => self.outline.borrow_mut().describe(circuit),
            // At the bench the rig is set as the first test begins.
            Told::Began { .. } => self.takes_hose(),
            _ => {}
        }
    }

    fn show(&mut self, shown: &Shown<'_>) {
        if let Shown::Calibrated(_) = shown {
            self.takes_hose();
        }
    }

    fn ask(&mut self, question: &Question, place: &Place) -> Result<Answer, Aside> {
        if question.asker == Asker::Procedure {
            self.outline.borrow_mut().asked(question, place);
        }
        if question.wants == Wants::Acknowledgement && warns_of_suction(&question.words) {
            self.is_warned.set(true);
        }
        let typed = self.mood.typed(question, place);
        question.read(&typed).map_err(|refusal| Aside::Lost(refusal.to_string()))
    }
}
