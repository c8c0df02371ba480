use std::f64::consts::PI;

use libm::{expm1, log, log1p, pow};

/// Ratio of the specific heats of dry air; 1.4 for a diatomic ideal gas.
pub(crate) const GAMMA: f64 = 1.4;

/// Specific gas constant of dry air in J/(kg K).
pub(crate) const GAS_CONSTANT: f64 = 287.05;

/// Returns the density of dry air in kg/m3 at a pressure in Pa and a temperature in K (ideal gas law).
///
/// Real air at 20 °C and 101 325 Pa is 0.04 % denser (its compressibility factor is 0.9996).
pub(crate) fn density(pressure: f64, temperature: f64) -> f64 {
    pressure / (GAS_CONSTANT * temperature)
}

/// Returns the dynamic viscosity of dry air in Pa s at a temperature in K.
///
/// Sutherland's formula with the constants of the U.S. Standard Atmosphere 1976, equation 51; sound between 250 and
/// 350 K to about 0.5 %.
pub(crate) fn viscosity(temperature: f64) -> f64 {
    1.458e-6 * temperature * temperature.sqrt() / (temperature + 110.4)
}

/// Returns the mean free path in air in m at a pressure in Pa and a temperature in K, as kinetic theory defines it
/// from the viscosity: mu/p sqrt(pi R T/2).
pub(crate) fn mean_free_path(pressure: f64, temperature: f64) -> f64 {
    viscosity(temperature) / pressure * (PI * GAS_CONSTANT * temperature / 2.0).sqrt()
}

/// Pressure ratio at and below which a nozzle is sonic: (2/(gamma+1))^(gamma/(gamma-1)).
pub(crate) const CRITICAL_RATIO: f64 = 0.528_281_787_717_174_2;

/// The flow function at and below [`CRITICAL_RATIO`], its largest value.
pub(crate) const CRITICAL_FLOW: f64 = 0.684_731_456_377_270_5;

/// Returns the flow function Phi = m sqrt(R T) / (A p_up) of an ideal nozzle at a pressure ratio p_down/p_up.
///
/// Saint-Venant and Wantzel's relation for isentropic flow; constant below [`CRITICAL_RATIO`]. The ratio lies between
/// 0 and 1; for any other number there is no answer.
pub(crate) fn flow_function(ratio: f64) -> Option<f64> {
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

/// How much a restriction passes as the pressure behind it falls.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Law {
    /// An ideal nozzle: the isentropic flow function.
    Nozzle,
    /// A real valve by ISO 6358-1: sonic up to this critical ratio (0 to 0.6), then a quarter ellipse.
    Valve {
        /// The critical pressure ratio b.
        critical_ratio: f64,
    },
}

impl Law {
    /// Returns the flow for a ratio of downstream to upstream pressure, 0 to 1, in the units of the flow function: mass
    /// flow times sqrt(R T) over effective area and upstream pressure.
    pub fn flow(self, ratio: f64) -> f64 {
        match self {
            Law::Nozzle => flow_function(ratio.clamp(0.0, 1.0)).unwrap_or(0.0),
            Law::Valve { critical_ratio } if ratio <= critical_ratio => CRITICAL_FLOW,
            Law::Valve { critical_ratio } => {
                let beyond = (ratio - critical_ratio) / (1.0 - critical_ratio);
                CRITICAL_FLOW * (1.0 - beyond * beyond).max(0.0).sqrt()
            }
        }
    }

    /// Returns the greatest pressure ratio at which the flow is still sonic.
    pub fn critical_ratio(self) -> f64 {
        match self {
            Law::Nozzle => CRITICAL_RATIO,
            Law::Valve { critical_ratio } => critical_ratio,
        }
    }
}

/// Discharge coefficient of a plug orifice: a drilled hole at least as long as it is wide.
///
/// Independent of the pressure ratio within [`PLUG_CHANGE_LIMIT`]. The area rules 0.128 d^2 and 0.125 d^2 dm3/(s bar)
/// for ISO 6358 conductances (d in mm) mean 0.818 and 0.799; Lichtarowicz, Duggins and Markland (J Mech Eng Sci 7(2),
/// 1965) give 0.81 for incompressible flow through holes of length 1.5 to 2 diameters.
pub(crate) const PLUG_COEFFICIENT: f64 = 0.82;

/// Limit of the error of [`PLUG_COEFFICIENT`], either way.
pub(crate) const PLUG_LIMIT: f64 = 0.03;

/// Limit of the relative change of a plug's coefficient between 5 inHg and sonic flow, either way.
pub(crate) const PLUG_CHANGE_LIMIT: f64 = 0.03;

/// Limit of the error of [`plate_coefficient`], either way.
pub(crate) const PLATE_LIMIT: f64 = 0.01;

const PLATE: [f64; 6] = [0.8414, -0.1002, 0.8415, -3.9, 4.6001, -1.6827];

/// Returns the discharge coefficient of a thin sharp-edged plate at a pressure ratio between 0 and 1.
///
/// Polynomial through J. A. Perry's measurements (Trans. ASME 71, 1949, 757), within 0.01; it rises from 0.60 without
/// compression to 0.84 in deep vacuum, past sonic flow. Ratios outside are taken as the nearer end.
pub(crate) fn plate_coefficient(ratio: f64) -> f64 {
    let ratio = ratio.clamp(0.0, 1.0);
    PLATE.iter().rev().fold(0.0, |sum, coefficient| sum * ratio + coefficient)
}

/// Returns the slope of [`plate_coefficient`] over the pressure ratio; never positive.
pub(crate) fn plate_slope(ratio: f64) -> f64 {
    let ratio = ratio.clamp(0.0, 1.0);
    (1..PLATE.len()).rev().fold(0.0, |sum, power| sum * ratio + power as f64 * PLATE[power])
}

// The balance of a rig whose inlet valve is sonic, in closed form both ways.
//
// Air comes in from the room at P through openings A (bleed and circuit) and leaves through the inlet valve A_i,
// sonic. With x the absolute pressure at the gauge over P this says A Phi(x) = A_i x Phi*, so
// A / A_i = g(x) = x Phi* / Phi(x). The depth is 1 - x: the vacuum over P.
//
// With y = x^(-(gamma-1)/gamma) the flow function obeys Phi^2/x^2 = 2 gamma/(gamma-1) y (y - 1): a quadratic, which
// gives x back from g without iteration.

const EXPONENT: f64 = (GAMMA - 1.0) / GAMMA;
const FACTOR: f64 = 2.0 * GAMMA / (GAMMA - 1.0);

/// The openings that let air into a rig, over its sonic inlet valve, at one depth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct AirOpening {
    /// g(x): bleed and circuit over the inlet valve.
    pub ratio: f64,
    /// dg/dx, positive; the depth falls as x rises.
    pub slope: f64,
}

/// Returns the openings at a depth (vacuum over barometer).
///
/// They grow without bound as the depth goes to 0; the depth lies above 0 and below 1, and
/// elsewhere there is no answer.
pub(crate) fn opening(depth: f64) -> Option<AirOpening> {
    let ratio = (depth > 0.0 && depth < 1.0).then_some(1.0 - depth)?;
    if ratio <= CRITICAL_RATIO {
        return Some(AirOpening { ratio, slope: 1.0 });
    }
    // y - 1, without cancellation at small depths.
    let rise = expm1(-EXPONENT * log1p(-depth));
    let opening = CRITICAL_FLOW / (FACTOR * (1.0 + rise) * rise).sqrt();
    Some(AirOpening { ratio: opening, slope: opening * EXPONENT * (1.0 + 2.0 * rise) / (2.0 * ratio * rise) })
}

/// Returns g, the [`AirOpening::ratio`] at a depth.
pub(crate) fn opening_ratio(depth: f64) -> Option<f64> {
    opening(depth).map(|opening| opening.ratio)
}

/// Returns the depth at which the openings have this ratio, which must be positive.
pub(crate) fn depth_at(opening_ratio: f64) -> Option<f64> {
    if !(opening_ratio > 0.0 && opening_ratio.is_finite()) {
        return None;
    }
    if opening_ratio <= CRITICAL_RATIO {
        return Some(1.0 - opening_ratio);
    }
    let quotient = CRITICAL_FLOW / opening_ratio;
    let q = 4.0 / FACTOR * quotient * quotient;
    let rise = q / (2.0 * ((1.0 + q).sqrt() + 1.0));
    Some(-expm1(-log1p(rise) / EXPONENT))
}
