use super::coach::Mean;
use super::plan::ValvePlan;
use super::{CoachReading, RigConcern, Setting};
use crate::quantity::{Length, Pressure};
use crate::rig::{Condition, RelativePump};

/// The way of a calibration up to now: a fold of its readings.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Course {
    pub(super) phase: Phase,
    /// How often both valves have been set.
    pub(super) passes: u32,
    /// Whether pump, hose and plug were found sound on the way.
    pub(super) is_proven: bool,
    /// Whether nobody has turned a valve yet.
    pub(super) is_untouched: bool,
    /// The reading before the last.
    pub(super) before: Option<CoachReading>,
    pub(super) last: Option<CoachReading>,
}

/// Where a calibration is on its way.
///
/// The needle check finds out whether the needle, which stood at a reading, moves at all.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Phase {
    Pairing(Pairing),
    Following(Following),
    Proving(Proving),
    Comparing(Comparing),
    NeedleCheck { at: Pressure, doubt: Doubt },
    Found(RigConcern),
    Settled { plugged: Pressure, through: Pressure },
}

/// Reading plugged and through with the valves as they are, each again where that would decide.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Pairing {
    pub(super) plugged: Mean,
    pub(super) through: Mean,
    /// How far from its target the reading not set last is expected at most, where a plan was carried out.
    pub(super) miss: Option<Pressure>,
}

/// Carrying out a plan, setting by setting.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Following {
    pub(super) plan: ValvePlan,
    /// Whether the first of two settings is done.
    pub(super) is_second: bool,
}

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
    CapForPump { why: Why, wide: Wide },
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
    /// Passes have not landed where they should. Hose and plug are proven, and a pump is borne with that reaches the
    /// goal: such a one has led nobody astray who only wanted these two readings.
    Missed,
    /// The orifice is suspected, unless it is the pump.
    Orifice { flows_like: Length, expected: Length },
}

/// The rig with the bleed valve shut and the inlet valve open.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Wide {
    pub(super) plugged: Pressure,
    pub(super) through: Pressure,
    pub(super) pump: RelativePump,
}

/// Telling by one more reading whether plug or hose lets the air in that a low plugged reading shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Comparing {
    pub(super) suspect: Suspect,
    /// The plugged reading with the leak.
    pub(super) low: Pressure,
    /// What it would be without.
    pub(super) sound: Pressure,
    /// How much comes in, in test orifices.
    pub(super) leak: f64,
    /// What is left where plug and hose are sound.
    pub(super) otherwise: Otherwise,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Suspect {
    Plug,
    Hose,
}

/// What to think where neither plug nor hose leaks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Otherwise {
    /// The bleed valve is shut: it is the rig itself that leaks.
    RigLeaks,
    /// The needle moves and the plugged reading is as it should: no air comes through the orifice.
    OrificeBlocked,
    /// Somebody has turned a valve after all, or the pump has changed: prove the rig.
    Prove,
}

/// Why the needle may not move.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Doubt {
    /// It stood the same plugged and through the orifice.
    Orifice,
    /// A valve came to its stop and the reading did not come where it should.
    Stop,
    /// A valve was turned further and further for this deeper reading, and the needle stood.
    Reach { wanted: Pressure },
}

impl Phase {
    /// Starts to set the rig from a shut bleed valve.
    pub(super) fn prove(why: Why) -> Phase {
        Phase::Proving(match why {
            Why::Coarse => Proving::ShutBleed { why },
            Why::Prove | Why::Missed | Why::Orifice { .. } => Proving::OpenInlet { why },
        })
    }

    /// Starts to compare plugs, then hoses.
    pub(super) fn compare(low: Pressure, sound: Pressure, leak: f64, otherwise: Otherwise) -> Phase {
        Phase::Comparing(Comparing { suspect: Suspect::Plug, low, sound, leak, otherwise })
    }

    /// Starts a pair that has one of its readings already; after a plan, the other is expected this
    /// close to its target.
    pub(super) fn pair(condition: Condition, reading: Pressure, miss: Option<Pressure>) -> Phase {
        Phase::Pairing(Pairing { miss, ..Pairing::default() }.with(condition, reading))
    }

    /// Stays where a setting was missed, unless a stop was in the way.
    pub(super) fn missed(self, seen: &CoachReading) -> Phase {
        match seen.moved.and_then(|moved| moved.stop) {
            Some(_) => Phase::NeedleCheck { at: seen.reading, doubt: Doubt::Stop },
            None => self,
        }
    }
}

impl Pairing {
    pub(super) fn with(mut self, condition: Condition, reading: Pressure) -> Pairing {
        match condition {
            Condition::Plugged => self.plugged = self.plugged.with(reading),
            Condition::Through => self.through = self.through.with(reading),
            Condition::OtherPlug | Condition::Capped | Condition::Open => {}
        }
        self
    }
}

impl Following {
    pub(super) fn setting(&self) -> Setting {
        self.plan.second.filter(|_| self.is_second).unwrap_or(self.plan.first)
    }

    pub(super) fn then(&self) -> Option<Setting> {
        self.plan.second.filter(|_| !self.is_second)
    }
}
