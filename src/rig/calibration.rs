use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::Orifice;
use super::suction::{Pump, Suction};
use crate::air::{AirOpening, STANDARD_PRESSURE, opening};
use crate::quantity::{INCH, INCH_OF_MERCURY, Length, Pressure, Temperature};

/// The plugged point of the standard rig: 25 inHg at 101 325 Pa.
pub(crate) const STANDARD_PLUGGED: Pressure = Pressure::constant(25.0 * INCH_OF_MERCURY);

/// The through point of the standard rig: 5 inHg at 101 325 Pa.
pub(crate) const STANDARD_THROUGH: Pressure = Pressure::constant(5.0 * INCH_OF_MERCURY);

/// Returns the readings, plugged and through, that make a rig under a station pressure read as the standard rig does:
/// 25 and 5 inHg scaled by that pressure over 101 325 Pa.
pub(crate) const fn targets(station: Pressure) -> (Pressure, Pressure) {
    let scale = station.si() / STANDARD_PRESSURE;
    (Pressure::constant(STANDARD_PLUGGED.si() * scale), Pressure::constant(STANDARD_THROUGH.si() * scale))
}

/// A rig as its two calibration readings show it, and what any later reading means on it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "CalibrationParts")]
pub struct Calibration {
    #[serde(rename = "plugged_pa")]
    plugged: Pressure,
    #[serde(rename = "through_pa")]
    through: Pressure,
    orifice: Orifice,
    #[serde(rename = "barometer_pa")]
    barometer: Pressure,
    #[serde(rename = "temperature_k")]
    temperature: Temperature,
    /// The pump, where it is too weak not to matter.
    #[serde(skip_serializing_if = "Option::is_none")]
    pump: Option<Pump>,
    #[serde(skip_serializing)]
    suction: Suction,
    /// What it would be where the inlet valve's critical ratio is the lowest.
    #[serde(skip_serializing)]
    other_suction: Option<Suction>,
    /// What lets air in at the plugged point: the bleed.
    #[serde(skip_serializing)]
    at_plugged: AirOpening,
    /// What lets air in at the through point: bleed and orifice.
    #[serde(skip_serializing)]
    at_through: AirOpening,
    #[serde(skip_serializing)]
    open_hose: Pressure,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct CalibrationParts {
    plugged_pa: Pressure,
    through_pa: Pressure,
    orifice: Orifice,
    barometer_pa: Pressure,
    temperature_k: Temperature,
    #[serde(default)]
    pump: Option<Pump>,
}

impl Calibration {
    /// Bore of the test hose, beyond which no leak shows: 1/4 in; common practice, no source.
    pub const HOSE: Length = Length::constant(0.25 * INCH);

    /// How far the two points have to lie apart over the barometer: 1.5 inHg at sea level, where 20 are usual. A mark
    /// of the dial is a third of that already (common practice, no source).
    const LEAST_APART: f64 = 0.05;

    /// Makes a calibration from the plugged reading, the reading through the test orifice, the station pressure
    /// (45 to 110 kPa) and the temperature of the air (-40 to 60 °C).
    pub fn new(
        plugged: Pressure,
        through: Pressure,
        orifice: Orifice,
        barometer: Pressure,
        temperature: Temperature,
    ) -> Result<Calibration, CalibrationError> {
        if !(45e3..=110e3).contains(&barometer.si()) {
            return Err(CalibrationError::Barometer(barometer));
        }
        if !(233.15..=333.15).contains(&temperature.si()) {
            return Err(CalibrationError::Temperature(temperature));
        }
        let at_plugged = point(plugged, barometer, || CalibrationError::PluggedNotPositive(plugged))?;
        let at_through = point(through, barometer, || CalibrationError::ThroughNotPositive(through))?;
        if at_through.ratio <= at_plugged.ratio {
            return Err(CalibrationError::PluggedNotAboveThrough { plugged, through });
        }
        let least = Pressure::constant(Calibration::LEAST_APART * barometer.si());
        if plugged.si() - through.si() < least.si() {
            return Err(CalibrationError::TooClose { plugged, through, least });
        }
        let calibration = Calibration {
            plugged,
            through,
            orifice,
            barometer,
            temperature,
            pump: None,
            suction: Suction::Sonic,
            other_suction: None,
            at_plugged,
            at_through,
            open_hose: plugged,
        };
        Ok(calibration.with_open_hose())
    }

    /// Takes a pump that does not keep the inlet valve sonic between the two points.
    pub(super) fn drawn_by(
        self,
        pump: Pump,
        suction: Suction,
        other_suction: Option<Suction>,
    ) -> Result<Calibration, CalibrationError> {
        let at = |reading: Pressure| {
            suction.opening(reading.si() / self.barometer.si()).ok_or_else(|| self.pump_contradicted())
        };
        let (at_plugged, at_through) = (at(self.plugged)?, at(self.through)?);
        Ok(Calibration { pump: Some(pump), suction, other_suction, at_plugged, at_through, ..self }
            .with_open_hose())
    }

    pub(super) fn pump_contradicted(&self) -> CalibrationError {
        CalibrationError::PumpContradicted { plugged: self.plugged, through: self.through }
    }

    fn with_open_hose(self) -> Calibration {
        let hose = Calibration::HOSE.si() / self.orifice.diameter().si();
        let open = self.at_plugged.ratio + hose * hose * self.orifice_opening();
        let depth = self.suction.depth_at(open).unwrap_or(0.0);
        Calibration { open_hose: Pressure::constant(depth * self.barometer.si()), ..self }
    }

    /// Returns the pump, where it is too weak not to matter.
    pub fn pump(&self) -> Option<&Pump> {
        self.pump.as_ref()
    }

    /// Returns the reading with nothing on the hose, of 1/4 in bore: no circuit reads less.
    pub fn open_hose(&self) -> Pressure {
        self.open_hose
    }

    /// Returns the plugged reading.
    pub fn plugged(&self) -> Pressure {
        self.plugged
    }

    /// Returns the reading through the test orifice.
    pub fn through(&self) -> Pressure {
        self.through
    }

    /// Returns the test orifice.
    pub fn orifice(&self) -> Orifice {
        self.orifice
    }

    /// Returns the station pressure.
    pub fn barometer(&self) -> Pressure {
        self.barometer
    }

    /// Returns the temperature of the air.
    pub fn temperature(&self) -> Temperature {
        self.temperature
    }

    /// Returns the effective area of the inlet valve over that of the test orifice: 1/(g(x_o) - g(x_b)).
    pub fn inlet_relative(&self) -> f64 {
        1.0 / self.orifice_opening()
    }

    /// Returns the effective area of the bleed valve over that of the test orifice: g(x_b)/(g(x_o) - g(x_b)).
    pub fn bleed_relative(&self) -> f64 {
        self.at_plugged.ratio / self.orifice_opening()
    }

    /// Returns the absolute pressure at the gauge over the barometer, for a reading.
    pub fn ratio(&self, reading: Pressure) -> f64 {
        1.0 - reading.si() / self.barometer.si()
    }

    /// What the test orifice adds to the bleed, over the inlet valve.
    fn orifice_opening(&self) -> f64 {
        self.at_through.ratio - self.at_plugged.ratio
    }

    /// The states at the plugged point and at the through point.
    pub(super) fn openings(&self) -> (AirOpening, AirOpening) {
        (self.at_plugged, self.at_through)
    }

    /// What draws the air out.
    pub(super) fn suction(&self) -> &Suction {
        &self.suction
    }

    /// What draws the air out where the inlet valve's critical ratio is the lowest instead.
    pub(super) fn other_suction(&self) -> Option<&Suction> {
        self.other_suction.as_ref()
    }

    /// Returns the equivalent hole's bore in m for a leak in test orifices: d_o sqrt(leak).
    pub fn hole(&self, leak: f64) -> f64 {
        self.orifice.diameter().si() * leak.sqrt()
    }

    /// The same in Pa, for an area that is not negative.
    pub(super) fn vacuum_of_area(&self, area: f64) -> f64 {
        if area == 0.0 {
            return self.plugged.si();
        }
        let open = self.at_plugged.ratio + area * self.orifice_opening();
        let depth = self.suction.depth_at(open).unwrap_or(0.0);
        (depth * self.barometer.si()).min(self.plugged.si())
    }

    /// Returns the effective area of this rig's orifice at its through point over the standard rig's.
    pub fn orifice_over_standard(&self) -> f64 {
        self.orifice.relative_to_standard(self.through_ratio())
    }

    /// Returns the absolute pressure at the gauge over the barometer at the through point.
    pub fn through_ratio(&self) -> f64 {
        self.ratio(self.through)
    }

    /// Returns the readings, plugged and through, that make this rig read as the standard rig does: 25 and 5 inHg
    /// scaled by the barometer over 101 325 Pa.
    pub fn targets(&self) -> (Pressure, Pressure) {
        targets(self.barometer)
    }

    /// Returns the standard rig.
    pub const fn standard() -> Calibration {
        Calibration {
            plugged: STANDARD_PLUGGED,
            through: STANDARD_THROUGH,
            orifice: Orifice::STANDARD,
            barometer: Pressure::constant(STANDARD_PRESSURE),
            temperature: Temperature::constant(293.15),
            pump: None,
            suction: Suction::Sonic,
            other_suction: None,
            at_plugged: AirOpening { ratio: 0.164_473_476_437_207, slope: 1.0 },
            at_through: AirOpening { ratio: 1.088_727_019_073_634, slope: 3.855_363_174_531_548 },
            open_hose: Pressure::constant(10.606951800523005),
        }
    }
}

fn point(
    reading: Pressure,
    barometer: Pressure,
    not_positive: impl Fn() -> CalibrationError,
) -> Result<AirOpening, CalibrationError> {
    if reading.si() <= 0.0 {
        return Err(not_positive());
    }
    opening(reading.si() / barometer.si())
        .ok_or(CalibrationError::DeeperThanBarometer { plugged: reading, barometer })
}

impl TryFrom<CalibrationParts> for Calibration {
    type Error = CalibrationError;

    fn try_from(parts: CalibrationParts) -> Result<Calibration, CalibrationError> {
        let calibration = Calibration::new(
            parts.plugged_pa,
            parts.through_pa,
            parts.orifice,
            parts.barometer_pa,
            parts.temperature_k,
        )?;
        calibration.with_pump(parts.pump.as_ref())
    }
}

/// Why two readings are not a calibration.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum CalibrationError {
    /// The barometer is outside 45 to 110 kPa.
    #[error("a barometer of {0} is not an air pressure found in a shop; read it again in absolute pressure")]
    Barometer(Pressure),
    /// The temperature is outside -40 to 60 °C.
    #[error(
        "{0} is not the temperature of a shop (-40 to 60 °C); read the thermometer again, and write F behind what it shows in Fahrenheit"
    )]
    Temperature(Temperature),
    #[error(
        "the plugged reading is {0}; start the pump, open the inlet valve, plug the hose end and read again"
    )]
    PluggedNotPositive(Pressure),
    #[error("the reading through the orifice is {0}; fit the orifice to the hose end and read again")]
    ThroughNotPositive(Pressure),
    #[error(
        "a plugged reading of {plugged} is higher than the barometer's {barometer} allows; check the \
         gauge's zero, and that the barometer is the station pressure"
    )]
    DeeperThanBarometer { plugged: Pressure, barometer: Pressure },
    #[error(
        "the plugged reading ({plugged}) must be above the reading through the orifice ({through}); check \
         that the hose was really plugged and that the two were not swapped"
    )]
    PluggedNotAboveThrough { plugged: Pressure, through: Pressure },
    #[error(
        "{plugged} plugged and {through} through the orifice lie too close to tell one leak from another; they have to be \
         {least} apart, and 25 and 5 inHg are usual: look whether the orifice is open, and set the rig again"
    )]
    TooClose { plugged: Pressure, through: Pressure, least: Pressure },
    #[error(
        "the pump that is entered for this rig does not pull {plugged} plugged and {through} through the orifice. Where guide has \
         set the rig to what the pump reaches, leak takes these readings with --plugged and --through. Else measure the pump \
         again, bleed valve shut and inlet valve open, and enter both readings:\n\
         spoolproof rig set --pump-plugged V --pump-through V"
    )]
    PumpContradicted { plugged: Pressure, through: Pressure },
}
