use crate::procedure::{Halt, Walk};
use crate::quantity::Unit;
use crate::record::{HoseOn, RigStep, Wants};
use crate::rig::coaching::{CoachStep, Setting};

/// Asks what the runner itself must know before the first question of the procedure: who tests and the barometer.
///
/// # Errors
/// A halt where nothing was answered.
pub(super) fn open(walk: &mut Walk) -> Result<(), Halt> {
    walk.ask_for_runner("Who is testing?", Wants::Technician)?;
    walk.ask_for_runner("What is the barometer at the bench?", Wants::Barometer)?;
    Ok(())
}

/// Coaches the technician through the two points of the rig, until both are within tolerance.
///
/// # Errors
/// A halt where nothing was answered, or the barometer allows no calibration.
pub(super) fn calibrate(walk: &mut Walk) -> Result<(), Halt> {
    let mistake =
        |error: crate::record::BenchStateError| Halt::from(crate::procedure::Fault::of(error.to_string()));
    let unit = walk.vacuum_unit();
    walk.begin_calibration();
    loop {
        let coached = walk.bench().coached().map_err(mistake)?;
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
