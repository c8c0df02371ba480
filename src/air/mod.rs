//! Air: flow through restrictions, the balance of a rig, the atmosphere and its barometers, viscosity.
//!
//! The gas is dry air and ideal; [`GAMMA`] and [`GAS_CONSTANT`] say which. All arithmetic beyond the square root is
//! done by `libm`, so a figure is the same to the last bit on every machine.

mod atmosphere;
mod balance;
mod barometer;
mod clearance;
mod discharge;
mod flow;
mod gas;
mod law;
mod out_of_domain;

pub use atmosphere::{STANDARD_PRESSURE, standard_atmosphere, station_pressure};
pub use balance::{AirOpening, depth_at, opening, opening_ratio};
#[cfg(test)]
pub use barometer::BarometerError;
pub use barometer::{Barometer, BarometerSource};
pub use clearance::{Clearance, eccentricity_factor};
pub use discharge::{
    PLATE_LIMIT, PLUG_CHANGE_LIMIT, PLUG_COEFFICIENT, PLUG_LIMIT, plate_coefficient, plate_slope,
};
#[cfg(test)]
pub use flow::mass_flow;
pub use flow::{CRITICAL_FLOW, CRITICAL_RATIO, flow_function};
pub use gas::{GAMMA, GAS_CONSTANT, density, mean_free_path, viscosity};
pub use law::Law;
pub use out_of_domain::OutOfDomain;
