use std::borrow::Cow;

use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::quantity::{INCH, INCH_OF_MERCURY, Length, Pressure};
use crate::rig::{Condition, Valve, ValveStop, ValveTurn};

/// One reading taken while a rig is calibrated, with what was turned just before it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct CoachReading {
    pub condition: Condition,
    /// What the gauge showed after it had settled.
    pub reading: Pressure,
    /// The valve that was turned since the reading before; never both.
    pub moved: Option<Moved>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Moved {
    pub valve: Valve,
    /// The stop that it was turned against, where it was.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stop: Option<ValveStop>,
}

/// One thing to do with a valve: with the hose so, turn it this way until the gauge shows that.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Setting {
    pub condition: Condition,
    pub valve: Valve,
    pub turn: ValveTurn,
    pub set_to_pa: Pressure,
}

/// A reading this far from what was asked for may well be another figure than the needle's: 5 inHg (common
/// practice, no source).
const FAR_OFF: Pressure = Pressure::constant(5.0 * INCH_OF_MERCURY);

impl Setting {
    /// Turns the valve the way that the mark now lies, where it has just been turned and the needle stands elsewhere: a
    /// valve may have been turned too far. Returns by how much the reading missed.
    pub(super) fn follow(&mut self, before: Option<&CoachReading>, seen: &CoachReading) -> Option<Missed> {
        let asked = before.and_then(|before| self.turn_after(before)).unwrap_or(self.turn);
        self.turn = self.turn_after(seen)?;
        let by = Pressure::from_si((seen.reading.si() - self.set_to_pa.si()).abs())?;
        let is_below = seen.reading < self.set_to_pa;
        Some(Missed { reading: seen.reading, by, is_below, is_passed: self.turn != asked })
    }

    /// Returns which way the mark lies from a reading for which this valve was turned; nothing where that is the mark,
    /// or the valve was not turned for it.
    fn turn_after(&self, seen: &CoachReading) -> Option<ValveTurn> {
        let is_this = seen.condition == self.condition
            && seen.moved.is_some_and(|moved| moved.valve == self.valve && moved.stop.is_none());
        if !is_this || seen.reading == self.set_to_pa {
            return None;
        }
        // The inlet valve draws the needle up, the bleed valve lets it down.
        let is_up = seen.reading < self.set_to_pa;
        Some(if is_up == (self.valve == Valve::Inlet) { ValveTurn::Open } else { ValveTurn::Close })
    }
}

/// By how much a reading missed what was asked for.
pub(super) struct Missed {
    reading: Pressure,
    by: Pressure,
    is_below: bool,
    /// Whether the needle has gone past the mark.
    is_passed: bool,
}

impl Missed {
    pub(super) fn words(&self) -> String {
        let Missed { reading, by, is_below, is_passed } = self;
        let side = if *is_below { "below" } else { "above" };
        let way = if *is_passed { "back" } else { "further" };
        let slip = if *by > FAR_OFF { " Where that was a slip of the key, type back." } else { "" };
        format!("{reading} is {by} {side} what was asked for: turn the same valve {way}.{slip}")
    }
}

/// What the technician does next while a rig is calibrated.
#[derive(Debug, Clone, PartialEq)]
pub enum CoachStep {
    /// Read the gauge and turn nothing.
    Read(Condition),
    /// Turn a valve until the gauge shows what the setting says, and read.
    Set { setting: Setting, then: Option<Setting> },
    /// Turn a valve as far as it goes, and read.
    TurnToStop { condition: Condition, valve: Valve, stop: ValveStop },
    /// Both readings are within tolerance.
    Settled { plugged: Pressure, through: Pressure },
    /// Put this right, and start over.
    Repair(RigConcern),
}

impl CoachStep {
    /// Returns whether a reading is what this step asks for.
    pub(super) fn is_answered_by(&self, seen: &CoachReading) -> bool {
        let moved = seen.moved.map(|moved| (moved.valve, moved.stop));
        match self {
            CoachStep::Read(condition) => moved.is_none() && seen.condition == *condition,
            CoachStep::Set { setting, .. } => {
                moved.is_some_and(|(valve, _)| valve == setting.valve) && seen.condition == setting.condition
            }
            CoachStep::TurnToStop { condition, valve, stop } => {
                moved == Some((*valve, Some(*stop))) && seen.condition == *condition
            }
            CoachStep::Settled { .. } | CoachStep::Repair(_) => false,
        }
    }
}

/// The next step, and why, in a sentence.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct NextStep {
    pub step: CoachStep,
    pub reason: Cow<'static, str>,
}

impl NextStep {
    pub(super) fn new(step: CoachStep, reason: impl Into<Cow<'static, str>>) -> NextStep {
        NextStep { step, reason: reason.into() }
    }
}

/// What is wrong with a rig, as its readings show, and what to do at the bench, in whole sentences. Leaks are in test
/// orifices.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum RigConcern {
    #[error(
        "The hose leaks: it lets in {} of what the test orifice does. Cut back or replace the hose, reseat \
         its fittings and start over.",
        percent(*.leak)
    )]
    HoseLeaking { leak: f64 },
    #[error(
        "The plug does not seal: it lets past {} of what the test orifice does. Take another plug, wipe the \
         hose end and start over.",
        percent(*.leak)
    )]
    PlugNotSealing { leak: f64 },
    #[error(
        "The rig lets in {} of what the test orifice does with the hose off and the bleed valve shut. Brush \
         soapy water on its fittings, check that the bleed valve closes on its seat, and start over.",
        percent(*.leak)
    )]
    RigLeaking { leak: f64 },
    #[error(
        "Plugged, the rig reads as it was calibrated, but not through the orifice: what is fitted flows \
         like a hole of {} where {} belongs. Clean it, check it with the go and no-go drills, fit the right \
         one and read again.",
        thousandths(*.flows_like),
        thousandths(*.expected)
    )]
    WrongOrifice { flows_like: Length, expected: Length },
    #[error(
        "The needle falls with the hose open, but not with the orifice fitted: no air comes through the \
         orifice. Clean it with air or a drill shank of its size and read again."
    )]
    OrificeBlocked,
    #[error(
        "With its end open to the air the hose still holds a vacuum: it is kinked, pinched or blocked. \
         Straighten or replace it and read again."
    )]
    HoseBlocked,
    #[error(
        "The pump is too weak for this orifice: with the inlet valve open the gauge shows {reading} where \
         it takes {needed}. Check the pump's oil, its inlet screen and its line, and that the barometer is \
         the pressure at this place and not reduced to sea level; else use a larger pump."
    )]
    PumpTooWeak { reading: Pressure, needed: Pressure, reach: Pressure },
    #[error(
        "The needle stayed at {at} where {wanted} was asked for, and falls when the hose is opened. Where the valve was not \
         turned in between, start over and turn it. Where it was turned further each time, the rig goes no deeper now: an \
         ejector or a tired pump ends like that, and so does a leak of hose or plug. See first that the barometer is the pressure at this place and not reduced to sea level: a rig high up reads \
         less deep. Then check the pump's air supply or oil, its inlet screen and its line, and the hose and plug."
    )]
    NoDeeper { at: Pressure, wanted: Pressure },
    #[error(
        "The needle stays at {at} whatever is done. Tap the glass; if it does not move then, the dial is \
         stuck or its line is blocked (at zero, see first that the pump runs). Replace the gauge and start \
         over."
    )]
    DialStuck { at: Pressure },
    #[error(
        "The gauge shows {reading}, but the air here weighs only {barometer}. Check the gauge's zero with \
         the hose off, and give the pressure at this place, not one reduced to sea level."
    )]
    BeyondBarometer { reading: Pressure, barometer: Pressure },
    #[error(
        "The readings do not stay where the valves are set. Look for a loose fitting, a valve stem that \
         creeps, a plug that seats differently each time, or a gauge that does not show the same twice, and start over."
    )]
    DoesNotRepeat,
}

impl RigConcern {
    /// Returns the deepest reading of a pump that one can go on with as it is.
    pub(crate) fn reach(&self) -> Option<Pressure> {
        match self {
            RigConcern::PumpTooWeak { reach, .. } | RigConcern::NoDeeper { at: reach, .. } => Some(*reach),
            _ => None,
        }
    }
}

fn percent(leak: f64) -> String {
    format!("{:.0} %", 100.0 * leak)
}

fn thousandths(bore: Length) -> String {
    format!("{:.4} in ({:.2} mm)", bore.si() / INCH, bore.si() * 1e3)
}
