use super::laws::root;
use super::parts::{DialNeedle, NeedleValve};
use super::{AirWay, Chance, Load, RigFault, Settings};
use crate::quantity::{Length, Pressure};
use crate::rig::coaching::{CoachReading, CoachStep, Moved};
use crate::rig::{Valve, ValveStop};

/// An open hose end lets in far more than any inlet valve draws.
const OPEN_END: AirWay = AirWay::Nozzle { area: 2.0e-5 };

/// A rig that exists in numbers only, with a person at it: valves to turn, a hose end, a dial to read.
///
/// The same seed, settings and handling give the same readings. The pressure is the solution of the full balance
/// (bleed, leaks and load in; inlet valve and pump out), never the closed form that readings are judged by.
#[derive(Debug, Clone)]
pub(crate) struct SimulatedRig {
    pub(super) settings: Settings,
    pub(super) chance: Chance,
    pub(super) needle: DialNeedle,
    /// How far each [`Valve`] is open, in turns from its seat.
    turns: [f64; 2],
    pub(super) load: Load,
    plug_seating: f64,
    /// How far the reading is off by how the plate sits, as a share of a division.
    plate_seating: f64,
    /// How often something was put on the hose.
    connections: u32,
    pub(super) faults: Vec<RigFault>,
    /// Absolute pressure in the circuit in Pa.
    pub(super) pressure: f64,
    /// For how long air has gone through what is connected, in s.
    pub(super) connected_for: f64,
}

impl SimulatedRig {
    /// Sets up a rig with the pump running, both valves at a third of their travel and the hose plugged.
    pub(crate) fn new(seed: u64, settings: Settings) -> SimulatedRig {
        let mut chance = Chance::new(seed);
        let needle = DialNeedle::draw(&settings.dial, &mut chance);
        let turns = [settings.inlet.turns / 3.0, settings.bleed.turns / 3.0];
        let mut rig = SimulatedRig {
            settings,
            chance,
            needle,
            turns,
            load: Load::Plugged,
            plug_seating: 1.0,
            plate_seating: 0.0,
            connections: 0,
            faults: Vec::new(),
            pressure: 0.0,
            connected_for: 0.0,
        };
        rig.wait_until_settled();
        rig
    }

    pub(crate) fn settings(&self) -> &Settings {
        &self.settings
    }

    /// Returns how far a valve is open, in turns from its seat.
    pub(crate) fn position(&self, valve: Valve) -> f64 {
        self.turns[valve as usize]
    }

    fn valve(&self, valve: Valve) -> &NeedleValve {
        match valve {
            Valve::Inlet => &self.settings.inlet,
            Valve::Bleed => &self.settings.bleed,
        }
    }

    /// Connects something to the hose, whose end is open until it is there, so that the needle comes up to the next
    /// reading from below; a plug is seated anew.
    pub(crate) fn connect(&mut self, load: Load) {
        if load != self.load || matches!(load, Load::Circuit(_)) {
            self.load = Load::Open;
            self.wait_until_settled();
        }
        self.load = load;
        self.connected_for = 0.0;
        self.connections += 1;
        let is_seated = matches!(load, Load::Circuit(_)) && self.settings.seating > 0.0;
        self.plate_seating = if is_seated { self.chance.within(self.settings.seating) } else { 0.0 };
        if load == Load::Plugged {
            self.plug_seating = self.chance.between(0.6, 1.4);
        }
    }

    /// Turns a valve to a position in turns from its seat, as finely as a hand can, at most to its stop.
    pub(crate) fn turn_to(&mut self, valve: Valve, turns: f64) {
        self.turns[valve as usize] = self.valve(valve).reachable(turns);
    }

    /// Waits until the needle has settled and reads the dial as a person does.
    pub(crate) fn read(&mut self) -> Pressure {
        self.wait_until_settled();
        let seat = self.plate_seating * self.settings.dial.division_pa();
        let seen = self.needle.at_pa + seat + self.misreading();
        pressure(self.settings.dial.written(seen))
    }

    /// Turns a valve until the dial, as the eye reads it, shows `wanted`; returns the stop where one was in the way.
    ///
    /// What is shown in the end is then to be read: the eye errs once more.
    pub(crate) fn set(&mut self, valve: Valve, wanted: Pressure) -> Option<ValveStop> {
        let misread = self.misreading();
        self.place(valve, wanted.si() - misread)
    }

    /// Changes what is connected without taking the hose off: a valve is pushed over, a neighbour's port closed.
    pub(crate) fn change(&mut self, load: Load) {
        self.load = load;
    }

    /// Lets time pass, in s.
    pub(crate) fn wait(&mut self, seconds: f64) {
        self.connected_for += seconds;
    }

    /// Returns what the dial shows, to an eye that does not err; no less than nothing.
    pub(crate) fn shows(&mut self) -> Pressure {
        self.wait_until_settled();
        pressure(self.needle.at_pa.max(0.0))
    }

    fn misreading(&mut self) -> f64 {
        self.needle.misreading(&self.settings.dial, &mut self.chance)
    }

    /// Turns a valve to where the settled needle shows `wanted_pa`.
    pub(super) fn place(&mut self, valve: Valve, wanted_pa: f64) -> Option<ValveStop> {
        self.wait_until_settled();
        let travel = self.valve(valve).turns;
        let shown_at = |turns: f64| {
            let mut trial = self.clone();
            trial.turns[valve as usize] = turns;
            let vacuum = trial.settings.barometer.si() - trial.resting_pressure();
            trial.needle.would_show(&trial.settings.dial, vacuum)
        };
        // Opening the inlet valve raises the needle, opening the bleed lowers it.
        let excess = |turns: f64| match valve {
            Valve::Inlet => shown_at(turns) - wanted_pa,
            Valve::Bleed => wanted_pa - shown_at(turns),
        };
        let (turns, stop) = if excess(travel) <= 0.0 {
            (travel, Some(ValveStop::Open))
        } else if excess(0.0) >= 0.0 {
            (0.0, Some(ValveStop::Shut))
        } else {
            (root(0.0, travel, excess), None)
        };
        self.turn_to(valve, turns);
        self.wait_until_settled();
        stop
    }

    /// The pressure at which the circuit comes to rest: what comes in then goes out.
    pub(super) fn resting_pressure(&self) -> f64 {
        let (_, ultimate) = self.pump();
        root(ultimate.min(self.room()), self.room(), |pressure| self.lets_in(pressure) - self.draws(pressure))
    }

    /// While air blows the oil out of a gap the needle stands higher at first, and comes down to where it rests.
    pub(super) fn wait_until_settled(&mut self) {
        if self.connected_for == 0.0 && matches!(self.load, Load::Circuit(_)) {
            self.come_to_rest();
        }
        self.connected_for = self.connected_for.max(self.settings.patience);
        self.come_to_rest();
    }

    fn come_to_rest(&mut self) {
        self.pressure = self.resting_pressure();
        self.needle.follow(&self.settings.dial, self.vacuum_pa());
    }

    /// The pump's speed in m3/s and its ultimate pressure.
    fn pump(&self) -> (f64, f64) {
        let sound = (self.settings.pump_speed.si(), self.settings.pump_ultimate.si());
        self.faults.iter().fold(sound, |(speed, least), fault| match fault {
            RigFault::PumpTooWeak { speed_left, ultimate } => (speed * speed_left, least.max(ultimate.si())),
            _ => (speed, least),
        })
    }

    fn room(&self) -> f64 {
        self.settings.barometer.si()
    }

    pub(super) fn vacuum_pa(&self) -> f64 {
        self.room() - self.pressure
    }

    /// Returns what goes out with the circuit at this pressure, in kg/s.
    pub(super) fn draws(&self, pressure: f64) -> f64 {
        /// After so many readings a valve has crept as far as it does.
        const SETTLED: f64 = 30.0;
        let crept = 1.0 + self.settings.creep * (f64::from(self.connections) / SETTLED).min(1.0);
        let valve = self.settings.inlet;
        let valve = NeedleValve { area_m2: valve.area_m2 * crept, ..valve };
        let inlet = valve.way_at(self.position(Valve::Inlet), pressure / self.room());
        let (speed, ultimate) = self.pump();
        inlet.flow_to_pump(pressure, speed, ultimate, self.settings.temperature.si())
    }
}

/// Everything that lets air into the circuit.
impl SimulatedRig {
    /// Returns what comes in with the circuit at this pressure, in kg/s.
    pub(super) fn lets_in(&self, pressure: f64) -> f64 {
        let across = 1.0 - pressure / self.room();
        let bleed = self.settings.bleed.way_at(self.position(Valve::Bleed), across);
        self.through(&bleed, pressure) + self.through_load(pressure) + self.through_faults(pressure)
    }

    fn through(&self, way: &AirWay, pressure: f64) -> f64 {
        way.flow(self.room(), pressure, self.settings.temperature.si())
    }

    fn through_load(&self, pressure: f64) -> f64 {
        match self.load {
            Load::Plugged | Load::OtherPlug | Load::Capped => 0.0,
            Load::Open => self.through(&OPEN_END, pressure),
            Load::Orifice => self.through_hole(self.fitted_orifice(), pressure),
            Load::Hole { diameter } => self.through_hole(diameter, pressure),
            Load::Leak(share) => share * self.through(&self.settings.fitted, pressure),
            Load::Circuit(leak) => {
                let temperature = self.settings.temperature.si();
                leak.flow(self.room(), pressure, temperature, self.connected_for)
            }
        }
    }

    fn through_faults(&self, pressure: f64) -> f64 {
        let leak = |fault: &RigFault| match fault {
            RigFault::HoseLeaking { hole } if self.load != Load::Capped => self.through_hole(*hole, pressure),
            RigFault::PlugNotSealing { hole } if self.load == Load::Plugged => {
                self.plug_seating * self.through_hole(*hole, pressure)
            }
            _ => 0.0,
        };
        self.faults.iter().map(leak).sum()
    }

    fn fitted_orifice(&self) -> Length {
        let wrong = |fault: &RigFault| match fault {
            RigFault::WrongOrifice { bore } => Some(*bore),
            _ => None,
        };
        self.faults.iter().find_map(wrong).unwrap_or(self.settings.orifice.diameter())
    }

    /// Every hole is made as the test orifice is.
    fn through_hole(&self, bore: Length, pressure: f64) -> f64 {
        let wider = bore.si() / self.settings.orifice.diameter().si();
        wider * wider * self.through(&self.settings.fitted, pressure)
    }
}

pub(super) fn pressure(pa: f64) -> Pressure {
    Pressure::from_si(pa).unwrap_or(Pressure::constant(0.0))
}

impl SimulatedRig {
    /// Does what a coach asks for and reads the dial, as a willing technician would; `None` where there is nothing to
    /// do with the rig.
    pub(crate) fn carry_out(&mut self, step: &CoachStep) -> Option<CoachReading> {
        match step {
            CoachStep::Read(condition) => {
                self.connect(Load::of(*condition));
                Some(CoachReading { condition: *condition, reading: self.read(), moved: None })
            }
            CoachStep::Set { setting, .. } => {
                self.connect(Load::of(setting.condition));
                let stop = self.set(setting.valve, setting.set_to_pa);
                let moved = Some(Moved { valve: setting.valve, stop });
                Some(CoachReading { condition: setting.condition, reading: self.read(), moved })
            }
            CoachStep::TurnToStop { condition, valve, stop } => {
                self.connect(Load::of(*condition));
                let travel = self.valve(*valve).turns;
                self.turn_to(*valve, if *stop == ValveStop::Open { travel } else { 0.0 });
                let moved = Some(Moved { valve: *valve, stop: Some(*stop) });
                Some(CoachReading { condition: *condition, reading: self.read(), moved })
            }
            CoachStep::Settled { .. } | CoachStep::Repair(_) => None,
        }
    }
}
