use serde::{Deserialize, Serialize};

use super::weights::{self, weights};
use crate::leak::Verdict;
use crate::procedure::Outline;
use crate::quantity::Pressure;
use crate::record::{Cause, Circuit, Defect, Exercise, Plan, Planned, Weight, nearest_symptoms};
use crate::rig::simulated::Chance;

/// An exercise with the procedure that it goes by.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Prepared {
    pub exercise: Exercise,
    /// Name of the procedure.
    pub procedure: String,
    /// The circuits that are tested; all where there are none, and those that the student chooses where
    /// there is a complaint.
    #[serde(default)]
    pub circuits: Vec<String>,
}

/// The exercises that come with the program, from the first to the last.
pub(crate) fn shipped() -> Vec<Prepared> {
    let text = include_str!("../../procedures/exercises.json");
    serde_json::from_str(text).unwrap_or_default()
}

impl Prepared {
    /// Returns the same with the usual weights written out where it has none of its own.
    pub(crate) fn with_weights(mut self) -> Prepared {
        self.exercise.weights =
            weights(&self.exercise).into_iter().map(|(point, weight)| Weight { point, weight }).collect();
        self
    }

    /// Plans the circuits of the exercise, or those that a student has chosen; none where all are tested.
    pub(crate) fn plan(&self, chosen: &[String], circuits: &[Circuit]) -> Option<Plan> {
        let complaints: Vec<String> = self.exercise.complaint.iter().cloned().collect();
        let names = if complaints.is_empty() { &self.circuits[..] } else { chosen };
        let planned = names.iter().map(|name| {
            let known = circuits.iter().find(|circuit| circuit.name == *name);
            let because = known.map(|circuit| circuit.symptoms.clone()).unwrap_or_default();
            Planned { circuit: name.clone(), because }
        });
        let circuits: Vec<_> = planned.collect();
        (!circuits.is_empty()).then_some(Plan {
            complaints,
            meant: self.exercise.meant.clone(),
            after: None,
            seed: None,
            circuits,
        })
    }

    /// Returns what of it the procedure does not have, or cannot be so.
    pub(crate) fn fault(&self, outline: &Outline) -> Option<String> {
        if !(50_000.0..=110_000.0).contains(&self.exercise.barometer_pa.si()) {
            return Some("its barometer_pa is no air pressure of any shop: 50000 to 110000".to_owned());
        }
        if self.exercise.seed == 0 {
            return Some("its seed is 0, and a seed is 1 or more".to_owned());
        }
        if let Some(fault) = weights::fault(&self.exercise.weights) {
            return Some(fault);
        }
        if let Some(complaint) = &self.exercise.complaint
            && self.exercise.sought(&outline.circuits).is_none()
        {
            let mut known: Vec<&str> =
                outline.circuits.iter().flat_map(|circuit| &circuit.symptoms).map(String::as_str).collect();
            known.sort_unstable();
            known.dedup();
            let near = nearest_symptoms(complaint, &known, 3);
            let near =
                if near.is_empty() { String::new() } else { format!("; nearest to it: {}", near.join(", ")) };
            return Some(format!("no circuit of {} covers \"{complaint}\"{near}", self.procedure));
        }
        let known = |name: &str| outline.circuits.iter().find(|circuit| circuit.name == name);
        let defects = self.exercise.defects.iter();
        let mut named =
            self.circuits.iter().chain(defects.clone().filter_map(|defect| defect.circuit.as_ref()));
        if let Some(unknown) = named.find(|name| known(name).is_none()) {
            return Some(format!("{} has no circuit \"{unknown}\"", self.procedure));
        }
        let fits = |defect: &Defect| {
            let limits = known(defect.circuit.as_deref()?)?.limits?;
            let verdict = defect.verdict.unwrap_or(Verdict::Leaks);
            Some(verdict.is_amiss() && limits.verdicts().contains(&verdict))
        };
        for defect in defects {
            if defect.cause.is_of_circuit() && fits(defect) != Some(true) {
                let verdict = defect.verdict.unwrap_or(Verdict::Leaks);
                let place = defect.circuit.as_deref().unwrap_or("no circuit");
                return Some(format!("\"{}\" cannot be found {verdict} at {place}", defect.cause.words()));
            }
            let is_read = |label: &String| {
                let mut readings = outline.readings.iter();
                readings.any(|known| Some(&known.circuit) == defect.circuit.as_ref() && known.label == *label)
            };
            if let Some(label) = defect.reading.as_ref().filter(|label| !is_read(label)) {
                return Some(format!("{} takes no reading \"{label}\" there", self.procedure));
            }
            if defect.cause.needs_circuit() && defect.circuit.is_none() {
                return Some(format!("\"{}\" needs its circuit", defect.cause.words()));
            }
        }
        None
    }
}

/// The hardest level of a drawn exercise.
pub(crate) const HARDEST: u64 = 3;

/// Draws an exercise with a number: at level 1 a worn land or a nick among three circuits, at 2 any two defects among
/// four, at 3 any two among five, and something about the rig or the room. One of four units is sound.
pub(crate) fn drawn(
    procedure: &str,
    circuits: &[Circuit],
    sought: Option<Plan>,
    level: u64,
    seed: u64,
) -> Prepared {
    let mut chance = Chance::new(seed ^ level.rotate_left(40));
    let is_complained_of = sought.is_some();
    let (mut complaint, mut meant) = (None, Vec::new());
    let mut pool: Vec<String> = match sought {
        Some(sought) => {
            let said = sought.complaints.join(", ");
            let words = if sought.meant.is_empty() { sought.complaints } else { sought.meant };
            // What is said in the procedure's own words means just that.
            meant = if words == std::slice::from_ref(&said) { Vec::new() } else { words };
            complaint = Some(said);
            sought.circuits.into_iter().map(|planned| planned.circuit).collect()
        }
        None => circuits.iter().filter(|c| c.limits.is_some()).map(|circuit| circuit.name.clone()).collect(),
    };
    let n_circuits = usize::try_from(level + 2).unwrap_or(3);
    while !is_complained_of && pool.len() > n_circuits {
        pool.remove(pick(pool.len(), &mut chance));
    }
    let n_defects = if chance.share() < 0.25 { 0 } else { level.min(2) };
    let mut sound = pool.clone();
    let mut defects = Vec::new();
    for _ in 0..n_defects {
        if !sound.is_empty() {
            let name = sound.remove(pick(sound.len(), &mut chance));
            let is_window = circuits.iter().any(|circuit| {
                circuit.name == name && circuit.limits.is_some_and(|limits| limits.is_window())
            });
            defects.push(defect(name, is_window, level, &mut chance));
        }
    }
    let mut barometer = 101_325.0;
    if level >= HARDEST {
        let upset = [Cause::BadSeat, Cause::WrongOrifice, Cause::Drift][pick(3, &mut chance)];
        let circuit = pool.first().cloned().filter(|_| upset.needs_circuit());
        defects.push(Defect { cause: upset, circuit, reading: None, verdict: None });
        barometer = chance.between(84_000.0, 103_000.0).round();
    }
    let exercise = Exercise {
        name: format!("{procedure}-{level}-{seed}"),
        teaches: "What a test finds in a unit of which nothing is known.".to_owned(),
        seed,
        barometer_pa: Pressure::constant(barometer),
        is_set: level == 1,
        complaint,
        meant,
        defects,
        weights: Vec::new(),
        handed_out: None,
    };
    Prepared { exercise, procedure: procedure.to_owned(), circuits: pool }
}

fn defect(name: String, is_window: bool, level: u64, chance: &mut Chance) -> Defect {
    let causes: &[Cause] = match (is_window, level) {
        (true, _) => &[Cause::Metering],
        (false, 1) => &[Cause::WornLand, Cause::Nick],
        (false, _) => {
            &[Cause::WornLand, Cause::Nick, Cause::CrossLeak, Cause::StuckValve, Cause::MissingBall]
        }
    };
    let cause = causes[pick(causes.len(), chance)];
    let verdict = match (cause, chance.share() < 0.5) {
        (Cause::Metering, true) => Verdict::Open,
        (Cause::Metering, false) => Verdict::Tight,
        (Cause::WornLand, true) => Verdict::Worn,
        _ => Verdict::Leaks,
    };
    Defect { cause, circuit: Some(name), reading: None, verdict: Some(verdict) }
}

fn pick(n: usize, chance: &mut Chance) -> usize {
    ((chance.share() * n as f64) as usize).min(n.saturating_sub(1))
}
