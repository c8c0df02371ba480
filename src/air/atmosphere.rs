use libm::pow;

/// Standard pressure at sea level in Pa (U.S. Standard Atmosphere 1976).
pub const STANDARD_PRESSURE: f64 = 101_325.0;

/// Standard temperature at sea level in K (U.S. Standard Atmosphere 1976).
pub const STANDARD_TEMPERATURE: f64 = 288.15;

const LAPSE_RATE: f64 = 0.0065;

/// g0 M0 / (R* L) with the constants of the U.S. Standard Atmosphere 1976.
const EXPONENT: f64 = 9.806_65 * 28.9644 / (8314.32 * LAPSE_RATE);

/// Returns the pressure of the standard atmosphere in Pa at a geopotential elevation in m.
///
/// U.S. Standard Atmosphere 1976, equation 33a. Valid from -2000 m to 11 000 m, elsewhere there is no answer. Elevations
/// of places are geometric; up to 3700 m the pressure at the geopotential elevation is at most 0.03 % lower.
pub fn standard_atmosphere(elevation: f64) -> Option<f64> {
    let valid = (-2000.0..=11_000.0).contains(&elevation);
    valid.then(|| STANDARD_PRESSURE * pow(1.0 - LAPSE_RATE * elevation / STANDARD_TEMPERATURE, EXPONENT))
}

/// Returns the station pressure in Pa from an altimeter setting in Pa and the elevation of the station in m.
///
/// The inverse of the altimeter-setting formula of the U.S. National Weather Service: with n = 0.190284 and
/// k = 1013.25^n 0.0065/288, P = (A^n - k h)^(1/n) + 0.3 hPa. There is no answer where the setting is not positive or
/// the elevation lies above the top of that atmosphere.
pub fn station_pressure(altimeter_setting: f64, elevation: f64) -> Option<f64> {
    const N: f64 = 0.190_284;
    if !(altimeter_setting > 0.0 && elevation.is_finite()) {
        return None;
    }
    let slope = pow(1013.25, N) * LAPSE_RATE / 288.0;
    let base = pow(altimeter_setting / 100.0, N) - slope * elevation;
    (base > 0.0).then(|| 100.0 * (pow(base, 1.0 / N) + 0.3)).filter(|pressure| pressure.is_finite())
}
