use super::{Person, opening};
use crate::procedure::{Aside, Halt, Walk};
use crate::quantity::Unit;
use crate::record::{BenchState, Wants};

/// How a calibration at the prompt ended.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Coached {
    /// Both points are within tolerance.
    Settled,
    /// It was left; says why.
    Left(String),
}

/// Coaches a person through setting the rig, without a procedure and without a record. `back` and `again` begin anew.
pub fn coach(person: Person, bench: BenchState, vacuum_unit: &'static Unit) -> Coached {
    let mut walk = Walk::new(Box::new(person), bench, vacuum_unit);
    loop {
        let barometer = walk.ask_for_runner("What is the barometer at the bench?", Wants::Barometer);
        match barometer.and_then(|_| opening::calibrate(&mut walk)) {
            Ok(()) => return Coached::Settled,
            Err(Halt::Aside(Aside::Back(_) | Aside::Again(_) | Aside::Jot(_))) => {}
            Err(Halt::Aside(Aside::Park)) => return Coached::Left("the rig is not set".to_owned()),
            Err(Halt::Aside(Aside::Lost(why))) => return Coached::Left(why),
            Err(Halt::Fault(fault)) => return Coached::Left(fault.message),
            Err(Halt::LeaveCircuit | Halt::Drifted | Halt::FarEnough) => {
                return Coached::Left("the rig is not set".to_owned());
            }
        }
    }
}
