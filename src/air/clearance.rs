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
/// Isothermal laminar flow through an annulus of mean diameter D - c with first-order slip, the loss where air enters,
/// the acceleration of the air, and a sonic exit where the gauge side falls below it:
///
/// (p1^2 - p^2)/(2 R T) = 12 mu L G/(c^2 (1 + 1.5 e^2)(1 + s Kn)) + 1.2 G^2 ln(p1/p), G = m/(pi (D - c) c),
///
/// P - p1 = (1 + K) G^2 R T/(2 p1), p not below G sqrt(1.2 R T); Kn is the mean free path at the mean pressure over c.
/// Each further land in the row adds its length and, between the squares of the pressures, another inlet. Without slip,
/// inlet and acceleration this is the handbook's m = pi D c^3 (1 + 1.5 e^2)(P^2 - p^2)/(24 mu R T L).
#[derive(Debug, Clone, Copy)]
pub struct Clearance {
    bore: f64,
    length: f64,
    room: f64,
    temperature: f64,
    /// 12 mu L / (1 + 1.5 e^2).
    resistance: f64,
    /// 2 R T.
    thermal: f64,
    /// Pressure that the exit cannot fall below, over the mass flux: sqrt(1.2 R T).
    sonic: f64,
    /// Mean free path times pressure.
    path: f64,
    viscosity: f64,
    slip: f64,
    in_row: f64,
}

/// Kinetic-energy factor of the parabolic profile between parallel walls: 6/5.
const ACCELERATION: f64 = 1.2;

/// What air loses where it enters a gap, in velocity heads: the one that it takes to move, and K = 0.674 until its
/// profile is that of parallel plates (Shah and London 1978, from memory).
const INLET: f64 = 1.674;

/// The bounds of the slip coefficient s in 1 + s Kn: 6 by Maxwell for walls that reflect diffusely, 7.8 for
/// nitrogen with the accommodation of 0.87 measured in a channel of 1.14 um (Phys. Fluids 15, 2003, abstract);
/// kinetic theory says 6.88.
pub(crate) const SLIP: (f64, f64) = (6.0, 7.8);

/// Reynolds number times clearance over length up to which the inlet takes less than half of a land, of which a flow
/// takes 0.022 of this to settle (Shah and London 1978, from memory).
const MOST_INLET: f64 = 20.0;

/// The two sides of the balance at a clearance and a flow.
struct Terms {
    friction: f64,
    acceleration: f64,
    inlet: f64,
    drive: f64,
    exit: f64,
    flux: f64,
    /// The derivative of acceleration and inlet by the logarithm of the flux.
    by_inertia: f64,
    /// s Kn / (1 + s Kn).
    slip: f64,
    /// Share of the exit in twice the mean pressure where it is sonic, else none.
    sonic: f64,
}

impl Terms {
    fn used(&self) -> f64 {
        self.friction + self.acceleration + self.inlet
    }

    /// The derivatives of what is used by the logarithms of the flow, and of the clearance where the flux changes by so
    /// much with it. What moves the sonic exit leaves the balance as it is but for the slip.
    fn by_flow(&self) -> f64 {
        self.friction * (1.0 + self.slip * self.sonic) + self.by_inertia
    }

    fn by_clearance(&self, flux_slope: f64) -> f64 {
        self.friction * (flux_slope - 2.0 + self.slip * (1.0 + self.sonic * flux_slope))
            + flux_slope * self.by_inertia
    }
}

/// How the flow through a clearance changes near one state: the derivatives of its logarithm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct FlowSlopes {
    /// By the vacuum behind it, per Pa.
    pub(crate) vacuum: f64,
    /// By the logarithm of the room's pressure, the vacuum being the same.
    pub(crate) room: f64,
    /// By the logarithm of the temperature.
    pub(crate) temperature: f64,
    /// By the logarithm of the clearance.
    pub(crate) clearance: f64,
}

impl FlowSlopes {
    /// Those of the plain viscous law, by (P^2 - p^2)/(mu T), without regard to any land; in place of the clearance
    /// stands the conductance.
    pub(crate) fn viscous(room: f64, gauge: f64, temperature: f64) -> FlowSlopes {
        FlowSlopes {
            vacuum: 2.0 * gauge / ((room - gauge) * (room + gauge)),
            room: 2.0 * room / (room + gauge),
            temperature: -1.0 - viscosity_power(temperature),
            clearance: 1.0,
        }
    }
}

/// The power of the temperature in the viscosity of air: d(ln mu)/d(ln T) by Sutherland's formula.
fn viscosity_power(temperature: f64) -> f64 {
    1.5 - temperature / (temperature + 110.4)
}

impl Clearance {
    /// Takes the bore, length and eccentricity (0 centred, 1 touching) of a land with the barometer and the
    /// temperature of the air.
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
            temperature: temperature.si(),
            resistance: 12.0 * viscosity * length.si() / eccentricity_factor(eccentricity),
            thermal,
            sonic: (ACCELERATION * thermal / 2.0).sqrt(),
            path: mean_free_path(1.0, temperature.si()),
            viscosity,
            slip: SLIP.0,
            in_row: 1.0,
        }
    }

    /// Takes so many equal lands, one behind the other.
    pub(crate) fn in_row(self, lands: u32) -> Clearance {
        let in_row = f64::from(lands);
        Clearance { in_row, resistance: self.resistance * in_row / self.in_row, ..self }
    }

    /// Takes a slip coefficient, between the two of [`SLIP`].
    pub(crate) fn with_slip(self, slip: f64) -> Clearance {
        Clearance { slip, ..self }
    }

    /// Returns the radial clearance in m that passes a mass flow in kg/s to a gauge side at an absolute pressure in Pa,
    /// which lies above 0 and below the room.
    ///
    /// Fails where the flow does not fit the formula: a gap over a tenth of the bore, Reynolds number over 2000, a land
    /// shorter than ten clearances or so short that the inlet takes half of it, Knudsen number over 0.1.
    pub fn of_flow(&self, flow: f64, gauge: f64) -> Result<f64, OutOfDomain> {
        let clearance = self.solve(flow, gauge)?;
        if clearance == 0.0 {
            return Ok(0.0);
        }
        if clearance > self.bore / 10.0 {
            return Err(OutOfDomain::NotAThinGap);
        }
        let reynolds = 2.0 * flow / (PI * (self.bore - clearance) * self.viscosity);
        if reynolds > 2000.0 {
            return Err(OutOfDomain::Turbulent);
        }
        if self.length < 10.0 * clearance || reynolds * clearance > MOST_INLET * self.length {
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
                Some(terms) => {
                    let (used, drive) = (terms.used(), terms.drive);
                    if used > drive {
                        narrow = guess
                    } else {
                        wide = guess
                    }
                    // Newton's step in logarithms, in which both sides are nearly powers of the clearance.
                    let slope = terms.by_clearance(guess / (self.bore - guess) - 1.0);
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
            if moved <= 1e-4 * guess {
                break;
            }
        }
        if guess > 0.999 * widest { Err(OutOfDomain::NotAThinGap) } else { Ok(guess) }
    }

    /// Returns what a clearance in m passes to a gauge side in Pa, and the derivative of that by the vacuum in Pa, both
    /// over a flow in kg/s that is near to it. Far from it the first tells only which is the greater.
    pub(crate) fn passes(&self, clearance: f64, flow: f64, gauge: f64) -> (f64, f64) {
        self.terms(clearance, flow, gauge).map_or((0.0, 0.0), |terms| {
            let by_flow = terms.by_flow();
            (1.0 - (terms.used() - terms.drive) / by_flow, -self.by_vacuum(&terms) / by_flow)
        })
    }

    /// Returns how the flow changes near a clearance in m that passes this flow in kg/s to this gauge side in Pa; there
    /// is no answer where it can't.
    pub(crate) fn slopes(&self, clearance: f64, flow: f64, gauge: f64) -> Option<FlowSlopes> {
        let terms = self.terms(clearance, flow, gauge)?;
        let (friction, room, exit) = (terms.friction, self.room, terms.exit);
        let square = ACCELERATION * terms.flux * terms.flux;
        let by_vacuum = self.by_vacuum(&terms);
        let by_room =
            square - 2.0 * room * room / self.thermal - friction * terms.slip * room / (room + exit);
        let viscosity = viscosity_power(self.temperature);
        let by_temperature = friction * (viscosity - terms.slip * (viscosity + 0.5))
            + (room - exit) * (room + exit) / self.thermal;
        let by_flow = -terms.by_flow();
        Some(FlowSlopes {
            vacuum: by_vacuum / by_flow,
            room: (by_room - by_vacuum * room) / by_flow,
            temperature: by_temperature / by_flow,
            clearance: terms.by_clearance(clearance / (self.bore - clearance) - 1.0) / by_flow,
        })
    }

    /// The derivative of what is used, less what there is, by the vacuum.
    fn by_vacuum(&self, terms: &Terms) -> f64 {
        let square = ACCELERATION * terms.flux * terms.flux;
        match terms.sonic > 0.0 {
            true => 0.0,
            false => {
                square / terms.exit
                    - 2.0 * terms.exit / self.thermal
                    - terms.friction * terms.slip / (self.room + terms.exit)
            }
        }
    }

    /// Returns the mass flow in kg/s through a clearance in m to a gauge side in Pa; the inverse of
    /// [`Clearance::of_flow`].
    ///
    /// The clearance lies between 0 and a quarter of the bore, the gauge side above 0 and below the room; there is no
    /// answer elsewhere. The flow is not checked against the formula's domain.
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
            let fits = self.terms(clearance, middle, gauge).is_some_and(|terms| terms.used() <= terms.drive);
            if fits { low = middle } else { high = middle }
        }
        Some(low)
    }

    /// There are none where the air can't enter so fast, or the exit would be above the inlet.
    fn terms(&self, clearance: f64, flow: f64, gauge: f64) -> Option<Terms> {
        let flux = flow / (PI * (self.bore - clearance) * clearance);
        let exit = gauge.max(flux * self.sonic);
        let head = INLET * flux * flux;
        let left = self.room * self.room - self.thermal * head;
        let root = left.max(0.0).sqrt();
        let entered = 0.5 * (self.room + root);
        if root == 0.0 || exit >= entered {
            return None;
        }
        let further = 0.5 * (self.in_row - 1.0) * head;
        let square = ACCELERATION * flux * flux;
        let acceleration = square * log(entered / exit);
        let slip = 2.0 * self.slip * self.path / ((self.room + exit) * clearance);
        Some(Terms {
            friction: self.resistance * flux / (clearance * clearance * (1.0 + slip)),
            acceleration,
            inlet: (self.room - entered) * (self.room + entered) / self.thermal + further,
            by_inertia: 2.0 * (acceleration + further)
                + head / root * (entered - 0.5 * square * self.thermal / entered),
            drive: (self.room - exit) * (self.room + exit) / self.thermal,
            exit,
            flux,
            slip: slip / (1.0 + slip),
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
    #[error("the flow would be turbulent")]
    Turbulent,
    #[error("the gap would be too wide for so short a land")]
    ShortLand,
    /// The gap is so narrow that air no longer slips but flies: Knudsen number over 0.1.
    #[error("the gap would be too narrow for air to flow as a gas")]
    Rarefied,
    #[error("a gap so wide passes oil as a hole does")]
    OilTurbulent,
}
