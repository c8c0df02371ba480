use super::CurveSheet;
use super::sheet::in_hg;
use crate::console::Screen;

/// Shows the curve as a table for people.
pub fn curve_table(sheet: &CurveSheet, screen: &mut Screen) {
    screen.paragraph(0, &format!("Readings against holes: {}.", sheet.rig()));
    screen.line("");
    screen.line(" drill     hole              leak   reading  (95 % of them)    standard   air");
    screen.line("           in      mm        -      inHg                       inHg       l/min");
    for row in &sheet.rows {
        let reading = &row.reading_pa;
        screen.line(&format!(
            " {:>5}  {:.4}  {:.3}  {:>8.4}  {:>8.2}  ({:.2} to {:.2}){}  {:>8.2}  {:>8.2}",
            row.drill.name,
            row.drill.inches,
            row.drill.diameter().si() * 1e3,
            row.leak,
            in_hg(reading.value),
            in_hg(reading.low),
            in_hg(reading.high),
            pad(reading.low, reading.high),
            in_hg(row.standard_reading_pa),
            row.air_standard_flow_m3_s * 60e3,
        ));
    }
    screen.line("");
    screen.paragraph(0, &sheet.basis("in the range given"));
}

/// Blanks that keep the columns behind a range of readings in line.
fn pad(low: f64, high: f64) -> String {
    let digits = |pascal: f64| if in_hg(pascal) < 9.995 { 4 } else { 5 };
    " ".repeat(10 - digits(low) - digits(high))
}
