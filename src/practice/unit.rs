use super::bench::asks_for_a_pad;
use super::leaks::{ChosenLeak, LeakState, Leaks, POOR_SEAT_M2, ReadAt, USUAL_LAND};
use crate::leak::{LeakKind, Verdict};
use crate::quantity::{INCH, Length, Pressure};
use crate::record::{Cause, Circuit, Defect, Exercise, HoseOn, Question, Spot, Wants};
use crate::rig::simulated::{Chance, CircuitLeak, DialKind, LeakShape, shown_for};

/// A pocket without its ball: air comes in as through a hole of an eighth of an inch.
const EMPTY_POCKET: Length = Length::constant(0.125 * INCH);
/// How often a plate lies badly that was not wiped.
const LIES_BADLY: f64 = 0.25;

/// The unit of an exercise: what its circuits are like, and what hands and eyes find at them.
#[derive(Debug, Clone)]
pub(crate) struct TestUnit {
    seed: u64,
    circuits: Vec<Circuit>,
    defects: Vec<Defect>,
    leaks: Leaks,
}

/// What is true of a circuit.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Truth<'a> {
    pub verdict: Verdict,
    /// What is wrong with it; none where it is sound.
    pub defect: Option<&'a Defect>,
}

impl TestUnit {
    pub(super) fn new(exercise: &Exercise, circuits: &[Circuit]) -> TestUnit {
        let of_circuits = exercise.defects.iter().filter(|defect| defect.cause.is_of_circuit());
        let chosen = of_circuits.filter_map(|defect| {
            let circuit = defect.circuit.as_ref()?;
            let place = match &defect.reading {
                Some(label) => format!("{circuit}: {label}"),
                None => circuit.clone(),
            };
            Some(ChosenLeak { place, state: state(defect) })
        });
        TestUnit {
            seed: exercise.seed,
            circuits: circuits.to_vec(),
            defects: exercise.defects.clone(),
            leaks: Leaks::sound(exercise.seed).with(chosen),
        }
    }

    /// The kinds of dials whose needle stands where it stands, however it came there.
    pub(super) fn dial(&self) -> DialKind {
        if self.seed.is_multiple_of(2) { DialKind::Straight } else { DialKind::SShaped }
    }

    fn circuit(&self, name: &str) -> Option<&Circuit> {
        self.circuits.iter().find(|circuit| circuit.name == name)
    }

    /// Returns what is wrong with a circuit.
    pub(crate) fn defect(&self, circuit: &str) -> Option<&Defect> {
        self.defects.iter().find(|defect| defect.cause.is_of_circuit() && is_at(defect, circuit))
    }

    pub(super) fn has_wrong_orifice(&self) -> bool {
        self.defects.iter().any(|defect| defect.cause == Cause::WrongOrifice)
    }

    pub(super) fn is_brushed_at(&self, circuit: &str) -> bool {
        self.defects.iter().any(|defect| defect.cause == Cause::Drift && is_at(defect, circuit))
    }

    /// Returns what is true of a circuit: by what its defect makes of it.
    pub(crate) fn truth(&self, circuit: &Circuit) -> Truth<'_> {
        let defect = self.defect(&circuit.name);
        let is_window = circuit.limits.is_some_and(|limits| limits.is_window());
        let sound = if is_window { Verdict::Right } else { Verdict::Holds };
        Truth { verdict: defect.map_or(sound, verdict), defect }
    }

    /// Returns how a circuit leaks in the state that a reading wants it in.
    pub(super) fn leak(&self, name: &str, on: Option<&HoseOn>, is_blocked: bool) -> Option<CircuitLeak> {
        let circuit = self.circuit(name)?;
        let defect = self.defect(name);
        let (label, own) = match on {
            Some(HoseOn::Circuit { label, own, .. }) => (label.as_deref(), own.clone()),
            _ => (None, Spot::default()),
        };
        // A pad on the neighbour's port changes nothing else about what is read.
        let label = label.filter(|label| !asks_for_a_pad(label));
        let kind = match defect.map(|defect| defect.cause) {
            Some(Cause::WornLand) => Some(LeakKind::Gap),
            Some(Cause::Nick | Cause::StuckValve | Cause::Metering) => Some(LeakKind::Hole),
            _ => circuit.kind,
        };
        let spot = Spot { kind, ..circuit.spot(&own) };
        let at = ReadAt { circuit: name, label, spot: &spot, is_trial: false, take: 1 };
        let leak = self.leaks.of(&at);
        Some(match defect.filter(|defect| defect.cause == Cause::CrossLeak) {
            Some(defect) => self.across(defect, &at, is_blocked),
            None => leak,
        })
    }

    /// A sound circuit into which air comes across from a neighbour, whose open port lets in more than
    /// the worn land passes.
    fn across(&self, defect: &Defect, at: &ReadAt<'_>, is_blocked: bool) -> CircuitLeak {
        let sound = Leaks::sound(self.seed).of(at);
        if is_blocked || defect.reading.is_some() && defect.reading.as_deref() != at.label {
            return sound;
        }
        let mut chance = Chance::new(self.seed);
        let neighbour = LeakShape::gap(USUAL_LAND.0, USUAL_LAND.1, &mut chance);
        let beyond = CircuitLeak::showing(shown_for(chance.between(1.2, 2.0)), neighbour).way;
        let wanted = state(defect).reading(at.limits(), &mut chance);
        sound.with_way_across(beyond, wanted)
    }

    /// Returns what comes in below a plate in m2, the `nth` time that one is seated.
    pub(super) fn seat(&self, circuit: &str, nth: u64, is_wiped: bool) -> f64 {
        let always =
            self.defects.iter().any(|defect| defect.cause == Cause::BadSeat && is_at(defect, circuit));
        let mut chance = Chance::new(self.seed ^ nth.rotate_left(32));
        let lies_badly = !is_wiped && (chance.share() < LIES_BADLY || always);
        if lies_badly { POOR_SEAT_M2 } else { 0.0 }
    }

    /// Returns what the standard rig would show of a circuit, its worst reading where they differ.
    pub(crate) fn standard_reading(&self, circuit: &str) -> Option<Pressure> {
        let defect = self.defect(circuit);
        let on = defect.and_then(|defect| defect.reading.clone()).map(|label| HoseOn::Circuit {
            label: Some(label),
            trial: false,
            own: Spot::default(),
        });
        Some(self.leak(circuit, on.as_ref(), false)?.standard_reading())
    }

    /// Says what hands and eyes find at a circuit with the plate off.
    pub(super) fn seen_at(&self, circuit: &str, is_clean: bool) -> String {
        let lies_badly = |defect: &Defect| defect.cause == Cause::BadSeat && is_at(defect, circuit);
        let has_lint = !is_clean && self.defects.iter().any(lies_badly);
        let seen = match self.defect(circuit).map(|defect| defect.cause) {
            Some(Cause::Nick) => {
                "A bright nick runs across the face, from the port outwards. What slides in the bore drops by its weight."
            }
            Some(Cause::StuckValve) => {
                "The valve hangs: it has to be pushed, and does not come back by itself. The face is flat."
            }
            Some(Cause::MissingBall) => "The pocket beside the port is empty. The face is flat.",
            Some(Cause::Metering) => "The metering hole is not the size of its neighbours.",
            _ if has_lint => {
                "The face is flat, and a thread of lint lies on it. What slides in the bore drops by its weight."
            }
            _ => {
                "The face is flat, and what slides in the bore drops by its weight. What wear lets past, no eye can see."
            }
        };
        seen.to_owned()
    }

    /// Says what is found of what a procedure asks beside its readings.
    pub(super) fn seen_beside(&self, question: &Question) -> String {
        let is_missing = self.defects.iter().any(|defect| defect.cause == Cause::MissingBall);
        match &question.wants {
            Wants::Yes if question.words.to_lowercase().contains("ball") && is_missing => {
                "One pocket came up empty: there is a ball too few.".to_owned()
            }
            Wants::Yes => "It is as it should be: yes.".to_owned(),
            Wants::Number { low, high, .. } => match question.unit() {
                Some(unit) => {
                    format!("You measure {}.", crate::procedure::Mood::Sound.number(*low, *high, unit))
                }
                None => "Nothing to be seen.".to_owned(),
            },
            _ => "Nothing to be seen that is out of order.".to_owned(),
        }
    }
}

fn is_at(defect: &Defect, circuit: &str) -> bool {
    defect.circuit.as_deref() == Some(circuit)
}

/// What a test of a circuit with this defect comes to.
pub(super) fn verdict(defect: &Defect) -> Verdict {
    defect.verdict.unwrap_or(Verdict::Leaks)
}

fn state(defect: &Defect) -> LeakState {
    match (defect.cause, verdict(defect)) {
        (Cause::MissingBall, _) => LeakState::Hole(EMPTY_POCKET),
        (_, Verdict::Worn) => LeakState::Worn,
        (_, Verdict::Open) => LeakState::Open,
        (_, Verdict::Tight) => LeakState::Tight,
        _ => LeakState::Leaks,
    }
}
