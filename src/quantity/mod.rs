//! Quantities: what a number on a gauge, a drill or a tape means in SI, how it is typed and how it is shown.

mod entry;
mod number;
mod typed;
mod unit;

pub use entry::{Entry, EntryError};
pub use number::{NumberError, parse_number, shown};
pub use typed::{Density, Length, Pressure, Quantity, Temperature, Viscosity, Volume, VolumeFlow};
pub use unit::{Dimension, INCH, INCH_OF_MERCURY, UNITS, Unit};
