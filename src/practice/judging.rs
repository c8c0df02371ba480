use std::collections::BTreeSet;

use super::commitment::{Commitment, is_right};
use super::grade::Reached;
use super::unit::TestUnit;
use crate::quantity::{shown, so_many};
use crate::record::{Cause, Circuit, Defect, Event, Opening, Point, REPLACE, What};
use crate::stats::mean;
use crate::tell::percent;

/// A Brier score of 0.25 is that of somebody who always says "50 %"; one of 0.01 is as good as certain.
const BRIER: (f64, f64) = (0.25, 0.01);

/// What a student committed to beside what is true.
pub(super) struct Judging<'a> {
    unit: &'a TestUnit,
    /// Those that can cause the complaint; none where there is no complaint.
    worth: Option<BTreeSet<&'a str>>,
    circuits: &'a [Circuit],
    /// The circuits that the student tested or should have.
    due: Vec<&'a Circuit>,
    planned: BTreeSet<&'a str>,
    commitments: Vec<Commitment>,
}

impl<'a> Judging<'a> {
    pub(super) fn of(
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
        let sought = opening.exercise.as_deref().and_then(|exercise| exercise.sought(circuits));
        let planned: BTreeSet<&str> = match &opening.plan {
            Some(plan) => plan.circuits.iter().map(|planned| planned.circuit.as_str()).collect(),
            None => circuits.iter().map(|circuit| circuit.name.as_str()).collect(),
        };
        let is_sought = |circuit: &&Circuit| sought.iter().any(|sought| sought.includes(&circuit.name));
        let worth: BTreeSet<&str> =
            circuits.iter().filter(is_sought).map(|circuit| circuit.name.as_str()).collect();
        let is_due = |circuit: &&Circuit| {
            planned.contains(circuit.name.as_str()) || worth.contains(circuit.name.as_str())
        };
        let due = circuits.iter().filter(is_due).collect();
        Judging { unit, worth: sought.as_ref().map(|_| worth), circuits, due, planned, commitments }
    }

    fn said(&self, circuit: &str) -> Option<&Commitment> {
        self.commitments.iter().find(|said| said.circuit == circuit)
    }

    fn amiss(&self) -> Vec<&'a Circuit> {
        self.due.iter().copied().filter(|circuit| self.unit.defect(&circuit.name).is_some()).collect()
    }

    fn sound(&self) -> Vec<&'a Circuit> {
        let is_sound = |circuit: &&Circuit| {
            self.planned.contains(circuit.name.as_str()) && self.unit.defect(&circuit.name).is_none()
        };
        self.due.iter().copied().filter(is_sound).collect()
    }

    fn is_found(&self, circuit: &Circuit) -> bool {
        self.said(&circuit.name).is_some_and(|said| !said.is_sound())
    }

    /// A circuit that was not judged at all is not spared.
    fn is_spared(&self, circuit: &Circuit) -> bool {
        self.said(&circuit.name).is_some_and(Commitment::is_sound)
    }

    fn n_found(&self) -> usize {
        self.amiss().into_iter().filter(|circuit| self.is_found(circuit)).count()
    }

    fn n_spared(&self) -> usize {
        self.sound().into_iter().filter(|circuit| self.is_spared(circuit)).count()
    }

    /// Returns by how much the verdicts beat guessing, 0 to 1.
    pub(super) fn beats_guessing(&self) -> f64 {
        beats_guessing((self.n_found(), self.amiss().len()), (self.n_spared(), self.sound().len()))
    }

    /// Returns whether there is nothing to be found in the exercise, or nothing to be spared.
    pub(super) fn has_nothing(&self, point: Point) -> bool {
        match point {
            Point::Found => self.amiss().is_empty(),
            Point::Spared => self.sound().is_empty(),
            _ => false,
        }
    }

    pub(super) fn circuits_chosen(&self) -> Option<Reached> {
        let worth = self.worth.as_ref()?;
        let both = self.planned.iter().filter(|name| worth.contains(*name)).count();
        let either = self.planned.union(worth).count().max(1);
        let because = format!(
            "you chose {both} of {} that can cause the complaint, and {} that can't",
            so_many(worth.len(), "circuit"),
            self.planned.len() - both
        );
        Some((both as f64 / either as f64, because))
    }

    pub(super) fn found(&self) -> Option<Reached> {
        let amiss = self.amiss();
        let share = |circuit: &&Circuit| match self.said(&circuit.name) {
            Some(said) if said.verdict == self.unit.truth(circuit).verdict => 1.0,
            Some(said) if !said.is_sound() => 0.75,
            _ => 0.0,
        };
        let n_otherwise = amiss.iter().filter(|circuit| (0.1..0.9).contains(&share(circuit))).count();
        let otherwise = match n_otherwise {
            0 => String::new(),
            n => format!(", {n} of them by another verdict than the true one, which gives three quarters"),
        };
        let missed = but_not("; missed", amiss.iter().filter(|circuit| !self.is_found(circuit)));
        let n_found = self.n_found();
        let because =
            format!("you found {n_found} of {}{otherwise}{missed}", so_many(amiss.len(), "faulty circuit"));
        (!amiss.is_empty()).then(|| (mean(&amiss.iter().map(share).collect::<Vec<_>>()), because))
    }

    pub(super) fn spared(&self) -> Option<Reached> {
        let sound = self.sound();
        let (n_spared, n_sound) = (self.n_spared(), sound.len());
        let not = but_not(", but not", sound.iter().filter(|circuit| !self.is_spared(circuit)));
        let because = format!("you left {n_spared} of {} alone{not}", so_many(n_sound, "sound circuit"));
        (n_sound > 0).then(|| (n_spared as f64 / n_sound as f64, because))
    }

    pub(super) fn causes(&self) -> Option<Reached> {
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
            "of {} you named the right cause of {n_causes} (7 tenths) and the right place of {n_places} (3 tenths; one that was not \
             asked for counts as right)",
            so_many(amiss.len(), "defect")
        );
        let share = (0.7 * n_causes as f64 + 0.3 * n_places as f64) / amiss.len() as f64;
        (!amiss.is_empty()).then_some((share, because))
    }

    pub(super) fn repairs(&self) -> Option<Reached> {
        let amiss = self.amiss();
        let n_right = amiss.iter().filter(|circuit| self.is_put_right(circuit)).count();
        let not = but_not(", but not", amiss.iter().filter(|circuit| !self.is_put_right(circuit)));
        let because =
            format!("what you chose puts {n_right} of {} right{not}", so_many(amiss.len(), "faulty circuit"));
        (!amiss.is_empty()).then(|| (n_right as f64 / amiss.len() as f64, because))
    }

    fn is_put_right(&self, circuit: &Circuit) -> bool {
        let cause: Option<Cause> = self.unit.defect(&circuit.name).map(|defect| defect.cause);
        let repair = self.said(&circuit.name).and_then(|said| said.repair.as_deref());
        cause.zip(repair).is_some_and(|(cause, repair)| is_right(repair, cause, circuit))
    }

    /// The Brier score: the mean of (p - o) squared, o being 1 where the verdict was right of sound or not, else 0
    /// (Brier, Monthly Weather Review 78, 1950; from memory).
    pub(super) fn confidence(&self) -> Option<Reached> {
        let squares: Vec<f64> = self.commitments.iter().map(|said| self.off(said) * self.off(said)).collect();
        let brier = mean(&squares);
        let (guessing, certain) = BRIER;
        let n_right = self.commitments.iter().filter(|said| self.is_right(said)).count();
        let sure: Vec<f64> = self.commitments.iter().map(|said| said.sure).collect();
        let because = format!(
            "you were {} sure on average, and right of sound or not at {n_right} of {}; the Brier score of that is {}: {certain} or \
             less gives all, {guessing} or more, as by guessing, nothing",
            percent(mean(&sure), 0),
            so_many(sure.len(), "circuit"),
            shown(brier, 3)
        );
        (!squares.is_empty()).then(|| ((guessing - brier) / (guessing - certain), because))
    }

    fn off(&self, said: &Commitment) -> f64 {
        said.sure - if self.is_right(said) { 1.0 } else { 0.0 }
    }

    fn is_right(&self, said: &Commitment) -> bool {
        said.is_sound() == self.unit.defect(&said.circuit).is_none()
    }

    pub(super) fn parts(&self) -> Option<Reached> {
        let (mut useful, mut useless, mut unpriced) = (0.0, 0.0, false);
        for circuit in self.circuits {
            let Some(repair) = self.said(&circuit.name).and_then(|said| said.repair.as_deref()) else {
                continue;
            };
            let own = circuit.repairs.iter().find(|own| own.does == repair);
            let parts = own.and_then(|own| own.parts).unwrap_or(0.0);
            if self.is_put_right(circuit) {
                useful += parts;
            } else {
                useless += parts;
                unpriced |= repair == REPLACE;
            }
        }
        let replaced = if unpriced { ", and replaced a body that need not be" } else { "" };
        let [to_purpose, for_nothing] = [useful, useless].map(|parts| shown(parts, 2));
        let because = match () {
            () if useful + useless == 0.0 => format!("you bought no parts that have a price{replaced}"),
            () if useless == 0.0 => {
                format!("you bought parts for {to_purpose}, all to good purpose{replaced}")
            }
            () => format!(
                "you bought parts for {to_purpose} to good purpose and for {for_nothing} for nothing{replaced}"
            ),
        };
        let share = match () {
            () if unpriced => 0.0,
            () if useless == 0.0 => 1.0,
            () => useful / (useful + useless),
        };
        (!self.commitments.is_empty()).then_some((share, because))
    }
}

/// Names circuits behind a word; nothing where there are none.
fn but_not<'a>(word: &str, circuits: impl Iterator<Item = &'a &'a Circuit>) -> String {
    let names: Vec<&str> = circuits.map(|circuit| circuit.name.as_str()).collect();
    if names.is_empty() { String::new() } else { format!("{word} {}", names.join(", ")) }
}

/// Returns the share of what is amiss found and of what is sound spared, less 1, each of so many: Youden's index,
/// sensitivity + specificity - 1 (as in the manual of R's cutpointr). What is worse than guessing is 0. Where there is
/// nothing amiss, or nothing sound, it is the share of the other.
pub(crate) fn beats_guessing(found: (usize, usize), spared: (usize, usize)) -> f64 {
    let share = |(n, of): (usize, usize)| n as f64 / of.max(1) as f64;
    match (found.1, spared.1) {
        (0, 0) => 1.0,
        (0, _) => share(spared),
        (_, 0) => share(found),
        _ => (share(found) + share(spared) - 1.0).max(0.0),
    }
}
