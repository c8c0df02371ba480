//! What only trials of the coach and of the assessment do with a simulated rig: break it, set it at once, watch its needle
//! on the way, and look behind its dial.

use super::rig::pressure;
use super::{Load, RigFault, Settings, SimulatedRig};
use crate::air::Law;
use crate::quantity::{Pressure, VolumeFlow};
use crate::rig::{Calibration, Valve, WayOut};

/// The volume of hose, fittings and circuit in m3.
pub(crate) const VOLUME_M3: f64 = 0.4e-3;

impl Settings {
    /// A rig whose dial, valves and pump have no faults of their own.
    pub(crate) fn ideal() -> Settings {
        let mut settings = Settings { pump_speed: VolumeFlow::constant(0.05), ..Settings::default() };
        settings.pump_ultimate = Pressure::constant(0.0);
        for valve in [&mut settings.inlet, &mut settings.bleed] {
            valve.law = Law::Nozzle;
            valve.finest_turn = 1e-12;
        }
        settings.dial.error_share = 0.0;
        settings.dial.hysteresis = 0.0;
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
        let way_out = self.way_out();
        self.pressure = approach(
            self.pressure,
            seconds * self.thermal_speed() / VOLUME_M3,
            |pressure| self.lets_in(pressure),
            &way_out,
        );
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

/// Returns the pressure (a fraction of the barometer's) a while after it was `from`.
///
/// `exchange_time` is the time in s times sqrt(R T) over the volume in m3. Isothermal filling: dx/dt = exchange * (in -
/// out), stepped with the rate of approach to the point of rest, which neither overshoots nor diverges at any step.
fn approach(from: f64, exchange_time: f64, lets_in: impl Fn(f64) -> f64, way_out: &WayOut) -> f64 {
    const STEPS: usize = 8;
    let rest = way_out.rest(&lets_in);
    let step = exchange_time / STEPS as f64;
    let mut pressure = from;
    for _ in 0..STEPS {
        let gap = pressure - rest;
        if gap.abs() < 1e-12 {
            return rest;
        }
        let rate = (way_out.draws(pressure) - lets_in(pressure)) / gap;
        pressure = rest + gap * libm::exp(-rate.max(0.0) * step);
    }
    pressure
}
