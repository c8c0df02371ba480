use super::coach::Nearness;
use super::phase::{Course, Doubt, Following, Otherwise, Pairing, Phase, Why};
use super::step::NextStep;
use super::{Coach, CoachReading, CoachStep, RigConcern, ValvePlan};
use crate::air::opening_ratio;
use crate::quantity::{Length, Pressure};
use crate::rig::{Calibration, Condition};

/// A plan that may miss by more than this many tolerances starts from a pair that says too little.
const TOO_COARSE: f64 = 8.0;

/// Valves that are still off after this many passes do not stay where they are set, or the rig is to be proven; with
/// that done they have as many again, since a dial may scatter by as much as the tolerance.
const MOST_PASSES: u32 = 4;

impl Pairing {
    pub(super) fn asks(&self, coach: &Coach) -> NextStep {
        let (condition, reason) = match (self.plugged.value(), self.through.value()) {
            (None, None) => (Condition::Plugged, "Two readings tell where the rig stands."),
            (None, Some(_)) => (
                Condition::Plugged,
                "The plugged reading shows where both valves stand, and whether the rig is set.",
            ),
            (Some(_), None) => (Condition::Through, "Both readings are needed."),
            (Some(_), Some(_)) => (
                match self.nearness(coach) {
                    Nearness::Unclear(condition) => condition,
                    Nearness::In | Nearness::Out | Nearness::OnEdge => Condition::Plugged,
                },
                "This reading is close to the edge of its tolerance, so it is read again, twice at most.",
            ),
        };
        NextStep::new(CoachStep::Read(condition), reason)
    }

    /// Returns the phase after one more reading; `None` where it does not belong here.
    pub(super) fn after(self, coach: &Coach, course: &Course, seen: &CoachReading) -> Option<Phase> {
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
            return Phase::compare(plugged, through, 1.0, Otherwise::Prove);
        }
        if sight.same_needle(plugged, through) && sight.should_differ(plugged) {
            return Phase::NeedleCheck { at: through, doubt: Doubt::Orifice };
        }
        if let Some(suspicion) = coach
            .last
            .as_ref()
            .filter(|_| course.is_untouched)
            .and_then(|last| suspicion(coach, last, plugged, through))
        {
            return suspicion;
        }
        let off = |condition, reading| coach.goal.off(condition, reading);
        let worst = off(Condition::Plugged, plugged).max(off(Condition::Through, through));
        let unexpected = self.miss.is_some_and(|miss| worst > 2.0 * miss.si() + sight.notable_change_pa());
        if unexpected && course.passes >= 2 && !course.is_proven {
            return Phase::prove(Why::Missed);
        }
        match self.nearness(coach) {
            Nearness::Unclear(_) => return Phase::Pairing(self),
            Nearness::In => return Phase::Settled { plugged, through },
            // On the edge one more pass is better than the luck of a reading; after two passes it is good enough.
            Nearness::OnEdge if course.passes >= 2 && coach.goal.is_met_by(plugged, through) => {
                return Phase::Settled { plugged, through };
            }
            Nearness::OnEdge | Nearness::Out => {}
        }
        match course.is_proven {
            true if course.passes >= 2 * MOST_PASSES => return Phase::Found(RigConcern::DoesNotRepeat),
            false if course.passes >= MOST_PASSES => return Phase::prove(Why::Missed),
            _ => {}
        }
        match ValvePlan::best(&coach.goal, &coach.dial, plugged, through) {
            Some(plan) if plan.miss.si() <= TOO_COARSE * coach.goal.tolerance().si() => {
                Phase::Following(Following { plan, is_second: false })
            }
            _ => Phase::prove(Why::Coarse),
        }
    }

    fn nearness(&self, coach: &Coach) -> Nearness {
        Nearness::of(&coach.goal, &coach.sight(), &self.plugged, &self.through)
    }
}

/// What to look into where the rig reads otherwise than at its last calibration, with the valves as they were; `None`
/// where nothing has changed that valves would not explain as well.
fn suspicion(coach: &Coach, last: &Calibration, plugged: Pressure, through: Pressure) -> Option<Phase> {
    /// Above this ratio of the plugged reading's fall to the other's, more air comes in; below, less goes out.
    ///
    /// At the usual points an added leak makes the plugged reading fall 3.5 times as far as the other, a closing inlet
    /// valve half as far; this is the geometric mean of the two.
    const DIVIDE: f64 = 1.3;
    let goal = &coach.goal;
    let scale = goal.barometer().si() / last.barometer().si();
    let fall = |before: Pressure, now: Pressure| before.si() * scale - now.si();
    let plugged_fall = fall(last.plugged(), plugged);
    let through_fall = fall(last.through(), through);
    let notable = coach.sight().notable_change_pa();
    match (plugged_fall > notable, through_fall > notable) {
        // Both have fallen, the one through the orifice by more: less air goes out than before.
        (true, true) if plugged_fall < DIVIDE * through_fall => Some(Phase::prove(Why::Prove)),
        // The plugged reading has fallen, alone or by more than the other: more air comes in than before.
        (true, _) if through_fall > -notable => {
            let sound = goal.vacuum(last.plugged().si() / last.barometer().si());
            let leak = (goal.depth(sound) - goal.depth(plugged)) * last.inlet_relative();
            Some(Phase::compare(plugged, sound, leak, Otherwise::Prove))
        }
        (false, _) if through_fall.abs() > notable && plugged_fall.abs() <= notable => {
            let flow = opening_ratio(goal.depth(through))? * last.inlet_relative() - last.bleed_relative();
            let flows_like = Length::from_si(last.hole(flow.max(0.0)))?;
            let expected = last.orifice().diameter();
            // A pump that weakens can look like a larger orifice, never like a smaller one.
            Some(match flows_like > expected {
                true => Phase::prove(Why::Orifice { flows_like, expected }),
                false => Phase::Found(RigConcern::WrongOrifice { flows_like, expected }),
            })
        }
        _ => None,
    }
}
