//! Judges one reading of a circuit from Rust, without a procedure.

use std::error::Error;

use spoolproof::reading::Oil;
use spoolproof::reading::{Barometer, BarometerSource};
use spoolproof::reading::{Bench, Context, Land, Limits, OilState, assess, judge};
use spoolproof::reading::{Calibration, Dial, Orifice};
use spoolproof::reading::{INCH, INCH_OF_MERCURY, Length, Pressure, Temperature};

#[expect(clippy::print_stdout, reason = "an example shows what it found")]
fn main() -> Result<(), Box<dyn Error>> {
    let inhg = |number: f64| Pressure::constant(number * INCH_OF_MERCURY);
    let celsius = |number: f64| Temperature::constant(number + 273.15);

    let barometer = Barometer::new(BarometerSource::Elevation { elevation: Length::constant(1600.0) })?;
    let calibration =
        Calibration::new(inhg(20.6), inhg(4.1), Orifice::STANDARD, barometer.station(), celsius(22.0))?;
    let bench = Bench::new(calibration, Dial::USUAL).with_barometer_uncertainty(barometer.uncertainty());
    let land = Land::new(Length::constant(0.5 * INCH), Length::constant(0.3 * INCH), 0.0)?;
    let oil = OilState::new(Oil::typical()?, Pressure::constant(1.0e6), celsius(93.0), None)?;
    let context = Context { kind: None, land: Some(land), oil: Some(oil) };

    let assessment = assess(&[inhg(13.0), inhg(13.2)], &bench, &context)?;
    println!("{}", serde_json::to_string_pretty(&assessment)?);
    let judgement = judge(&assessment, &Limits::new(inhg(20.0), inhg(15.0))?, 0.95);
    println!("{}", serde_json::to_string_pretty(&judgement)?);
    if let Some(advice) = judgement.advice {
        println!("{advice}");
    }
    Ok(())
}
