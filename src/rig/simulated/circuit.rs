use std::f64::consts::FRAC_PI_4;

use super::laws::root;
use super::{AirWay, Chance, Gap};
use crate::air::PLUG_COEFFICIENT;
use crate::quantity::{INCH, INCH_OF_MERCURY, Length, Pressure};

/// Everything by which air comes into one simulated circuit with the plate on it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct CircuitLeak {
    /// What leaks in the circuit itself.
    pub way: AirWay,
    /// A way across into another circuit, and what that one lets in: the same air has to pass both.
    pub across: Option<[AirWay; 2]>,
    /// Effective area in m2 of what comes in below the plate.
    pub seat: f64,
    /// The oil that was left in it.
    pub film: OilFilm,
}

/// Oil in a gap, which the air drives out within seconds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct OilFilm {
    /// The share of the clearance that it fills at first; below 1.
    pub fills: f64,
    /// In this time in s all but a share of 1/e of it is gone; above 0.
    pub clears_in: f64,
}

impl OilFilm {
    pub(crate) const NONE: OilFilm = OilFilm { fills: 0.0, clears_in: 1.0 };
}

/// What a circuit's own leak is like, its size left open. Lengths are in m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum LeakShape {
    /// As [`Gap`] has it.
    Gap { bore: f64, length: f64, eccentricity: f64, slip: f64 },
    /// A hole whose coefficient rises as [`AirWay::Bore`] has it.
    Hole { rise: f64 },
}

impl LeakShape {
    /// Draws a gap of this land; a valve lies anywhere between centred and against its bore.
    pub(crate) fn gap(bore: f64, length: f64, chance: &mut Chance) -> LeakShape {
        LeakShape::Gap {
            bore,
            length,
            eccentricity: chance.share(),
            // Diffuse walls, to the accommodation of 0.87 that was measured for nitrogen.
            slip: chance.between(6.0, 7.8),
        }
    }

    /// Draws a hole: between a drilled one, whose coefficient stays as it is, and a sharp edge, which passes a sixth
    /// more in deep vacuum.
    pub(crate) fn hole(chance: &mut Chance) -> LeakShape {
        LeakShape::Hole { rise: chance.between(0.0, 0.15) }
    }

    fn of_size(self, size: f64) -> AirWay {
        match self {
            LeakShape::Gap { bore, length, eccentricity, slip } => {
                AirWay::Gap(Gap { bore, length, clearance: size, eccentricity, slip })
            }
            LeakShape::Hole { rise } => AirWay::Bore { area: size, coefficient: PLUG_COEFFICIENT, rise },
        }
    }

    /// A clearance in m, or an area in m2, beyond which nothing leaks in a valve body.
    fn largest(self) -> f64 {
        match self {
            LeakShape::Gap { bore, .. } => 0.1 * bore,
            LeakShape::Hole { .. } => 2e-5,
        }
    }
}

impl CircuitLeak {
    /// One that is a single way and nothing else.
    pub(crate) fn only(way: AirWay) -> CircuitLeak {
        CircuitLeak { way, across: None, seat: 0.0, film: OilFilm::NONE }
    }

    /// A hole that is drilled.
    pub(crate) fn hole(diameter: Length) -> CircuitLeak {
        let area = FRAC_PI_4 * diameter.si() * diameter.si();
        CircuitLeak::only(LeakShape::Hole { rise: 0.0 }.of_size(area))
    }

    /// Returns a leak of this shape, as large as shows this reading on the standard rig, or as large as there is.
    pub(crate) fn showing(standard: Pressure, shape: LeakShape) -> CircuitLeak {
        CircuitLeak::sized(standard, shape.largest(), |size| CircuitLeak::only(shape.of_size(size)))
    }

    /// Returns the same leak with a hole to another circuit, which leaks as `beyond`, so large that together they show
    /// this reading on the standard rig.
    pub(crate) fn with_way_across(self, beyond: AirWay, standard: Pressure) -> CircuitLeak {
        let wall = LeakShape::Hole { rise: 0.0 };
        CircuitLeak::sized(standard, wall.largest(), |size| CircuitLeak {
            across: Some([wall.of_size(size), beyond]),
            ..self
        })
    }

    fn sized(standard: Pressure, largest: f64, of_size: impl Fn(f64) -> CircuitLeak) -> CircuitLeak {
        let rig = StandardRig::new();
        let pressure = rig.room - standard.si();
        let excess = |size: f64| rig.draws(pressure) - rig.lets_in(&of_size(size), pressure);
        of_size(root(0.0, largest, excess))
    }

    /// Returns what the standard rig shows for it with a good seat, once its oil is gone.
    pub(crate) fn standard_reading(&self) -> Pressure {
        let rig = StandardRig::new();
        let sound = CircuitLeak { seat: 0.0, ..*self };
        let pressure = root(1.0, rig.room, |pressure| rig.lets_in(&sound, pressure) - rig.draws(pressure));
        Pressure::constant(rig.room - pressure)
    }

    /// Returns what comes in from a room, in kg/s, where air has gone through for `after` seconds.
    pub(crate) fn flow(&self, room: f64, pressure: f64, temperature: f64, after: f64) -> f64 {
        let own = match self.way {
            AirWay::Gap(gap) => {
                let filled = self.film.fills * libm::exp(-after / self.film.clears_in);
                AirWay::Gap(Gap { clearance: gap.clearance * (1.0 - filled), ..gap })
            }
            way => way,
        };
        let across =
            self.across.map_or(0.0, |[wall, beyond]| wall.flow_before(&beyond, room, pressure, temperature));
        let below = AirWay::Nozzle { area: self.seat };
        own.flow(room, pressure, temperature) + across + below.flow(room, pressure, temperature)
    }
}

/// Returns the share of the standard orifice that shows this reading on the standard rig.
pub(crate) fn share_showing(standard: Pressure) -> f64 {
    let rig = StandardRig::new();
    let pressure = rig.room - standard.si();
    (rig.draws(pressure) - rig.bleed.flow(rig.room, pressure, rig.temperature))
        / rig.through_orifice(pressure)
}

/// Returns what the standard rig shows for this share of its orifice.
pub(crate) fn shown_for(share: f64) -> Pressure {
    let AirWay::Bore { area, coefficient, rise } = StandardRig::ORIFICE else {
        return Pressure::constant(0.0);
    };
    CircuitLeak::only(AirWay::Bore { area: area * share, coefficient, rise }).standard_reading()
}

/// The rig that standard readings are read on: 25 inHg plugged and 5 inHg through a plug of 0.035 in, at 101 325 Pa and
/// 20 C, with ideal valves.
struct StandardRig {
    room: f64,
    temperature: f64,
    bleed: AirWay,
    inlet: AirWay,
}

impl StandardRig {
    const ORIFICE: AirWay = AirWay::Bore {
        area: FRAC_PI_4 * 0.035 * INCH * 0.035 * INCH,
        coefficient: PLUG_COEFFICIENT,
        rise: 0.0,
    };

    fn new() -> StandardRig {
        let (room, temperature) = (101_325.0, 293.15);
        let [plugged, through] = [25.0, 5.0].map(|reading| room - reading * INCH_OF_MERCURY);
        // Of one square metre each: A_b b = A_i i at both points, and the orifice besides at one.
        let nozzle = AirWay::Nozzle { area: 1.0 };
        let bleed = |pressure| nozzle.flow(room, pressure, temperature);
        let inlet = |pressure| nozzle.flow(pressure, 0.0, temperature);
        let bleed_per_inlet = inlet(plugged) / bleed(plugged);
        let orifice = StandardRig::ORIFICE.flow(room, through, temperature);
        let inlet_area = orifice / (inlet(through) - bleed_per_inlet * bleed(through));
        StandardRig {
            room,
            temperature,
            bleed: AirWay::Nozzle { area: bleed_per_inlet * inlet_area },
            inlet: AirWay::Nozzle { area: inlet_area },
        }
    }

    fn draws(&self, pressure: f64) -> f64 {
        self.inlet.flow(pressure, 0.0, self.temperature)
    }

    fn through_orifice(&self, pressure: f64) -> f64 {
        StandardRig::ORIFICE.flow(self.room, pressure, self.temperature)
    }

    fn lets_in(&self, leak: &CircuitLeak, pressure: f64) -> f64 {
        self.bleed.flow(self.room, pressure, self.temperature)
            + leak.flow(self.room, pressure, self.temperature, f64::INFINITY)
    }
}
