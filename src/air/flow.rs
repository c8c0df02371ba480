use libm::{expm1, log, pow};

use super::{GAMMA, GAS_CONSTANT};

/// Pressure ratio at and below which a nozzle is sonic: (2/(gamma+1))^(gamma/(gamma-1)).
pub const CRITICAL_RATIO: f64 = 0.528_281_787_717_174_2;

/// The flow function at and below [`CRITICAL_RATIO`], its largest value.
pub const CRITICAL_FLOW: f64 = 0.684_731_456_377_270_5;

/// Returns the flow function Phi = m sqrt(R T) / (A p_up) of an ideal nozzle at a pressure ratio p_down/p_up.
///
/// Saint-Venant and Wantzel's relation for isentropic flow; constant below [`CRITICAL_RATIO`]. The ratio lies between
/// 0 and 1; for any other number there is no answer.
pub fn flow_function(ratio: f64) -> Option<f64> {
    if !(0.0..=1.0).contains(&ratio) {
        return None;
    }
    if ratio <= CRITICAL_RATIO {
        return Some(CRITICAL_FLOW);
    }
    // r^(2/g) - r^((g+1)/g), written so that it does not cancel where the ratio comes close to 1.
    let log_ratio = log(ratio);
    let difference = -expm1((GAMMA - 1.0) / GAMMA * log_ratio);
    Some((2.0 * GAMMA / (GAMMA - 1.0) * pow(ratio, 2.0 / GAMMA) * difference).sqrt())
}

/// Returns the mass flow in kg/s through an effective area in m2 from an upstream pressure to a downstream one, both
/// absolute and in Pa, with the air upstream at a temperature in K.
///
/// The effective area is the discharge coefficient times the geometric area. There is no answer where the area is
/// negative, a pressure or the temperature is not positive, or downstream is above upstream.
pub fn mass_flow(effective_area: f64, upstream: f64, downstream: f64, temperature: f64) -> Option<f64> {
    let sound = effective_area >= 0.0 && upstream > 0.0 && temperature > 0.0;
    let phi = flow_function(downstream / upstream).filter(|_| sound)?;
    Some(effective_area * upstream * phi / (GAS_CONSTANT * temperature).sqrt())
        .filter(|flow| flow.is_finite())
}
