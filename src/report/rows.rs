use serde::Serialize;

use crate::leak::{Estimate, Interpretation};
use crate::quantity::{INCH, INCH_OF_MERCURY};
use crate::record::{CircuitRecord, Mode, ReadingRecord, Record};

/// One reading as a row of a table; units stand in the columns' names, intervals are 95 %.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[expect(non_snake_case, reason = "a column's name ends in the symbol of its unit")]
pub(crate) struct ReadingRow {
    pub(crate) session: String,
    pub(crate) job: Option<String>,
    pub(crate) mode: Mode,
    pub(crate) finished: String,
    pub(crate) technician: Option<String>,
    pub(crate) procedure: String,
    pub(crate) procedure_version: String,
    pub(crate) unit_tested: Option<String>,
    pub(crate) complaint: Option<String>,
    pub(crate) tests_again: Option<String>,
    pub(crate) amends: Option<String>,
    pub(crate) amended_by: Option<String>,
    pub(crate) circuit: String,
    pub(crate) label: Option<String>,
    pub(crate) trial: bool,
    pub(crate) verdict: String,
    pub(crate) circuit_verdict: Option<String>,
    pub(crate) taken: Option<String>,
    pub(crate) n_takes: usize,
    pub(crate) n_takes_counted: usize,
    pub(crate) reading_inHg: f64,
    pub(crate) standard_reading_inHg: f64,
    pub(crate) standard_reading_low_inHg: f64,
    pub(crate) standard_reading_high_inHg: f64,
    pub(crate) holds_from_inHg: Option<f64>,
    pub(crate) leaks_to_inHg: Option<f64>,
    pub(crate) probability_holds: Option<f64>,
    pub(crate) probability_worn: Option<f64>,
    pub(crate) probability_leaks: Option<f64>,
    pub(crate) relative_leak: f64,
    pub(crate) hole_in: f64,
    pub(crate) hole_low_in: f64,
    pub(crate) hole_high_in: f64,
    pub(crate) air_flow_L_per_min: f64,
    pub(crate) clearance_um: Option<f64>,
    pub(crate) oil_loss_gap_mL_per_min: Option<f64>,
    pub(crate) oil_loss_hole_mL_per_min: Option<f64>,
    pub(crate) decided: Option<String>,
    pub(crate) decided_parts: Option<f64>,
    pub(crate) decided_hours: Option<f64>,
    pub(crate) currency: Option<String>,
    pub(crate) plugged_inHg: Option<f64>,
    pub(crate) through_inHg: Option<f64>,
    pub(crate) barometer_inHg: Option<f64>,
    pub(crate) orifice_in: f64,
    pub(crate) record_sha256: Option<String>,
    pub(crate) as_stored: bool,
}

/// Returns the readings of a record, one row each, in the order taken within each circuit; `amended_by` is the record that
/// amends it, where one does.
pub(crate) fn rows(record: &Record, amended_by: Option<&str>) -> Vec<ReadingRow> {
    let is_as_stored = record.is_as_stored();
    record
        .circuits
        .iter()
        .flat_map(|circuit| circuit.readings.iter().map(move |reading| (circuit, reading)))
        .map(|(circuit, reading)| ReadingRow {
            amended_by: amended_by.map(str::to_owned),
            as_stored: is_as_stored,
            ..row(record, circuit, reading)
        })
        .collect()
}

/// Rounds to what a unit's conversion leaves certain, so that 15 inHg is 15 and not 15.000000000000002.
fn clean(number: f64) -> f64 {
    format!("{number:.12e}").parse().unwrap_or(number)
}

fn row(record: &Record, circuit: &CircuitRecord, reading: &ReadingRecord) -> ReadingRow {
    let inches = |pa: f64| clean(pa / INCH_OF_MERCURY);
    // What is less likely than that is no figure but an artefact.
    let probability = |share: f64| (share * 1e12).round() / 1e12;
    let (meaning, judgement, limits) = (&reading.meaning, reading.judgement, circuit.circuit.limits);
    let calibration = record.calibrations.get(reading.calibration.wrapping_sub(1));
    let millilitres = |flow: Option<Interpretation>| {
        flow?.estimate().map(|estimate: Estimate| clean(estimate.value * 60e6))
    };
    let decision = record.decisions.iter().find(|decision| decision.circuit == circuit.circuit.name);
    let repair =
        decision.and_then(|decision| decision.offered.iter().find(|repair| repair.does == decision.decided));
    let plan = record.plan.as_ref();
    ReadingRow {
        session: record.session.clone(),
        job: record.job.clone(),
        mode: record.mode,
        finished: record.finished.to_string(),
        technician: record.technician.clone(),
        procedure: record.procedure.id.clone(),
        procedure_version: record.procedure.version.clone(),
        unit_tested: record.procedure.unit.clone(),
        complaint: plan.filter(|plan| !plan.complaints.is_empty()).map(|plan| plan.complaints.join("; ")),
        tests_again: plan.and_then(|plan| plan.after.as_ref()).map(|after| after.session.clone()),
        amends: record.amends.as_ref().map(|amends| amends.earlier.session.clone()),
        amended_by: None,
        circuit: circuit.circuit.name.clone(),
        label: reading.label.clone(),
        trial: reading.trial,
        verdict: reading.verdict().to_string(),
        circuit_verdict: circuit.verdict.map(|verdict| verdict.to_string()),
        taken: reading.takes.last().map(|take| take.at.to_string()),
        n_takes: reading.takes.len(),
        n_takes_counted: reading.takes.iter().filter(|take| take.counts).count(),
        reading_inHg: inches(meaning.reading_pa.si()),
        standard_reading_inHg: inches(meaning.standard_reading_pa.value),
        standard_reading_low_inHg: inches(meaning.standard_reading_pa.low),
        standard_reading_high_inHg: inches(meaning.standard_reading_pa.high),
        holds_from_inHg: limits.map(|limits| inches(limits.holds().si())),
        leaks_to_inHg: limits.map(|limits| inches(limits.leaks().si())),
        probability_holds: judgement.map(|judgement| probability(judgement.holds)),
        probability_worn: judgement.map(|judgement| probability(judgement.worn)),
        probability_leaks: judgement.map(|judgement| probability(judgement.leaks)),
        relative_leak: meaning.relative_leak.value,
        hole_in: clean(meaning.hole_m.value / INCH),
        hole_low_in: clean(meaning.hole_m.low / INCH),
        hole_high_in: clean(meaning.hole_m.high / INCH),
        air_flow_L_per_min: clean(meaning.air_standard_flow_m3_s.value * 60e3),
        clearance_um: meaning
            .clearance_m
            .and_then(|clearance| clearance.estimate())
            .map(|clearance| clean(clearance.value * 1e6)),
        oil_loss_gap_mL_per_min: millilitres(meaning.oil_flow_annulus_m3_s),
        oil_loss_hole_mL_per_min: millilitres(meaning.oil_flow_hole_m3_s),
        decided: decision.map(|decision| decision.decided.clone()),
        decided_parts: repair.and_then(|repair| repair.parts),
        decided_hours: repair.and_then(|repair| repair.hours),
        currency: record.account.prices.currency.clone(),
        plugged_inHg: calibration.map(|calibration| inches(calibration.plugged_pa)),
        through_inHg: calibration.map(|calibration| inches(calibration.through_pa)),
        barometer_inHg: record.barometer.as_ref().map(|barometer| inches(barometer.station_pa)),
        orifice_in: clean(record.rig.orifice.diameter().si() / INCH),
        record_sha256: record.digest.clone(),
        as_stored: false,
    }
}

/// Writes rows as comma-separated values (RFC 4180, UTF-8): a header, lines that end in CR LF, empty fields for what
/// is not known.
///
/// A text that a spreadsheet would take for a formula gets an apostrophe in front, so that no record can make a
/// spreadsheet compute.
pub(crate) fn csv(rows: &[ReadingRow]) -> Result<String, csv::Error> {
    let mut plain = csv::Writer::from_writer(Vec::new());
    rows.iter().try_for_each(|row| plain.serialize(row))?;
    let plain = plain.into_inner().map_err(csv::IntoInnerError::into_error)?;
    let mut writer = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    for row in csv::ReaderBuilder::new().has_headers(false).from_reader(plain.as_slice()).records() {
        for cell in &row? {
            let is_number = cell.parse().is_ok_and(f64::is_finite);
            let is_formula = !is_number && cell.starts_with(['=', '+', '-', '@', '\t', '\r']);
            writer.write_field(if is_formula { format!("'{cell}") } else { cell.to_owned() })?;
        }
        writer.write_record(None::<&[u8]>)?;
    }
    let bytes = writer.into_inner().map_err(csv::IntoInnerError::into_error)?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

/// Writes rows as JSON Lines: one object a line, the columns' names for keys, `null` for what is not known.
pub(crate) fn json_lines(rows: &[ReadingRow]) -> serde_json::Result<String> {
    let mut text = String::new();
    for row in rows {
        text += &serde_json::to_string(row)?;
        text.push('\n');
    }
    Ok(text)
}
