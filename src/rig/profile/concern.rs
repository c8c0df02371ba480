use std::fmt;

use super::{GoNoGo, Size};
use crate::quantity::{INCH, Length, Pressure, Unit};
use crate::rig::Grade;
use crate::rig::pump::PumpCheck;

/// Something to be said of a rig's part before it is used for a job.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Concern {
    /// The dial ends before the plugged target.
    DialTooShort {
        /// Its whole scale.
        span: Pressure,
        /// The plugged target.
        needed: Pressure,
    },
    /// A quarter of a division is more than the tolerance of the calibration.
    DivisionsTooWide {
        /// The step from mark to mark.
        division: Pressure,
        /// The tolerance.
        tolerance: Pressure,
    },
    /// The dial may be off by a large part of the reading through the orifice.
    GradeTooCoarse {
        /// Its grade.
        grade: Grade,
        /// What that allows it to be off.
        limit: Pressure,
        /// The target through the orifice.
        through: Pressure,
    },
    /// Nobody has said which vacuum the hose stands.
    VacuumRatingUnknown {
        /// The plugged target.
        needed: Pressure,
    },
    /// The hose is not made for this vacuum.
    HoseCollapses {
        /// What it is made for.
        rating: Pressure,
        /// The plugged target.
        needed: Pressure,
    },
    /// The hose is used for line pressure, and nobody has said which pressure it stands.
    PressureRatingUnknown {
        /// The line pressure.
        line: Pressure,
    },
    /// The hose is used for a line pressure that it is not made for.
    HoseBursts {
        /// What it is made for.
        rating: Pressure,
        /// The line pressure.
        line: Pressure,
    },
    /// The hose is used for a line pressure that it stands.
    HoseCarriesLinePressure {
        /// What it is made for.
        rating: Pressure,
        /// The line pressure.
        line: Pressure,
    },
    /// Nobody has said whether hose and seals stand the oil.
    OilNotAsked,
    /// Hose and seals do not stand the oil.
    OilAttacksHose,
    /// The orifice has not been tried with go and no-go shanks.
    OrificeNotGauged {
        /// The shanks to try.
        drills: GoNoGo,
    },
    /// No drill of the table is near the orifice's size.
    OrificeWithoutDrill {
        /// Its bore.
        bore: Length,
    },
    /// The shanks say that the orifice is not of its size.
    OrificeOffSize {
        /// How it is off.
        size: Size,
        /// The bore that it should have.
        bore: Length,
    },
    /// The pump is not known to be strong enough.
    Pump(PumpCheck),
}

impl Concern {
    /// Returns whether the rig must not be used before this is put right; otherwise it is a caution or a question.
    pub fn is_grave(&self) -> bool {
        match self {
            Concern::DialTooShort { .. }
            | Concern::HoseCollapses { .. }
            | Concern::PressureRatingUnknown { .. }
            | Concern::HoseBursts { .. }
            | Concern::OrificeOffSize { .. } => true,
            Concern::DivisionsTooWide { .. }
            | Concern::GradeTooCoarse { .. }
            | Concern::VacuumRatingUnknown { .. }
            | Concern::HoseCarriesLinePressure { .. }
            | Concern::OilNotAsked
            | Concern::OilAttacksHose
            | Concern::OrificeNotGauged { .. }
            | Concern::OrificeWithoutDrill { .. }
            | Concern::Pump(_) => false,
        }
    }
}

impl fmt::Display for Concern {
    /// Writes what is the matter and what to do at the bench, in whole sentences.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Concern::DialTooShort { span, needed } => {
                write!(f, "The dial ends at {span}, but the plugged hose is to show {needed}. Fit a gauge with more range.")
            }
            Concern::DivisionsTooWide { division, tolerance } => write!(
                f,
                "The marks are {division} apart, too far to set the rig within {tolerance}. A gauge with finer marks \
                 would do it."
            ),
            Concern::GradeTooCoarse { grade, limit, through } => write!(
                f,
                "A dial of grade {grade} may be off by {limit} where the orifice is to show {through}. A better grade \
                 gives surer verdicts."
            ),
            Concern::VacuumRatingUnknown { needed } => write!(
                f,
                "Nobody has said which vacuum the hose and its fittings stand; it has to be {needed}. Look on the hose, \
                 and enter it."
            ),
            Concern::HoseCollapses { rating, needed } => write!(
                f,
                "The hose is made for {rating} of vacuum, but is to hold {needed}: its wall may pull in and throttle the \
                 air. Use a vacuum hose."
            ),
            Concern::PressureRatingUnknown { line } => write!(
                f,
                "The hose is used for line pressure too, up to {}, and nobody has said what it stands. Do not put \
                 pressure on it before that is known.",
                in_psi(*line)
            ),
            Concern::HoseBursts { rating, line } => write!(
                f,
                "The hose is made for {}, but line pressure goes up to {}: it can burst and spray hot oil. Use another \
                 hose for pressure.",
                in_psi(*rating),
                in_psi(*line)
            ),
            Concern::HoseCarriesLinePressure { rating, line } => write!(
                f,
                "The hose, made for {}, carries line pressure up to {} as well. Let the pressure off and drain the oil \
                 before it goes back on the vacuum rig, and keep it away from belts and the exhaust.",
                in_psi(*rating),
                in_psi(*line)
            ),
            Concern::OilNotAsked => {
                f.write_str("Are the hose and its seals of a kind that the oil does not attack? Ask, and enter the answer.")
            }
            Concern::OilAttacksHose => f.write_str(
                "Oil swells or hardens this hose or its seals, so that it will begin to leak. Use oil-proof ones, or \
                 check for leaks often.",
            ),
            Concern::OrificeNotGauged { drills } => write!(
                f,
                "The orifice has not been tried: the shank of a {} drill has to go in, that of a {} must not.",
                drills.go, drills.no_go
            ),
            Concern::OrificeWithoutDrill { bore } => write!(
                f,
                "No drill of the table is near an orifice of {}. Measure it with a pin, and enter how sure that is.",
                in_inches(*bore)
            ),
            Concern::OrificeOffSize { size, bore } => write!(
                f,
                "The orifice is {} than its {}. Make a new one, or enter the size that it has.",
                match size {
                    Size::TooLarge => "larger",
                    Size::TooSmall | Size::Right => "smaller",
                },
                in_inches(*bore)
            ),
            Concern::Pump(check) => check.fmt(f),
        }
    }
}

fn in_psi(pressure: Pressure) -> String {
    Unit::by_word("psi").map_or_else(|| pressure.to_string(), |psi| pressure.in_unit(psi))
}

fn in_inches(bore: Length) -> String {
    format!("{:.4} in", bore.si() / INCH)
}
