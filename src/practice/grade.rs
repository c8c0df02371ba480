use std::collections::BTreeSet;

use super::commitment::{Commitment, is_right};
use super::handling::Handling;
use super::unit::TestUnit;
use crate::quantity::{shown, six_digits};
use crate::record::{
    Cause, Circuit, Defect, Event, Exercise, Mark, Opening, Plan, Point, PointMark, Prices, REPLACE, What,
};

/// What each point counts, of 100 where an exercise has something for all (common practice, no source).
pub(crate) const USUAL_WEIGHTS: [(Point, f64); 13] = [
    (Point::RigSet, 10.0),
    (Point::Settings, 4.0),
    (Point::Readings, 12.0),
    (Point::Handling, 10.0),
    (Point::Checks, 5.0),
    (Point::Cautions, 5.0),
    (Point::Circuits, 4.0),
    (Point::Found, 16.0),
    (Point::Spared, 16.0),
    (Point::Cause, 6.0),
    (Point::Repair, 4.0),
    (Point::Confidence, 4.0),
    (Point::Parts, 4.0),
];

/// Who has this of 100, and half of what is amiss found and half of what is sound spared, has passed (common practice, no
/// source).
const ENOUGH: f64 = 70.0;
/// A Brier score of 0.25 is that of somebody who always says "50 %"; one of 0.01 is as good as certain.
const BRIER: (f64, f64) = (0.25, 0.01);

/// How much of a point was reached, 0 to 1, and why.
pub(super) type Reached = (f64, String);

/// Works out what a student's work at an exercise is worth, from the events of the attempt alone; none where it is no
/// attempt at one.
pub(crate) fn graded(opening: &Opening, circuits: &[Circuit], events: &[Event]) -> Option<Mark> {
    let exercise = opening.exercise.as_deref()?;
    let handling = Handling::of(exercise, circuits, events);
    let judging = Judging::of(opening, circuits, handling.bench.unit(), events);
    let share = |point: Point| match point {
        Point::RigSet => handling.rig_set(),
        Point::Settings => handling.settings(),
        Point::Readings => handling.readings(),
        Point::Handling => handling.handling(),
        Point::Checks => handling.checks(),
        Point::Cautions => handling.cautions(),
        Point::Circuits => judging.circuits_chosen(),
        Point::Found => judging.found(),
        Point::Spared => judging.spared(),
        Point::Cause => judging.causes(),
        Point::Repair => judging.repairs(),
        Point::Confidence => judging.confidence(),
        Point::Parts => judging.parts(),
    };
    let points: Vec<PointMark> = weights(exercise)
        .into_iter()
        .filter_map(|(point, weight)| {
            let (share, because) = share(point)?;
            Some(PointMark { point, share: six_digits(share.clamp(0.0, 1.0)), weight, because })
        })
        .collect();
    let of: f64 = points.iter().map(|point| point.weight).sum();
    let got: f64 = points.iter().map(|point| point.weight * point.share).sum();
    // Weights of nothing at all weigh nothing.
    let total = if of > 0.0 { six_digits(100.0 * got / of) } else { 0.0 };
    Some(Mark { total, passed: total >= ENOUGH && has_half(&points), points })
}

fn has_half(points: &[PointMark]) -> bool {
    let is_judgement = |point: Point| matches!(point, Point::Found | Point::Spared);
    points.iter().all(|graded| !is_judgement(graded.point) || graded.share >= 0.5)
}

/// Says how the points come to the grade, and what is enough.
pub(crate) fn summed(mark: &Mark) -> String {
    let of: f64 = mark.points.iter().map(|point| point.weight).sum();
    let got: f64 = mark.points.iter().map(|point| point.weight * point.share).sum();
    let word = if mark.passed { "Passed" } else { "Not passed" };
    let halves = if has_half(&mark.points) { "reached" } else { "NOT reached" };
    let (got, of, total) = (shown(got, 1), shown(of, 1), shown(mark.total, 1));
    format!(
        "{word}: {got} of {of} points make {total} of 100. To pass, {ENOUGH} are needed, and half of what \"found\" and \"spared\" \
         give, which was {halves}."
    )
}

/// Returns what each point counts in an exercise: its own weights, or the usual ones.
pub(super) fn weights(exercise: &Exercise) -> Vec<(Point, f64)> {
    match exercise.weights.is_empty() {
        true => USUAL_WEIGHTS.to_vec(),
        false => exercise.weights.iter().map(|weight| (weight.point, weight.weight)).collect(),
    }
}

/// What a student committed to beside what is true.
struct Judging<'a> {
    unit: &'a TestUnit,
    prices: &'a Prices,
    complaint: Option<&'a String>,
    circuits: &'a [Circuit],
    /// The circuits that the student tested or should have.
    due: Vec<&'a Circuit>,
    planned: BTreeSet<&'a str>,
    commitments: Vec<Commitment>,
}

impl<'a> Judging<'a> {
    fn of(
        opening: &'a Opening,
        circuits: &'a [Circuit],
        unit: &'a TestUnit,
        events: &[Event],
    ) -> Judging<'a> {
        let walk = match events.last().map(|event| &event.what) {
            Some(What::Finished { walk }) => walk.as_slice(),
            _ => &[],
        };
        let commitments = Commitment::all(events.iter().filter(|event| walk.contains(&event.n)));
        let complaint = opening.exercise.as_deref().and_then(|exercise| exercise.complaint.as_ref());
        let planned: BTreeSet<&str> = match &opening.plan {
            Some(plan) => plan.circuits.iter().map(|planned| planned.circuit.as_str()).collect(),
            None => circuits.iter().map(|circuit| circuit.name.as_str()).collect(),
        };
        let worth = worth_testing(complaint, circuits);
        let is_due = |circuit: &&Circuit| {
            planned.contains(circuit.name.as_str()) || worth.contains(circuit.name.as_str())
        };
        let due = circuits.iter().filter(is_due).collect();
        Judging { unit, prices: &opening.prices, complaint, circuits, due, planned, commitments }
    }

    fn said(&self, circuit: &str) -> Option<&Commitment> {
        self.commitments.iter().find(|said| said.circuit == circuit)
    }

    fn amiss(&self) -> Vec<&'a Circuit> {
        self.due.iter().copied().filter(|circuit| self.unit.defect(&circuit.name).is_some()).collect()
    }

    fn circuits_chosen(&self) -> Option<Reached> {
        let worth = worth_testing(Some(self.complaint?), self.circuits);
        let both = self.planned.iter().filter(|name| worth.contains(*name)).count();
        let either = self.planned.union(&worth).count().max(1);
        let because = format!(
            "{both} of the {} circuits that can cause it were chosen, and {} others",
            worth.len(),
            self.planned.len() - both
        );
        Some((both as f64 / either as f64, because))
    }

    fn found(&self) -> Option<Reached> {
        let amiss = self.amiss();
        let share = |circuit: &&Circuit| match self.said(&circuit.name) {
            Some(said) if said.verdict == self.unit.truth(circuit).verdict => 1.0,
            Some(said) if !said.is_sound() => 0.75,
            _ => 0.0,
        };
        let n_found = amiss.iter().filter(|circuit| share(circuit) > 0.0).count();
        let n_otherwise = amiss.iter().filter(|circuit| (0.1..0.9).contains(&share(circuit))).count();
        let otherwise = match n_otherwise {
            0 => String::new(),
            n => format!(", {n} of them by another verdict than the true one, which gives three quarters"),
        };
        let because =
            format!("{n_found} of {} circuits that are not sound were found{otherwise}", amiss.len());
        (!amiss.is_empty()).then(|| (mean(amiss.iter().map(share)), because))
    }

    /// Each sound circuit that is condemned, or not judged at all, takes away as much as two that were left alone give.
    fn spared(&self) -> Option<Reached> {
        let is_sound = |circuit: &&&Circuit| {
            self.planned.contains(circuit.name.as_str()) && self.unit.defect(&circuit.name).is_none()
        };
        let sound: Vec<_> = self.due.iter().filter(is_sound).collect();
        let is_spared = |circuit: &&&&Circuit| self.said(&circuit.name).is_some_and(Commitment::is_sound);
        let n_spared = sound.iter().filter(is_spared).count();
        let n_lost = sound.len() - n_spared;
        let lost = if n_lost > 0 { "; each that was not takes away what two give" } else { "" };
        let because = format!("{n_spared} of {} sound circuits were left alone{lost}", sound.len());
        (!sound.is_empty()).then(|| (1.0 - 2.0 * n_lost as f64 / sound.len() as f64, because))
    }

    fn causes(&self) -> Option<Reached> {
        let amiss = self.amiss();
        let count = |is_right: &dyn Fn(&Commitment, &Defect) -> bool| {
            let named = amiss.iter().filter(|circuit| {
                let said = self.said(&circuit.name).filter(|said| !said.is_sound());
                said.zip(self.unit.defect(&circuit.name)).is_some_and(|(said, defect)| is_right(said, defect))
            });
            named.count()
        };
        let n_causes = count(&|said, defect| said.cause == Some(defect.cause));
        let n_places = count(&|said, defect| said.place == defect.reading);
        let because = format!(
            "of {} defects the cause of {n_causes} and the place of {n_places} were named; the place gives 3 tenths",
            amiss.len()
        );
        let share = (0.7 * n_causes as f64 + 0.3 * n_places as f64) / amiss.len() as f64;
        (!amiss.is_empty()).then_some((share, because))
    }

    fn repairs(&self) -> Option<Reached> {
        let amiss = self.amiss();
        let n_right = amiss.iter().filter(|circuit| self.is_put_right(circuit)).count();
        let because = format!("{n_right} of {} are put right by what you chose", amiss.len());
        (!amiss.is_empty()).then(|| (n_right as f64 / amiss.len() as f64, because))
    }

    fn is_put_right(&self, circuit: &Circuit) -> bool {
        let cause: Option<Cause> = self.unit.defect(&circuit.name).map(|defect| defect.cause);
        let repair = self.said(&circuit.name).and_then(|said| said.repair.as_deref());
        cause.zip(repair).is_some_and(|(cause, repair)| is_right(repair, cause, circuit))
    }

    /// The Brier score: the mean of (p - o) squared, o being 1 where the verdict was right of sound or not, else 0 (Brier,
    /// Monthly Weather Review 78, 1950; from memory).
    fn confidence(&self) -> Option<Reached> {
        let squares: Vec<f64> = self.commitments.iter().map(|said| self.off(said) * self.off(said)).collect();
        let brier = mean(squares.iter().copied());
        let (guessing, certain) = BRIER;
        let because = format!("your Brier score is {}: 0 is best, 0.25 is guessing", shown(brier, 3));
        (!squares.is_empty()).then(|| ((guessing - brier) / (guessing - certain), because))
    }

    fn off(&self, said: &Commitment) -> f64 {
        let is_right = said.is_sound() == self.unit.defect(&said.circuit).is_none();
        said.sure - if is_right { 1.0 } else { 0.0 }
    }

    fn parts(&self) -> Option<Reached> {
        let (mut useful, mut useless, mut unpriced) = (0.0, 0.0, false);
        for circuit in self.circuits {
            let Some(repair) = self.said(&circuit.name).and_then(|said| said.repair.as_deref()) else {
                continue;
            };
            let own = self.prices.repairs_of(circuit).into_iter().find(|own| own.does == repair);
            let parts = own.and_then(|own| own.parts).unwrap_or(0.0);
            if self.is_put_right(circuit) {
                useful += parts;
            } else {
                useless += parts;
                unpriced |= repair == REPLACE;
            }
        }
        let replaced = if unpriced { ", and a body was replaced that need not be" } else { "" };
        let because = format!(
            "parts for {} were bought for nothing and for {} to good purpose{replaced}",
            shown(useless, 2),
            shown(useful, 2)
        );
        let share = match () {
            () if unpriced => 0.0,
            () if useless == 0.0 => 1.0,
            () => useful / (useful + useless),
        };
        (!self.commitments.is_empty()).then_some((share, because))
    }
}

/// Returns the circuits that can cause a complaint; none where there is none.
fn worth_testing<'a>(complaint: Option<&String>, circuits: &'a [Circuit]) -> BTreeSet<&'a str> {
    let plan =
        complaint.and_then(|complaint| Plan::from_complaints(std::slice::from_ref(complaint), circuits).ok());
    let names: Vec<String> =
        plan.into_iter().flat_map(|plan| plan.circuits).map(|planned| planned.circuit).collect();
    circuits
        .iter()
        .map(|circuit| circuit.name.as_str())
        .filter(|name| names.iter().any(|n| n == name))
        .collect()
}

pub(crate) fn point_name(point: Point) -> &'static str {
    match point {
        Point::RigSet => "rig",
        Point::Settings => "settings",
        Point::Readings => "readings",
        Point::Handling => "handling",
        Point::Checks => "looks at the rig",
        Point::Cautions => "cautions",
        Point::Circuits => "circuits chosen",
        Point::Found => "found",
        Point::Spared => "spared",
        Point::Cause => "cause and place",
        Point::Repair => "repair",
        Point::Confidence => "how sure",
        Point::Parts => "parts",
    }
}

pub(super) fn mean(values: impl Iterator<Item = f64>) -> f64 {
    let values: Vec<f64> = values.collect();
    if values.is_empty() { 0.0 } else { values.iter().sum::<f64>() / values.len() as f64 }
}
