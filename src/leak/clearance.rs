//! Air through the clearance of a land: isothermal laminar flow through an annulus of mean diameter D - c with
//! first-order slip, the acceleration of the air, and a sonic exit where the gauge side falls below it:
//!
//! (P^2 - p^2)/(2 R T) = 12 mu L G/(c^2 (1 + 1.5 e^2)(1 + 6 Kn)) + 1.2 G^2 ln(P/p), G = m/(pi (D - c) c),
//!
//! p not below G sqrt(1.2 R T); Kn is the mean free path at the mean pressure over c.

use std::f64::consts::PI;

use libm::{cbrt, exp, log};

use super::{Land, OutOfDomain};
use crate::air::{GAS_CONSTANT, mean_free_path, viscosity};
use crate::oil::eccentricity_factor;

/// Kinetic-energy factor of the parabolic profile between parallel walls: 6/5.
const ACCELERATION: f64 = 1.2;

/// Air on the two sides of a land.
#[derive(Clone, Copy)]
struct Sides {
    room: f64,
    gauge: f64,
    temperature: f64,
    viscosity: f64,
}

impl Sides {
    /// Pressure that the exit cannot fall below at a mass flux.
    fn sonic(&self, flux: f64) -> f64 {
        flux * (ACCELERATION * GAS_CONSTANT * self.temperature).sqrt()
    }

    /// The two terms that use up the driving one, and the driving one, at a clearance and mass flow; `None` where the
    /// exit would be above the room.
    fn terms(&self, land: &Land, clearance: f64, flow: f64) -> Option<(f64, f64, f64, f64)> {
        let flux = flow / (PI * (land.diameter().si() - clearance) * clearance);
        let exit = self.gauge.max(self.sonic(flux));
        if exit >= self.room {
            return None;
        }
        let knudsen = mean_free_path(0.5 * (self.room + exit), self.temperature) / clearance;
        let factor = eccentricity_factor(land.eccentricity()) * (1.0 + 6.0 * knudsen);
        let friction = 12.0 * self.viscosity * land.length().si() * flux / (clearance * clearance * factor);
        let acceleration = ACCELERATION * flux * flux * log(self.room / exit);
        let drive = (self.room - exit) * (self.room + exit) / (2.0 * GAS_CONSTANT * self.temperature);
        Some((friction, acceleration, drive, knudsen))
    }
}

/// Returns the radial clearance of a land in m that passes a mass flow in kg/s from the room to the gauge side, both
/// absolute pressures in Pa, at a temperature in K.
///
/// The pressures are positive and the gauge side lies below the room. Fails where the flow does not fit the formula: a
/// gap over a tenth of the bore, Reynolds number over 2000, a land shorter than ten clearances, Knudsen number over 0.1.
pub fn clearance(
    land: &Land,
    flow: f64,
    room: f64,
    gauge: f64,
    temperature: f64,
) -> Result<f64, OutOfDomain> {
    let clearance = solve(land, flow, room, gauge, temperature)?;
    let (bore, length) = (land.diameter().si(), land.length().si());
    if clearance == 0.0 {
        return Ok(0.0);
    }
    if clearance > bore / 10.0 {
        return Err(OutOfDomain::NotAThinGap);
    }
    if 2.0 * flow / (PI * (bore - clearance) * viscosity(temperature)) > 2000.0 {
        return Err(OutOfDomain::Turbulent);
    }
    if length < 10.0 * clearance {
        return Err(OutOfDomain::ShortLand);
    }
    if mean_free_path(0.5 * (room + gauge), temperature) > 0.1 * clearance {
        return Err(OutOfDomain::Rarefied);
    }
    Ok(clearance)
}

/// The clearance without the checks of its domain, up to a quarter of the bore: for the ends of intervals.
pub(super) fn solve(
    land: &Land,
    flow: f64,
    room: f64,
    gauge: f64,
    temperature: f64,
) -> Result<f64, OutOfDomain> {
    if flow.is_nan() || flow <= 0.0 {
        return Ok(0.0);
    }
    let sides = Sides { room, gauge, temperature, viscosity: viscosity(temperature) };
    let (bore, length) = (land.diameter().si(), land.length().si());
    // No slip, no acceleration: the handbook's formula, from which the solution is never far.
    let cube = 24.0 * sides.viscosity * GAS_CONSTANT * temperature * length * flow
        / (PI * bore * eccentricity_factor(land.eccentricity()) * (room - gauge) * (room + gauge));
    let mut guess = cbrt(cube).min(bore / 8.0);
    let (mut narrow, mut wide) = (0.0, bore / 4.0);
    for _ in 0..100 {
        let step = match sides.terms(land, guess, flow) {
            Some((friction, acceleration, drive, knudsen)) => {
                let used = friction + acceleration;
                let flux_slope = -1.0 + guess / (bore - guess);
                let friction_slope = flux_slope - 2.0 + 6.0 * knudsen / (1.0 + 6.0 * knudsen);
                let slope = (friction * friction_slope + acceleration * 2.0 * flux_slope) / used;
                let excess = log(used / drive);
                if excess > 0.0 {
                    narrow = guess
                } else {
                    wide = guess
                }
                if excess == 0.0 {
                    return Ok(guess);
                }
                guess * exp((-excess / slope).clamp(-1.0, 1.0))
            }
            None => {
                narrow = guess;
                0.0
            }
        };
        let next = if step > narrow && step < wide { step } else { 0.5 * (narrow + wide) };
        if (next - guess).abs() <= 4.0 * f64::EPSILON * guess {
            return if next > 0.249 * bore { Err(OutOfDomain::NotAThinGap) } else { Ok(next) };
        }
        guess = next;
    }
    if guess > 0.249 * bore { Err(OutOfDomain::NotAThinGap) } else { Ok(guess) }
}

/// Returns the mass flow of air in kg/s through a clearance in m of a land; the inverse of [`clearance`].
///
/// The clearance lies between 0 and a tenth of the bore; there is no answer outside, nor where the gauge side does not
/// lie below the room. The flow is not checked against the formula's domain.
pub fn leak_flow(land: &Land, clearance: f64, room: f64, gauge: f64, temperature: f64) -> Option<f64> {
    let sound = gauge > 0.0 && gauge < room && temperature > 0.0;
    if !sound || !(0.0..=land.diameter().si() / 10.0).contains(&clearance) {
        return None;
    }
    if clearance == 0.0 {
        return Some(0.0);
    }
    let sides = Sides { room, gauge, temperature, viscosity: viscosity(temperature) };
    let area = PI * (land.diameter().si() - clearance) * clearance;
    // The flux lies between none and the one whose sonic exit is the room itself; used minus drive rises with it.
    let (mut low, mut high) = (0.0, area * room / (ACCELERATION * GAS_CONSTANT * temperature).sqrt());
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            break;
        }
        let fits = sides
            .terms(land, clearance, middle)
            .is_some_and(|(friction, acceleration, drive, _)| friction + acceleration <= drive);
        if fits { low = middle } else { high = middle }
    }
    Some(low)
}
