use std::f64::consts::PI;

use libm::{cbrt, log};
use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::{GAS_CONSTANT, mean_free_path, viscosity};
use crate::quantity::{Length, Pressure, Temperature};

/// Returns how much more an eccentric annulus lets through than a centred one: 1 + 1.5 e^2, e from 0 to 1.
///
/// The mean of (1 + e cos t)^3 over the circle; 2.5 when touching. The same for gas and liquid.
pub(crate) fn eccentricity_factor(eccentricity: f64) -> f64 {
    1.0 + 1.5 * eccentricity * eccentricity
}

/// The clearance of a land between the room and the gauge side, as a way for air.
///
/// Isothermal laminar flow through an annulus of mean diameter D - c with first-order slip, the acceleration of the air,
/// and a sonic exit where the gauge side falls below it:
///
/// (P^2 - p^2)/(2 R T) = 12 mu L G/(c^2 (1 + 1.5 e^2)(1 + 6 Kn)) + 1.2 G^2 ln(P/p), G = m/(pi (D - c) c),
///
/// p not below G sqrt(1.2 R T); Kn is the mean free path at the mean pressure over c. Without slip and acceleration this
/// is the handbook's m = pi D c^3 (1 + 1.5 e^2)(P^2 - p^2)/(24 mu R T L).
#[derive(Debug, Clone, Copy)]
pub struct Clearance {
    bore: f64,
    length: f64,
    room: f64,
    /// 12 mu L / (1 + 1.5 e^2).
    resistance: f64,
    /// 2 R T.
    thermal: f64,
    /// Pressure that the exit cannot fall below, over the mass flux: sqrt(1.2 R T).
    sonic: f64,
    /// Mean free path times pressure.
    path: f64,
    viscosity: f64,
}

/// Kinetic-energy factor of the parabolic profile between parallel walls: 6/5.
const ACCELERATION: f64 = 1.2;

/// The two sides of the balance at a clearance and a flow.
struct Terms {
    friction: f64,
    acceleration: f64,
    drive: f64,
    /// 6 Kn / (1 + 6 Kn).
    slip: f64,
    /// Share of the exit in twice the mean pressure where it is sonic, else none.
    sonic: f64,
}

impl Clearance {
    /// Takes the bore, length and eccentricity (0 centred, 1 touching) of a land with the barometer and the temperature of
    /// the air.
    pub fn new(
        bore: Length,
        length: Length,
        eccentricity: f64,
        room: Pressure,
        temperature: Temperature,
    ) -> Clearance {
        let thermal = 2.0 * GAS_CONSTANT * temperature.si();
        let viscosity = viscosity(temperature.si());
        Clearance {
            bore: bore.si(),
            length: length.si(),
            room: room.si(),
            resistance: 12.0 * viscosity * length.si() / eccentricity_factor(eccentricity),
            thermal,
            sonic: (ACCELERATION * thermal / 2.0).sqrt(),
            path: mean_free_path(1.0, temperature.si()),
            viscosity,
        }
    }

    /// Returns the radial clearance in m that passes a mass flow in kg/s to a gauge side at an absolute pressure in Pa,
    /// which lies above 0 and below the room.
    ///
    /// Fails where the flow does not fit the formula: a gap over a tenth of the bore, Reynolds number over 2000, a land
    /// shorter than ten clearances, Knudsen number over 0.1.
    pub fn of_flow(&self, flow: f64, gauge: f64) -> Result<f64, OutOfDomain> {
        let clearance = self.solve(flow, gauge)?;
        if clearance == 0.0 {
            return Ok(0.0);
        }
        if clearance > self.bore / 10.0 {
            return Err(OutOfDomain::NotAThinGap);
        }
        if 2.0 * flow > 2000.0 * PI * (self.bore - clearance) * self.viscosity {
            return Err(OutOfDomain::Turbulent);
        }
        if self.length < 10.0 * clearance {
            return Err(OutOfDomain::ShortLand);
        }
        if 2.0 * self.path > 0.1 * clearance * (self.room + gauge) {
            return Err(OutOfDomain::Rarefied);
        }
        Ok(clearance)
    }

    /// Returns the same without the checks of its domain, up to a quarter of the bore: for the ends of intervals.
    pub fn solve(&self, flow: f64, gauge: f64) -> Result<f64, OutOfDomain> {
        if flow.is_nan() || flow <= 0.0 {
            return Ok(0.0);
        }
        let widest = self.bore / 4.0;
        // The handbook's formula, less what slip takes off its cube to first order.
        let drive = PI * self.bore * (self.room - gauge) * (self.room + gauge);
        let handbook = cbrt(self.resistance * self.thermal * flow / drive);
        let slip = 4.0 * self.path / (self.room + gauge);
        let mut guess = (handbook - slip.min(handbook / 2.0)).min(widest / 2.0);
        let (mut narrow, mut wide) = (0.0, widest);
        for _ in 0..100 {
            let step = match self.terms(guess, flow, gauge) {
                Some(Terms { friction, acceleration, drive, slip, sonic }) => {
                    let used = friction + acceleration;
                    if used > drive {
                        narrow = guess
                    } else {
                        wide = guess
                    }
                    // Newton's step in logarithms, in which both sides are nearly powers of the clearance. What moves
                    // the sonic exit leaves their balance as it is but for the slip.
                    let flux_slope = guess / (self.bore - guess) - 1.0;
                    let slope = friction * (flux_slope - 2.0 + slip * (1.0 + sonic * flux_slope))
                        + acceleration * 2.0 * flux_slope;
                    -2.0 * (used - drive) * used / ((used + drive) * slope)
                }
                None => {
                    narrow = guess;
                    f64::INFINITY
                }
            };
            let newton = guess * (1.0 + step + 0.5 * step * step);
            let next = if newton > narrow && newton < wide { newton } else { 0.5 * (narrow + wide) };
            let moved = (next - guess).abs();
            guess = next;
            if moved <= 1e-5 * guess {
                break;
            }
        }
        if guess > 0.999 * widest { Err(OutOfDomain::NotAThinGap) } else { Ok(guess) }
    }

    /// Returns the mass flow in kg/s through a clearance in m to a gauge side in Pa; the inverse of
    /// [`Clearance::of_flow`].
    ///
    /// The clearance lies between 0 and a quarter of the bore, the gauge side above 0 and below the room; there is no answer
    /// elsewhere. The flow is not checked against the formula's domain.
    pub fn flow(&self, clearance: f64, gauge: f64) -> Option<f64> {
        if !(gauge > 0.0 && gauge < self.room && (0.0..=self.bore / 4.0).contains(&clearance)) {
            return None;
        }
        // The flow lies between none and the one whose sonic exit is the room itself, and uses more drive as it rises.
        let (mut low, mut high) = (0.0, PI * (self.bore - clearance) * clearance * self.room / self.sonic);
        for _ in 0..200 {
            let middle = 0.5 * (low + high);
            if middle <= low || middle >= high {
                break;
            }
            let fits = self
                .terms(clearance, middle, gauge)
                .is_some_and(|terms| terms.friction + terms.acceleration <= terms.drive);
            if fits { low = middle } else { high = middle }
        }
        Some(low)
    }

    /// There are none where the exit would be above the room.
    fn terms(&self, clearance: f64, flow: f64, gauge: f64) -> Option<Terms> {
        let flux = flow / (PI * (self.bore - clearance) * clearance);
        let exit = gauge.max(flux * self.sonic);
        if exit >= self.room {
            return None;
        }
        let six_knudsen = 12.0 * self.path / ((self.room + exit) * clearance);
        Some(Terms {
            friction: self.resistance * flux / (clearance * clearance * (1.0 + six_knudsen)),
            acceleration: ACCELERATION * flux * flux * log(self.room / exit),
            drive: (self.room - exit) * (self.room + exit) / self.thermal,
            slip: six_knudsen / (1.0 + six_knudsen),
            sonic: if exit > gauge { exit / (self.room + exit) } else { 0.0 },
        })
    }
}

/// Why a formula for a narrow gap gives no number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, Error)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum OutOfDomain {
    #[error("no clearance of this land would pass so much air; something else is open")]
    NotAThinGap,
    /// The flow in the gap would be turbulent: Reynolds number over 2000.
    #[error("the flow would be turbulent, so no clearance can be told from it")]
    Turbulent,
    #[error("the gap would be too wide for so short a land, so no clearance can be told from it")]
    ShortLand,
    /// The gap is so narrow that air no longer slips but flies: Knudsen number over 0.1.
    #[error("the gap would be too narrow for air to flow as a gas, so no clearance can be told")]
    Rarefied,
    #[error("a gap so wide passes oil as a hole does")]
    OilTurbulent,
}
