use crate::air::Law;
use crate::quantity::{Length, Pressure, Temperature, VolumeFlow};
use crate::rig::{Condition, Dial, Orifice};

/// What a simulated rig is made of. The parts are invented, of an ordinary size.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Settings {
    pub barometer: Pressure,
    pub temperature: Temperature,
    pub orifice: Orifice,
    /// By how much its true discharge coefficient at sonic flow exceeds that at the through point beyond what its kind
    /// says, as a share of it.
    pub discharge_rise: f64,
    /// The valve between gauge and pump.
    pub inlet: NeedleValve,
    /// The valve between the air and the gauge.
    pub bleed: NeedleValve,
    pub pump_speed: VolumeFlow,
    pub pump_ultimate: Pressure,
    pub dial: SimulatedDial,
}

impl Default for Settings {
    /// A sound rig at sea level: the usual dial, two-stage pump of about 3 cfm.
    fn default() -> Settings {
        let valve = NeedleValve {
            turns: 8.0,
            area_m2: 4.0e-6,
            law: Law::Valve { critical_ratio: 0.35 },
            finest_turn: 0.005,
        };
        Settings {
            barometer: Pressure::constant(101_325.0),
            temperature: Temperature::constant(293.15),
            orifice: Orifice::STANDARD,
            discharge_rise: 0.0,
            inlet: valve,
            bleed: NeedleValve { area_m2: 1.0e-6, ..valve },
            pump_speed: VolumeFlow::constant(1.4e-3),
            pump_ultimate: Pressure::constant(100.0),
            dial: SimulatedDial {
                dial: Dial::USUAL,
                error_share: 1.0,
                hysteresis: 0.05,
                jitter: 0.02,
                reading_error: 0.2,
                written_to: 0.25,
            },
        }
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
    /// How it passes air.
    pub law: Law,
    /// The smallest turn that a hand makes on purpose; above zero.
    pub finest_turn: f64,
}

impl NeedleValve {
    /// Returns the effective area in m2 at a position; a position outside the stops counts as the stop.
    pub(crate) fn area_at(&self, position: f64) -> f64 {
        let opening = (position / self.turns).clamp(0.0, 1.0);
        self.area_m2 * opening * opening
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
    /// The share of what the grade allows that a dial's error may reach; each rig draws its own. 0 makes a perfect one.
    pub error_share: f64,
    /// How far the needle hangs behind, as a share of a division.
    pub hysteresis: f64,
    /// How far the needle trembles to either side, as a share of a division.
    pub jitter: f64,
    /// How far off the eye is at most, as a share of a division.
    pub reading_error: f64,
    /// To which share of a division a reading is written down; above zero.
    pub written_to: f64,
}

/// The movement behind the dial: its own error, and where the needle stands.
#[derive(Debug, Clone)]
pub(super) struct DialNeedle {
    offset_pa: f64,
    gain: f64,
    /// Where it stands.
    pub(super) at_pa: f64,
    pub(super) is_stuck: bool,
}

impl DialNeedle {
    /// Draws a movement whose offset and gain stay within what the grade leaves to each.
    pub(super) fn draw(dial: &SimulatedDial, chance: &mut Chance) -> DialNeedle {
        let offset_pa = chance.within(dial.error_share * dial.dial.offset_limit());
        let gain = 1.0 + chance.within(dial.error_share * dial.dial.gain_limit());
        DialNeedle { offset_pa, gain, at_pa: offset_pa, is_stuck: false }
    }

    /// Returns where the needle comes to stand for a true vacuum, from where it is now.
    pub(super) fn would_show(&self, dial: &SimulatedDial, vacuum_pa: f64) -> f64 {
        if self.is_stuck {
            return self.at_pa;
        }
        // A dial goes a little past its last mark, and less far below zero.
        let span = dial.dial.span().si();
        let driven = (self.gain * vacuum_pa + self.offset_pa).clamp(-0.02 * span, 1.02 * span);
        let slack = dial.hysteresis * dial.division_pa();
        self.at_pa.clamp(driven - slack, driven + slack)
    }

    pub(super) fn follow(&mut self, dial: &SimulatedDial, vacuum_pa: f64) {
        self.at_pa = self.would_show(dial, vacuum_pa);
    }
}

impl SimulatedDial {
    /// The vacuum from mark to mark, in Pa.
    pub(super) fn division_pa(&self) -> f64 {
        self.dial.smallest_division().si()
    }

    /// Returns how far off the eye is this time, needle's trembling included, in Pa.
    pub(super) fn misreading(&self, chance: &mut Chance) -> f64 {
        (chance.within(self.reading_error) + chance.within(self.jitter)) * self.division_pa()
    }

    /// Returns what is written down for what is seen.
    pub(super) fn written(&self, seen_pa: f64) -> f64 {
        let step = self.written_to * self.division_pa();
        (seen_pa / step).round() * step
    }
}

/// What is at the end of a simulated rig's hose.
///
/// The other plug is known to be good; where the rig is capped, the hose is off. A leak is a share of the test orifice, 0 or
/// more. A clearance is radial, at most a tenth of the bore; its eccentricity is 0 where the land is centred and 1 where it
/// touches.
#[derive(Debug, Clone, Copy, PartialEq)]
#[cfg_attr(not(test), expect(dead_code, reason = "only trials connect a hole or a land"))]
pub(crate) enum Load {
    Plugged,
    OtherPlug,
    Capped,
    Open,
    Orifice,
    Hole { diameter: Length },
    Leak(f64),
    Clearance { bore: Length, land: Length, clearance: Length, eccentricity: f64 },
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
/// A plug that does not seal lets past as much as the hole on average, differently each time it is fitted. Of a weak pump's
/// speed a share is left, above 0 and at most 1, and its ultimate pressure is absolute.
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
