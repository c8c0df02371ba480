//! Times one full assessment beside the same in Python, in one run, and compares what both come to.
//!
//! `cargo bench --bench assessment`. The Python beside it needs the packages of `.ci/outside/requirements.txt`; name
//! another interpreter in `SPOOLPROOF_PYTHON`.

#![expect(clippy::print_stdout, reason = "a benchmark shows what it found")]

use std::collections::BTreeMap;
use std::error::Error;
use std::hint::black_box;
use std::process::Command;
use std::time::Instant;

use serde::Deserialize;
use spoolproof::reading::{Assessment, Bench, Context, DEFAULT_CONFIDENCE, Land, LeakKind, Limits, OilState};
use spoolproof::reading::{Calibration, Dial, Oil, Orifice, assess, judge};
use spoolproof::reading::{INCH, INCH_OF_MERCURY, Length, Pressure, Temperature};

/// The best of many short rounds, so that a busy machine counts little.
const N_ROUNDS: usize = 300;
const N_CALLS: usize = 400;

/// Readings from next to the plugged point to nearly none, in inHg.
const READINGS: [f64; 8] = [23.8, 23.0, 20.0, 16.0, 12.0, 8.0, 4.0, 1.5];

fn main() -> Result<(), Box<dyn Error>> {
    let inhg = |number: f64| Pressure::constant(number * INCH_OF_MERCURY);
    // Not the standard rig, whose readings are standard readings.
    let (room, air) = (Pressure::constant(98e3), Temperature::constant(296.15));
    let bench =
        Bench::new(Calibration::new(inhg(24.0), inhg(4.75), Orifice::STANDARD, room, air)?, Dial::USUAL);
    let land = Land::new(Length::constant(0.5 * INCH), Length::constant(0.3 * INCH), None)?;
    let oil = OilState::new(Oil::typical()?, Pressure::constant(1.0e6), Temperature::constant(366.15), None)?;
    let plain = Context::default();
    let full_context = Context { kind: Some(LeakKind::Gap), land: Some(land), oil: Some(oil) };
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
    let (plain, full) = (timed(&plain)?, timed(&full_context)?);
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
    let figures: Vec<_> = readings
        .iter()
        .map(|reading| figures(&assess(&[*reading], &bench, &full_context)?))
        .collect::<Result<_, Box<dyn Error>>>()?;
    for (library, told) in serde_json::from_slice::<BTreeMap<String, Told>>(&output.stdout)? {
        println!(
            "the same with land and oil in Python, {library:13}: {:5.0} µs, {:.0} times",
            told.microseconds,
            told.microseconds / full
        );
        let both = || figures.iter().flatten().zip(told.figures.iter().flatten());
        let worst = |off: fn(&[f64; 3], &[f64; 3]) -> f64| both().map(|(a, b)| off(a, b)).fold(0.0, f64::max);
        println!(
            "  values differ by {:.1e} at most, ends of intervals by {:.1e} of these",
            worst(|a, b| (a[0] / b[0] - 1.0).abs()),
            worst(|a, b| (a[1] - b[1]).abs().max((a[2] - b[2]).abs()) / (a[2] - a[1]))
        );
    }
    Ok(())
}

/// What Python prints of a library.
#[derive(Deserialize)]
struct Told {
    microseconds: f64,
    figures: Vec<Vec<[f64; 3]>>,
}

/// Value, low and high of what both work out, by its name in a record.
fn figures(assessment: &Assessment) -> Result<Vec<[f64; 3]>, Box<dyn Error>> {
    const NAMES: [&str; 7] = [
        "/relative_leak",
        "/hole_m",
        "/standard_reading_pa",
        "/air_kg_s",
        "/clearance_m",
        "/gap_oil_m3_s",
        "/hole_oil_m3_s",
    ];
    let told = serde_json::to_value(assessment)?;
    let figure = |name: &str| {
        let figure = told.pointer(name)?;
        Some([figure["value"].as_f64()?, figure["low"].as_f64()?, figure["high"].as_f64()?])
    };
    NAMES.iter().map(|name| figure(name).ok_or_else(|| format!("no figure {name}").into())).collect()
}
