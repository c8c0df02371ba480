use super::{Load, SimulatedRig};
use crate::rig::coaching::{Moved, Observation, Step};
use crate::rig::{Condition, Stop, Valve};

impl SimulatedRig {
    /// Does what a coach asks for and reads the dial, as a willing technician would; `None` where there is nothing to
    /// do with the rig.
    pub fn carry_out(&mut self, step: &Step) -> Option<Observation> {
        match step {
            Step::Read(condition) => {
                self.connect(Load::of(*condition));
                Some(Observation { condition: *condition, reading: self.read(), moved: None })
            }
            Step::Set { setting, .. } => {
                self.connect(Load::of(setting.condition));
                let stop = self.set(setting.valve, setting.set_to_pa);
                let moved = Some(Moved { valve: setting.valve, stop });
                Some(Observation { condition: setting.condition, reading: self.read(), moved })
            }
            Step::TurnToStop { condition, valve, stop } => {
                self.connect(Load::of(*condition));
                self.turn_to(*valve, self.position_of(*valve, *stop));
                let moved = Some(Moved { valve: *valve, stop: Some(*stop) });
                Some(Observation { condition: *condition, reading: self.read(), moved })
            }
            Step::Settled { .. } | Step::Repair(_) => None,
        }
    }

    fn position_of(&self, valve: Valve, stop: Stop) -> f64 {
        match (stop, valve) {
            (Stop::Shut, _) => 0.0,
            (Stop::Open, Valve::Inlet) => self.settings().inlet.turns,
            (Stop::Open, Valve::Bleed) => self.settings().bleed.turns,
        }
    }
}

impl Load {
    /// Returns what is at the hose's end in a condition.
    pub fn of(condition: Condition) -> Load {
        match condition {
            Condition::Plugged => Load::Plugged,
            Condition::Through => Load::Orifice,
            Condition::OtherPlug => Load::OtherPlug,
            Condition::Capped => Load::Capped,
            Condition::Open => Load::Open,
        }
    }
}
