//! What a report says of the bench: calibration, gauge, orifice, barometer.

use crate::air::BarometerSource;
use crate::quantity::{Unit, shown};
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
    let (orifice, dial) = (record.rig.orifice, record.rig.dial);
    let kind = match orifice.kind() {
        OrificeKind::Plug => "a plug (drilled through thick stock)",
        OrificeKind::Plate => "a plate (drilled through thin sheet)",
    };
    facts.push(("Test orifice".to_owned(), format!("{}, {kind}", orifice.diameter())));
    facts.push((
        "Gauge".to_owned(),
        format!(
            "grade {}, 0 to {}, marks every {}",
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
    format!(
        "{} plugged, {} through the orifice (marks at this barometer: {} and {}), at {}",
        pressure(calibration.plugged_pa, unit),
        pressure(calibration.through_pa, unit),
        number(calibration.target_plugged_pa),
        number(calibration.target_through_pa),
        calibration.settled_at().map_or(String::new(), |at| at.strftime("%H:%M UTC").to_string())
    )
}

fn pressure(si: f64, unit: &Unit) -> String {
    format!("{} {}", shown(unit.from_si(si), unit.decimals), unit.symbol)
}
