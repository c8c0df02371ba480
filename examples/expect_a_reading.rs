//! Says what a rig will show for a drilled hole and for a worn land, and prints its curve, from Rust without a procedure.

use std::error::Error;

use spoolproof::reading::{Bench, Land, curve, expect_clearance, expect_hole};
use spoolproof::reading::{Calibration, Dial, Grade};
use spoolproof::reading::{INCH, INCH_OF_MERCURY, Length, Pressure};

#[expect(clippy::print_stdout, reason = "an example shows what it found")]
fn main() -> Result<(), Box<dyn Error>> {
    let inhg = |number: f64| Pressure::constant(number * INCH_OF_MERCURY);
    let inches = |pascal: f64| pascal / INCH_OF_MERCURY;
    let dial = Dial::new(Grade::Asme1A, inhg(30.0), inhg(0.2))?;
    let bench = Bench::new(Calibration::standard(), dial);

    let reading = expect_hole(Length::constant(0.020 * INCH), &bench)?;
    println!("a hole of 0.020 in: {:.2} to {:.2} inHg", inches(reading.low), inches(reading.high));
    let land = Land::new(Length::constant(0.5 * INCH), Length::constant(0.3 * INCH), 0.0)?;
    let reading = expect_clearance(Length::constant(25e-6), &land, &bench)?;
    println!("a clearance of 25 µm: {:.2} to {:.2} inHg", inches(reading.low), inches(reading.high));
    for row in curve(&bench)? {
        println!("{:>24}  {:5.2} inHg", row.drill.to_string(), inches(row.reading_pa.value));
    }
    Ok(())
}
