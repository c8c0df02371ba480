use thiserror::Error;

use super::{Calibration, Demand, Gauged, GoNoGo, Grade, Profile, PumpCheck, RelativePump, Size};
use crate::quantity::{INCH, Length, Pressure, Temperature, Unit};

/// A dial whose error at the through point may be a larger share of it than this says little about leaks (common
/// practice, no source).
const MOST_OF_THROUGH: f64 = 0.25;

/// Something to be said of a rig's part before it is used for a demand.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub(crate) enum PartConcern {
    #[error(
        "The dial ends at {span}, but the plugged hose is to show {needed}. Fit a gauge with more range."
    )]
    DialTooShort { span: Pressure, needed: Pressure },
    #[error(
        "The marks are {division} apart, too far to set the rig within {tolerance}. A gauge with finer \
         marks would do it."
    )]
    DivisionsTooWide { division: Pressure, tolerance: Pressure },
    #[error(
        "A dial of grade {grade} may be off by {limit} where the orifice is to show {through}. A better \
         grade gives surer verdicts."
    )]
    GradeTooCoarse { grade: Grade, limit: Pressure, through: Pressure },
    #[error(
        "Nobody has said which vacuum the hose and its fittings stand; it has to be {needed}. Look on the \
         hose, and enter it."
    )]
    VacuumRatingUnknown { needed: Pressure },
    #[error(
        "The hose is made for {rating} of vacuum, but is to hold {needed}: its wall may pull in and \
         throttle the air. Use a vacuum hose."
    )]
    HoseCollapses { rating: Pressure, needed: Pressure },
    #[error(
        "The hose is used for line pressure too, up to {}, and nobody has said what it stands. Do not put \
         pressure on it before that is known.",
        in_psi(*.line)
    )]
    PressureRatingUnknown { line: Pressure },
    #[error(
        "The hose is made for {}, but line pressure goes up to {}: it can burst and spray hot oil. Use \
         another hose for pressure.",
        in_psi(*.rating),
        in_psi(*.line)
    )]
    HoseBursts { rating: Pressure, line: Pressure },
    #[error(
        "The hose, made for {}, carries line pressure up to {} as well. Let the pressure off and drain the \
         oil before it goes back on the vacuum rig, and keep it away from belts and the exhaust.",
        in_psi(*.rating),
        in_psi(*.line)
    )]
    HoseCarriesLinePressure { rating: Pressure, line: Pressure },
    #[error("Are the hose and its seals of a kind that the oil does not attack? Ask, and enter the answer.")]
    OilNotAsked,
    #[error(
        "Oil swells or hardens this hose or its seals, so that it will begin to leak. Use oil-proof ones, \
         or check for leaks often."
    )]
    OilAttacksHose,
    #[error(
        "The orifice has not been tried: the shank of a {} drill has to go in, that of a {} must not.",
        .drills.go,
        .drills.no_go
    )]
    OrificeNotGauged { drills: GoNoGo },
    #[error(
        "No drill of the table is near an orifice of {}. Measure it with a pin, and enter how sure that is.",
        in_inches(*.bore)
    )]
    OrificeWithoutDrill { bore: Length },
    #[error(
        "The orifice is {} than its {}. Make a new one, or enter the size that it has.",
        match .size { Size::TooLarge => "larger", Size::TooSmall | Size::Right => "smaller", },
        in_inches(*.bore)
    )]
    OrificeOffSize { size: Size, bore: Length },
    #[error("{0}")]
    Pump(PumpCheck),
}

impl PartConcern {
    /// Returns whether the rig must not be used before this is put right; otherwise it is a caution or a question.
    pub(crate) fn is_grave(&self) -> bool {
        match self {
            PartConcern::DialTooShort { .. }
            | PartConcern::HoseCollapses { .. }
            | PartConcern::PressureRatingUnknown { .. }
            | PartConcern::HoseBursts { .. }
            | PartConcern::OrificeOffSize { .. } => true,
            PartConcern::DivisionsTooWide { .. }
            | PartConcern::GradeTooCoarse { .. }
            | PartConcern::VacuumRatingUnknown { .. }
            | PartConcern::HoseCarriesLinePressure { .. }
            | PartConcern::OilNotAsked
            | PartConcern::OilAttacksHose
            | PartConcern::OrificeNotGauged { .. }
            | PartConcern::OrificeWithoutDrill { .. }
            | PartConcern::Pump(_) => false,
        }
    }
}

impl Profile {
    /// Returns what is to be said of the parts before they are used, the gravest first.
    pub(crate) fn concerns(&self, demand: &Demand) -> Vec<PartConcern> {
        let mut concerns = self.of_dial(demand);
        concerns.extend(self.of_hose(demand));
        concerns.extend(self.of_orifice());
        concerns.extend(self.of_pump(demand));
        concerns.sort_by_key(|concern| !concern.is_grave());
        concerns
    }

    fn of_dial(&self, demand: &Demand) -> Vec<PartConcern> {
        let (dial, goal) = (&self.dial, &demand.goal);
        let mut concerns = Vec::new();
        if dial.span() < goal.plugged() {
            concerns.push(PartConcern::DialTooShort { span: dial.span(), needed: goal.plugged() });
        }
        if dial.smallest_division().si() / 4.0 > goal.tolerance().si() {
            let (division, tolerance) = (dial.smallest_division(), goal.tolerance());
            concerns.push(PartConcern::DivisionsTooWide { division, tolerance });
        }
        if dial.limit(goal.through()).si() > MOST_OF_THROUGH * goal.through().si() {
            let (grade, limit) = (dial.grade(), dial.limit(goal.through()));
            concerns.push(PartConcern::GradeTooCoarse { grade, limit, through: goal.through() });
        }
        concerns
    }

    fn of_hose(&self, demand: &Demand) -> Vec<PartConcern> {
        let hose = &self.hose;
        let mut concerns = Vec::new();
        match hose.vacuum_rating_pa {
            None => concerns.push(PartConcern::VacuumRatingUnknown { needed: demand.goal.plugged() }),
            Some(rating) if rating < demand.goal.plugged() => {
                concerns.push(PartConcern::HoseCollapses { rating, needed: demand.goal.plugged() });
            }
            Some(_) => {}
        }
        if let Some(line) = demand.line_pressure.filter(|_| hose.carries_line_pressure) {
            concerns.push(match hose.pressure_rating_pa {
                None => PartConcern::PressureRatingUnknown { line },
                Some(rating) if rating < line => PartConcern::HoseBursts { rating, line },
                Some(rating) => PartConcern::HoseCarriesLinePressure { rating, line },
            });
        }
        match hose.stands_oil {
            None => concerns.push(PartConcern::OilNotAsked),
            Some(false) => concerns.push(PartConcern::OilAttacksHose),
            Some(true) => {}
        }
        concerns
    }

    fn of_orifice(&self) -> Option<PartConcern> {
        let drills = GoNoGo::of(self.orifice.diameter());
        match (drills, self.gauged.map(Gauged::size)) {
            (_, Some(Size::Right)) => None,
            (Some(drills), None) => Some(PartConcern::OrificeNotGauged { drills }),
            (None, None) => Some(PartConcern::OrificeWithoutDrill { bore: self.orifice.diameter() }),
            (_, Some(size)) => Some(PartConcern::OrificeOffSize { size, bore: self.orifice.diameter() }),
        }
    }

    fn of_pump(&self, demand: &Demand) -> Option<PartConcern> {
        const ROOM: Temperature = Temperature::constant(293.15);
        let goal = &demand.goal;
        let calibration =
            Calibration::new(goal.plugged(), goal.through(), self.orifice, goal.barometer(), ROOM).ok()?;
        let pump = self.pump.pump().and_then(|pump| RelativePump::of(&pump, &calibration));
        match PumpCheck::of(&calibration, pump.as_ref()) {
            PumpCheck::Sonic { .. } => None,
            PumpCheck::Unknown if self.pump.keeps_sonic == Some(true) => None,
            check => Some(PartConcern::Pump(check)),
        }
    }
}

fn in_psi(pressure: Pressure) -> String {
    Unit::by_word("psi").map_or_else(|| pressure.to_string(), |psi| pressure.in_unit(psi))
}

fn in_inches(bore: Length) -> String {
    format!("{:.4} in", bore.si() / INCH)
}
