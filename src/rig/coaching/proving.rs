use super::phase::{Comparing, Doubt, Otherwise, Phase, Proving, Suspect, Why, Wide};
use super::step::NextStep;
use super::{Coach, CoachReading, CoachStep, RigConcern, Setting};
use crate::air::{CRITICAL_FLOW, CRITICAL_RATIO, depth_at};
use crate::quantity::Pressure;
use crate::rig::{Condition, RelativePump, Valve, ValveStop, ValveTurn};

/// How much less than an ideal nozzle the bleed is taken to pass at the through point: between an ideal nozzle (0) and
/// a needle valve with a critical ratio of 0.35 (1), so that neither is off by more than 0.12 inHg.
const SHORTFALL: f64 = 0.6;

/// A leak of hose and plug up to this many test orifices is left alone: the bleed takes it up.
const LEAK_LEFT_ALONE: f64 = 0.03;

impl Proving {
    pub(super) fn asks(&self, coach: &Coach) -> NextStep {
        let to_stop = |condition, valve, stop| CoachStep::TurnToStop { condition, valve, stop };
        let (step, reason) = match self {
            Proving::OpenInlet { .. } => (
                to_stop(Condition::Plugged, Valve::Inlet, ValveStop::Open),
                "The pump is measured first: the inlet valve open as far as it goes, and the bleed valve shut.",
            ),
            Proving::ShutBleed { why: Why::Prove | Why::Missed | Why::Orifice { .. } } => (
                to_stop(Condition::Plugged, Valve::Bleed, ValveStop::Shut),
                "With the bleed valve shut, whatever air still comes in is a leak, and the pump shows what it can do.",
            ),
            Proving::ShutBleed { why: Why::Coarse } => (
                to_stop(Condition::Through, Valve::Bleed, ValveStop::Shut),
                "The readings do not tell well where the valves stand; from a shut bleed valve that does not matter.",
            ),
            Proving::WideThrough { .. } => (
                CoachStep::Read(Condition::Through),
                "How far the reading falls through the orifice shows how strong the pump is.",
            ),
            Proving::CapForPump { .. } => (
                CoachStep::Read(Condition::Capped),
                "The plugged reading is low: with the hose off it shows whether the pump or the hose is the cause.",
            ),
            Proving::SetInlet { wide } => (
                CoachStep::Set {
                    setting: inlet_setting(coach, wide.is_some()),
                    then: Some(bleed_setting(coach)),
                },
                "With the bleed valve shut this reading puts the inlet valve where it belongs, and the bleed valve \
                 alone then brings both readings home.",
            ),
            Proving::Blank { .. } => (
                CoachStep::Read(Condition::Plugged),
                "With the bleed valve still shut the plugged reading shows whether hose and plug are tight.",
            ),
            Proving::SetBleed { .. } => (
                CoachStep::Set { setting: bleed_setting(coach), then: None },
                "The inlet valve is set, so the bleed valve is to bring both readings home; a look at both then shows how near.",
            ),
        };
        NextStep::new(step, reason)
    }

    /// Returns the phase after the reading that was asked for.
    pub(super) fn after(self, coach: &Coach, seen: &CoachReading) -> Phase {
        let reading = seen.reading;
        let missed = |wanted| coach.sight().missed(wanted, reading);
        match self {
            Proving::ShutBleed { why: Why::Coarse } => Phase::Proving(Proving::SetInlet { wide: None }),
            Proving::OpenInlet { why } => Phase::Proving(Proving::ShutBleed { why }),
            Proving::ShutBleed { why } => Phase::Proving(Proving::WideThrough { why, plugged: reading }),
            Proving::WideThrough { why, plugged } => of_pump(coach, why, plugged, reading),
            Proving::CapForPump { why, wide } => of_ultimate(coach, why, wide, reading),
            Proving::SetInlet { wide } if missed(inlet_setting(coach, wide.is_some()).set_to_pa) => {
                Phase::Proving(self).missed(seen)
            }
            Proving::SetInlet { wide: Some(wide) } => Phase::Proving(Proving::Blank { wide }),
            Proving::SetInlet { wide: None } => Phase::Proving(Proving::SetBleed { thorough: false }),
            Proving::Blank { wide } => of_tightness(coach, wide, reading),
            Proving::SetBleed { .. } if missed(coach.goal.plugged()) => Phase::Proving(self).missed(seen),
            Proving::SetBleed { .. } => Phase::pair(Condition::Plugged, reading, None),
        }
    }
}

/// The reading through the orifice, bleed shut, that puts the inlet valve right: g(x) = A_o/A_i.
fn inlet_setting(coach: &Coach, is_open: bool) -> Setting {
    let inlet = coach.goal.areas(SHORTFALL).map_or(1.0, |areas| areas.inlet);
    Setting {
        condition: Condition::Through,
        valve: Valve::Inlet,
        turn: if is_open { ValveTurn::Close } else { ValveTurn::Open },
        set_to_pa: coach.dial.nearest_half_mark(
            depth_at(1.0 / inlet).map_or(coach.goal.through(), |depth| coach.goal.vacuum(depth)),
        ),
    }
}

fn bleed_setting(coach: &Coach) -> Setting {
    Setting {
        condition: Condition::Plugged,
        valve: Valve::Bleed,
        turn: ValveTurn::Open,
        set_to_pa: coach.goal.plugged(),
    }
}

/// What two readings with both valves at their stops prove of the pump: one that would not do even behind an ideal
/// nozzle is too weak; so is one whose ultimate pressure is too high for that.
fn of_pump(coach: &Coach, why: Why, plugged: Pressure, through: Pressure) -> Phase {
    let needle_check = Phase::NeedleCheck { at: through, doubt: Doubt::Orifice };
    if coach.sight().same_needle(plugged, through) {
        return needle_check;
    }
    let goal = &coach.goal;
    let Some(pump) = RelativePump::measured(plugged, through, goal.barometer()) else {
        return needle_check;
    };
    // g(x) = r*/A_i is where the flow through the orifice takes just the strength that is needed.
    let least = depth_at(CRITICAL_RATIO / coach.inlet());
    let is_enough = bears(coach, why, plugged, through);
    let is_weak = |depth: &f64| !is_enough && goal.depth(through) < *depth;
    if let Some(depth) = least.filter(is_weak) {
        let needed = goal.vacuum(depth);
        return Phase::Found(RigConcern::PumpTooWeak { reading: through, needed, reach: plugged });
    }
    let wide = Wide { plugged, through, pump };
    let allowed = goal.vacuum(1.0 - highest_ultimate(coach, &pump));
    let is_shallow = plugged.si() + coach.sight().dial_error_pa(plugged) < allowed.si();
    if is_shallow && !coach.bears_with_pump {
        return Phase::Proving(Proving::CapForPump { why, wide });
    }
    match why {
        Why::Orifice { flows_like, expected } => {
            Phase::Found(RigConcern::WrongOrifice { flows_like, expected })
        }
        Why::Prove | Why::Missed | Why::Coarse => Phase::Proving(Proving::SetInlet { wide: Some(wide) }),
    }
}

/// Whether a pump is gone on with though the inlet valve may not be sonic with it: whoever knows it wants that, or it
/// reaches both targets, as its readings with the bleed valve shut and the inlet valve open show.
fn bears(coach: &Coach, why: Why, plugged: Pressure, through: Pressure) -> bool {
    let is_beyond = |reading: Pressure, condition| {
        reading.si() > coach.goal.target(condition).si() + coach.sight().notable_change_pa()
    };
    let reaches = is_beyond(plugged, Condition::Plugged) && is_beyond(through, Condition::Through);
    coach.bears_with_pump || (why == Why::Missed && reaches)
}

/// What a low plugged reading is made of: a leak of hose or plug, where the rig reads deeper without them, or the pump.
fn of_ultimate(coach: &Coach, why: Why, wide: Wide, capped: Pressure) -> Phase {
    let goal = &coach.goal;
    if capped.si() > wide.plugged.si() + coach.sight().notable_change_pa() {
        let rise = goal.depth(capped) - goal.depth(wide.plugged);
        let leak = rise * wide.pump.strength / CRITICAL_FLOW;
        return Phase::compare(wide.plugged, capped, leak, Otherwise::RigLeaks);
    }
    if bears(coach, why, wide.plugged, wide.through) {
        return Phase::Proving(Proving::SetInlet { wide: Some(wide) });
    }
    let needed = goal.vacuum(1.0 - highest_ultimate(coach, &wide.pump));
    Phase::Found(RigConcern::PumpTooWeak { reading: capped, needed, reach: wide.plugged })
}

/// The leak is what makes the reading with the inlet valve set fall below that with the valve open:
/// A (1/A_i - Phi*/S) is the difference in x, free of the dial's offset.
fn of_tightness(coach: &Coach, wide: Wide, blank: Pressure) -> Phase {
    let fall = coach.goal.depth(wide.plugged) - coach.goal.depth(blank);
    let leak = fall / (1.0 / coach.inlet() - CRITICAL_FLOW / wide.pump.strength);
    if leak <= LEAK_LEFT_ALONE {
        return Phase::Proving(Proving::SetBleed { thorough: true });
    }
    Phase::compare(blank, wide.plugged, leak, Otherwise::RigLeaks)
}

/// The highest ultimate pressure, over the barometer's, with which an ideal nozzle is sonic at the plugged target.
fn highest_ultimate(coach: &Coach, pump: &RelativePump) -> f64 {
    let plugged = 1.0 - coach.goal.depth(coach.goal.plugged());
    plugged * (CRITICAL_RATIO - coach.inlet() * CRITICAL_FLOW / pump.strength)
}

impl Comparing {
    pub(super) fn asks(&self) -> NextStep {
        match self.suspect {
            Suspect::Plug => NextStep::new(
                CoachStep::Read(Condition::OtherPlug),
                "Air comes in that should not: by the plug, the hose or the rig, or by a bleed valve that is not quite shut. If another \
                 plug makes the reading rise and no valve was touched, it was the plug.",
            ),
            Suspect::Hose => NextStep::new(
                CoachStep::Read(Condition::Capped),
                "The plug is not the cause: if the reading rises with the hose off and no valve was touched, it was the hose.",
            ),
        }
    }

    /// Returns the phase after the reading that was asked for.
    ///
    /// A rise that is more than the needle's own shows a leak, even where it does not come to the whole: more
    /// than one part may leak, and what is left shows in the next course. The leak is told in the share that the
    /// rise has of the whole.
    pub(super) fn after(self, coach: &Coach, seen: &CoachReading) -> Phase {
        let rise = seen.reading.si() - self.low.si();
        let whole = self.sound.si() - self.low.si();
        let leak = if rise < whole { self.leak * rise / whole } else { self.leak };
        let is_found = rise > coach.sight().notable_change_pa().min(0.5 * whole);
        match (self.suspect, self.otherwise) {
            (Suspect::Plug, _) if is_found => Phase::Found(RigConcern::PlugNotSealing { leak }),
            (Suspect::Hose, _) if is_found => Phase::Found(RigConcern::HoseLeaking { leak }),
            (_, Otherwise::OrificeBlocked) => Phase::Found(RigConcern::OrificeBlocked),
            (Suspect::Plug, _) => Phase::Comparing(Comparing { suspect: Suspect::Hose, ..self }),
            (Suspect::Hose, Otherwise::RigLeaks) => Phase::Found(RigConcern::RigLeaking { leak: self.leak }),
            (Suspect::Hose, Otherwise::Prove) => Phase::prove(Why::Prove),
        }
    }
}
