//! Times one full assessment beside the same propagation in Python, in one run.
//!
//! `cargo bench --bench assessment`. The Python beside it needs the packages of `.ci/outside/requirements.txt`; name
//! another interpreter in `SPOOLPROOF_PYTHON`.

#![expect(clippy::print_stdout, reason = "a benchmark shows what it found")]

use std::error::Error;
use std::hint::black_box;
use std::process::Command;
use std::time::Instant;

use spoolproof::reading::Oil;
use spoolproof::reading::{Bench, Context, DEFAULT_CONFIDENCE, Land, Limits, OilState, assess, judge};
use spoolproof::reading::{Calibration, Dial};
use spoolproof::reading::{INCH, INCH_OF_MERCURY, Length, Pressure, Temperature};

/// The best of many short rounds, so that a busy machine counts little.
const N_ROUNDS: usize = 300;
const N_CALLS: usize = 400;

/// Readings from next to the plugged point to nearly none, in inHg.
const READINGS: [f64; 8] = [24.8, 24.0, 21.0, 17.0, 12.5, 8.0, 4.0, 1.5];

fn main() -> Result<(), Box<dyn Error>> {
    let inhg = |number: f64| Pressure::constant(number * INCH_OF_MERCURY);
    let bench = Bench::new(Calibration::standard(), Dial::USUAL);
    let land = Land::new(Length::constant(0.5 * INCH), Length::constant(0.3 * INCH), 0.0)?;
    let oil = OilState::new(Oil::typical()?, Pressure::constant(1.0e6), Temperature::constant(366.15), None)?;
    let plain = Context::default();
    let full = Context { kind: None, land: Some(land), oil: Some(oil) };
    let limits = Limits::new(inhg(20.0), inhg(15.0))?;
    let readings = READINGS.map(inhg);

    let timed = |context: &Context| -> Result<f64, Box<dyn Error>> {
        let mut best = f64::INFINITY;
        for _ in 0..N_ROUNDS {
            let start = Instant::now();
            for call in 0..N_CALLS {
                let reading = black_box(readings[call % readings.len()]);
                black_box(assess(&[reading], &bench, context)?);
            }
            best = best.min(start.elapsed().as_secs_f64() / N_CALLS as f64);
        }
        Ok(best * 1e6)
    };
    let (plain, full) = (timed(&plain)?, timed(&full)?);
    let assessment = assess(&readings[2..3], &bench, &Context::default())?;
    let mut judged = f64::INFINITY;
    for _ in 0..N_ROUNDS {
        let start = Instant::now();
        for _ in 0..N_CALLS {
            black_box(judge(black_box(&assessment), &limits, DEFAULT_CONFIDENCE));
        }
        judged = judged.min(start.elapsed().as_secs_f64() / N_CALLS as f64 * 1e6);
    }
    println!("assessment of a reading:                            {plain:8.2} µs");
    println!("  with the clearance of a land and oil losses:       {full:7.2} µs");
    println!("verdict on it:                                      {judged:8.2} µs");

    let python = std::env::var("SPOOLPROOF_PYTHON").unwrap_or_else(|_| "python3".to_owned());
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/benches/propagation.py");
    let output =
        Command::new(&python).arg(script).args(READINGS.map(|reading| reading.to_string())).output()?;
    if !output.status.success() {
        println!("no comparison: {python} failed");
        println!("{}", String::from_utf8_lossy(&output.stderr).trim_end());
        return Ok(());
    }
    for line in String::from_utf8(output.stdout)?.lines() {
        let (library, microseconds) = line.split_once(' ').ok_or("a line without a time")?;
        let microseconds: f64 = microseconds.parse()?;
        println!(
            "the same with land and oil in Python, {library:13}: {microseconds:5.0} µs, {:.0} times",
            microseconds / full
        );
    }
    Ok(())
}
