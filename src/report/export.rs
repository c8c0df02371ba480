use super::Row;

/// Writes rows as comma-separated values (RFC 4180, UTF-8): a header, lines that end in CR LF, empty fields for what
/// is not known.
///
/// A text that a spreadsheet would take for a formula gets an apostrophe in front, so that no record can make a
/// spreadsheet compute.
///
/// # Errors
/// Where a row cannot be written, which no row makes happen.
pub fn csv(rows: &[Row]) -> Result<String, csv::Error> {
    let mut writer = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    for row in rows {
        writer.serialize(harmless(row.clone()))?;
    }
    let bytes = writer.into_inner().map_err(csv::IntoInnerError::into_error)?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

/// Writes rows as JSON Lines: one object a line, the columns' names for keys, `null` for what is not known.
///
/// # Errors
/// Where a row cannot be written, which no row makes happen.
pub fn json_lines(rows: &[Row]) -> serde_json::Result<String> {
    let mut text = String::new();
    for row in rows {
        text += &serde_json::to_string(row)?;
        text.push('\n');
    }
    Ok(text)
}

fn harmless(mut row: Row) -> Row {
    let Row {
        session,
        job,
        technician,
        procedure,
        procedure_version,
        unit_tested,
        complaint,
        tests_again,
        amends,
        amended_by,
        circuit,
        label,
        decided,
        currency,
        ..
    } = &mut row;
    let texts = [session, procedure, procedure_version, circuit].into_iter().chain(
        [job, technician, unit_tested, complaint, tests_again, amends, amended_by, label, decided, currency]
            .into_iter()
            .flatten(),
    );
    for text in texts {
        if text.starts_with(['=', '+', '-', '@', '\t', '\r']) {
            text.insert(0, '\'');
        }
    }
    row
}
