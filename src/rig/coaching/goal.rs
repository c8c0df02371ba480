use std::fmt;

use super::areas::Areas;
use crate::air::STANDARD_PRESSURE;
use crate::quantity::{INCH_OF_MERCURY, Pressure};
use crate::rig::{Condition, STANDARD_PLUGGED, targets};

/// What a calibration is to reach: both readings, how closely, in which air.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Goal {
    barometer: Pressure,
    plugged: Pressure,
    through: Pressure,
    tolerance: Pressure,
}

/// Why a goal cannot be reached by any rig.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum GoalError {
    /// The barometer is not a positive pressure.
    Barometer(Pressure),
    /// The targets are beyond this barometer: the air around cannot press that hard.
    BeyondBarometer {
        /// The plugged target.
        plugged: Pressure,
        /// The pressure of the air around.
        barometer: Pressure,
        /// What the usual plugged target amounts to in this air.
        equivalent: Pressure,
    },
    /// The targets do not follow 0 < through < plugged.
    Order {
        /// The plugged target.
        plugged: Pressure,
        /// The target through the orifice.
        through: Pressure,
    },
}

impl fmt::Display for GoalError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            GoalError::Barometer(barometer) => {
                write!(f, "a barometer of {barometer} is no air pressure; read it again in absolute pressure")
            }
            GoalError::BeyondBarometer { plugged, barometer, equivalent } => write!(
                f,
                "{plugged} cannot be pulled where the air itself weighs {barometer}; set the rig to {equivalent} \
                 plugged, which means the same here"
            ),
            GoalError::Order { plugged, through } => write!(
                f,
                "the plugged target ({plugged}) must be above the target through the orifice ({through}), \
                 and both above 0; check that they were not swapped"
            ),
        }
    }
}

impl std::error::Error for GoalError {}

/// How far a calibration reading may be off at sea level: 0.25 inHg.
const TOLERANCE: Pressure = Pressure::constant(0.25 * INCH_OF_MERCURY);

/// The deepest vacuum that a rig can be asked for, as a share of the barometer: below 2 % of the air's pressure no shop
/// pump holds its speed (common practice, no source).
const DEEPEST: f64 = 0.98;

impl Goal {
    /// Returns the usual goal, 25 and 5 inHg within 0.25 inHg, scaled to a station pressure above 0.
    pub fn usual(barometer: Pressure) -> Result<Goal, GoalError> {
        if barometer.si() <= 0.0 {
            return Err(GoalError::Barometer(barometer));
        }
        let (plugged, through) = targets(barometer);
        Goal::new(barometer, plugged, through)
    }

    /// Makes a goal of other targets, which are taken as they are and not scaled.
    pub fn new(barometer: Pressure, plugged: Pressure, through: Pressure) -> Result<Goal, GoalError> {
        if barometer.si() <= 0.0 {
            return Err(GoalError::Barometer(barometer));
        }
        if plugged.si() > DEEPEST * barometer.si() {
            let equivalent = scaled(STANDARD_PLUGGED, barometer);
            return Err(GoalError::BeyondBarometer { plugged, barometer, equivalent });
        }
        if !(through.si() > 0.0 && plugged > through) {
            return Err(GoalError::Order { plugged, through });
        }
        Ok(Goal { barometer, plugged, through, tolerance: scaled(TOLERANCE, barometer) })
    }

    /// Returns the station pressure.
    pub fn barometer(&self) -> Pressure {
        self.barometer
    }

    /// Returns the reading to reach with the hose plugged.
    pub fn plugged(&self) -> Pressure {
        self.plugged
    }

    /// Returns the reading to reach through the orifice.
    pub fn through(&self) -> Pressure {
        self.through
    }

    /// Returns how far either reading may be off: 0.25 inHg, scaled to the barometer.
    pub fn tolerance(&self) -> Pressure {
        self.tolerance
    }

    /// Returns the target of a condition; every condition without the orifice has the plugged one's.
    pub fn target(&self, condition: Condition) -> Pressure {
        if condition == Condition::Through { self.through } else { self.plugged }
    }

    /// Returns the areas of both valves that meet the goal exactly.
    pub(super) fn areas(&self, shortfall: f64) -> Option<Areas> {
        Areas::of_pair(self.depth(self.plugged), self.depth(self.through), shortfall)
    }

    /// Returns a vacuum as a share of the barometer.
    pub(super) fn depth(&self, vacuum: Pressure) -> f64 {
        vacuum.si() / self.barometer.si()
    }

    /// Returns the vacuum that is this share of the barometer.
    pub(super) fn vacuum(&self, depth: f64) -> Pressure {
        Pressure::from_si(depth * self.barometer.si()).unwrap_or(self.barometer)
    }

    /// Returns whether both readings are within tolerance, to the last bit of rounding.
    pub fn is_met_by(&self, plugged: Pressure, through: Pressure) -> bool {
        let off = (plugged.si() - self.plugged.si()).abs().max((through.si() - self.through.si()).abs());
        off <= self.tolerance.si() * (1.0 + 1e-9)
    }
}

fn scaled(at_sea_level: Pressure, barometer: Pressure) -> Pressure {
    Pressure::constant(at_sea_level.si() * (barometer.si() / STANDARD_PRESSURE))
}
