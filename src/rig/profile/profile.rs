use std::fmt;

use serde::{Deserialize, Serialize};

use super::{Concern, Gauged, GoNoGo, Hose, Job, PumpData, Size};
use crate::quantity::Temperature;
use crate::rig::pump::{PumpCheck, RelativePump};
use crate::rig::{Calibration, Dial, Orifice};

/// The parts of a rig as the technician has them. Its JSON is described by `schemas/rig.schema.json`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "Document", into = "Document")]
pub struct Profile {
    /// The pump.
    pub pump: PumpData,
    /// The gauge's dial.
    pub dial: Dial,
    /// The test orifice, by its measured size.
    pub orifice: Orifice,
    /// What the go and no-go shanks did in it, where they were tried.
    pub gauged: Option<Gauged>,
    /// The hose.
    pub hose: Hose,
}

/// The document's own name and version.
const FORMAT: &str = "spoolproof/rig/1";

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Document {
    format: String,
    #[serde(default)]
    pump: PumpData,
    dial: Dial,
    orifice: Orifice,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    gauged: Option<Gauged>,
    #[serde(default)]
    hose: Hose,
}

/// Why a document is not a profile.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ProfileError {
    /// It says that it is something else.
    Format(String),
    /// A figure that has to be above zero is not.
    NotPositive(&'static str),
}

impl fmt::Display for ProfileError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            ProfileError::Format(found) => {
                write!(f, "\"{found}\" is not {FORMAT}; this is not the profile of a rig")
            }
            ProfileError::NotPositive(figure) => {
                write!(f, "{figure} must be above 0; leave it out where it is not known")
            }
        }
    }
}

impl std::error::Error for ProfileError {}

impl Profile {
    /// Makes a profile of which nothing but dial and orifice is known.
    pub fn new(dial: Dial, orifice: Orifice) -> Profile {
        Profile { pump: PumpData::default(), dial, orifice, gauged: None, hose: Hose::default() }
    }

    /// Returns what is to be said of the parts before they are used for a job, the gravest first.
    pub fn concerns(&self, job: &Job) -> Vec<Concern> {
        let mut concerns = self.of_dial(job);
        concerns.extend(self.of_hose(job));
        concerns.extend(self.of_orifice());
        concerns.extend(self.of_pump(job));
        concerns.sort_by_key(|concern| !concern.is_grave());
        concerns
    }

    fn of_dial(&self, job: &Job) -> Vec<Concern> {
        let (dial, goal) = (&self.dial, &job.goal);
        let mut concerns = Vec::new();
        if dial.span() < goal.plugged() {
            concerns.push(Concern::DialTooShort { span: dial.span(), needed: goal.plugged() });
        }
        if dial.smallest_division().si() / 4.0 > goal.tolerance().si() {
            let (division, tolerance) = (dial.smallest_division(), goal.tolerance());
            concerns.push(Concern::DivisionsTooWide { division, tolerance });
        }
        if dial.limit(goal.through()).si() > MOST_OF_THROUGH * goal.through().si() {
            let (grade, limit) = (dial.grade(), dial.limit(goal.through()));
            concerns.push(Concern::GradeTooCoarse { grade, limit, through: goal.through() });
        }
        concerns
    }

    fn of_hose(&self, job: &Job) -> Vec<Concern> {
        let hose = &self.hose;
        let mut concerns = Vec::new();
        match hose.vacuum_rating_pa {
            None => concerns.push(Concern::VacuumRatingUnknown { needed: job.goal.plugged() }),
            Some(rating) if rating < job.goal.plugged() => {
                concerns.push(Concern::HoseCollapses { rating, needed: job.goal.plugged() });
            }
            Some(_) => {}
        }
        if let Some(line) = job.line_pressure.filter(|_| hose.carries_line_pressure) {
            concerns.push(match hose.pressure_rating_pa {
                None => Concern::PressureRatingUnknown { line },
                Some(rating) if rating < line => Concern::HoseBursts { rating, line },
                Some(rating) => Concern::HoseCarriesLinePressure { rating, line },
            });
        }
        match hose.stands_oil {
            None => concerns.push(Concern::OilNotAsked),
            Some(false) => concerns.push(Concern::OilAttacksHose),
            Some(true) => {}
        }
        concerns
    }

    fn of_orifice(&self) -> Option<Concern> {
        let drills = GoNoGo::of(self.orifice.diameter());
        match (drills, self.gauged.map(Gauged::size)) {
            (_, Some(Size::Right)) => None,
            (Some(drills), None) => Some(Concern::OrificeNotGauged { drills }),
            (None, None) => Some(Concern::OrificeWithoutDrill { bore: self.orifice.diameter() }),
            (_, Some(size)) => Some(Concern::OrificeOffSize { size, bore: self.orifice.diameter() }),
        }
    }

    fn of_pump(&self, job: &Job) -> Option<Concern> {
        const ROOM: Temperature = Temperature::constant(293.15);
        let goal = &job.goal;
        let calibration =
            Calibration::new(goal.plugged(), goal.through(), self.orifice, goal.barometer(), ROOM).ok()?;
        let pump = self.pump.pump().and_then(|pump| RelativePump::of(&pump, &calibration));
        match PumpCheck::of(&calibration, pump.as_ref()) {
            PumpCheck::Sonic { .. } => None,
            check => Some(Concern::Pump(check)),
        }
    }
}

/// A dial whose error at the through point may be a larger share of it than this says little about leaks (common
/// practice, no source).
const MOST_OF_THROUGH: f64 = 0.25;

impl TryFrom<Document> for Profile {
    type Error = ProfileError;

    fn try_from(document: Document) -> Result<Profile, ProfileError> {
        let Document { format, pump, dial, orifice, gauged, hose } = document;
        if format != FORMAT {
            return Err(ProfileError::Format(format));
        }
        let is_bad = |figure: Option<f64>| figure.is_some_and(|figure| figure <= 0.0);
        if is_bad(pump.speed_m3_s.map(|speed| speed.si())) {
            return Err(ProfileError::NotPositive("the pump's speed"));
        }
        // A pump's ultimate pressure may be too small to be told from none.
        if pump.ultimate_pa.is_some_and(|ultimate| ultimate.si() < 0.0) {
            return Err(ProfileError::NotPositive("the pump's ultimate pressure, which is absolute,"));
        }
        if is_bad(hose.vacuum_rating_pa.map(|rating| rating.si())) {
            return Err(ProfileError::NotPositive("the vacuum that the hose stands"));
        }
        if is_bad(hose.pressure_rating_pa.map(|rating| rating.si())) {
            return Err(ProfileError::NotPositive("the pressure that the hose stands"));
        }
        Ok(Profile { pump, dial, orifice, gauged, hose })
    }
}

impl From<Profile> for Document {
    fn from(profile: Profile) -> Document {
        let Profile { pump, dial, orifice, gauged, hose } = profile;
        Document { format: FORMAT.to_owned(), pump, dial, orifice, gauged, hose }
    }
}
