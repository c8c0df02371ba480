use super::comparing::{Comparing, Otherwise, Suspect};
use super::phase::{Doubt, Phase};
use super::proving::{Proving, Why};
use super::{Coach, Finding, Observation};
use crate::quantity::Pressure;
use crate::rig::Condition;

/// The way of a calibration up to now: a fold of its observations.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Course {
    phase: Phase,
    passes: u32,
    is_proven: bool,
    is_untouched: bool,
}

impl Course {
    pub(super) fn of(coach: &Coach, history: &[Observation]) -> Course {
        let phase = match coach.is_thorough() {
            true => Phase::Proving(Proving::start(Why::Prove)),
            false => Phase::Pairing(Default::default()),
        };
        let start = Course { phase, passes: 0, is_proven: false, is_untouched: true };
        history.iter().fold(start, |course, seen| course.after(coach, seen))
    }

    pub(super) fn phase(&self) -> &Phase {
        &self.phase
    }

    /// How often both valves have been set.
    pub(super) fn passes(&self) -> u32 {
        self.passes
    }

    /// Whether pump, hose and plug were found sound on the way.
    pub(super) fn is_proven(&self) -> bool {
        self.is_proven
    }

    /// Whether nobody has turned a valve yet.
    pub(super) fn is_untouched(&self) -> bool {
        self.is_untouched
    }

    fn after(self, coach: &Coach, seen: &Observation) -> Course {
        let limit = coach.goal().barometer().si() + coach.sight().dial_error_pa(seen.reading);
        let next = match &self.phase {
            Phase::Found(_) => Some(self.phase.clone()),
            _ if seen.reading.si() > limit => {
                let barometer = coach.goal().barometer();
                Some(Phase::Found(Finding::BeyondBarometer { reading: seen.reading, barometer }))
            }
            Phase::Pairing(pairing) => pairing.clone().after(coach, &self, seen),
            Phase::Following(following) => following.clone().after(coach, seen),
            Phase::Proving(proving) => proving.after(coach, seen),
            Phase::Comparing(comparing) => comparing.after(seen),
            Phase::NeedleCheck { at, doubt } if seen.condition == Condition::Open => {
                Some(self.after_needle_check(coach, *at, *doubt, seen))
            }
            Phase::NeedleCheck { .. } | Phase::Settled { .. } => None,
        };
        // Whatever does not belong to the plan is a fresh look at the rig as it now is.
        let phase = next.unwrap_or_else(|| Phase::pairing_from(seen.condition, seen.reading));
        let set_last = matches!(self.phase, Phase::Following(_) | Phase::Proving(Proving::SetBleed { .. }));
        let is_pass = set_last && matches!(phase, Phase::Pairing(_));
        let has_proven = matches!(&phase, Phase::Proving(proving) if proving.has_proven());
        Course {
            passes: self.passes + u32::from(is_pass),
            is_proven: self.is_proven || has_proven,
            is_untouched: self.is_untouched && seen.moved.is_none(),
            phase,
        }
    }

    fn after_needle_check(&self, coach: &Coach, at: Pressure, doubt: Doubt, seen: &Observation) -> Phase {
        let sight = coach.sight();
        if sight.same_needle(at, seen.reading) {
            return Phase::Found(Finding::DialStuck { at });
        }
        match doubt {
            _ if !sight.is_low(seen.reading) => Phase::Found(Finding::HoseBlocked),
            // A plug that lets past as much as the orifice looks the same as an orifice that lets nothing past.
            Doubt::Orifice => Phase::Comparing(Comparing {
                suspect: Suspect::Plug,
                low: at,
                sound: sight.notably_above(at),
                leak: 1.0,
                otherwise: Otherwise::OrificeBlocked,
            }),
            Doubt::Stop if self.is_proven => Phase::Found(Finding::DoesNotRepeat),
            Doubt::Stop => Phase::Proving(Proving::start(Why::Prove)),
        }
    }
}
