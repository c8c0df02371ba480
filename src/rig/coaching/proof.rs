//! What the readings with a shut bleed valve prove: the pump, its ultimate pressure, the tightness of hose and plug.

use super::comparing::{Comparing, Otherwise, Suspect};
use super::phase::{Doubt, Phase};
use super::proving::{Proving, Why, Wide};
use super::{Coach, Finding};
use crate::air::{CRITICAL_FLOW, CRITICAL_RATIO, depth_at};
use crate::quantity::Pressure;
use crate::rig::pump::RelativePump;

/// A leak of hose and plug up to this many test orifices is left alone: the bleed takes it up.
const LEAK_LEFT_ALONE: f64 = 0.03;

/// A pump that would not do even behind an ideal nozzle is too weak; so is one whose ultimate pressure is too high for
/// that.
pub(super) fn of_pump(coach: &Coach, why: Why, plugged: Pressure, through: Pressure) -> Phase {
    let needle_check = Phase::NeedleCheck { at: through, doubt: Doubt::Orifice };
    if coach.sight().same_needle(plugged, through) {
        return needle_check;
    }
    let Some(pump) = RelativePump::measured(plugged, through, coach.goal().barometer()) else {
        return needle_check;
    };
    let inlet = coach.inlet();
    let goal = coach.goal();
    // g(x) = r*/A_i is where the flow through the orifice takes just the strength that is needed.
    if let Some(depth) = depth_at(CRITICAL_RATIO / inlet).filter(|depth| goal.depth(through) < *depth) {
        return Phase::Found(Finding::PumpTooWeak { reading: through, needed: goal.vacuum(depth) });
    }
    let wide = Wide { plugged, pump };
    let allowed = goal.vacuum(1.0 - highest_ultimate(coach, &pump));
    if plugged.si() + coach.sight().dial_error_pa(plugged) < allowed.si() {
        return Phase::Proving(Proving::CapForPump { wide });
    }
    match why {
        Why::Orifice { flows_like, expected } => Phase::Found(Finding::WrongOrifice { flows_like, expected }),
        Why::Prove | Why::Coarse => Phase::Proving(Proving::SetInlet { wide: Some(wide) }),
    }
}

pub(super) fn of_ultimate(coach: &Coach, wide: Wide, capped: Pressure) -> Phase {
    if capped.si() > wide.plugged.si() + coach.sight().notable_change_pa() {
        let rise = coach.goal().depth(capped) - coach.goal().depth(wide.plugged);
        return Phase::Comparing(Comparing {
            suspect: Suspect::Plug,
            low: wide.plugged,
            sound: capped,
            leak: rise * wide.pump.strength / CRITICAL_FLOW,
            otherwise: Otherwise::RigLeaks,
        });
    }
    let needed = coach.goal().vacuum(1.0 - highest_ultimate(coach, &wide.pump));
    Phase::Found(Finding::PumpTooWeak { reading: capped, needed })
}

/// The leak is what makes the reading with the inlet valve set fall below that with the valve open:
/// A (1/A_i - Phi*/S) is the difference in x, free of the dial's offset.
pub(super) fn of_tightness(coach: &Coach, wide: Wide, blank: Pressure) -> Phase {
    let fall = coach.goal().depth(wide.plugged) - coach.goal().depth(blank);
    let leak = fall / (1.0 / coach.inlet() - CRITICAL_FLOW / wide.pump.strength);
    if leak <= LEAK_LEFT_ALONE {
        return Phase::Proving(Proving::SetBleed { thorough: true });
    }
    let suspect = Suspect::Plug;
    Phase::Comparing(Comparing {
        suspect,
        low: blank,
        sound: wide.plugged,
        leak,
        otherwise: Otherwise::RigLeaks,
    })
}

/// The highest ultimate pressure, over the barometer's, with which an ideal nozzle is sonic at the plugged target.
fn highest_ultimate(coach: &Coach, pump: &RelativePump) -> f64 {
    let plugged = 1.0 - coach.goal().depth(coach.goal().plugged());
    plugged * (CRITICAL_RATIO - coach.inlet() * CRITICAL_FLOW / pump.strength)
}
