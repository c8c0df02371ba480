use std::f64::consts::PI;

/// Ratio of the specific heats of dry air; 1.4 for a diatomic ideal gas.
pub const GAMMA: f64 = 1.4;

/// Specific gas constant of dry air in J/(kg K).
pub const GAS_CONSTANT: f64 = 287.05;

/// Returns the density of dry air in kg/m3 at a pressure in Pa and a temperature in K (ideal gas law).
///
/// Real air at 20 °C and 101 325 Pa is 0.04 % denser (its compressibility factor is 0.9996).
pub fn density(pressure: f64, temperature: f64) -> f64 {
    pressure / (GAS_CONSTANT * temperature)
}

/// Returns the dynamic viscosity of dry air in Pa s at a temperature in K.
///
/// Sutherland's formula with the constants of the U.S. Standard Atmosphere 1976, equation 51; sound between 250 and
/// 350 K to about 0.5 %.
pub fn viscosity(temperature: f64) -> f64 {
    1.458e-6 * temperature * temperature.sqrt() / (temperature + 110.4)
}

/// Returns the mean free path in air in m at a pressure in Pa and a temperature in K, as kinetic theory defines it
/// from the viscosity: mu/p sqrt(pi R T/2).
pub fn mean_free_path(pressure: f64, temperature: f64) -> f64 {
    viscosity(temperature) / pressure * (PI * GAS_CONSTANT * temperature / 2.0).sqrt()
}
