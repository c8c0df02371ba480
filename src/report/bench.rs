//! What a report says of the bench: calibration, gauge, orifice, barometer.

use crate::air::BarometerSource;
use crate::quantity::{Entry, Unit, shown};
use crate::record::{CalibrationRecord, Record};
use crate::rig::OrificeKind;

/// Says what the readings rest on, each with its label.
pub(super) fn facts(record: &Record, unit: &Unit) -> Vec<(String, String)> {
    let mut facts: Vec<(String, String)> = record
        .calibrations
        .iter()
        .enumerate()
        .map(|(index, calibration)| {
            let number =
                if record.calibrations.len() > 1 { format!(" {}", index + 1) } else { String::new() };
            (format!("Calibration{number}"), told(calibration, unit))
        })
        .collect();
    if !record.calibrations.is_empty() {
        facts.push(("Drift".to_owned(), drift(record, unit)));
    }
    let (orifice, dial) = (record.rig.orifice, record.rig.dial);
    let kind = match orifice.kind() {
        OrificeKind::Plug => "a plug (drilled through thick stock)",
        OrificeKind::Plate => "a plate (drilled through thin sheet)",
    };
    let assumed = if record.rig_is_assumed { "; assumed, as nobody had described the rig" } else { "" };
    facts.push(("Test orifice".to_owned(), format!("{}, {kind}{assumed}", orifice.diameter())));
    facts.push((
        "Gauge".to_owned(),
        format!(
            "grade {}, 0 to {}, marks every {}{assumed}",
            dial.grade(),
            dial.span().in_unit(unit),
            dial.smallest_division().in_unit(unit)
        ),
    ));
    if let Some(barometer) = &record.barometer {
        let from = match barometer.barometer.source() {
            BarometerSource::Station { .. } => "read in the room",
            BarometerSource::AltimeterSetting { .. } => "from a weather report and the elevation",
            BarometerSource::Elevation { .. } => "from the elevation alone",
            BarometerSource::Standard => "assumed",
        };
        facts.push((
            "Barometer".to_owned(),
            format!(
                "{} at the bench, {from} (entered: {})",
                barometer.barometer.station().in_unit(unit),
                barometer.entered
            ),
        ));
    }
    facts.push((
        "Certainty".to_owned(),
        format!(
            "a verdict is given where it is at least {} % probable; intervals are 95 %",
            shown(record.confidence * 100.0, 1)
        ),
    ));
    facts
}

fn told(calibration: &CalibrationRecord, unit: &Unit) -> String {
    let number = |si: f64| shown(unit.from_si(si), unit.decimals);
    let at = calibration.settled_at().map(|at| at.strftime(", at %H:%M UTC").to_string());
    format!(
        "{} {symbol} plugged, {} {symbol} through the orifice (marks at this barometer: {} and {}){}",
        number(calibration.plugged_pa),
        number(calibration.through_pa),
        number(calibration.target_plugged_pa),
        number(calibration.target_through_pa),
        at.unwrap_or_default(),
        symbol = unit.symbol,
    )
}

/// Says how the checks of the calibration came out, and what was done about drift.
fn drift(record: &Record, unit: &Unit) -> String {
    let number = |entry: &Entry| shown(unit.from_si(entry.si), unit.decimals);
    let checks: Vec<_> = record
        .checks
        .iter()
        .map(|check| {
            format!(
                "{} and {} {} at {}, {}",
                number(&check.plugged.entry),
                number(&check.through.entry),
                unit.symbol,
                check.through.at.strftime("%H:%M UTC"),
                if check.is_good { "good" } else { "drifted" }
            )
        })
        .collect();
    let mut text = if checks.is_empty() {
        "not checked after the readings".to_owned()
    } else {
        format!("checked: {}", checks.join("; "))
    };
    for drift in &record.drifts {
        text += &format!("; drifted, so these were tested again: {}", drift.circuits.join(", "));
    }
    text
}
