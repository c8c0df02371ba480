//! The looks at the rig's two points, those that do not count among them.

use super::{CalibrationRecord, CheckRecord, Event, HoseOn, Question, Record, Wants, What};
use crate::rig::Condition;

impl Record {
    /// Returns for each time that the rig was found to have drifted: the look that found it, as a check of the
    /// calibration that it had drifted from, and the circuits that were tested again.
    pub(crate) fn drifts(&self) -> impl Iterator<Item = (CheckRecord, &[String])> {
        self.journal.iter().filter_map(|event| match &event.what {
            What::Drifted { circuits, .. } => Some((self.look_before(event.n)?, circuits.as_slice())),
            _ => None,
        })
    }

    /// Returns each look that found the rig off and was followed by a second one at once; one that
    /// was taken back is none.
    pub(crate) fn looks_again(&self) -> Vec<CheckRecord> {
        let taken_back: Vec<u64> = self
            .journal
            .iter()
            .filter_map(
                |event| if let What::Retracted { answers } = &event.what { Some(answers) } else { None },
            )
            .flatten()
            .copied()
            .collect();
        let answered = self.journal.iter().filter(|event| !taken_back.contains(&event.n));
        let answered: Vec<(u64, Option<Condition>)> =
            answered.filter_map(|event| Some((event.n, looked_at(event)?))).collect();
        let (plugged_at, through_at) = (Some(Condition::Plugged), Some(Condition::Through));
        answered
            .windows(3)
            .filter_map(|three| match three {
                [(plugged, first), (through, second), (_, third)]
                    if *first == plugged_at && *second == through_at && *third == plugged_at =>
                {
                    Some(self.check(*plugged, *through))
                }
                _ => None,
            })
            .filter(|look| !self.checks.contains(look))
            .collect()
    }

    /// Returns the last look at both of the rig's points before an event.
    fn look_before(&self, n: u64) -> Option<CheckRecord> {
        let read = |condition: Condition| {
            let is_look = |event: &&Event| looked_at(event) == Some(Some(condition));
            self.journal.iter().take_while(|event| event.n < n).filter(is_look).last().map(|event| event.n)
        };
        Some(self.check(read(Condition::Plugged)?, read(Condition::Through)?))
    }

    /// Returns two readings as a look at the rig as it was calibrated then.
    fn check(&self, plugged: u64, through: u64) -> CheckRecord {
        let is_before =
            |calibration: &&CalibrationRecord| calibration.readings.last().is_some_and(|at| *at < through);
        CheckRecord { calibration: self.calibrations.iter().filter(is_before).count(), plugged, through }
    }
}

/// Returns which point of the rig was looked at by an answer, if one was; none where nothing was answered.
fn looked_at(event: &Event) -> Option<Option<Condition>> {
    match &event.what {
        What::Answered {
            question: Question { wants: Wants::Reading { on: HoseOn::Check(condition), .. }, .. },
            ..
        } => Some(Some(*condition)),
        What::Answered { .. } => Some(None),
        _ => None,
    }
}
