use super::phase::{Doubt, Phase};
use super::{Coach, Coached, Observation, Plan, Step};

/// Carrying out a plan, setting by setting.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Following {
    pub(super) plan: Plan,
    pub(super) done: usize,
}

impl Following {
    pub(super) fn coached(&self) -> Option<Coached> {
        let setting = *self.plan.settings.get(self.done)?;
        let then = self.plan.settings.get(self.done + 1).copied();
        let valve = setting.valve;
        let reason = match (then, self.done) {
            (Some(then), _) => format!(
                "With the {valve} at this reading, setting the {} to {} {} brings both readings home; of all ways this \
                 is the surest, since the needle moves {} here for a tenth more opening.",
                then.valve, then.set_to_pa, then.condition, self.plan.steepness
            ),
            (None, 0) => format!("Only the {valve} is off: at this reading the other one comes right too."),
            (None, _) => {
                let other = valve.other();
                format!("The {other} is where it belongs, so the {valve} alone brings both readings home.")
            }
        };
        Some(Coached { step: Step::Set { setting, then }, reason })
    }

    /// Returns the phase after an observation that fits; `None` where it does not belong here.
    pub(super) fn after(self, coach: &Coach, seen: &Observation) -> Option<Phase> {
        let setting = self.plan.settings.get(self.done)?;
        let moved = seen.moved.filter(|moved| moved.valve == setting.valve)?;
        if seen.condition != setting.condition {
            return None;
        }
        if coach.sight().missed(setting.set_to_pa, seen.reading) {
            return Some(match moved.stop {
                Some(_) => Phase::NeedleCheck { at: seen.reading, doubt: Doubt::Stop },
                None => Phase::Following(self),
            });
        }
        let condition = setting.condition;
        let done = self.done + 1;
        if done < self.plan.settings.len() {
            return Some(Phase::Following(Following { done, ..self }));
        }
        Some(Phase::pairing_after(condition, seen.reading, self.plan.miss))
    }
}
