use serde::Serialize;

use super::CurveSheet;
use super::sheet::in_hg;

#[derive(Serialize)]
#[expect(non_snake_case, reason = "the names of the columns carry their units as they are written")]
struct Row {
    drill: &'static str,
    hole_in: f64,
    hole_mm: f64,
    relative_leak: f64,
    reading_inHg: f64,
    reading_low_inHg: f64,
    reading_high_inHg: f64,
    reading_kPa: f64,
    standard_reading_inHg: f64,
    air_l_min: f64,
}

/// Writes the curve as comma-separated values (RFC 4180, UTF-8): a header, a line for each drill, lines that end in
/// CR LF; the units are in the names of the columns.
///
/// # Errors
/// Where a row cannot be written, which no row makes happen.
pub fn curve_csv(sheet: &CurveSheet) -> Result<String, csv::Error> {
    let mut writer = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    for row in &sheet.rows {
        let hole = row.drill.diameter();
        writer.serialize(Row {
            drill: row.drill.name,
            hole_in: row.drill.inches,
            hole_mm: rounded(hole.si() * 1e3, 5),
            relative_leak: rounded(row.leak, 5),
            reading_inHg: rounded(in_hg(row.reading_pa.value), 3),
            reading_low_inHg: rounded(in_hg(row.reading_pa.low), 3),
            reading_high_inHg: rounded(in_hg(row.reading_pa.high), 3),
            reading_kPa: rounded(row.reading_pa.value / 1e3, 3),
            standard_reading_inHg: rounded(in_hg(row.standard_reading_pa), 3),
            air_l_min: rounded(row.air_standard_flow_m3_s * 60e3, 4),
        })?;
    }
    let bytes = writer.into_inner().map_err(csv::IntoInnerError::into_error)?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

/// Rounds to so many decimals; a table says no more than it knows.
fn rounded(number: f64, decimals: i32) -> f64 {
    let scale = 10.0_f64.powi(decimals);
    (number * scale).round() / scale
}
