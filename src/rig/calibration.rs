use std::fmt;

use serde::{Deserialize, Serialize};

use super::{Orifice, OrificeKind, STANDARD_PLUGGED, STANDARD_THROUGH, targets};
use crate::air::{STANDARD_PRESSURE, depth_at, flow_function, opening_ratio};
use crate::quantity::{Pressure, Temperature};

/// A rig as its two calibration readings show it, and what any later reading means on it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "Parts", into = "Parts")]
pub struct Calibration {
    plugged: Pressure,
    through: Pressure,
    orifice: Orifice,
    barometer: Pressure,
    temperature: Temperature,
    /// Opening ratio of the bleed alone.
    plugged_opening: f64,
    /// What the test orifice adds to it.
    orifice_opening: f64,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Parts {
    plugged_pa: Pressure,
    through_pa: Pressure,
    orifice: Orifice,
    barometer_pa: Pressure,
    temperature_k: Temperature,
}

/// Why two readings are not a calibration.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum CalibrationError {
    /// The barometer is outside 45 to 110 kPa.
    Barometer(Pressure),
    /// The temperature is outside -40 to 60 °C.
    Temperature(Temperature),
    /// The plugged reading shows no vacuum.
    PluggedNotPositive(Pressure),
    /// The through reading shows no vacuum.
    ThroughNotPositive(Pressure),
    /// The plugged reading is deeper than the air around it allows.
    DeeperThanBarometer {
        /// The plugged reading.
        plugged: Pressure,
        /// The barometer.
        barometer: Pressure,
    },
    /// The reading through the orifice is not below the plugged one.
    PluggedNotAboveThrough {
        /// The plugged reading.
        plugged: Pressure,
        /// The reading through the orifice.
        through: Pressure,
    },
}

impl fmt::Display for CalibrationError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            CalibrationError::Barometer(barometer) => {
                write!(
                    f,
                    "a barometer of {barometer} is not an air pressure found in a shop; read it again in absolute pressure"
                )
            }
            CalibrationError::Temperature(temperature) => {
                write!(
                    f,
                    "{temperature} is not the temperature of a shop (-40 to 60 °C); read the thermometer again"
                )
            }
            CalibrationError::PluggedNotPositive(plugged) => write!(
                f,
                "the plugged reading is {plugged}; start the pump, open the inlet valve, plug the hose end and read again"
            ),
            CalibrationError::ThroughNotPositive(through) => write!(
                f,
                "the reading through the orifice is {through}; fit the orifice to the hose end and read again"
            ),
            CalibrationError::DeeperThanBarometer { plugged, barometer } => write!(
                f,
                "a plugged reading of {plugged} is deeper than the barometer's {barometer} allows; \
                 check the gauge's zero, and that the barometer is the station pressure"
            ),
            CalibrationError::PluggedNotAboveThrough { plugged, through } => write!(
                f,
                "the plugged reading ({plugged}) must be above the reading through the orifice ({through}); \
                 check that the hose was really plugged and that the two were not swapped"
            ),
        }
    }
}

impl std::error::Error for CalibrationError {}

/// g at the standard rig's plugged point, where it is x itself, and what its orifice adds by the through point.
const PLUGGED_OPENING: f64 = 0.164_473_476_437_207;
const ORIFICE_OPENING: f64 = 0.924_253_542_636_427;

/// Why a reading cannot be turned into a leak.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ReadingError {
    /// No reading was given.
    None,
    /// The gauge showed pressure instead of vacuum.
    Negative(Pressure),
    /// The gauge showed nothing.
    Zero,
    /// The reading is deeper than the rig pulls with its hose plugged.
    AbovePlugged {
        /// The reading.
        reading: Pressure,
        /// The plugged point of the calibration.
        plugged: Pressure,
    },
    /// A leak, in test orifices, is negative or not a number.
    Leak,
}

impl fmt::Display for ReadingError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            ReadingError::None => f.write_str("there is no reading; take one"),
            ReadingError::Negative(reading) => write!(
                f,
                "a reading of {reading} is a pressure, not a vacuum; check the gauge's zero and type vacuum without a sign"
            ),
            ReadingError::Zero => f.write_str(
                "a reading of 0 means that the circuit takes more air than the rig can show; \
                 check that the hose is on, the pump runs and the circuit is closed, and read again",
            ),
            ReadingError::AbovePlugged { reading, plugged } => write!(
                f,
                "a reading of {reading} is above the plugged point ({plugged}); \
                 the rig has drifted or the reading is wrong: plug the hose, check the calibration and read again"
            ),
            ReadingError::Leak => {
                f.write_str("a leak cannot be negative; give the hole or the leak as 0 or more")
            }
        }
    }
}

impl std::error::Error for ReadingError {}

impl Calibration {
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
        let plugged_opening = opening(plugged, barometer, || CalibrationError::PluggedNotPositive(plugged))?;
        let through_opening = opening(through, barometer, || CalibrationError::ThroughNotPositive(through))?;
        let orifice_opening = through_opening - plugged_opening;
        if orifice_opening <= 0.0 {
            return Err(CalibrationError::PluggedNotAboveThrough { plugged, through });
        }
        Ok(Calibration {
            plugged,
            through,
            orifice,
            barometer,
            temperature,
            plugged_opening,
            orifice_opening,
        })
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
        1.0 / self.orifice_opening
    }

    /// Returns the effective area of the bleed valve over that of the test orifice: g(x_b)/(g(x_o) - g(x_b)).
    pub fn bleed_relative(&self) -> f64 {
        self.plugged_opening / self.orifice_opening
    }

    /// Returns the absolute pressure at the gauge over the barometer, for a reading.
    pub fn ratio(&self, reading: Pressure) -> f64 {
        1.0 - reading.si() / self.barometer.si()
    }

    /// Returns the effective area of a circuit over that of the test orifice at the through point:
    /// (g(x) - g(x_b))/(g(x_o) - g(x_b)).
    pub fn area_at(&self, reading: Pressure) -> Result<f64, ReadingError> {
        self.check(reading)?;
        if reading == self.plugged {
            return Ok(0.0);
        }
        let opening = opening_ratio(reading.si() / self.barometer.si()).ok_or(ReadingError::Zero)?;
        Ok(((opening - self.plugged_opening) / self.orifice_opening).max(0.0))
    }

    /// Returns the leak of a circuit in test orifices: the area of the hole of the orifice's own kind that gives this
    /// reading, over the area of the test orifice.
    ///
    /// For a plug this is [`Calibration::area_at`]; for a plate that times C_d(x_o)/C_d(x).
    pub fn leak_at(&self, reading: Pressure) -> Result<f64, ReadingError> {
        Ok(self.area_at(reading)? * self.coefficient_ratio(reading))
    }

    /// Returns the air flow of a circuit, m sqrt(R T) over the orifice's effective area, in Pa.
    pub fn flow_at(&self, reading: Pressure) -> Result<f64, ReadingError> {
        let phi = flow_function(self.ratio(reading)).ok_or(ReadingError::Zero)?;
        Ok(self.area_at(reading)? * phi * self.barometer.si())
    }

    /// C_d(x_o)/C_d(x): what a hole of the orifice's kind discharges at the through point over what it does here.
    pub(crate) fn coefficient_ratio(&self, reading: Pressure) -> f64 {
        match self.orifice.kind() {
            OrificeKind::Plug => 1.0,
            kind => kind.coefficient(self.ratio(self.through)) / kind.coefficient(self.ratio(reading)),
        }
    }

    /// Returns the equivalent hole's bore in m for a leak in test orifices: d_o sqrt(leak).
    pub fn hole(&self, leak: f64) -> f64 {
        self.orifice.diameter().si() * leak.sqrt()
    }

    /// Returns the reading of a circuit whose effective area over the test orifice's is this; the inverse of
    /// [`Calibration::area_at`].
    pub fn reading_of_area(&self, area: f64) -> Result<Pressure, ReadingError> {
        if area.is_nan() || area < 0.0 {
            return Err(ReadingError::Leak);
        }
        if area == 0.0 {
            return Ok(self.plugged);
        }
        let depth = depth_at(self.plugged_opening + area * self.orifice_opening).unwrap_or(0.0);
        let reading = (depth * self.barometer.si()).min(self.plugged.si());
        Ok(Pressure::from_si(reading).unwrap_or(Pressure::constant(0.0)))
    }

    /// Returns the reading to expect for a leak in test orifices, which must not be negative; the inverse of
    /// [`Calibration::leak_at`].
    pub fn reading_at(&self, leak: f64) -> Result<Pressure, ReadingError> {
        let mut reading = self.reading_of_area(leak)?;
        if self.orifice.kind() == OrificeKind::Plug || leak == 0.0 || reading.si() == 0.0 {
            return Ok(reading);
        }
        // The plate's coefficient belongs to the reading that is sought. Its ratio stays between 0.75 and 1.4, so the
        // reading lies between those of these two areas; halve until the bits run out.
        let mut shallow = self.reading_of_area(leak * 1.5)?.si();
        let mut deep = self.reading_of_area(leak / 1.5)?.si();
        for _ in 0..200 {
            let middle = 0.5 * (shallow + deep);
            if middle <= shallow || middle >= deep {
                break;
            }
            reading = Pressure::constant(middle);
            match self.leak_at(reading)? > leak {
                true => shallow = middle,
                false => deep = middle,
            }
        }
        Ok(reading)
    }

    /// Returns what the standard rig (25 and 5 inHg, 0.035 in plug, 101 325 Pa) would show for the circuit that shows
    /// this reading here.
    pub fn standard_reading(&self, reading: Pressure) -> Result<Pressure, ReadingError> {
        let area = self.area_at(reading)?;
        if area == 0.0 {
            return Ok(STANDARD_PLUGGED);
        }
        Calibration::standard().reading_of_area(area * self.orifice_over_standard())
    }

    /// Returns what this rig shows for the circuit that shows a standard reading on the standard rig; the way that
    /// limits travel to a bench.
    pub fn from_standard(&self, standard: Pressure) -> Result<Pressure, ReadingError> {
        let area = Calibration::standard().area_at(standard)?;
        self.reading_of_area(area / self.orifice_over_standard())
    }

    /// Effective area of this rig's orifice at its through point over the standard rig's.
    pub(crate) fn orifice_over_standard(&self) -> f64 {
        self.orifice.relative_to_standard(self.ratio(self.through))
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
            plugged_opening: PLUGGED_OPENING,
            orifice_opening: ORIFICE_OPENING,
        }
    }

    fn check(&self, reading: Pressure) -> Result<(), ReadingError> {
        if reading.si() < 0.0 {
            Err(ReadingError::Negative(reading))
        } else if reading.si() == 0.0 {
            Err(ReadingError::Zero)
        } else if reading > self.plugged {
            Err(ReadingError::AbovePlugged { reading, plugged: self.plugged })
        } else {
            Ok(())
        }
    }
}

fn opening(
    reading: Pressure,
    barometer: Pressure,
    not_positive: impl Fn() -> CalibrationError,
) -> Result<f64, CalibrationError> {
    if reading.si() <= 0.0 {
        return Err(not_positive());
    }
    opening_ratio(reading.si() / barometer.si())
        .ok_or(CalibrationError::DeeperThanBarometer { plugged: reading, barometer })
}

impl TryFrom<Parts> for Calibration {
    type Error = CalibrationError;

    fn try_from(parts: Parts) -> Result<Calibration, CalibrationError> {
        Calibration::new(
            parts.plugged_pa,
            parts.through_pa,
            parts.orifice,
            parts.barometer_pa,
            parts.temperature_k,
        )
    }
}

impl From<Calibration> for Parts {
    fn from(calibration: Calibration) -> Parts {
        Parts {
            plugged_pa: calibration.plugged,
            through_pa: calibration.through,
            orifice: calibration.orifice,
            barometer_pa: calibration.barometer,
            temperature_k: calibration.temperature,
        }
    }
}
