//! What only trials of the coach and of the assessment do with a simulated rig: break it, set it at once, watch its
//! needle on the way, and look behind its dial.

use super::rig::pressure;
use super::{AirWay, Chance, CircuitLeak, Load, Movement, RigFault, Settings, SimulatedRig};
use crate::air::GAS_CONSTANT;
use crate::leak::LeakKind;
use crate::quantity::{Pressure, VolumeFlow};
use crate::rig::{Calibration, Valve};

/// The volume of hose, fittings and circuit in m3.
pub(crate) const VOLUME_M3: f64 = 0.4e-3;

/// From which side a dial's needle has come to where it stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Approach {
    Rising,
    Falling,
}

impl Movement {
    /// What the dial shows for a true vacuum once it has been tapped, each time a little different where its kind is.
    pub(crate) fn shows(&self, vacuum: f64, approach: Approach, chance: &mut Chance) -> f64 {
        let behind = match approach {
            Approach::Rising => -self.slack(true),
            Approach::Falling => self.slack(true),
        };
        self.midway(vacuum) + behind + self.scatter(vacuum, chance)
    }
}

impl CircuitLeak {
    /// What it is, in words, and what the technician takes it for.
    pub(crate) fn kind(&self, taken_for: Option<LeakKind>) -> &'static str {
        match (self.across, self.way, taken_for) {
            (Some(_), _, _) => "way across, of unknown kind",
            (None, AirWay::Gap(_), None) => "gap, of unknown kind",
            (None, _, None) => "hole, of unknown kind",
            (None, AirWay::Gap(_), Some(LeakKind::Gap)) => "gap, known as one",
            (None, AirWay::Gap(_), Some(LeakKind::Hole)) => "gap, taken for a hole",
            (None, _, Some(LeakKind::Hole)) => "hole, known as one",
            (None, _, Some(LeakKind::Gap)) => "nick, taken for a gap",
        }
    }
}

impl Settings {
    /// A rig whose dial, valves and pump have no faults of their own.
    pub(crate) fn ideal() -> Settings {
        let mut settings = Settings { pump_speed: VolumeFlow::constant(0.05), ..Settings::default() };
        settings.pump_ultimate = Pressure::constant(0.0);
        for valve in [&mut settings.inlet, &mut settings.bleed] {
            valve.critical_ratio = None;
            valve.finest_turn = 1e-12;
        }
        settings.dial.kind = None;
        settings.dial.sticking = 0.0;
        settings.dial.jitter = 0.0;
        settings.dial.reading_error = 0.0;
        settings.dial.written_to = 1e-9;
        settings
    }
}

impl SimulatedRig {
    /// Sets up a rig whose valves stand so that the needle shows these two readings, plugged and through.
    pub(crate) fn calibrated(
        seed: u64,
        settings: Settings,
        plugged: Pressure,
        through: Pressure,
    ) -> SimulatedRig {
        const ROUNDS: usize = 40;
        let mut rig = SimulatedRig::new(seed, settings);
        for _ in 0..ROUNDS {
            rig.connect(Load::Orifice);
            rig.place(Valve::Inlet, through.si());
            rig.connect(Load::Plugged);
            rig.place(Valve::Bleed, plugged.si());
        }
        rig
    }

    /// Reads it with this at the hose.
    pub(crate) fn read_with(&mut self, load: Load) -> Pressure {
        self.connect(load);
        self.read()
    }

    /// Reads it plugged and through the test orifice, and calibrates by that.
    pub(crate) fn calibration(&mut self) -> Calibration {
        let (plugged, through) = (self.read_with(Load::Plugged), self.read_with(Load::Orifice));
        let Settings { orifice, barometer, temperature, .. } = self.settings;
        Calibration::new(plugged, through, orifice, barometer, temperature).expect("a sound pair")
    }

    pub(crate) fn inject(&mut self, fault: RigFault) {
        if fault == RigFault::DialStuck {
            self.needle.is_stuck = true;
        }
        self.faults.push(fault);
    }

    pub(crate) fn repair(&mut self) {
        self.faults.clear();
        self.needle.is_stuck = false;
    }

    /// Lets time pass, in s, and returns where the needle is then, trembling.
    pub(crate) fn watch(&mut self, seconds: f64) -> Pressure {
        // Isothermal filling, dp/dt = R T/V (in - out), stepped with the rate of approach to the point of rest, which
        // neither overshoots nor diverges at any step.
        const STEPS: u32 = 8;
        let exchange = GAS_CONSTANT * self.settings.temperature.si() / VOLUME_M3;
        let step = seconds / f64::from(STEPS);
        for _ in 0..STEPS {
            self.connected_for += step;
            let rest = self.resting_pressure();
            let gap = self.pressure - rest;
            if gap.abs() < 1e-7 {
                self.pressure = rest;
                continue;
            }
            let rate = exchange * (self.draws(self.pressure) - self.lets_in(self.pressure)) / gap;
            self.pressure = rest + gap * libm::exp(-rate.max(0.0) * step);
        }
        self.needle.follow(&self.settings.dial, self.vacuum_pa());
        let tremble = self.chance.within(self.settings.dial.jitter) * self.settings.dial.division_pa();
        pressure(self.needle.at_pa + tremble)
    }

    /// Waits until the needle has settled and returns where it stands, free of the eye's error.
    pub(crate) fn needle(&mut self) -> Pressure {
        self.wait_until_settled();
        pressure(self.needle.at_pa)
    }

    /// Waits until the circuit has settled and returns the true vacuum in it.
    pub(crate) fn true_vacuum(&mut self) -> Pressure {
        self.wait_until_settled();
        pressure(self.vacuum_pa())
    }
}
