//! What the runner itself asks: before the procedure, of the rig, and after the procedure.

use super::Person;
use crate::leak::Verdict;
use crate::procedure::{Aside, Fault, Halt, Program, Stop, Walk};
use crate::quantity::Unit;
use crate::record::{BenchState, BenchStateError, Circuit, HoseOn, RigStep, Wants, options};
use crate::rig::coaching::{CoachStep, Setting};

/// Walks what the runner asks first, who tests and the barometer, and then the procedure, and gives the walk back.
pub fn walk_tests(program: &Program, walk: Walk) -> Result<Walk, Stop> {
    let mut walk = walk.setting_the_rig_by(calibrate);
    walk.ask_for_runner("Who is testing?", Wants::Technician).map_err(stop)?;
    walk.ask_for_runner(BAROMETER, Wants::Barometer).map_err(stop)?;
    if !program.sets_rig {
        calibrate(&mut walk).map_err(stop)?;
    }
    program.run(walk)
}

/// Walks what the runner asks after the procedure: a last check of the rig, and what is decided about each circuit that
/// does not hold, which the record keeps beside the verdict.
pub fn walk_closing(walk: &mut Walk) -> Result<(), Stop> {
    walk.keep_rig(None).map_err(stop)?;
    let failed: Vec<(Circuit, Verdict)> = walk
        .verdicts()
        .filter(|(_, verdict)| matches!(verdict, Verdict::Worn | Verdict::Leaks))
        .map(|(circuit, verdict)| (circuit.clone(), verdict))
        .collect();
    for (circuit, verdict) in failed {
        let words = format!("{}, {verdict}: what is to be done?", circuit.name);
        let wants = Wants::Decision { of: circuit.name.clone(), options: options(&circuit) };
        walk.ask_for_runner(&words, wants).map_err(stop)?;
    }
    Ok(())
}

/// Coaches a person through setting the rig, without a procedure and without a record. `back` and `again` begin anew.
pub fn coach(person: Person, bench: BenchState, vacuum_unit: &'static Unit) -> Result<(), String> {
    let mut walk = Walk::new(Box::new(person), bench, vacuum_unit);
    loop {
        let barometer = walk.ask_for_runner(BAROMETER, Wants::Barometer);
        match barometer.and_then(|_| calibrate(&mut walk)) {
            Ok(()) => return Ok(()),
            Err(Halt::Aside(Aside::Back(_) | Aside::Again(_) | Aside::Jot(_))) => {}
            Err(Halt::Aside(Aside::Lost(why))) => return Err(why),
            Err(Halt::Fault(fault)) => return Err(fault.message),
            Err(Halt::Aside(Aside::Park) | Halt::LeaveCircuit | Halt::Drifted | Halt::FarEnough) => {
                return Err("the rig is not set".to_owned());
            }
        }
    }
}

const BAROMETER: &str = "What is the barometer at the bench?";

/// Coaches the technician through the two points of the rig, until both are within tolerance.
fn calibrate(walk: &mut Walk) -> Result<(), Halt> {
    let unset = |error: BenchStateError| Halt::from(Fault::of(error.to_string()));
    let unit = walk.vacuum_unit();
    walk.begin_calibration();
    loop {
        let coached = walk.bench().coached().map_err(unset)?;
        let words = match &coached.step {
            CoachStep::Settled { .. } => break,
            CoachStep::Repair(finding) => {
                walk.ask_for_runner(&finding.to_string(), Wants::Ready)?;
                continue;
            }
            CoachStep::Read(condition) => {
                format!("{} Turn no valve, and read the gauge.", condition.instruction())
            }
            CoachStep::Set { setting, .. } => set_words(setting, unit),
            CoachStep::TurnToStop { condition, valve, stop } => {
                format!(
                    "{} Turn the {valve} {stop}, as far as it goes, and read the gauge.",
                    condition.instruction()
                )
            }
        };
        let Some(step) = RigStep::of(&coached.step) else { break };
        walk.show_reason(&coached.reason);
        // A dial may show a little more than there is; what that means is the coach's to say.
        let deepest_pa =
            walk.bench().barometer().map_or(f64::MAX, |barometer| 1.1 * barometer.station().si());
        let wants = Wants::Reading { on: HoseOn::Rig { step }, deepest_pa, unit: unit.symbol.to_owned() };
        walk.ask_for_runner(&words, wants)?;
    }
    walk.show_calibration();
    Ok(())
}

fn set_words(setting: &Setting, unit: &Unit) -> String {
    format!(
        "{} {} the {} until the gauge shows {}, then read it.",
        setting.condition.instruction(),
        setting.turn.word(),
        setting.valve,
        setting.set_to_pa.in_unit(unit)
    )
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
