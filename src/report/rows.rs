use serde_json::{Value, json};

use crate::leak::{Assessment, Estimate, Interpretation};
use crate::quantity::{INCH, INCH_OF_MERCURY};
use crate::record::{CircuitRecord, ReadingRecord, Record};

/// One reading as a row of a table: each column's name with its cell. Units stand in the columns' names, intervals are
/// 95 %, and null is what is not known.
pub(crate) type ReadingRow = Vec<(&'static str, Value)>;

/// Returns the readings of a record, one row each, in the order taken within each circuit; `amended_by` is the record
/// that amends it, where one does.
pub(crate) fn rows(record: &Record, amended_by: Option<&str>) -> Vec<ReadingRow> {
    let mut rows = Vec::new();
    for circuit in &record.circuits {
        for reading in &circuit.readings {
            let row = of_record(record, amended_by).into_iter().chain(of_reading(record, circuit, reading));
            rows.push(row.chain(of_decision(record, circuit)).chain(of_bench(record, reading)).collect());
        }
    }
    let as_stored = record.is_as_stored();
    rows.iter_mut().for_each(|row: &mut ReadingRow| row.push(("as_stored", json!(as_stored))));
    rows
}

/// Rounds to what a unit's conversion leaves certain, so that 15 inHg is 15 and not 15.000000000000002.
fn clean(number: f64) -> f64 {
    format!("{number:.12e}").parse().unwrap_or(number)
}

fn inches(pa: f64) -> f64 {
    clean(pa / INCH_OF_MERCURY)
}

fn of_record(record: &Record, amended_by: Option<&str>) -> ReadingRow {
    let plan = record.plan.as_ref();
    let complaints = plan.filter(|plan| !plan.complaints.is_empty()).map(|plan| plan.complaints.join("; "));
    vec![
        ("session", json!(record.session)),
        ("job", json!(record.job)),
        ("mode", json!(record.mode)),
        ("finished", json!(record.finished)),
        ("procedure", json!(record.procedure.id)),
        ("procedure_version", json!(record.procedure.version)),
        ("unit_tested", json!(record.procedure.unit)),
        ("complaint", json!(complaints)),
        ("tests_again", json!(plan.and_then(|plan| plan.after.as_ref()).map(|after| &after.session))),
        ("amends", json!(record.amends.as_ref().map(|amends| &amends.earlier.session))),
        ("amended_by", json!(amended_by)),
    ]
}

fn of_reading(record: &Record, circuit: &CircuitRecord, reading: &ReadingRecord) -> ReadingRow {
    // What is less likely than that is no figure but an artefact.
    let probability = |share: f64| (share * 1e12).round() / 1e12;
    let (meaning, spot) = (reading.meaning.as_ref(), circuit.spot(reading));
    let figure = |of: fn(&Assessment) -> Option<Interpretation>, factor: f64| {
        let estimate = meaning.and_then(of).and_then(|of| of.estimate());
        estimate.map(|estimate: Estimate| clean(estimate.value * factor))
    };
    // Where no two takes agree there is nothing to be probable.
    let judgement = reading.judgement.filter(|_| meaning.is_some());
    let limits = spot.limits;
    let last = reading.takes.last().and_then(|take| record.read_at(take.event));
    let technician = reading.takes.last().and_then(|take| record.technician_at(take.event));
    let standard = meaning.map(|meaning| &meaning.standard_reading_pa);
    let hole = meaning.map(|meaning| &meaning.hole_m);
    vec![
        ("circuit", json!(circuit.circuit.name)),
        ("label", json!(reading.label)),
        ("port", json!(spot.port)),
        ("trial", json!(reading.trial)),
        ("verdict", json!(reading.verdict().to_string())),
        ("circuit_verdict", json!(circuit.verdict.map(|verdict| verdict.to_string()))),
        ("technician", json!(technician)),
        ("taken", json!(last.map(|(_, at)| at))),
        ("n_takes", json!(reading.takes.len())),
        ("n_takes_counted", json!(reading.takes.iter().filter(|take| !take.set_aside).count())),
        ("circuit_photos", json!(photos(record, circuit))),
        ("reading_inHg", json!(meaning.map(|meaning| inches(meaning.reading_pa.si())))),
        ("standard_reading_inHg", json!(standard.map(|standard| inches(standard.value)))),
        ("standard_reading_low_inHg", json!(standard.map(|standard| inches(standard.low)))),
        ("standard_reading_high_inHg", json!(standard.map(|standard| inches(standard.high)))),
        ("lower_limit_inHg", json!(limits.map(|limits| inches(limits.lower().si())))),
        ("upper_limit_inHg", json!(limits.map(|limits| inches(limits.upper().si())))),
        ("limits_are_window", json!(limits.map(|limits| limits.is_window()))),
        ("probability_below", json!(judgement.map(|judgement| probability(judgement.below)))),
        ("probability_between", json!(judgement.map(|judgement| probability(judgement.between)))),
        ("probability_above", json!(judgement.map(|judgement| probability(judgement.above)))),
        ("relative_leak", json!(meaning.map(|meaning| meaning.relative_leak.value))),
        ("hole_in", json!(hole.map(|hole| clean(hole.value / INCH)))),
        ("hole_low_in", json!(hole.map(|hole| clean(hole.low / INCH)))),
        ("hole_high_in", json!(hole.map(|hole| clean(hole.high / INCH)))),
        ("air_flow_L_per_min", json!(meaning.map(|meaning| clean(meaning.air_standard_flow().value * 60e3)))),
        ("clearance_um", json!(figure(|meaning| meaning.clearance_m, 1e6))),
        ("oil_loss_gap_mL_per_min", json!(figure(|meaning| meaning.gap_oil_m3_s, 60e6))),
        ("oil_loss_hole_mL_per_min", json!(figure(|meaning| meaning.hole_oil_m3_s, 60e6))),
    ]
}

/// Returns the digests of a circuit's photos in one cell; none where there are none.
fn photos(record: &Record, circuit: &CircuitRecord) -> Option<String> {
    let of_circuit = record.photos().filter(|(_, of, _)| *of == Some(circuit.circuit.name.as_str()));
    let digests: Vec<_> = of_circuit.map(|(.., photo)| photo.sha256.as_str()).collect();
    (!digests.is_empty()).then(|| digests.join(" "))
}

fn of_decision(record: &Record, circuit: &CircuitRecord) -> ReadingRow {
    let decision = record.decisions.iter().find(|decision| decision.circuit == circuit.circuit.name);
    let repair =
        decision.and_then(|decision| decision.offered.iter().find(|repair| repair.does == decision.decided));
    vec![
        ("decided", json!(decision.map(|decision| &decision.decided))),
        ("decided_parts", json!(repair.and_then(|repair| repair.parts))),
        ("decided_hours", json!(repair.and_then(|repair| repair.hours))),
        ("currency", json!(record.account.prices.currency)),
    ]
}

fn of_bench(record: &Record, reading: &ReadingRecord) -> ReadingRow {
    let calibration = record.calibrations.get(reading.calibration.wrapping_sub(1));
    vec![
        ("plugged_inHg", json!(calibration.map(|calibration| inches(calibration.plugged_pa)))),
        ("through_inHg", json!(calibration.map(|calibration| inches(calibration.through_pa)))),
        ("barometer_inHg", json!(record.barometer.as_ref().map(|barometer| inches(barometer.station_pa)))),
        ("orifice_in", json!(clean(record.rig.orifice.diameter().si() / INCH))),
        ("record_sha256", json!(record.digest)),
    ]
}

/// What tells a spreadsheet that a text is UTF-8 (Unicode 15.0, 23.8, as a signature of UTF-8); else it may
/// guess another encoding.
const BYTE_ORDER_MARK: char = '\u{feff}';

/// Writes rows as comma-separated values (RFC 4180, UTF-8 with a byte-order mark): a header, lines that end in CR LF,
/// empty fields for what is not known.
///
/// A text that a spreadsheet would take for a formula gets an apostrophe in front, so that no record can make a
/// spreadsheet compute.
pub(crate) fn csv(rows: &[ReadingRow]) -> Result<String, csv::Error> {
    let Some(first) = rows.first() else { return Ok(String::new()) };
    let mut writer = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    writer.write_record(first.iter().map(|(name, _)| *name))?;
    for row in rows {
        writer.write_record(row.iter().map(|(_, cell)| match cell {
            Value::Null => String::new(),
            Value::String(text) if text.starts_with(['=', '+', '-', '@', '\t', '\r']) => format!("'{text}"),
            Value::String(text) => text.clone(),
            number => number.to_string(),
        }))?;
    }
    let bytes = writer.into_inner().map_err(csv::IntoInnerError::into_error)?;
    Ok(format!("{BYTE_ORDER_MARK}{}", String::from_utf8_lossy(&bytes)))
}

/// Writes rows as JSON Lines: one object a line, the columns' names for keys, `null` for what is not known.
pub(crate) fn json_lines(rows: &[ReadingRow]) -> String {
    let object = |row: &ReadingRow| {
        let fields: Vec<_> = row.iter().map(|(name, cell)| format!("{}:{cell}", json!(name))).collect();
        format!("{{{}}}\n", fields.join(","))
    };
    rows.iter().map(object).collect()
}
