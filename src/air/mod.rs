//! Air: flow through restrictions, the balance of a rig, the atmosphere and its barometers, viscosity.
//!
//! The gas is dry air and ideal; [`GAMMA`] and [`GAS_CONSTANT`] say which. All arithmetic beyond the square root is
//! done by `libm`, so a figure is the same to the last bit on every machine.

mod barometer;
mod clearance;
mod flow;
mod temperature;

pub(crate) use barometer::STANDARD_PRESSURE;
pub use barometer::{Barometer, BarometerSource};
#[cfg(test)]
pub(crate) use barometer::{BarometerError, standard_atmosphere, station_pressure};
pub(crate) use clearance::{Clearance, FlowSlopes, OutOfDomain, SLIP, eccentricity_factor};
#[cfg(test)]
pub(crate) use flow::GAMMA;
pub(crate) use flow::{
    AirOpening, CRITICAL_FLOW, CRITICAL_RATIO, GAS_CONSTANT, Law, PLATE_LIMIT, PLUG_CHANGE_LIMIT,
    PLUG_COEFFICIENT, PLUG_LIMIT, density, depth_at, flow_function, mean_free_path, opening, opening_ratio,
    plate_coefficient, plate_slope, viscosity,
};
pub use temperature::AirTemperature;
