use std::fmt;

use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::coaching::CalibrationGoal;
use super::{
    Calibration, Dial, GaugeCheck, GaugeCheckError, Gauged, Orifice, PumpCheck, PumpData, RelativePump,
};
use crate::quantity::{Length, Pressure};

/// The parts of a rig as the technician has them. Its JSON is described by `schemas/rig.schema.json`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "Document", into = "Document")]
pub(crate) struct Profile {
    /// Which bench it is; none before the shop has described its rig.
    pub bench: Option<BenchIdentity>,
    pub pump: PumpData,
    pub dial: Dial,
    /// The test orifice, by its measured size.
    pub orifice: Orifice,
    /// What the go and no-go shanks did in it, where they were tried.
    pub gauged: Option<Gauged>,
    /// How the gauge compared with a better one, where that was tried.
    pub gauge_check: Option<GaugeCheck>,
    /// How well the bench repeats, where that was measured.
    pub repeatability: Option<Repeatability>,
    pub hose: Hose,
    /// How high the shop lies, where somebody said so.
    pub elevation: Option<Length>,
}

/// A bench, which stays the same while its parts are exchanged. Two benches that somebody gives one name, or of which
/// one was set up with a copy of the other's description and then renamed, are two.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct BenchIdentity {
    /// What people call it; none where nobody named it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// Ten letters and digits of chance, made when the rig was first described.
    pub id: String,
}

impl fmt::Display for BenchIdentity {
    /// Writes the name and, since benches elsewhere may have the same, the first letters of what tells them apart.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let id: String = self.id.chars().take(4).collect();
        match &self.name {
            Some(name) => write!(f, "{name} ({id})"),
            None => write!(f, "bench {id}"),
        }
    }
}

/// How well the readings of a bench repeat when the same is seated and read again, as measured.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Repeatability {
    /// Standard deviation of a single reading.
    #[serde(rename = "deviation_pa")]
    pub deviation: Pressure,
    /// How many readings it comes from.
    pub readings: u32,
}

impl Repeatability {
    /// Fewer readings than this do not say how well a bench repeats.
    pub(crate) const LEAST_READINGS: u32 = 6;
}

const FORMAT: &str = "spoolproof/rig/1";

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Document {
    format: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    bench: Option<BenchIdentity>,
    #[serde(default)]
    pump: PumpData,
    dial: Dial,
    orifice: Orifice,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    gauged: Option<Gauged>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    gauge_check: Option<GaugeCheck>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    repeatability: Option<Repeatability>,
    #[serde(default)]
    hose: Hose,
    #[serde(default, rename = "elevation_m", skip_serializing_if = "Option::is_none")]
    elevation: Option<Length>,
}

#[derive(Debug, Clone, PartialEq, Error)]
enum ProfileError {
    #[error("\"{0}\" is not {FORMAT}; this is not the profile of a rig")]
    Format(String),
    #[error("{0} must be above 0; leave it out where it is not known")]
    NotPositive(&'static str),
    #[error(transparent)]
    GaugeCheck(#[from] GaugeCheckError),
    #[error(
        "a repeatability of {0} is not that of readings on this dial; it is above 0 and below a tenth of the scale"
    )]
    Repeatability(Pressure),
    #[error("{0} readings do not show how well a bench repeats; take {least} or more", least = Repeatability::LEAST_READINGS)]
    FewReadings(u32),
}

impl Profile {
    /// Makes a profile of which nothing but dial and orifice is known.
    pub(crate) fn new(dial: Dial, orifice: Orifice) -> Profile {
        Profile {
            bench: None,
            pump: PumpData::default(),
            dial,
            orifice,
            gauged: None,
            gauge_check: None,
            repeatability: None,
            hose: Hose::default(),
            elevation: None,
        }
    }

    /// Returns the dial with what a check of the gauge has found, where there was one.
    pub(crate) fn checked_dial(&self) -> Dial {
        self.gauge_check.as_ref().and_then(|check| check.of(self.dial).ok()).unwrap_or(self.dial)
    }
}

impl TryFrom<Document> for Profile {
    type Error = ProfileError;

    fn try_from(document: Document) -> Result<Profile, ProfileError> {
        let Document {
            format,
            bench,
            pump,
            dial,
            orifice,
            gauged,
            gauge_check,
            repeatability,
            hose,
            elevation,
        } = document;
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
        if let Some(check) = &gauge_check {
            check.of(dial)?;
        }
        if let Some(Repeatability { deviation, readings }) = repeatability {
            if deviation.si() <= 0.0 || deviation.si() > 0.1 * dial.span().si() {
                return Err(ProfileError::Repeatability(deviation));
            }
            if readings < Repeatability::LEAST_READINGS {
                return Err(ProfileError::FewReadings(readings));
            }
        }
        Ok(Profile { bench, pump, dial, orifice, gauged, gauge_check, repeatability, hose, elevation })
    }
}

impl From<Profile> for Document {
    fn from(profile: Profile) -> Document {
        let Profile { bench, pump, dial, orifice, gauged, gauge_check, repeatability, hose, elevation } =
            profile;
        Document {
            format: FORMAT.to_owned(),
            bench,
            pump,
            dial,
            orifice,
            gauged,
            gauge_check,
            repeatability,
            hose,
            elevation,
        }
    }
}

/// The hose with its fittings, the weaker of them.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Hose {
    /// What it is, in the technician's words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub description: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub vacuum_rating_pa: Option<Pressure>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pressure_rating_pa: Option<Pressure>,
    #[serde(default)]
    pub carries_line_pressure: bool,
    /// Whether hose and seals are of a kind that the oil does not attack, where that was asked.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stands_oil: Option<bool>,
}

/// What a rig is wanted for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Demand {
    pub goal: CalibrationGoal,
    /// The highest line pressure of the units tested, where the hose is used for that too.
    pub line_pressure: Option<Pressure>,
}

/// A part of a rig that its calibration rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum CalibratedPart {
    Gauge,
    Orifice,
    Hose,
    Pump,
}

/// The end of a calibration: parts of the rig are others than those it was made with.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Invalidation {
    pub parts: Vec<CalibratedPart>,
}

impl Invalidation {
    /// Compares the rig that a calibration was made with and the one there is now; `None` where it still holds.
    ///
    /// Learning something about a part (a rating that was unknown) is no change of it. Another pump does not matter
    /// where the inlet valve is known to be sonic with either.
    pub(crate) fn between(then: &Profile, now: &Profile, calibration: &Calibration) -> Option<Invalidation> {
        let is_sonic = |profile: &Profile| {
            let pump = profile.pump.pump().and_then(|pump| RelativePump::of(&pump, calibration));
            matches!(PumpCheck::of(calibration, pump.as_ref()), PumpCheck::Sonic { .. })
        };
        let other_hose = differ(&then.hose.description, &now.hose.description)
            || differ(&then.hose.vacuum_rating_pa, &now.hose.vacuum_rating_pa)
            || differ(&then.hose.pressure_rating_pa, &now.hose.pressure_rating_pa);
        let other_pump = differ(&then.pump.description, &now.pump.description)
            || differ(&then.pump.speed_m3_s, &now.pump.speed_m3_s)
            || differ(&then.pump.ultimate_pa, &now.pump.ultimate_pa);
        let changes = [
            (CalibratedPart::Gauge, then.dial != now.dial),
            (CalibratedPart::Orifice, then.orifice != now.orifice),
            (CalibratedPart::Hose, other_hose),
            (CalibratedPart::Pump, other_pump && !(is_sonic(then) && is_sonic(now))),
        ];
        let parts: Vec<_> =
            changes.into_iter().filter_map(|(part, changed)| changed.then_some(part)).collect();
        (!parts.is_empty()).then_some(Invalidation { parts })
    }
}

fn differ<T: PartialEq>(then: &Option<T>, now: &Option<T>) -> bool {
    matches!((then, now), (Some(then), Some(now)) if then != now)
}

impl fmt::Display for CalibratedPart {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            CalibratedPart::Gauge => "gauge",
            CalibratedPart::Orifice => "orifice",
            CalibratedPart::Hose => "hose",
            CalibratedPart::Pump => "pump",
        })
    }
}

impl fmt::Display for Invalidation {
    /// Writes what was changed and what to do, in whole sentences.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let names: Vec<_> = self
            .parts
            .iter()
            .enumerate()
            .map(|(n, part)| format!("{} {part}", if n == 0 { "The" } else { "the" }))
            .collect();
        let list = match names.split_last() {
            Some((last, [])) => last.clone(),
            Some((last, others)) => format!("{} and {last}", others.join(", ")),
            None => String::new(),
        };
        write!(
            f,
            "{list} {} been described anew: a calibration from before that no longer counts. Calibrate before the next reading.",
            if names.len() == 1 { "has" } else { "have" }
        )
    }
}
