use super::{closing, opening};
use crate::procedure::{Aside, Halt, Program, Stop, Walk};

/// Walks what the runner asks first and then the procedure, and gives the walk back.
///
/// # Errors
/// What ended it earlier.
pub fn walk_tests(program: &Program, walk: Walk) -> Result<Walk, Stop> {
    let mut walk = walk.setting_the_rig_by(opening::calibrate);
    opening::open(&mut walk).map_err(stop)?;
    if !program.sets_rig {
        opening::calibrate(&mut walk).map_err(stop)?;
    }
    program.run(walk)
}

/// Walks what the runner asks after the procedure: a last check of the rig, and what is decided.
///
/// # Errors
/// What ended it earlier.
pub fn walk_closing(walk: &mut Walk) -> Result<(), Stop> {
    walk.keep_rig(None).map_err(stop)?;
    closing::close(walk).map_err(stop)
}

/// Turns a halt outside a script into a stop.
fn stop(halt: Halt) -> Stop {
    match halt {
        Halt::Aside(aside) => Stop::Aside(aside),
        Halt::Drifted => Stop::Drifted,
        Halt::Fault(fault) => Stop::Aside(Aside::Lost(fault.message)),
        Halt::LeaveCircuit | Halt::FarEnough => Stop::Aside(Aside::Lost("the walk ended early".to_owned())),
    }
}
