use super::doing::{Act, Doing};
use super::unit::TestUnit;
use crate::quantity::{INCH, Length, Pressure};
use crate::record::{Circuit, Event, Exercise, HoseOn, Question, Wants, What};
use crate::rig::coaching::CalibrationGoal;
use crate::rig::simulated::{Chance, CircuitLeak, Load, Settings, SimulatedRig};
use crate::rig::{Condition, Valve};

/// The bore of the orifice that lies on the bench where it is the wrong one.
const WRONG_BORE: Length = Length::constant(0.040 * INCH);
/// By how many turns the bleed valve is upset where somebody brushes against it.
const BRUSHED_TURNS: f64 = 0.2;
/// How long a turn or a fitting takes, in s; seating a plate takes longer.
const HAND_S: f64 = 2.0;
/// How many times longer than usual the oil takes to leave a circuit here, so that it is worth waiting for.
const COLD_OIL: f64 = 2.5;

/// What the hose's end is on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum HoseEnd {
    Off,
    Plug,
    Orifice,
    /// A circuit's port, by the circuit's name.
    Port(String),
}

/// Where in the procedure the student stands: the circuit under test, and which of its readings is asked for.
#[derive(Debug, Clone, Default, PartialEq)]
struct Here {
    circuit: Option<String>,
    on: Option<HoseOn>,
}

/// The bench of an exercise: the simulated rig and unit, and what the student has done with them.
///
/// It is a pure function of the exercise and of the events of the attempt, so a parked attempt goes on where it was,
/// and an audit sees the needle that the student saw.
#[derive(Debug, Clone)]
pub(crate) struct Workbench {
    unit: TestUnit,
    rig: SimulatedRig,
    hose: HoseEnd,
    here: Here,
    /// How often a plate was seated.
    n_seats: u64,
    /// What comes in below the plate, in m2.
    seat: f64,
    is_wiped: bool,
    /// Whether the faces were wiped before the plate was seated.
    pub(super) is_seated_clean: bool,
    /// Whether the faces of the circuit under test are clean: wiped, and no plate was seated since without that.
    is_clean: bool,
    is_blocked: bool,
    /// Whether the orifice at hand is another than the rig's.
    is_wrong_orifice: bool,
    /// Whether the bleed valve was brushed against.
    is_brushed: bool,
    /// How long the student has been at it, in s of the bench.
    pub(crate) seconds: f64,
}

impl Workbench {
    /// Sets the bench up as the exercise has it, for a procedure that describes these circuits.
    pub(crate) fn new(exercise: &Exercise, circuits: &[Circuit]) -> Workbench {
        let unit = TestUnit::new(exercise, circuits);
        let mut settings = Settings::drawn(exercise.barometer_pa, &mut Chance::new(exercise.seed));
        // The student's own eye errs, and needs no help.
        settings.dial.kind = settings.dial.kind.map(|_| unit.dial());
        (settings.dial.sticking, settings.dial.jitter, settings.dial.reading_error) = (0.0, 0.0, 0.0);
        settings.patience = 0.0;
        let bench = Workbench {
            is_wrong_orifice: unit.has_wrong_orifice(),
            unit,
            rig: SimulatedRig::new(exercise.seed, settings),
            hose: HoseEnd::Off,
            here: Here::default(),
            n_seats: 0,
            seat: 0.0,
            is_wiped: false,
            is_seated_clean: false,
            is_clean: false,
            is_blocked: false,
            is_brushed: false,
            seconds: 0.0,
        };
        let bench = if exercise.is_set { bench.with_rig_set() } else { bench };
        bench.with_hose(HoseEnd::Off)
    }

    /// Sets both points as the coach asks for them, back and forth until neither moves the other any more.
    fn with_rig_set(mut self) -> Workbench {
        const ROUNDS: usize = 25;
        let Ok(goal) = CalibrationGoal::usual(self.settings().barometer) else { return self };
        let goal = goal.on(&self.settings().dial.dial);
        for _ in 0..ROUNDS {
            self.rig.connect(Load::Plugged);
            self.rig.set(Valve::Bleed, goal.plugged());
            self.rig.connect(Load::Orifice);
            self.rig.set(Valve::Inlet, goal.through());
        }
        self
    }

    /// Takes in an event of the attempt.
    pub(crate) fn take(&mut self, event: &What) {
        match event {
            What::Answered { question, .. } => self.stand_at(question),
            What::Did { circuit, on, doing } => {
                self.stand(Here { circuit: circuit.clone(), on: on.clone() });
                if let Some(Ok(Act::Doing(doing))) = Act::read(doing) {
                    self.act(doing);
                }
            }
            _ => {}
        }
    }

    /// Takes in all that has happened so far.
    pub(crate) fn after(mut self, events: &[Event]) -> Workbench {
        events.iter().for_each(|event| self.take(&event.what));
        self
    }

    /// Comes to a question: a valve is where the procedure wants it, and the plate lies where it lay.
    pub(crate) fn stand_at(&mut self, question: &Question) {
        let on = question.hose_on().cloned();
        self.stand(Here { circuit: question.circuit.clone(), on });
    }

    fn stand(&mut self, here: Here) {
        if here != self.here {
            self.is_clean &= here.circuit == self.here.circuit;
            self.here = here;
            self.refresh();
        }
    }

    fn act(&mut self, doing: Doing) {
        self.seconds += HAND_S;
        match doing {
            Doing::Turn(valve, turns) => {
                self.rig.turn_to(valve, self.rig.position(valve) + turns);
                self.rig.wait(HAND_S);
            }
            Doing::Plug => self.put(HoseEnd::Plug),
            Doing::Orifice => self.put(HoseEnd::Orifice),
            Doing::Off | Doing::Inspect => self.put(HoseEnd::Off),
            Doing::Swap => {
                self.is_wrong_orifice = !self.is_wrong_orifice;
                self.refresh();
            }
            Doing::Wipe => (self.is_wiped, self.is_clean) = (true, true),
            Doing::Seat => self.seat_plate(),
            Doing::Block | Doing::Unblock => {
                self.is_blocked = doing == Doing::Block;
                self.refresh();
            }
            Doing::Wait(seconds) => {
                self.seconds += seconds;
                self.rig.wait(seconds);
            }
        }
    }

    fn seat_plate(&mut self) {
        let Some(circuit) = self.here.circuit.clone() else { return };
        self.n_seats += 1;
        self.seat = self.unit.seat(&circuit, self.n_seats, self.is_wiped);
        self.is_seated_clean = std::mem::take(&mut self.is_wiped);
        self.is_clean = self.is_seated_clean;
        if !self.is_brushed && self.unit.is_brushed_at(&circuit) {
            self.is_brushed = true;
            self.rig.turn_to(Valve::Bleed, self.rig.position(Valve::Bleed) + BRUSHED_TURNS);
        }
        self.put(HoseEnd::Port(circuit));
    }

    fn put(&mut self, hose: HoseEnd) {
        // A pad comes off with the plate.
        self.is_blocked = false;
        self.hose = hose;
        self.rig.connect(self.load());
        self.rig.wait(HAND_S);
    }

    fn with_hose(mut self, hose: HoseEnd) -> Workbench {
        self.put(hose);
        self
    }

    fn refresh(&mut self) {
        self.rig.change(self.load());
    }

    fn load(&self) -> Load {
        match &self.hose {
            HoseEnd::Off => Load::Open,
            HoseEnd::Plug => Load::Plugged,
            HoseEnd::Orifice if self.is_wrong_orifice => Load::Hole { diameter: WRONG_BORE },
            HoseEnd::Orifice => Load::Orifice,
            HoseEnd::Port(circuit) => {
                let on = self.here.on.as_ref().filter(|_| self.here.circuit.as_ref() == Some(circuit));
                let leak = self.unit.leak(circuit, on, self.is_blocked);
                leak.map_or(Load::Open, |leak| {
                    let mut film = leak.film;
                    film.clears_in *= COLD_OIL;
                    Load::Circuit(CircuitLeak { seat: self.seat, film, ..leak })
                })
            }
        }
    }
}

/// What can be seen at it.
impl Workbench {
    pub(crate) fn unit(&self) -> &TestUnit {
        &self.unit
    }

    pub(crate) fn hose(&self) -> &HoseEnd {
        &self.hose
    }

    pub(crate) fn settings(&self) -> &Settings {
        self.rig.settings()
    }

    /// Returns by how many turns a valve is open.
    pub(crate) fn turns(&self, valve: Valve) -> f64 {
        self.rig.position(valve)
    }

    pub(crate) fn needle(&self) -> Pressure {
        self.rig.clone().shows()
    }

    /// Returns where it will stand when nothing moves any more.
    pub(crate) fn at_rest(&self) -> Pressure {
        let mut later = self.rig.clone();
        later.wait(1e4);
        later.shows()
    }

    /// Returns whether the needle stands: a creeping one moves by less than a tenth of a mark before the eye says so.
    pub(crate) fn is_still(&self) -> bool {
        let still = 0.1 * self.settings().dial.dial.smallest_division().si();
        (self.at_rest().si() - self.needle().si()).abs() <= still
    }

    /// Returns what the needle would show with the plate well seated, once the oil has gone.
    pub(crate) fn well_handled(&self) -> Pressure {
        let mut bench = self.clone();
        bench.seat = 0.0;
        bench.refresh();
        bench.at_rest()
    }

    /// Returns what the needle would show with the rig's own orifice, or with the plug.
    pub(crate) fn would_show(&self, condition: Condition) -> Pressure {
        let mut bench = self.clone();
        bench.is_wrong_orifice = false;
        bench.put(hose_of(condition));
        bench.at_rest()
    }

    /// Returns whether the hose is on what a reading is to be taken of, and the neighbour's port is as that wants it.
    pub(crate) fn is_ready_for(&self, question: &Question) -> bool {
        match &question.wants {
            Wants::Reading { on: HoseOn::Rig(step), .. } => self.is_on(step.condition()),
            Wants::Reading { on: HoseOn::Check(condition), .. } => self.is_on(*condition),
            Wants::Reading { on: HoseOn::Circuit { label, trial, .. }, .. } => {
                let wants_block = *trial && label.as_deref().is_some_and(asks_for_a_pad);
                matches!(&self.hose, HoseEnd::Port(name) if Some(name) == question.circuit.as_ref())
                    && self.is_blocked == wants_block
            }
            _ => true,
        }
    }

    fn is_on(&self, condition: Condition) -> bool {
        self.hose == hose_of(condition) && !(self.hose == HoseEnd::Orifice && self.is_wrong_orifice)
    }

    /// Says what hands and eyes find where a question points; else at what the hose was on, or at
    /// the circuit under test.
    pub(crate) fn inspected(&self, question: &Question) -> String {
        let is_of_unit = matches!(question.wants, Wants::Yes | Wants::Number { .. });
        match (&self.hose, &self.here.circuit) {
            (HoseEnd::Orifice, _) if !is_of_unit => {
                let bore =
                    if self.is_wrong_orifice { WRONG_BORE } else { self.settings().orifice.diameter() };
                format!("The orifice is stamped {bore}. The rig's is {}.", self.settings().orifice.diameter())
            }
            (_, Some(circuit)) => self.unit.seen_at(circuit, self.is_clean),
            (HoseEnd::Plug, _) if !is_of_unit => "The plug is whole and fits the hose.".to_owned(),
            _ => self.unit.seen_beside(question),
        }
    }
}

/// Returns whether a reading of this label is to be taken with a neighbour's port closed.
pub(super) fn asks_for_a_pad(label: &str) -> bool {
    label.to_lowercase().contains("block")
}

fn hose_of(condition: Condition) -> HoseEnd {
    match condition {
        Condition::Plugged | Condition::OtherPlug | Condition::Capped => HoseEnd::Plug,
        Condition::Through => HoseEnd::Orifice,
        Condition::Open => HoseEnd::Off,
    }
}
