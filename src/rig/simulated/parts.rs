use std::f64::consts::FRAC_PI_4;

use super::dial::{DialKind, Movement};
use super::{AirWay, CircuitLeak};
use crate::air::PLUG_COEFFICIENT;
use crate::quantity::{Length, Pressure, Temperature, VolumeFlow};
use crate::rig::{Condition, Dial, Orifice, OrificeKind};

/// What a simulated rig is made of. The parts are invented, of an ordinary size.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Settings {
    pub barometer: Pressure,
    pub temperature: Temperature,
    /// The test orifice as it is called.
    pub orifice: Orifice,
    /// The hole that it truly is.
    pub fitted: AirWay,
    /// The valve between gauge and pump.
    pub inlet: NeedleValve,
    /// The valve between the air and the gauge.
    pub bleed: NeedleValve,
    pub pump_speed: VolumeFlow,
    pub pump_ultimate: Pressure,
    pub dial: SimulatedDial,
    /// How long the technician lets the needle come to rest before reading it, in s.
    pub patience: f64,
    /// How far a circuit's reading is off at most by how the plate is seated this time, as a share of a division.
    pub seating: f64,
    /// By what share the inlet valve has opened or closed by itself after many readings.
    pub creep: f64,
}

impl Default for Settings {
    /// A sound rig at sea level: the usual dial, two-stage pump of about 3 cfm.
    fn default() -> Settings {
        let valve = NeedleValve {
            turns: 8.0,
            area_m2: 4.0e-6,
            critical_ratio: Some(0.35),
            finest_turn: 0.005,
            play: 0.0,
        };
        Settings {
            barometer: Pressure::constant(101_325.0),
            temperature: Temperature::constant(293.15),
            orifice: Orifice::STANDARD,
            fitted: hole(&Orifice::STANDARD),
            inlet: valve,
            bleed: NeedleValve { area_m2: 1.0e-6, ..valve },
            pump_speed: VolumeFlow::constant(1.4e-3),
            pump_ultimate: Pressure::constant(100.0),
            dial: SimulatedDial {
                dial: Dial::USUAL,
                kind: Some(DialKind::Straight),
                is_tapped: true,
                sticking: 0.05,
                jitter: 0.02,
                reading_error: 0.2,
                written_to: 0.25,
            },
            patience: 15.0,
            seating: 0.0,
            creep: 0.0,
        }
    }
}

impl Settings {
    /// Draws a rig as shops have them: every part within its tolerance, its dial of any kind, in a room
    /// between 10 and 35 C.
    ///
    /// Needle valves have critical ratios between 0.2 and 0.5 (ISO 6358). A drilled plug's coefficient is within 0.03
    /// of 0.82 and changes by 3 % at most up to sonic flow; a drilled hole is within 0.0005 in of its size, and a pump
    /// within 15 % of its speed (common practice, no source). Seat and eye together repeat within the deviation that is
    /// usual for a bench, a quarter of a division, and the inlet valve creeps by no more than a check of the
    /// calibration lets pass.
    pub(crate) fn drawn(barometer: Pressure, chance: &mut Chance) -> Settings {
        let usual = Settings::default();
        let mut valve = |valve: NeedleValve| NeedleValve {
            critical_ratio: Some(chance.between(0.2, 0.5)),
            area_m2: valve.area_m2 * chance.between(0.8, 1.25),
            ..valve
        };
        let (inlet, bleed) = (valve(usual.inlet), valve(usual.bleed));
        let kind = DialKind::ALL[(chance.share() * DialKind::ALL.len() as f64) as usize];
        let bore = usual.orifice.diameter().si() + chance.within(usual.orifice.tolerance().si());
        let fitted = AirWay::Bore {
            area: FRAC_PI_4 * bore * bore,
            coefficient: PLUG_COEFFICIENT + chance.within(0.03),
            rise: chance.within(0.03),
        };
        Settings {
            barometer,
            temperature: Temperature::constant(chance.between(283.15, 308.15)),
            fitted,
            inlet,
            bleed,
            pump_speed: VolumeFlow::constant(usual.pump_speed.si() * chance.between(0.85, 1.15)),
            pump_ultimate: Pressure::constant(chance.between(20.0, 400.0)),
            dial: SimulatedDial { kind: Some(kind), ..usual.dial },
            patience: chance.between(10.0, 20.0),
            seating: 0.38,
            creep: chance.within(0.015),
            ..usual
        }
    }
}

/// An orifice that is just what it is called.
fn hole(orifice: &Orifice) -> AirWay {
    let area = FRAC_PI_4 * orifice.diameter().si() * orifice.diameter().si();
    match orifice.kind() {
        OrificeKind::Plug => AirWay::Bore { area, coefficient: PLUG_COEFFICIENT, rise: 0.0 },
        OrificeKind::Plate => AirWay::Plate { area },
    }
}

/// A needle valve: how far it is open decides its effective area.
///
/// The area grows with the square of the opening, fine near the seat and coarse near the stop. The curve is invented;
/// nothing that is inferred from readings depends on it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct NeedleValve {
    /// Turns from the seat to the outer stop; above zero.
    pub turns: f64,
    /// Effective area at the outer stop in m2; above zero.
    pub area_m2: f64,
    /// Up to which pressure ratio it is sonic; none for an ideal nozzle.
    pub critical_ratio: Option<f64>,
    /// The smallest turn that a hand makes on purpose; above zero.
    pub finest_turn: f64,
    /// By what share of its area the needle gives way in its thread from no pressure across it to
    /// the air's, either way.
    pub play: f64,
}

impl NeedleValve {
    /// Returns the effective area in m2 at a position; a position outside the stops counts as the stop.
    pub(crate) fn area_at(&self, position: f64) -> f64 {
        let opening = (position / self.turns).clamp(0.0, 1.0);
        self.area_m2 * opening * opening
    }

    /// Returns the way through it with this pressure across it, over the air's.
    pub(super) fn way_at(&self, position: f64, across: f64) -> AirWay {
        let area = self.area_at(position) * (1.0 + self.play * (across - 0.5));
        match self.critical_ratio {
            Some(critical_ratio) => AirWay::Needle { area, critical_ratio },
            None => AirWay::Nozzle { area },
        }
    }

    /// Returns the position nearest to this one that a hand finds, between the stops.
    pub(crate) fn reachable(&self, position: f64) -> f64 {
        ((position / self.finest_turn).round() * self.finest_turn).clamp(0.0, self.turns)
    }
}

/// The dial of a simulated rig, and the eye that reads it. Pressures are in Pa of vacuum.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct SimulatedDial {
    pub dial: Dial,
    /// What its error is like, each rig's own; none makes a perfect dial.
    pub kind: Option<DialKind>,
    /// Whether the technician taps it before reading.
    pub is_tapped: bool,
    /// How far the needle hangs behind even then, as a share of a division.
    pub sticking: f64,
    /// How far the needle trembles to either side, as a share of a division.
    pub jitter: f64,
    /// How far off the eye is at most, as a share of a division.
    pub reading_error: f64,
    /// To which share of a division a reading is written down; above zero.
    pub written_to: f64,
}

/// The movement behind the dial, and where the needle stands.
#[derive(Debug, Clone)]
pub(super) struct DialNeedle {
    movement: Movement,
    /// Where it stands.
    pub(super) at_pa: f64,
    pub(super) is_stuck: bool,
}

impl DialNeedle {
    pub(super) fn draw(dial: &SimulatedDial, chance: &mut Chance) -> DialNeedle {
        let movement = match dial.kind {
            Some(kind) => Movement::draw(kind, dial.dial, chance),
            None => Movement::perfect(dial.dial),
        };
        DialNeedle { movement, at_pa: movement.midway(0.0), is_stuck: false }
    }

    /// Returns where the needle comes to stand for a true vacuum, from where it is now.
    pub(super) fn would_show(&self, dial: &SimulatedDial, vacuum_pa: f64) -> f64 {
        if self.is_stuck {
            return self.at_pa;
        }
        // A dial goes a little past its last mark, and less far below zero.
        let span = dial.dial.span().si();
        let driven = self.movement.midway(vacuum_pa).clamp(-0.02 * span, 1.02 * span);
        let slack = self.movement.slack(dial.is_tapped) + dial.sticking * dial.division_pa();
        self.at_pa.clamp(driven - slack, driven + slack)
    }

    pub(super) fn follow(&mut self, dial: &SimulatedDial, vacuum_pa: f64) {
        self.at_pa = self.would_show(dial, vacuum_pa);
    }

    /// Returns how far off the reading is this time beyond where the needle ought to stand: the dial's own scatter, the
    /// needle's trembling and the eye, in Pa.
    pub(super) fn misreading(&self, dial: &SimulatedDial, chance: &mut Chance) -> f64 {
        self.movement.scatter(self.at_pa, chance)
            + (chance.within(dial.reading_error) + chance.within(dial.jitter)) * dial.division_pa()
    }
}

impl SimulatedDial {
    /// The vacuum from mark to mark, in Pa.
    pub(super) fn division_pa(&self) -> f64 {
        self.dial.smallest_division().si()
    }

    /// Returns what is written down for what is seen; nobody writes a vacuum below nothing.
    pub(super) fn written(&self, seen_pa: f64) -> f64 {
        let step = self.written_to * self.division_pa();
        ((seen_pa / step).round() * step).max(0.0)
    }
}

/// What is at the end of a simulated rig's hose.
///
/// The other plug is known to be good; where the rig is capped, the hose is off. A leak is a share of the test orifice,
/// 0 or more, and a hole is made as that is.
#[derive(Debug, Clone, Copy, PartialEq)]
#[cfg_attr(not(test), expect(dead_code, reason = "only trials connect a share of the orifice"))]
pub(crate) enum Load {
    Plugged,
    OtherPlug,
    Capped,
    Open,
    Orifice,
    Hole { diameter: Length },
    Leak(f64),
    Circuit(CircuitLeak),
}

impl Load {
    pub(crate) fn of(condition: Condition) -> Load {
        match condition {
            Condition::Plugged => Load::Plugged,
            Condition::Through => Load::Orifice,
            Condition::OtherPlug => Load::OtherPlug,
            Condition::Capped => Load::Capped,
            Condition::Open => Load::Open,
        }
    }
}

/// Something wrong with a simulated rig.
///
/// A plug that does not seal lets past as much as the hole on average, differently each time it is fitted. Of a weak
/// pump's speed a share is left, above 0 and at most 1, and its ultimate pressure is absolute.
#[derive(Debug, Clone, Copy, PartialEq)]
#[cfg_attr(not(test), expect(dead_code, reason = "only trials break a rig"))]
pub(crate) enum RigFault {
    HoseLeaking { hole: Length },
    PlugNotSealing { hole: Length },
    WrongOrifice { bore: Length },
    PumpTooWeak { speed_left: f64, ultimate: Pressure },
    DialStuck,
}

/// A small generator of repeatable chance: the same seed gives the same rig on every machine and in every version.
///
/// SplitMix64: Steele, Lea and Flood, "Fast splittable pseudorandom number generators", OOPSLA 2014.
#[derive(Debug, Clone)]
pub(crate) struct Chance {
    state: u64,
}

impl Chance {
    pub(crate) fn new(seed: u64) -> Chance {
        Chance { state: seed }
    }

    pub(crate) fn bits(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.state;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// Returns a number evenly spread from 0 up to, not including, 1.
    pub(crate) fn share(&mut self) -> f64 {
        const STEP: f64 = 1.0 / (1u64 << 53) as f64;
        (self.bits() >> 11) as f64 * STEP
    }

    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.share()
    }

    /// Returns a number evenly spread within `half_width` of zero.
    pub(crate) fn within(&mut self, half_width: f64) -> f64 {
        self.between(-half_width, half_width)
    }
}
