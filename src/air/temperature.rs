use serde::{Deserialize, Serialize};

use crate::quantity::Temperature;

/// The temperature of the air around the rig, and whether somebody read it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct AirTemperature {
    temperature_k: Temperature,
    is_assumed: bool,
}

impl AirTemperature {
    /// Nobody read a thermometer: 20 °C.
    pub const ASSUMED: AirTemperature =
        AirTemperature { temperature_k: Temperature::constant(293.15), is_assumed: true };

    /// Standard uncertainty in K of a shop's thermometer and of where it hangs; common practice, no source.
    pub(crate) const READ_UNCERTAINTY: f64 = 1.0;

    /// The same where nobody read one; common practice, no source.
    const ASSUMED_UNCERTAINTY: f64 = 4.0;

    /// Takes what a thermometer in the room shows.
    pub fn read(temperature: Temperature) -> AirTemperature {
        AirTemperature { temperature_k: temperature, is_assumed: false }
    }

    /// Returns the temperature.
    pub fn temperature(&self) -> Temperature {
        self.temperature_k
    }

    /// Returns whether nobody read it.
    pub fn is_assumed(&self) -> bool {
        self.is_assumed
    }

    /// Returns its standard uncertainty in K.
    pub fn uncertainty(&self) -> f64 {
        if self.is_assumed { AirTemperature::ASSUMED_UNCERTAINTY } else { AirTemperature::READ_UNCERTAINTY }
    }
}
