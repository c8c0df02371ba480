use std::fmt;

use super::RelativePump;
use crate::rig::Calibration;

/// The critical pressure ratio that a needle valve is taken to have: between the 0.2 and 0.5 of real ones (ISO 6358).
pub const NEEDLE_VALVE_CRITICAL_RATIO: f64 = 0.3;

/// Whether the inlet valve of a calibrated rig is sonic, so that the pump does not matter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PumpCheck {
    /// It is at both points.
    Sonic {
        /// The pump's strength over the one needed; 1 or more.
        margin: f64,
    },
    /// It is not at one of them: readings have to be judged by the full balance.
    NotSonic {
        /// The pump's strength over the one needed; 0 where its ultimate pressure alone forbids it.
        margin: f64,
        /// Whether it is sonic at the through point at least.
        at_through: bool,
    },
    /// Nothing is known of the pump.
    Unknown,
}

impl PumpCheck {
    /// Checks a calibrated rig against its pump.
    ///
    /// The term p_ult/p is largest at the lowest pressure, so a pump that suffices through the orifice can still fall
    /// short plugged: both points are checked.
    pub fn of(calibration: &Calibration, pump: Option<&RelativePump>) -> PumpCheck {
        let Some(pump) = pump else {
            return PumpCheck::Unknown;
        };
        let margin = |reading| {
            let pressure = calibration.ratio(reading);
            let inlet = calibration.inlet_relative();
            RelativePump::needed(inlet, pressure, pump.ultimate, NEEDLE_VALVE_CRITICAL_RATIO)
                .map_or(0.0, |needed| pump.strength / needed)
        };
        let (plugged, through) = (margin(calibration.plugged()), margin(calibration.through()));
        let margin = plugged.min(through);
        if margin >= 1.0 {
            PumpCheck::Sonic { margin }
        } else {
            PumpCheck::NotSonic { margin, at_through: through >= 1.0 }
        }
    }
}

impl fmt::Display for PumpCheck {
    /// Writes what was found and what to do, in whole sentences.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            PumpCheck::Sonic { margin } => {
                write!(f, "The inlet valve is sonic: the pump is {margin:.1} times as strong as it has to be.")
            }
            PumpCheck::NotSonic { margin, at_through } => write!(
                f,
                "The inlet valve is not sonic {}: the pump does {:.0} % of what it takes. Readings depend on the pump and \
                 are judged with its figures; a larger pump or a smaller orifice would do without them.",
                if *at_through { "with the hose plugged" } else { "through the orifice" },
                100.0 * margin
            ),
            PumpCheck::Unknown => f.write_str(
                "Whether the pump is strong enough is not known. Shut the bleed valve, open the inlet valve as far as it \
                 goes, and read the gauge with the hose plugged and through the test orifice: the two readings give the \
                 pump's ultimate pressure and speed: spoolproof rig set --pump-plugged V --pump-through V.",
            ),
        }
    }
}
