use serde::{Deserialize, Serialize};

use super::ContextError;
use crate::air::Clearance;
use crate::quantity::Length;
use crate::rig::Calibration;

/// A land of a valve in its bore, whose clearance may be what leaks; or several equal ones in a row.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(try_from = "LandParts")]
pub struct Land {
    #[serde(rename = "diameter_m")]
    diameter: Length,
    #[serde(rename = "length_m")]
    length: Length,
    #[serde(skip_serializing_if = "Option::is_none")]
    eccentricity: Option<f64>,
    lands: u32,
    measured: MeasuredBy,
    #[serde(skip_serializing_if = "Option::is_none")]
    expansions: Option<Expansions>,
}

#[derive(Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
struct LandParts {
    diameter_m: Length,
    length_m: Length,
    eccentricity: Option<f64>,
    lands: u32,
    measured: MeasuredBy,
    expansions: Option<Expansions>,
}

/// How the size of a land is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum MeasuredBy {
    /// With a micrometer.
    Micrometer,
    /// With a caliper.
    #[default]
    Caliper,
    /// From the maker's service data.
    Data,
}

impl MeasuredBy {
    /// Every way.
    pub(crate) const ALL: [MeasuredBy; 3] = [MeasuredBy::Micrometer, MeasuredBy::Caliper, MeasuredBy::Data];

    pub(crate) fn word(self) -> &'static str {
        match self {
            MeasuredBy::Micrometer => "micrometer",
            MeasuredBy::Caliper => "caliper",
            MeasuredBy::Data => "data",
        }
    }

    /// Limit of the error of a diameter or a length in m, the broken edges of a land with it; common
    /// practice, no source.
    fn limit(self) -> f64 {
        match self {
            MeasuredBy::Micrometer => 0.02e-3,
            MeasuredBy::Caliper => 0.05e-3,
            MeasuredBy::Data => 0.25e-3,
        }
    }
}

/// How much the metals of a land grow with temperature, in 1/K.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Expansions {
    /// Of the valve.
    pub valve_per_k: f64,
    /// Of the body that the bore is in.
    pub bore_per_k: f64,
}

/// A metal whose thermal expansion is known.
pub(crate) struct Metal {
    pub(crate) name: &'static str,
    pub(crate) expansion_per_k: f64,
}

/// Steel is 1040 (Callister, Materials Science and Engineering, Table B.6), aluminium the die-casting alloy A380 (NADCA
/// Product Specification Standards, Table A-3-2); a caster's data page says 21.1 for that from 20 to 100 °C.
pub(crate) const METALS: [Metal; 2] = [
    Metal { name: "steel", expansion_per_k: 11.3e-6 },
    Metal { name: "aluminium", expansion_per_k: 21.8e-6 },
];

/// Limit of the relative error of the flow around a valve that lies to one side, over its eccentricity, and at most.
/// Inertia holds its wide side back more than the law of the mean gap says: by 5, 11 and 12 % at 0.3, 0.6 and 0.8 at
/// most, integrated strip by strip.
const LIE: (f64, f64) = (0.3, 0.18);

impl Land {
    /// Makes a land: bore of 1 to 200 mm, length of 0.1 to 200 mm, eccentricity from 0 (centred) to 1 (touching); where
    /// none is given, the valve may lie anywhere.
    pub fn new(
        diameter: Length,
        length: Length,
        eccentricity: impl Into<Option<f64>>,
    ) -> Result<Land, ContextError> {
        let eccentricity = eccentricity.into();
        if !(1e-3..=0.2).contains(&diameter.si()) {
            return Err(ContextError::Diameter(diameter));
        }
        if !(1e-4..=0.2).contains(&length.si()) {
            return Err(ContextError::Length(length));
        }
        if let Some(outside) = eccentricity.filter(|eccentricity| !(0.0..=1.0).contains(eccentricity)) {
            return Err(ContextError::Eccentricity(outside));
        }
        let measured = MeasuredBy::default();
        Ok(Land { diameter, length, eccentricity, lands: 1, measured, expansions: None })
    }

    /// Takes so many equal lands, one behind the other: 1 to 9.
    pub fn in_row(self, lands: u32) -> Result<Land, ContextError> {
        if (1..=9).contains(&lands) { Ok(Land { lands, ..self }) } else { Err(ContextError::Lands(lands)) }
    }

    /// Takes how its size is known.
    pub fn measured_by(self, measured: MeasuredBy) -> Land {
        Land { measured, ..self }
    }

    /// Takes how valve and bore grow with temperature: 0 to 2e-4 per kelvin.
    pub fn growing_by(self, expansions: Expansions) -> Result<Land, ContextError> {
        let outside = [expansions.valve_per_k, expansions.bore_per_k]
            .into_iter()
            .find(|expansion| !(0.0..=2e-4).contains(expansion));
        outside.map_or(Ok(Land { expansions: Some(expansions), ..self }), |outside| {
            Err(ContextError::Expansion(outside))
        })
    }

    /// Returns the bore's diameter.
    pub fn diameter(&self) -> Length {
        self.diameter
    }

    /// Returns the length of the land along the bore.
    pub fn length(&self) -> Length {
        self.length
    }

    /// Returns the eccentricity, 0 centred, 1 touching, where it is known.
    pub fn eccentricity(&self) -> Option<f64> {
        self.eccentricity
    }

    /// Returns how many equal lands stand in a row.
    pub fn lands(&self) -> u32 {
        self.lands
    }

    /// Returns how its size is known.
    pub fn measured(&self) -> MeasuredBy {
        self.measured
    }

    /// Returns how valve and bore grow, where it is known.
    pub fn expansions(&self) -> Option<Expansions> {
        self.expansions
    }

    /// Returns the least and the greatest eccentricity that the valve can have.
    pub(super) fn eccentricities(&self) -> (f64, f64) {
        self.eccentricity.map_or((0.0, 1.0), |known| (known, known))
    }

    /// Returns the limit of the relative error of a gap's flow by the size of the land, with which it goes as D/L, and
    /// by the lie of the valve where that is known.
    pub(super) fn flow_limit(&self) -> f64 {
        let limit = self.measured.limit();
        let (of_bore, of_length) = (limit / self.diameter.si(), limit / self.length.si());
        let lie = (LIE.0 * self.eccentricities().0).min(LIE.1);
        (of_bore * of_bore + of_length * of_length + lie * lie).sqrt()
    }

    /// Returns by how much in m the radial clearance grows when the unit warms by so many kelvin; none where the
    /// metals are not known.
    pub(super) fn growth(&self, warming: f64) -> Option<f64> {
        let expansions = self.expansions?;
        Some(0.5 * self.diameter.si() * (expansions.bore_per_k - expansions.valve_per_k) * warming)
    }

    /// Returns the land's clearance, the valve being as far to one side as it may be least, as a way for the air
    /// of a calibrated rig.
    pub fn clearance(&self, calibration: &Calibration) -> Clearance {
        self.clearance_at(self.eccentricities().0, calibration)
    }

    pub(super) fn clearance_at(&self, eccentricity: f64, calibration: &Calibration) -> Clearance {
        let (room, temperature) = (calibration.barometer(), calibration.temperature());
        Clearance::new(self.diameter, self.length, eccentricity, room, temperature).in_row(self.lands)
    }
}

impl TryFrom<LandParts> for Land {
    type Error = ContextError;

    fn try_from(parts: LandParts) -> Result<Land, ContextError> {
        let land = Land::new(parts.diameter_m, parts.length_m, parts.eccentricity)?;
        let land = land.in_row(parts.lands)?.measured_by(parts.measured);
        parts.expansions.map_or(Ok(land), |expansions| land.growing_by(expansions))
    }
}
