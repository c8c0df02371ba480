//! The balance of a rig whose inlet valve is sonic, in closed form both ways.
//!
//! Air comes in from the room at P through openings A (bleed and circuit) and leaves through the inlet valve A_i,
//! sonic. With x the absolute pressure at the gauge over P this says A Phi(x) = A_i x Phi*, so
//! A / A_i = g(x) = x Phi* / Phi(x). The depth is 1 - x: the vacuum over P.
//!
//! With y = x^(-(gamma-1)/gamma) the flow function obeys Phi^2/x^2 = 2 gamma/(gamma-1) y (y - 1): a quadratic, which
//! gives x back from g without iteration.

use libm::{expm1, log1p};

use super::{CRITICAL_FLOW, CRITICAL_RATIO, GAMMA};

const EXPONENT: f64 = (GAMMA - 1.0) / GAMMA;
const FACTOR: f64 = 2.0 * GAMMA / (GAMMA - 1.0);

/// The openings that let air into a rig, over its sonic inlet valve, at one depth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AirOpening {
    /// g(x): bleed and circuit over the inlet valve.
    pub ratio: f64,
    /// dg/dx, positive; the depth falls as x rises.
    pub slope: f64,
}

/// Returns the openings at a depth (vacuum over barometer).
///
/// They grow without bound as the depth goes to 0; the depth lies above 0 and below 1, and elsewhere there is no answer.
pub fn opening(depth: f64) -> Option<AirOpening> {
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
pub fn opening_ratio(depth: f64) -> Option<f64> {
    opening(depth).map(|opening| opening.ratio)
}

/// Returns the depth at which the openings have this ratio, which must be positive.
pub fn depth_at(opening_ratio: f64) -> Option<f64> {
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
