//! Simulated technicians at simulated rigs.

use crate::air::standard_atmosphere;
use crate::quantity::{INCH_OF_MERCURY, Pressure};
use crate::rig::coaching::{CalibrationGoal, Coach, CoachReading, CoachStep, NextStep, Setting};
use crate::rig::simulated::{Chance, Load, Settings, SimulatedRig};
use crate::rig::{Condition, Valve, ValveTurn};

/// A rig somewhere between sea level and 3,000 m whose valves stand anywhere, and its goal.
pub(crate) fn anywhere(seed: u64, mut settings: Settings) -> (SimulatedRig, CalibrationGoal) {
    let mut chance = Chance::new(seed ^ 0x5eed);
    let elevation = chance.between(0.0, 3000.0);
    settings.barometer = Pressure::constant(standard_atmosphere(elevation).expect("an elevation of a shop"));
    let goal = CalibrationGoal::usual(settings.barometer).expect("an air pressure").on(&settings.dial.dial);
    let mut rig = SimulatedRig::new(seed, settings);
    rig.turn_to(Valve::Inlet, chance.between(0.0, 8.0));
    rig.turn_to(Valve::Bleed, chance.between(0.0, 8.0));
    (rig, goal)
}

/// Settings with an eye that is off by up to a quarter of a division, no more.
pub(crate) fn quarter_of_a_division() -> Settings {
    let mut settings = Settings::default();
    settings.dial.reading_error = 0.25;
    settings.dial.written_to = 0.02;
    settings
}

/// What came of setting a rig.
#[derive(Debug)]
pub(crate) struct Walk {
    /// The step at which it ended.
    pub(crate) end: CoachStep,
    /// How often the inlet and the bleed valve were set.
    pub(crate) settings: [usize; 2],
    /// Whether both needles were within 0.25 inHg of their targets after at most two settings of each valve.
    pub(crate) landed: bool,
}

impl Walk {
    fn start() -> Walk {
        Walk { end: CoachStep::Read(Condition::Plugged), settings: [0; 2], landed: false }
    }

    fn count(&mut self, rig: &SimulatedRig, goal: &CalibrationGoal, seen: &CoachReading) {
        if let Some(moved) = seen.moved {
            self.settings[usize::from(moved.valve == Valve::Bleed)] += 1;
        }
        let few = self.settings.iter().all(|count| *count <= 2);
        self.landed |= few && lands(rig, goal);
    }

    /// Whether it ended within tolerance.
    pub(crate) fn is_settled(&self) -> bool {
        matches!(self.end, CoachStep::Settled { .. })
    }
}

fn lands(rig: &SimulatedRig, goal: &CalibrationGoal) -> bool {
    let mut rig = rig.clone();
    [Condition::Plugged, Condition::Through].into_iter().all(|condition| {
        rig.connect(Load::of(condition));
        goal.off(condition, rig.needle()) <= 0.25 * INCH_OF_MERCURY
    })
}

impl Coach {
    /// What to do next after these readings, all since the start or since the last repair.
    pub(crate) fn advise(&self, history: &[CoachReading]) -> NextStep {
        let course = history.iter().fold(self.begin(), |course, seen| course.after(self, seen));
        NextStep { step: self.step(&course), reason: self.reason(&course).into() }
    }
}

/// Follows a coach to the end, for 60 steps at most.
pub(crate) fn follow(coach: &Coach, rig: &mut SimulatedRig) -> Walk {
    follow_as(coach, rig, |_, seen| seen)
}

/// The same by somebody who tells what he sees in his own way.
pub(crate) fn follow_as(
    coach: &Coach,
    rig: &mut SimulatedRig,
    tell: impl Fn(&CoachStep, CoachReading) -> CoachReading,
) -> Walk {
    let mut walk = Walk::start();
    let mut history = Vec::new();
    for _ in 0..60 {
        walk.end = coach.advise(&history).step;
        let Some(seen) = rig.carry_out(&walk.end) else {
            break;
        };
        walk.count(rig, &coach.goal, &seen);
        history.push(tell(&walk.end, seen));
    }
    walk
}

/// Goes back and forth the usual way (common practice, no source): through the orifice set the inlet valve to its
/// target, plugged set the bleed to its own, and again, until both read right; for 30 rounds at most.
pub(crate) fn back_and_forth(goal: &CalibrationGoal, rig: &mut SimulatedRig) -> Walk {
    let mut walk = Walk::start();
    for _ in 0..30 {
        let mut shown = [(); 2].map(|()| None);
        let sides = [(Condition::Through, Valve::Inlet), (Condition::Plugged, Valve::Bleed)];
        let mut was_off = false;
        for ((condition, valve), shown) in sides.into_iter().zip(&mut shown) {
            let mut take = |step| {
                let seen: Option<CoachReading> = rig.carry_out(&step);
                seen.iter().for_each(|seen| walk.count(rig, goal, seen));
                seen.map(|seen| seen.reading)
            };
            let target = goal.target(condition);
            *shown = take(CoachStep::Read(condition));
            if shown.is_none_or(|shown| (shown.si() - target.si()).abs() > goal.tolerance().si()) {
                was_off = true;
                let setting = Setting { condition, valve, turn: ValveTurn::Open, set_to_pa: target };
                take(CoachStep::Set { setting, then: None });
            }
        }
        if let (false, [Some(through), Some(plugged)]) = (was_off, shown) {
            walk.end = CoachStep::Settled { plugged, through };
            break;
        }
    }
    walk
}
