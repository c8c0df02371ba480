use super::change::Change;
use super::comparing::{Comparing, Otherwise, Suspect};
use super::course::Course;
use super::following::Following;
use super::phase::{Doubt, Phase};
use super::proving::{Proving, Why};
use super::standing::{Mean, Standing};
use super::{Coach, Coached, Finding, Observation, Plan, Step};
use crate::quantity::Pressure;
use crate::rig::{Calibration, Condition};

/// Reading plugged and through with the valves as they are, each again where that would decide.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Pairing {
    plugged: Mean,
    through: Mean,
    /// How far from its target the reading not set last is expected at most, where a plan was carried out.
    miss: Option<Pressure>,
}

/// A plan that may miss by more than this many tolerances starts from a pair that says too little.
const TOO_COARSE: f64 = 8.0;

/// Valves that are still off after this many passes do not stay where they are set.
const MOST_PASSES: u32 = 4;

impl Pairing {
    /// Starts one whose readings are expected this close to their targets.
    pub(super) fn expected_within(miss: Pressure) -> Pairing {
        Pairing { miss: Some(miss), ..Pairing::default() }
    }

    pub(super) fn with(mut self, condition: Condition, reading: Pressure) -> Pairing {
        match condition {
            Condition::Plugged => self.plugged = self.plugged.with(reading),
            Condition::Through => self.through = self.through.with(reading),
            Condition::OtherPlug | Condition::Capped | Condition::Open => {}
        }
        self
    }

    pub(super) fn coached(&self, coach: &Coach) -> Coached {
        let (condition, reason) = match (self.plugged.value(), self.through.value()) {
            (None, None) => (
                Condition::Plugged,
                "Two readings, plugged and through the orifice, tell where both valves stand.",
            ),
            (None, Some(_)) => (
                Condition::Plugged,
                "The plugged reading shows where both valves stand, and whether the rig is set.",
            ),
            (Some(_), None) => (
                Condition::Through,
                "The reading through the orifice shows where both valves stand, and whether the rig is set.",
            ),
            (Some(_), Some(_)) => (
                match self.standing(coach) {
                    Standing::Unclear(condition) => condition,
                    Standing::In | Standing::Out | Standing::OnEdge => Condition::Plugged,
                },
                "This reading is so close to the edge of its tolerance that reading it once more decides.",
            ),
        };
        Coached { step: Step::Read(condition), reason: reason.to_owned() }
    }

    /// Returns the phase after one more reading; `None` where it does not belong here.
    pub(super) fn after(self, coach: &Coach, course: &Course, seen: &Observation) -> Option<Phase> {
        let belongs = matches!(seen.condition, Condition::Plugged | Condition::Through);
        if seen.moved.is_some() || !belongs {
            return None;
        }
        let pairing = self.with(seen.condition, seen.reading);
        let (Some(plugged), Some(through)) = (pairing.plugged.value(), pairing.through.value()) else {
            return Some(Phase::Pairing(pairing));
        };
        Some(pairing.judge(coach, course, plugged, through))
    }

    fn judge(self, coach: &Coach, course: &Course, plugged: Pressure, through: Pressure) -> Phase {
        let sight = coach.sight();
        if through.si() > plugged.si() && !sight.same_needle(plugged, through) {
            let low = plugged;
            return Phase::Comparing(Comparing {
                suspect: Suspect::Plug,
                low,
                sound: through,
                leak: 1.0,
                otherwise: Otherwise::Prove,
            });
        }
        if sight.same_needle(plugged, through) && sight.should_differ(plugged) {
            return Phase::NeedleCheck { at: through, doubt: Doubt::Orifice };
        }
        if let Some(suspicion) = coach
            .last()
            .filter(|_| course.is_untouched())
            .and_then(|last| suspicion(coach, last, plugged, through))
        {
            return suspicion;
        }
        let off = |condition, reading: Pressure| (reading.si() - coach.goal().target(condition).si()).abs();
        let worst = off(Condition::Plugged, plugged).max(off(Condition::Through, through));
        let unexpected = self.miss.is_some_and(|miss| worst > 2.0 * miss.si() + sight.notable_change_pa());
        if unexpected && course.passes() >= 2 && !course.is_proven() {
            return Phase::Proving(Proving::start(Why::Prove));
        }
        match self.standing(coach) {
            Standing::Unclear(_) => return Phase::Pairing(self),
            Standing::In => return Phase::Settled { plugged, through },
            // On the edge one more pass is better than the luck of a reading; after two passes it is good enough.
            Standing::OnEdge if course.passes() >= 2 && coach.goal().is_met_by(plugged, through) => {
                return Phase::Settled { plugged, through };
            }
            Standing::OnEdge | Standing::Out => {}
        }
        if course.passes() >= MOST_PASSES {
            return match course.is_proven() {
                true => Phase::Found(Finding::DoesNotRepeat),
                false => Phase::Proving(Proving::start(Why::Prove)),
            };
        }
        match Plan::best(coach.goal(), coach.dial(), plugged, through) {
            Some(plan) if plan.miss.si() <= TOO_COARSE * coach.goal().tolerance().si() => {
                Phase::Following(Following { plan, done: 0 })
            }
            _ => Phase::Proving(Proving::start(Why::Coarse)),
        }
    }

    fn standing(&self, coach: &Coach) -> Standing {
        Standing::of(coach.goal(), &coach.sight(), &self.plugged, &self.through)
    }
}

/// What to look into where the rig reads otherwise than at its last calibration, with the valves as they were.
fn suspicion(coach: &Coach, last: &Calibration, plugged: Pressure, through: Pressure) -> Option<Phase> {
    let change = Change::since(last, coach.goal(), &coach.sight(), plugged, through)?;
    let sound = coach.goal().vacuum(last.plugged().si() / last.barometer().si());
    Some(match change {
        // A pump that weakens can look like a larger orifice, never like a smaller one.
        Change::Orifice { flows_like, expected } if flows_like > expected => {
            Phase::Proving(Proving::start(Why::Orifice { flows_like, expected }))
        }
        Change::Orifice { flows_like, expected } => {
            Phase::Found(Finding::WrongOrifice { flows_like, expected })
        }
        Change::MoreAirIn => {
            let fall = coach.goal().depth(sound) - coach.goal().depth(plugged);
            let leak = fall * last.inlet_relative();
            let suspect = Suspect::Plug;
            Phase::Comparing(Comparing { suspect, low: plugged, sound, leak, otherwise: Otherwise::Prove })
        }
        Change::LessAirOut => Phase::Proving(Proving::start(Why::Prove)),
    })
}
