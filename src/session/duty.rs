//! What the rig needs while a session goes on: looks at it, and what is read again where it has drifted
//! or was left for long.

use jiff::Timestamp;

use super::Recorder;
use crate::disk::LogError;
use crate::procedure::{Duty, Shown, asks_for_check};
use crate::record::{Answer, Asker, HoseOn, Mode, Opening, Question, Wants, What};
use crate::rig::{CheckInterval, Condition};

/// When the rig is looked at again (common practice, no source).
pub(crate) const CHECKS: CheckInterval = CheckInterval { readings: 12, seconds: 30.0 * 60.0 };

impl Recorder {
    /// Takes back all that was read of circuits since the rig was last known to be good, what was done and waited
    /// for on the way to it, since the hose has been off, and the check that found it drifted. With a plan all
    /// circuits are tested again: a record follows the script's order, so that a reading from before the new
    /// calibration could stand behind it.
    pub(crate) fn drifted(&mut self) -> Result<(), LogError> {
        let suspect = if self.has_plan() { &self.answered[..] } else { self.since_good_rig() };
        let is_look = |n: u64| matches!(self.hose_on(n), Some(HoseOn::Check(_)));
        let is_reading = |n: u64| is_look(n) || self.is_read_at_circuit(n);
        let mut circuits: Vec<String> = Vec::new();
        for n in suspect.iter().filter(|n| is_reading(**n)) {
            if let Some(Question { circuit: Some(circuit), .. }) = self.question(*n)
                && !circuits.contains(circuit)
            {
                circuits.push(circuit.clone());
            }
        }
        // What was committed to on such a reading is as good as that.
        let leads_to_one = |n: u64| match self.question(n) {
            Some(Question { circuit: Some(circuit), wants, asker, .. }) => {
                let is_step = matches!(wants, Wants::Ready | Wants::Wait { .. });
                (is_step || *asker == Asker::Runner) && circuits.contains(circuit)
            }
            _ => false,
        };
        let answers = suspect.iter().copied().filter(|n| is_reading(*n) || leads_to_one(*n)).collect();
        self.log(What::Drifted { answers, circuits }).map(drop)
    }

    /// Returns what the rig needs before a circuit, or before the end where none is named.
    pub(super) fn rig_duty(&mut self, before: Option<&str>) -> Duty {
        let is_look = |question: &Question| {
            matches!(question.wants, Wants::Reading { on: HoseOn::Check(Condition::Plugged), .. })
                && asks_for_check(&question.words, before)
        };
        let drifted = self.journal.events().iter().find_map(|event| match &event.what {
            What::Drifted { answers, circuits } if !self.recalibrated.contains(&event.n) => {
                let is_due = match &circuits[..] {
                    [] => answers.iter().filter_map(|n| self.question(*n)).any(is_look),
                    circuits => circuits.iter().any(|circuit| Some(circuit.as_str()) == before),
                };
                is_due.then(|| (event.n, circuits.clone()))
            }
            _ => None,
        });
        let mut looks = self.journal.standing().filter(|(_, question, _)| is_look(question)).map(|(n, ..)| n);
        if let Some((n, circuits)) = drifted {
            // A look from before the drift was found is one at the setting before.
            if looks.any(|look| look < n && !self.walk.contains(&look)) {
                return Duty::CheckBeforeCalibrating;
            }
            self.recalibrated.push(n);
            // Who takes the session up before the rig is set again is told as well.
            if !self.journal.standing().any(|(at, ..)| at > n && self.is_of_rig(at)) {
                self.live.show(&Shown::Drifted(&circuits));
            }
            return Duty::Calibrate;
        }
        let is_kept = looks.any(|look| !self.walk.contains(&look));
        let was_made = !is_kept && self.journal.standing().any(|(_, question, _)| is_look(question));
        if is_kept || !was_made && self.is_check_due(before) { Duty::Check } else { Duty::None }
    }

    pub(super) fn is_of_rig(&self, n: u64) -> bool {
        matches!(self.hose_on(n), Some(HoseOn::Rig(_)))
    }

    /// Returns whether an answer is what a gauge showed at a circuit. That a circuit is not fitted, or cannot be
    /// read, hangs on no rig.
    fn is_read_at_circuit(&self, n: u64) -> bool {
        matches!(self.hose_on(n), Some(HoseOn::Circuit { .. }))
            && !matches!(
                self.journal.event(n).map(|event| &event.what),
                Some(What::Answered { answer: Answer::NotFitted(_) | Answer::Unable(_), .. })
            )
    }

    /// Returns where among the answers the last one of the last calibration or good check stands,
    /// one under way left out.
    fn good_rig(&self) -> Option<usize> {
        let is_check = |n: &u64| matches!(self.hose_on(*n), Some(HoseOn::Check(_)));
        let under_way = self.answered.iter().rev().take_while(|n| is_check(n)).count();
        let before = self.answered.len() - under_way;
        self.answered[..before].iter().rposition(|n| is_check(n) || self.is_of_rig(*n))
    }

    /// Returns the answers since then, a check under way included.
    fn since_good_rig(&self) -> &[u64] {
        &self.answered[self.good_rig().map_or(0, |at| at + 1)..]
    }

    /// Returns whether a check is due: every so many readings or minutes, where somebody else was at the rig, and
    /// before the end where there is anything to cover. A circuit that was read or left, as the journal has it,
    /// has decided it already.
    fn is_check_due(&self, before: Option<&str>) -> bool {
        let readings = self.since_good_rig().iter().filter(|n| self.is_read_at_circuit(**n)).count();
        let Some(circuit) = before else { return readings > 0 };
        let is_left = |answer: &Answer| matches!(answer, Answer::Unable(_) | Answer::NotFitted(_));
        let is_decided = self.journal.standing().any(|(_, question, answer)| {
            let is_of = question.circuit.as_deref() == Some(circuit);
            is_of && (matches!(question.wants, Wants::Reading { .. }) || is_left(answer))
        });
        let good = self.good_rig().and_then(|at| self.journal.event(self.answered[at]));
        let seconds = good.map_or(0.0, |good| self.seconds_since(good.at));
        let readings = u32::try_from(readings).unwrap_or(u32::MAX);
        !is_decided && (self.is_rig_doubted || CHECKS.is_due(readings, seconds))
    }

    /// Returns how many answers lead back to the beginning of the circuit that a question is about, a look at the rig
    /// before it included, where it was left with the hose and nobody knows whether the rig stands as it did: after so
    /// long, or after somebody else was at it. A circuit is begun again once.
    pub(super) fn answers_since_begun(&self, question: &Question) -> Option<usize> {
        let is_with_hose =
            matches!(question.wants, Wants::Reading { .. } | Wants::Ready | Wants::Wait { .. });
        let is_of_circuit =
            |n: &u64| self.question(*n).is_some_and(|asked| asked.circuit == question.circuit);
        let is_look = |n: &u64| matches!(self.hose_on(*n), Some(HoseOn::Check(_)));
        if !is_with_hose
            || self.begun_again == question.circuit
            || !(self.is_rig_doubted || self.was_left_for_long())
        {
            return None;
        }
        let of_circuit = self.answered.iter().rev().take_while(|n| is_of_circuit(n)).count();
        let rest = &self.answered[..self.answered.len() - of_circuit];
        let looks = rest.iter().rev().take_while(|n| is_look(n)).count();
        Some(of_circuit + looks).filter(|n| *n > 0)
    }

    /// Returns whether the gauge at the bench was read last in an earlier run, so long ago that the
    /// rig is to be looked at.
    fn was_left_for_long(&self) -> bool {
        let is_reading = |question: &Question| matches!(question.wants, Wants::Reading { .. });
        let last = self.journal.standing().rev().find(|(_, question, _)| is_reading(question));
        let Some(last) = last.and_then(|(n, ..)| self.journal.event(n)) else { return false };
        let mut since = self.journal.events().iter().rev().take_while(|event| event.n > last.n);
        self.is_at_bench()
            && since.any(|event| matches!(event.what, What::Resumed { .. }))
            && self.seconds_since(last.at) >= CHECKS.seconds
    }

    /// Returns how long ago something was. What time decided while a session went on stands in its journal, and nothing
    /// of that is decided anew where it is over or amended.
    fn seconds_since(&self, at: Timestamp) -> f64 {
        if self.journal.is_finished() || self.is_amendment() {
            return 0.0;
        }
        (self.now)().duration_since(at).as_secs_f64()
    }

    fn hose_on(&self, n: u64) -> Option<&HoseOn> {
        self.question(n)?.hose_on()
    }

    fn has_plan(&self) -> bool {
        self.opening().is_some_and(|opening| opening.plan.is_some())
    }

    fn is_at_bench(&self) -> bool {
        self.opening().is_some_and(|opening| opening.mode == Mode::Bench)
    }

    pub(super) fn is_amendment(&self) -> bool {
        self.opening().is_some_and(|opening| opening.amends.is_some())
    }

    fn opening(&self) -> Option<&Opening> {
        match self.journal.events().first().map(|event| &event.what) {
            Some(What::Opened { opening }) => Some(&**opening),
            _ => None,
        }
    }
}
