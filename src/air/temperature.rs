use crate::quantity::Temperature;

/// The temperature of the air around the rig, and how it is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AirTemperature {
    temperature: Temperature,
    uncertainty: f64,
}

impl AirTemperature {
    /// Nobody read a thermometer: 20 °C, with a standard uncertainty of 4 K; common practice, no source.
    pub const ASSUMED: AirTemperature =
        AirTemperature { temperature: Temperature::constant(293.15), uncertainty: 4.0 };

    /// Standard uncertainty in K of a shop's thermometer and of where it hangs; common practice, no source.
    pub(crate) const READ_UNCERTAINTY: f64 = 1.0;

    /// Takes what a thermometer in the room shows.
    pub fn read(temperature: Temperature) -> AirTemperature {
        AirTemperature { temperature, uncertainty: AirTemperature::READ_UNCERTAINTY }
    }

    /// Returns the temperature.
    pub fn temperature(&self) -> Temperature {
        self.temperature
    }

    /// Returns its standard uncertainty in K.
    pub fn uncertainty(&self) -> f64 {
        self.uncertainty
    }
}
