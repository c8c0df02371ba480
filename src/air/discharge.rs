/// Discharge coefficient of a plug orifice: a drilled hole at least as long as it is wide.
///
/// Independent of the pressure ratio within [`PLUG_CHANGE_LIMIT`]. The area rules 0.128 d^2 and 0.125 d^2 dm3/(s bar)
/// for ISO 6358 conductances (d in mm) mean 0.818 and 0.799; Lichtarowicz, Duggins and Markland (J Mech Eng Sci 7(2),
/// 1965) give 0.81 for incompressible flow through holes of length 1.5 to 2 diameters.
pub const PLUG_COEFFICIENT: f64 = 0.82;

/// Limit of the error of [`PLUG_COEFFICIENT`], either way.
pub const PLUG_LIMIT: f64 = 0.03;

/// Limit of the relative change of a plug's coefficient between 5 inHg and sonic flow, either way.
pub const PLUG_CHANGE_LIMIT: f64 = 0.03;

/// Limit of the error of [`plate_coefficient`], either way.
pub const PLATE_LIMIT: f64 = 0.01;

const PLATE: [f64; 6] = [0.8414, -0.1002, 0.8415, -3.9, 4.6001, -1.6827];

/// Returns the discharge coefficient of a thin sharp-edged plate at a pressure ratio between 0 and 1.
///
/// Polynomial through J. A. Perry's measurements (Trans. ASME 71, 1949, 757), within 0.01; it rises from 0.60 without
/// compression to 0.84 in deep vacuum, past sonic flow. Ratios outside are taken as the nearer end.
pub fn plate_coefficient(ratio: f64) -> f64 {
    let ratio = ratio.clamp(0.0, 1.0);
    PLATE.iter().rev().fold(0.0, |sum, coefficient| sum * ratio + coefficient)
}

/// Returns the slope of [`plate_coefficient`] over the pressure ratio; never positive.
pub fn plate_slope(ratio: f64) -> f64 {
    let ratio = ratio.clamp(0.0, 1.0);
    (1..PLATE.len()).rev().fold(0.0, |sum, power| sum * ratio + power as f64 * PLATE[power])
}
