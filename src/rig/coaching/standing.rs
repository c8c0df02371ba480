use super::Goal;
use super::sight::Sight;
use crate::quantity::Pressure;
use crate::rig::Condition;

/// The readings of one condition with the valves as they are: their sum in Pa, and how many.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Mean {
    sum: f64,
    count: u32,
}

/// How two means stand to the goal, the error of the eye considered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Standing {
    /// Both are within tolerance.
    In,
    /// One is out of tolerance.
    Out,
    /// Reading this once more may decide.
    Unclear(Condition),
    /// One stands on the edge of its tolerance, and more readings will not decide.
    OnEdge,
}

/// A reading is taken this many times at most to find out on which side of the tolerance it is.
const MOST_READINGS: u32 = 3;

impl Mean {
    pub(super) fn with(self, reading: Pressure) -> Mean {
        Mean { sum: self.sum + reading.si(), count: self.count + 1 }
    }

    pub(super) fn value(&self) -> Option<Pressure> {
        Pressure::from_si(self.sum / f64::from(self.count))
    }
}

impl Standing {
    pub(super) fn of(goal: &Goal, sight: &Sight, plugged: &Mean, through: &Mean) -> Standing {
        let sides =
            [(Condition::Plugged, plugged), (Condition::Through, through)].map(|(condition, mean)| {
                let off = mean
                    .value()
                    .map_or(f64::INFINITY, |value| (value.si() - goal.target(condition).si()).abs());
                let doubt = sight.error_pa() / f64::from(mean.count);
                (condition, mean.count, off - goal.tolerance().si(), doubt)
            });
        if sides.iter().any(|(_, _, beyond, doubt)| beyond >= doubt) {
            return Standing::Out;
        }
        let mut edges = sides.iter().filter(|(_, _, beyond, doubt)| *beyond > -doubt).peekable();
        if edges.peek().is_none() {
            return Standing::In;
        }
        match edges.find(|(_, count, _, _)| *count < MOST_READINGS) {
            Some((condition, _, _, _)) => Standing::Unclear(*condition),
            None => Standing::OnEdge,
        }
    }
}
