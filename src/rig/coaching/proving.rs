use super::phase::{Doubt, Phase};
use super::{Coach, Coached, Observation, Setting, Step, proof};
use crate::air::depth_at;
use crate::quantity::{Length, Pressure};
use crate::rig::pump::RelativePump;
use crate::rig::{Condition, Stop, Turn, Valve};

/// Setting the rig from a shut bleed valve, which needs no knowledge of where the valves stand.
///
/// With the bleed shut, one reading through the orifice puts the inlet valve where the targets need it, and the plugged
/// target then puts the bleed there. A thorough course opens the inlet valve before, which measures the pump, and reads
/// plugged with the inlet valve set, which shows every leak of hose, plug and rig.
///
/// The bleed is never shut on a plugged hose while the inlet valve may be nearly shut too: the needle would creep for
/// minutes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Proving {
    OpenInlet { why: Why },
    ShutBleed { why: Why },
    WideThrough { why: Why, plugged: Pressure },
    CapForPump { wide: Wide },
    SetInlet { wide: Option<Wide> },
    Blank { wide: Wide },
    SetBleed { thorough: bool },
}

/// Why a rig is set from a shut bleed valve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Why {
    /// The readings are too low or too close to say where the valves stand.
    Coarse,
    /// Pump, hose and plug are to be proven.
    Prove,
    /// The orifice is suspected, unless it is the pump.
    Orifice { flows_like: Length, expected: Length },
}

/// The rig with the bleed valve shut and the inlet valve open.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Wide {
    pub(super) plugged: Pressure,
    pub(super) pump: RelativePump,
}

/// How much less than an ideal nozzle the bleed is taken to pass at the through point: between an ideal nozzle (0) and
/// a needle valve with a critical ratio of 0.35 (1), so that neither is off by more than 0.12 inHg.
const SHORTFALL: f64 = 0.6;

impl Proving {
    pub(super) fn start(why: Why) -> Proving {
        match why {
            Why::Coarse => Proving::ShutBleed { why },
            Why::Prove | Why::Orifice { .. } => Proving::OpenInlet { why },
        }
    }

    pub(super) fn coached(&self, coach: &Coach) -> Coached {
        let (step, reason) = match self {
            Proving::OpenInlet { .. } => (
                Step::TurnToStop { condition: Condition::Plugged, valve: Valve::Inlet, stop: Stop::Open },
                "The pump is measured first: the inlet valve open as far as it goes, and the bleed valve shut.",
            ),
            Proving::ShutBleed { why: Why::Prove | Why::Orifice { .. } } => (
                Step::TurnToStop { condition: Condition::Plugged, valve: Valve::Bleed, stop: Stop::Shut },
                "With the bleed valve shut, whatever air still comes in is a leak, and the pump shows what it can do.",
            ),
            Proving::ShutBleed { why: Why::Coarse } => (
                Step::TurnToStop { condition: Condition::Through, valve: Valve::Bleed, stop: Stop::Shut },
                "The readings do not tell well where the valves stand; from a shut bleed valve that does not matter.",
            ),
            Proving::WideThrough { .. } => (
                Step::Read(Condition::Through),
                "How far the reading falls through the orifice shows how strong the pump is.",
            ),
            Proving::CapForPump { .. } => (
                Step::Read(Condition::Capped),
                "The plugged reading is low: with the hose off it shows whether the pump or the hose is the cause.",
            ),
            Proving::SetInlet { wide } => (
                Step::Set { setting: inlet_setting(coach, wide.is_some()), then: Some(bleed_setting(coach)) },
                "With the bleed valve shut this reading puts the inlet valve where it belongs, and the bleed valve \
                 alone then brings both readings home.",
            ),
            Proving::Blank { .. } => (
                Step::Read(Condition::Plugged),
                "With the bleed valve still shut the plugged reading shows whether hose and plug are tight.",
            ),
            Proving::SetBleed { .. } => (
                Step::Set { setting: bleed_setting(coach), then: None },
                "The inlet valve is where it belongs, so the bleed valve alone brings both readings home.",
            ),
        };
        Coached { step, reason: reason.to_owned() }
    }

    /// Returns the phase after an observation that fits; `None` where it does not belong here.
    pub(super) fn after(self, coach: &Coach, seen: &Observation) -> Option<Phase> {
        let moved = seen.moved.map(|moved| (moved.valve, moved.stop));
        let at = seen.condition;
        let fits = match self {
            Proving::OpenInlet { .. } => moved == Some((Valve::Inlet, Some(Stop::Open))),
            Proving::ShutBleed { why } => {
                let here = why == Why::Coarse || at == Condition::Plugged;
                moved == Some((Valve::Bleed, Some(Stop::Shut))) && here
            }
            Proving::WideThrough { .. } => moved.is_none() && at == Condition::Through,
            Proving::CapForPump { .. } => moved.is_none() && at == Condition::Capped,
            Proving::SetInlet { .. } => {
                moved.is_some_and(|(valve, _)| valve == Valve::Inlet) && at == Condition::Through
            }
            Proving::Blank { .. } => moved.is_none() && at == Condition::Plugged,
            Proving::SetBleed { .. } => {
                moved.is_some_and(|(valve, _)| valve == Valve::Bleed) && at == Condition::Plugged
            }
        };
        let reading = seen.reading;
        let stopped = seen.moved.is_some_and(|moved| moved.stop.is_some());
        fits.then(|| match self {
            Proving::ShutBleed { why: Why::Coarse } => Phase::Proving(Proving::SetInlet { wide: None }),
            Proving::OpenInlet { why } => Phase::Proving(Proving::ShutBleed { why }),
            Proving::ShutBleed { why } => Phase::Proving(Proving::WideThrough { why, plugged: reading }),
            Proving::WideThrough { why, plugged } => proof::of_pump(coach, why, plugged, reading),
            Proving::CapForPump { wide } => proof::of_ultimate(coach, wide, reading),
            Proving::SetInlet { wide } => {
                let wanted = inlet_setting(coach, wide.is_some()).set_to_pa;
                match (coach.sight().missed(wanted, reading), wide) {
                    (false, Some(wide)) => Phase::Proving(Proving::Blank { wide }),
                    (false, None) => Phase::Proving(Proving::SetBleed { thorough: false }),
                    (true, _) if stopped => Phase::NeedleCheck { at: reading, doubt: Doubt::Stop },
                    (true, _) => Phase::Proving(self),
                }
            }
            Proving::Blank { wide } => proof::of_tightness(coach, wide, reading),
            Proving::SetBleed { .. } => match coach.sight().missed(coach.goal().plugged(), reading) {
                false => Phase::pairing_from(Condition::Plugged, reading),
                true if stopped => Phase::NeedleCheck { at: reading, doubt: Doubt::Stop },
                true => Phase::Proving(self),
            },
        })
    }

    /// Returns whether pump, hose and plug have been found sound by now.
    pub(super) fn has_proven(&self) -> bool {
        matches!(self, Proving::SetBleed { thorough: true })
    }
}

/// The reading through the orifice, bleed shut, that puts the inlet valve right: g(x) = A_o/A_i.
fn inlet_setting(coach: &Coach, is_open: bool) -> Setting {
    let inlet = coach.goal().areas(SHORTFALL).map_or(1.0, |areas| areas.inlet);
    Setting {
        condition: Condition::Through,
        valve: Valve::Inlet,
        turn: if is_open { Turn::Close } else { Turn::Open },
        set_to_pa: depth_at(1.0 / inlet).map_or(coach.goal().through(), |depth| coach.goal().vacuum(depth)),
    }
}

fn bleed_setting(coach: &Coach) -> Setting {
    Setting {
        condition: Condition::Plugged,
        valve: Valve::Bleed,
        turn: Turn::Open,
        set_to_pa: coach.goal().plugged(),
    }
}
