use std::fmt;

use serde::{Deserialize, Serialize};

use crate::quantity::{Length, Pressure};

/// What is wrong with a rig, as its readings show.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case", deny_unknown_fields)]
pub enum Finding {
    /// The hose lets air in.
    HoseLeaking {
        /// How much, in test orifices.
        leak: f64,
    },
    /// The plug lets air past.
    PlugNotSealing {
        /// How much, in test orifices.
        leak: f64,
    },
    /// The rig itself lets air in: bleed valve, gauge line or a fitting.
    RigLeaking {
        /// How much, in test orifices.
        leak: f64,
    },
    /// The orifice is not the one that the rig was calibrated with.
    WrongOrifice {
        /// The bore of the hole that it flows like.
        flows_like: Length,
        /// The bore that it should have.
        expected: Length,
    },
    /// No air comes through the orifice.
    OrificeBlocked,
    /// No air comes through the hose.
    HoseBlocked,
    /// The pump does not pull enough for the inlet valve to be sonic.
    PumpTooWeak {
        /// What the gauge shows, hose capped or drawing through the orifice, with the inlet valve open.
        reading: Pressure,
        /// What it would have to show at least.
        needed: Pressure,
    },
    /// The needle stays where it is whatever is done.
    DialStuck {
        /// Where.
        at: Pressure,
    },
    /// A reading is deeper than this barometer allows.
    BeyondBarometer {
        /// The reading.
        reading: Pressure,
        /// The pressure of the air around, as it was given.
        barometer: Pressure,
    },
    /// The valves were set well several times, and the readings never stayed.
    DoesNotRepeat,
}

impl fmt::Display for Finding {
    /// Writes what is wrong and what to do at the bench, in whole sentences.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Finding::HoseLeaking { leak } => write!(
                f,
                "The hose leaks: it lets in {} of what the test orifice does. Cut back or replace the hose, reseat its \
                 fittings and start over.",
                percent(*leak)
            ),
            Finding::PlugNotSealing { leak } => write!(
                f,
                "The plug does not seal: it lets past {} of what the test orifice does. Take another plug, wipe the \
                 hose end and start over.",
                percent(*leak)
            ),
            Finding::RigLeaking { leak } => write!(
                f,
                "The rig lets in {} of what the test orifice does with the hose off and the bleed valve shut. Brush \
                 soapy water on its fittings, check that the bleed valve closes on its seat, and start over.",
                percent(*leak)
            ),
            Finding::WrongOrifice { flows_like, expected } => write!(
                f,
                "Plugged, the rig reads as it was calibrated, but not through the orifice: what is fitted flows like a \
                 hole of {} where {} belongs. Clean it, check it with the go and no-go drills, fit the right one and \
                 read again.",
                thousandths(*flows_like),
                thousandths(*expected)
            ),
            Finding::OrificeBlocked => f.write_str(
                "The needle falls with the hose open, but not with the orifice fitted: no air comes through the \
                 orifice. Clean it with air or a drill shank of its size and read again.",
            ),
            Finding::HoseBlocked => f.write_str(
                "With its end open to the air the hose still holds a vacuum: it is kinked, pinched or blocked. \
                 Straighten or replace it and read again.",
            ),
            Finding::PumpTooWeak { reading, needed } => write!(
                f,
                "The pump is too weak for this orifice: with the inlet valve open the gauge shows {reading} where it \
                 takes {needed}. Check the pump's oil, its inlet screen and its line, and that the barometer is the \
                 pressure at this place and not reduced to sea level; else use a larger pump.",
            ),
            Finding::DialStuck { at } => write!(
                f,
                "The needle stays at {at} whatever is done. Tap the glass; if it does not move then, the dial is stuck \
                 or its line is blocked (at zero, see first that the pump runs). Replace the gauge and start over.",
            ),
            Finding::BeyondBarometer { reading, barometer } => write!(
                f,
                "The gauge shows {reading}, but the air here weighs only {barometer}. Check the gauge's zero with the \
                 hose off, and give the pressure at this place, not one reduced to sea level.",
            ),
            Finding::DoesNotRepeat => f.write_str(
                "The readings do not stay where the valves are set. Look for a loose fitting, a valve stem that creeps, \
                 or a plug that seats differently each time, and start over.",
            ),
        }
    }
}

fn percent(leak: f64) -> String {
    format!("{:.0} %", 100.0 * leak)
}

fn thousandths(bore: Length) -> String {
    format!("{:.4} in ({:.2} mm)", bore.si() / crate::quantity::INCH, bore.si() * 1e3)
}
