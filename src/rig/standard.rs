use crate::air::STANDARD_PRESSURE;
use crate::quantity::{INCH, INCH_OF_MERCURY, Length, Pressure};

/// The plugged point of the standard rig: 25 inHg at 101 325 Pa.
pub const STANDARD_PLUGGED: Pressure = Pressure::constant(25.0 * INCH_OF_MERCURY);

/// The through point of the standard rig: 5 inHg at 101 325 Pa.
pub const STANDARD_THROUGH: Pressure = Pressure::constant(5.0 * INCH_OF_MERCURY);

/// The bore of the standard rig's test orifice, a plug: 0.035 in.
pub const STANDARD_ORIFICE: Length = Length::constant(0.035 * INCH);

/// Returns the readings, plugged and through, that make a rig under a station pressure read as the standard rig does:
/// 25 and 5 inHg scaled by that pressure over 101 325 Pa.
pub const fn targets(station: Pressure) -> (Pressure, Pressure) {
    let scale = station.si() / STANDARD_PRESSURE;
    (Pressure::constant(STANDARD_PLUGGED.si() * scale), Pressure::constant(STANDARD_THROUGH.si() * scale))
}
