//! Quantities: what a number on a gauge, a drill or a tape means in SI, how it is typed and how it is shown.

mod dimension;
mod entry;
mod number;
#[expect(clippy::module_inception, reason = "one noun a file: the quantity itself")]
mod quantity;
mod typed;
mod unit;

pub use dimension::Dimension;
pub use entry::{Entry, EntryError};
pub use number::{NumberError, parse_number, shown};
pub use quantity::Quantity;
pub use typed::{Density, Length, Pressure, Temperature, Viscosity, Volume, VolumeFlow};
pub use unit::{INCH, INCH_OF_MERCURY, UNITS, Unit};
