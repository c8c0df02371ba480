//! Quantities: what a number on a gauge, a drill or a tape means in SI, how it is typed and how it is shown.

mod entry;
mod number;
mod rounding;
mod typed;
mod unit;

pub(crate) use entry::Entry;
pub(crate) use number::{NumberError, parse_number, parse_sum, shown, so_many};
pub(crate) use rounding::{POWERS, six_digits, three_digits};
pub(crate) use typed::{Density, Quantity, Viscosity, VolumeFlow};
pub use typed::{Length, Pressure, Temperature};
pub(crate) use unit::{COUNT, Dimension, UNITS, Unit};
pub use unit::{INCH, INCH_OF_MERCURY};
