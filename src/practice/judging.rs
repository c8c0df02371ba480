use std::collections::BTreeSet;

use super::commitment::{Commitment, is_right};
use super::grade::Reached;
use super::unit::TestUnit;
use crate::quantity::shown;
use crate::record::{Cause, Circuit, Defect, Event, Opening, Point, REPLACE, What};
use crate::stats::mean;

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

    fn n_found(&self) -> usize {
        let is_found = |circuit: &&Circuit| self.said(&circuit.name).is_some_and(|said| !said.is_sound());
        self.amiss().into_iter().filter(is_found).count()
    }

    /// A circuit that was not judged at all is not spared.
    fn n_spared(&self) -> usize {
        let is_spared = |circuit: &&Circuit| self.said(&circuit.name).is_some_and(Commitment::is_sound);
        self.sound().into_iter().filter(is_spared).count()
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
            "{both} of the {} circuits that can cause it were chosen, and {} others",
            worth.len(),
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
        let because = format!(
            "{} of {} circuits that are not sound were found{otherwise}",
            self.n_found(),
            amiss.len()
        );
        (!amiss.is_empty()).then(|| (mean(&amiss.iter().map(share).collect::<Vec<_>>()), because))
    }

    pub(super) fn spared(&self) -> Option<Reached> {
        let sound = self.sound();
        let (n_spared, n_sound) = (self.n_spared(), sound.len());
        let because = format!("{n_spared} of {n_sound} sound circuits were left alone");
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
            "of {} defects the cause of {n_causes} and the place of {n_places} are right, also where no place was asked for; the place \
             gives 3 tenths",
            amiss.len()
        );
        let share = (0.7 * n_causes as f64 + 0.3 * n_places as f64) / amiss.len() as f64;
        (!amiss.is_empty()).then_some((share, because))
    }

    pub(super) fn repairs(&self) -> Option<Reached> {
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

    /// The Brier score: the mean of (p - o) squared, o being 1 where the verdict was right of sound or not, else 0
    /// (Brier, Monthly Weather Review 78, 1950; from memory).
    pub(super) fn confidence(&self) -> Option<Reached> {
        let squares: Vec<f64> = self.commitments.iter().map(|said| self.off(said) * self.off(said)).collect();
        let brier = mean(&squares);
        let (guessing, certain) = BRIER;
        let because = format!("your Brier score is {}: 0 is best, 0.25 is guessing", shown(brier, 3));
        (!squares.is_empty()).then(|| ((guessing - brier) / (guessing - certain), because))
    }

    fn off(&self, said: &Commitment) -> f64 {
        let is_right = said.is_sound() == self.unit.defect(&said.circuit).is_none();
        said.sure - if is_right { 1.0 } else { 0.0 }
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
