//! How air passes what a simulated rig and unit are made of.
//!
//! Written for the simulation alone: what is inferred from readings rests on `air` and `rig`, and shares with this no
//! more than constants and units, so that a rehearsal can show it to be wrong. Tests hold both against each other and
//! against tables from outside. Pressures are absolute in Pa, areas in m2, flows in kg/s.

use std::f64::consts::PI;

use crate::air::{CRITICAL_FLOW, CRITICAL_RATIO, GAS_CONSTANT};

/// Ratio of the specific heats of dry air.
const GAMMA: f64 = 1.4;

/// One way for air from a higher pressure to a lower one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum AirWay {
    /// An ideal nozzle of this effective area.
    Nozzle {
        area: f64,
    },
    /// A needle valve by ISO 6358-1: sonic up to its critical ratio, then a quarter of an ellipse.
    Needle {
        area: f64,
        critical_ratio: f64,
    },
    /// A hole through something thick, such as a drilled plug, a nick or a crack.
    ///
    /// Its coefficient changes by a share of itself, the rise, from the usual through point to sonic flow.
    Bore {
        area: f64,
        coefficient: f64,
        rise: f64,
    },
    /// A sharp-edged hole in a thin plate.
    Plate {
        area: f64,
    },
    Gap(Gap),
}

/// A valve in its bore, over one land. Lengths are in m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Gap {
    pub bore: f64,
    pub length: f64,
    /// Radial; at most a tenth of the bore.
    pub clearance: f64,
    /// 0 where the valve is centred, 1 where it lies against its bore.
    pub eccentricity: f64,
    /// By how many Knudsen numbers the air slips: 6 for walls that reflect diffusely, 7.8 for an accommodation of 0.87,
    /// which was measured for nitrogen (Maurer and others, Phys. Fluids 15, 2003).
    pub slip: f64,
}

impl AirWay {
    /// Returns what passes from a pressure to a lower one at a temperature in K; nothing where the other is not lower.
    pub(crate) fn flow(&self, up: f64, down: f64, temperature: f64) -> f64 {
        if down >= up {
            return 0.0;
        }
        match self {
            AirWay::Nozzle { area } => area * isentropic(up, down, temperature),
            AirWay::Needle { area, critical_ratio } => {
                let beyond = ((down / up - critical_ratio) / (1.0 - critical_ratio)).max(0.0);
                area * sonic(up, temperature) * (1.0 - beyond * beyond).max(0.0).sqrt()
            }
            AirWay::Bore { area, coefficient, rise } => {
                /// 5 of 29.921 inHg.
                const THROUGH: f64 = 0.832_892;
                let way = ((THROUGH - down / up) / (THROUGH - CRITICAL_RATIO)).clamp(0.0, 1.0);
                area * coefficient * (1.0 + rise * way) * isentropic(up, down, temperature)
            }
            AirWay::Plate { area } => area * plate_coefficient(down / up) * isentropic(up, down, temperature),
            AirWay::Gap(gap) => gap.flow(up, down, temperature),
        }
    }

    /// Returns the same way with the other way behind it, which the same air has to pass.
    pub(crate) fn flow_before(&self, behind: &AirWay, up: f64, down: f64, temperature: f64) -> f64 {
        if down >= up {
            return 0.0;
        }
        let between = root(down, up, |between| {
            self.flow(up, between, temperature) - behind.flow(between, down, temperature)
        });
        self.flow(up, between, temperature)
    }

    /// The ratio of pressures up to which what passes does not depend on the lower one, where there is one.
    fn sonic_up_to(&self) -> f64 {
        match self {
            AirWay::Needle { critical_ratio, .. } => *critical_ratio,
            AirWay::Nozzle { .. } => CRITICAL_RATIO,
            AirWay::Bore { .. } | AirWay::Plate { .. } | AirWay::Gap(_) => 0.0,
        }
    }

    /// Returns what passes this way to a pump that moves `speed` in m3/s times what its own pressure
    /// is above `ultimate`.
    pub(crate) fn flow_to_pump(&self, up: f64, speed: f64, ultimate: f64, temperature: f64) -> f64 {
        if up <= ultimate {
            return 0.0;
        }
        let thermal = GAS_CONSTANT * temperature;
        let sonic = self.flow(up, 0.0, temperature);
        if ultimate + sonic * thermal / speed <= self.sonic_up_to() * up {
            return sonic;
        }
        let before_pump = root(ultimate, up, |pressure| {
            self.flow(up, pressure, temperature) - speed * (pressure - ultimate) / thermal
        });
        self.flow(up, before_pump, temperature)
    }
}

/// Mass flux of what is sonic, in kg/(s m2).
fn sonic(up: f64, temperature: f64) -> f64 {
    up * CRITICAL_FLOW / (GAS_CONSTANT * temperature).sqrt()
}

/// Mass flux of an ideal nozzle in kg/(s m2), by the Mach number in its throat.
///
/// p0/p = (1 + (gamma - 1)/2 M^2)^(gamma/(gamma - 1)), M below 1, and m = p0 M sqrt(gamma/(R T0)) (1 + (gamma - 1)/2
/// M^2)^(-(gamma + 1)/(2 (gamma - 1))): NACA Report 1135.
fn isentropic(up: f64, down: f64, temperature: f64) -> f64 {
    const HALF: f64 = 0.5 * (GAMMA - 1.0);
    let ratio = down / up;
    if ratio <= CRITICAL_RATIO {
        return sonic(up, temperature);
    }
    let mach_square = (libm::pow(ratio, -(GAMMA - 1.0) / GAMMA) - 1.0) / HALF;
    let narrowing = libm::pow(1.0 + HALF * mach_square, -0.5 * (GAMMA + 1.0) / (GAMMA - 1.0));
    up * (mach_square * GAMMA / (GAS_CONSTANT * temperature)).sqrt() * narrowing
}

/// J. A. Perry's coefficients of a sharp-edged plate (Trans. ASME 71, 1949, 757) over the pressure ratio, with
/// straight lines between them.
fn plate_coefficient(ratio: f64) -> f64 {
    const PERRY: [(f64, f64); 8] = [
        (0.0, 0.8414),
        (0.1644, 0.8335),
        (0.2, 0.8306),
        (0.4, 0.7869),
        (0.5283, 0.7374),
        (0.7, 0.6676),
        (0.8329, 0.6276),
        (1.0, 0.6001),
    ];
    let between = PERRY.windows(2).find(|pair| ratio <= pair[1].0);
    between.map_or(PERRY[7].1, |pair| {
        let [(low, at_low), (high, at_high)] = [pair[0], pair[1]];
        at_low + (at_high - at_low) * (ratio - low) / (high - low)
    })
}

/// Viscosity of air in Pa s: 18.206 uPa s at 20 C and what a power of the temperature makes of it, within 0.1 % of
/// Lemmon and Jacobsen (Int. J. Thermophys. 25, 2004) from 0 to 40 C.
fn viscosity(temperature: f64) -> f64 {
    18.2057e-6 * libm::pow(temperature / 293.15, 0.785)
}

impl Gap {
    /// The pressure lost at the inlet of a slot beyond what speeds the air up, over its dynamic pressure.
    const INLET_LOSS: f64 = 0.674;
    /// Momentum of a parabolic profile over that of an even one.
    const MOMENTUM: f64 = 1.2;

    /// Laminar isothermal flow along the land, step by step of its length integrated: friction with slip at the
    /// pressure that is there, the air's own acceleration, its loss at the inlet, and a sonic end where the
    /// gauge is below that.
    ///
    /// p (1 + k/p) (1 - 1.2 G^2 R T/p^2) dp = -12 mu G R T dx/(c^2 (1 + 1.5 e^2)), k the slip times the mean free path
    /// times p over c; p0 - p1 = (1 + 0.674) G^2 R T/(2 p1) at the inlet.
    pub(crate) fn flow(&self, up: f64, down: f64, temperature: f64) -> f64 {
        let Gap { bore, length, clearance, eccentricity, slip } = *self;
        if clearance <= 0.0 {
            return 0.0;
        }
        // A hundred-thousandth of an atmosphere is nothing to a gap, and has a logarithm.
        let down = down.max(1.0);
        let thermal = GAS_CONSTANT * temperature;
        let viscosity = viscosity(temperature);
        let slipping = slip * viscosity * (0.5 * PI * thermal).sqrt() / clearance;
        let wider = 1.0 + 1.5 * eccentricity * eccentricity;
        let friction = 12.0 * viscosity * thermal * length / (clearance * clearance * wider);
        let end_of = |flux: f64| down.max(flux * (Gap::MOMENTUM * thermal).sqrt());
        let left = |flux: f64| {
            let square = flux * flux * thermal;
            let root = (up * up - 2.0 * (1.0 + Gap::INLET_LOSS) * square).max(0.0).sqrt();
            let (start, end) = (0.5 * (up + root), end_of(flux));
            let drive = 0.5 * (start - end) * (start + end) + slipping * (start - end);
            let inertia =
                Gap::MOMENTUM * square * (libm::log(start / end) + slipping * (1.0 / end - 1.0 / start));
            drive - inertia - friction * flux
        };
        // At this flux the inlet itself is sonic, and nothing is left for friction.
        let most =
            up * Gap::MOMENTUM.sqrt() / (Gap::MOMENTUM + 0.5 * (1.0 + Gap::INLET_LOSS)) / thermal.sqrt();
        PI * (bore - clearance) * clearance * root(0.0, most, left)
    }
}

/// Finds where a function that is above zero at `low` and below it at `high`, or the other way about, is zero.
///
/// C. Ridders, IEEE Trans. Circuits and Systems 26 (1979) 979-980. Where the sign does not change, the end
/// with the smaller value.
pub(super) fn root(low: f64, high: f64, function: impl Fn(f64) -> f64) -> f64 {
    const MOST_STEPS: usize = 60;
    let (mut low, mut high) = (low, high);
    let (mut at_low, mut at_high) = (function(low), function(high));
    if at_low == 0.0 || at_high == 0.0 || at_low.signum() == at_high.signum() {
        return if at_low.abs() < at_high.abs() { low } else { high };
    }
    let mut best = f64::NAN;
    for _ in 0..MOST_STEPS {
        let middle = 0.5 * (low + high);
        let at_middle = function(middle);
        let slant = (at_middle * at_middle - at_low * at_high).sqrt();
        if at_middle == 0.0 || slant == 0.0 {
            return middle;
        }
        let next = middle + (middle - low) * at_low.signum() * at_middle / slant;
        let at_next = function(next);
        let is_close = (next - best).abs() <= 4.0 * f64::EPSILON * next.abs();
        best = next;
        if at_next == 0.0 || is_close {
            break;
        }
        if at_next.signum() != at_middle.signum() {
            (low, at_low, high, at_high) = (middle, at_middle, next, at_next);
        } else if at_next.signum() != at_low.signum() {
            (high, at_high) = (next, at_next);
        } else {
            (low, at_low) = (next, at_next);
        }
    }
    best
}
