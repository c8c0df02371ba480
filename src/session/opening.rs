use crate::procedure::{Halt, Walk};
use crate::quantity::Pressure;
use crate::record::{HoseOn, Wants};
use crate::rig::targets;

/// Asks what the runner itself must know before the first question of the procedure: who tests and the barometer.
///
/// # Errors
/// A halt where nothing was answered.
pub(super) fn open(walk: &mut Walk) -> Result<(), Halt> {
    walk.ask_for_runner("Who is testing?", Wants::Technician)?;
    walk.ask_for_runner("What is the barometer at the bench?", Wants::Barometer)?;
    Ok(())
}

/// Asks for the two points of the rig.
///
/// # Errors
/// A halt where nothing was answered, or the two readings make no calibration.
pub(super) fn calibrate(walk: &mut Walk) -> Result<(), Halt> {
    let vacuum_unit = walk.vacuum_unit();
    let Some(station) = walk.bench().barometer().map(|barometer| barometer.station()) else {
        return Err(Halt::Mistake("the barometer is not known".to_owned()));
    };
    let (plugged, through) = targets(station);
    let wants = |on, deepest: Pressure| Wants::Reading {
        on,
        deepest_pa: deepest.si(),
        unit: vacuum_unit.symbol.to_owned(),
    };
    walk.ask_for_runner(
        &format!(
            "Plug the end of the hose. Set the bleed valve until the gauge shows {}.",
            plugged.in_unit(vacuum_unit)
        ),
        wants(HoseOn::Plug, station),
    )?;
    // What the orifice lets in shows clearly; a reading as good as plugged means that it is not on the hose.
    let reached =
        walk.bench().plugged().and_then(|plugged| Pressure::from_si(plugged.si() * 0.98)).unwrap_or(station);
    walk.ask_for_runner(
        &format!(
            "Now the hose on the test orifice. It should show {}; where it does not, the inlet valve sets it, and the \
             plugged point has to be set again.",
            through.in_unit(vacuum_unit)
        ),
        wants(HoseOn::Orifice, reached),
    )?;
    walk.show_calibration();
    Ok(())
}
