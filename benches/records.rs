//! Times audit, index and history beside what somebody would take instead, in one run, on the same generated records.
//!
//! `cargo bench --bench records`. Beside it run Node with ajv and Python with DuckDB; name other ones in
//! `SPOOLPROOF_NODE_MODULES` (a folder that holds `node_modules`) and `SPOOLPROOF_PYTHON`.
#![expect(
    clippy::unwrap_used,
    clippy::print_stdout,
    reason = "a benchmark shows what it found and stops at a surprise"
)]

#[path = "../tests/support/generated.rs"]
mod generated;

use std::path::Path;
use std::process::Command;
use std::time::Instant;

use serde::de::IgnoredAny;
use sha2::{Digest, Sha256};

use generated::{N_CIRCUITS, Template, drawn, session, store};
use spoolproof::history::{Gathered, GroupBy, Index, Tests, gather};
use spoolproof::leak::Limits;
use spoolproof::quantity::{INCH_OF_MERCURY, Pressure};
use spoolproof::record::{Shop, across, audit_file};

/// Records on the disk.
const N_RECORDS: usize = 20_000;
/// Records of an index of a million readings.
const N_GATHERED: usize = 1_000_000_usize.div_ceil(N_CIRCUITS);
/// Units that those are of.
const N_UNITS: usize = 8;

fn main() {
    let n_records =
        std::env::var("SPOOLPROOF_RECORDS").ok().and_then(|n| n.parse().ok()).unwrap_or(N_RECORDS);
    let folder = tempfile::tempdir().unwrap();
    let shop = Shop::open(folder.path()).unwrap();
    let template = Template::new();
    let numbers: Vec<usize> = (0..n_records).collect();
    across(&numbers, |number| store(&shop.records(), &template.record(&drawn(*number, N_UNITS))));
    let size: u64 = numbers.iter().map(|number| std::fs::metadata(path(&shop, *number)).unwrap().len()).sum();
    println!(
        "{n_records} records of {N_CIRCUITS} circuits, {:.1} KB each",
        size as f64 / n_records as f64 / 1e3
    );

    audits(&shop, &numbers);
    index(&shop, n_records);
    questions();
}

fn path(shop: &Shop, number: usize) -> std::path::PathBuf {
    shop.records().join(format!("{}.json", session(number)))
}

fn audits(shop: &Shop, numbers: &[usize]) {
    let audit = |number: &usize| audit_file(&path(shop, *number)).unwrap().is_in_order();
    on_one_and_all("audit", numbers, audit);
    // No audit can do with less than this, nor scale better.
    let least = |number: &usize| {
        let bytes = std::fs::read(path(shop, *number)).unwrap();
        let is_json = serde_json::from_slice::<IgnoredAny>(&bytes).is_ok();
        is_json && Sha256::digest(&bytes) != Sha256::digest([])
    };
    on_one_and_all("  read, skipped through and hashed alone", numbers, least);
    let modules =
        std::env::var("SPOOLPROOF_NODE_MODULES").unwrap_or_else(|_| "target/outside-node".to_owned());
    beside("node", &["benches/records_ajv.mjs", &modules, &shop.records().to_string_lossy()]);
}

/// Times what is done to each record, and holds it to be true.
fn on_one_and_all(what: &str, numbers: &[usize], done: impl Fn(&usize) -> bool + Sync) {
    let start = Instant::now();
    assert!(numbers.iter().all(&done));
    let one = numbers.len() as f64 / start.elapsed().as_secs_f64();
    let start = Instant::now();
    assert!(across(numbers, &done).into_iter().all(|is_true| is_true));
    let all = numbers.len() as f64 / start.elapsed().as_secs_f64();
    println!("{what}: {one:.0} records/s on one core, {all:.0} on all ({:.2} times)", all / one);
}

fn index(shop: &Shop, n_records: usize) {
    let mut index = Index::open(shop).unwrap();
    let start = Instant::now();
    let update = index.update(&|| false, &|_| {}).unwrap();
    assert_eq!(update.added, n_records);
    println!("index: built in {:.2} s on all cores", start.elapsed().as_secs_f64());
    let start = Instant::now();
    index.update(&|| false, &|_| {}).unwrap();
    println!("index: found to be up to date in {:.2} ms", start.elapsed().as_secs_f64() * 1e3);
    beside(&python(), &["benches/records_duckdb.py", "read", &shop.records().to_string_lossy()]);
}

/// Asks every question of an index of a million readings.
fn questions() {
    for n_units in [N_UNITS, 1] {
        let folder = tempfile::tempdir().unwrap();
        let shop = Shop::open(folder.path()).unwrap();
        let mut index = Index::open(&shop).unwrap();
        let sample = sample();
        let numbers: Vec<usize> = (0..N_GATHERED).collect();
        for part in numbers.chunks(4096) {
            index.add(part.iter().map(|number| varied(&sample, *number, n_units)).collect()).unwrap();
        }
        println!("questions at {} readings of {n_units} units:", N_GATHERED * N_CIRCUITS);
        let unit = "Merle M1";
        let limits = Limits::new(inhg(21.0), inhg(16.0)).unwrap();
        asked("which circuits fail most", || {
            index.groups(GroupBy::Circuit, Tests::First, unit, None).unwrap().len()
        });
        asked("by technician", || index.groups(GroupBy::Technician, Tests::First, unit, None).unwrap().len());
        asked("by month, one circuit", || {
            index.groups(GroupBy::Month, Tests::First, unit, Some("circuit 3")).unwrap().len()
        });
        asked("spread of a circuit", || {
            index.spread_of(Tests::First, unit, "circuit 3").unwrap().unwrap().bins.len()
        });
        asked("before and after repairs", || index.repairs(unit).unwrap().len());
        asked("judged by other limits", || {
            index.judged_by(unit, "circuit 3", &limits).unwrap().changed.len()
        });
        asked("savings", || index.savings().unwrap().len());
        asked("drift of a rig", || index.drift(&sample.rig, 100).unwrap().len());
        drop(index);
        let database = folder.path().join("history.sqlite");
        beside(&python(), &["benches/records_duckdb.py", "ask", &database.to_string_lossy()]);
    }
}

/// Times a question: the middle of eleven.
fn asked(question: &str, ask: impl Fn() -> usize) {
    let mut times: Vec<f64> = Vec::new();
    let mut n_rows = 0;
    for _ in 0..11 {
        let start = Instant::now();
        n_rows = ask();
        times.push(start.elapsed().as_secs_f64() * 1e3);
    }
    times.sort_by(f64::total_cmp);
    println!("  {question:<26} {:8.2} ms ({n_rows} rows)", times[5]);
}

fn sample() -> Gathered {
    let folder = tempfile::tempdir().unwrap();
    let record = Template::new().record(&drawn(0, 1));
    store(folder.path(), &record);
    gather(&folder.path().join(format!("{}.json", record.session))).unwrap()
}

/// Varies a gathered record as the generated ones are varied.
fn varied(sample: &Gathered, number: usize, n_units: usize) -> Gathered {
    let wanted = drawn(number, n_units);
    let mut record = sample.clone();
    record.session = session(number);
    record.finished += 7200 * number as i64 / 4;
    let months = number * 72 / N_GATHERED;
    record.month = format!("{}-{:02}", 2021 + months / 12, months % 12 + 1);
    record.unit = wanted.unit;
    record.technician = wanted.technician;
    record.after = wanted.after.map(|earlier| earlier.session);
    for (circuit, reading) in record.circuits.iter_mut().zip(&wanted.readings) {
        let standard = reading * INCH_OF_MERCURY;
        for taken in &mut circuit.readings {
            taken.standard = standard;
        }
        let spread = circuit.readings.first().unwrap();
        let spread = spoolproof::leak::Spread { normal: spread.normal, rectangle: spread.rectangle };
        circuit.verdict = circuit
            .limits
            .map(|limits| spoolproof::leak::verdict(standard, &spread, &limits, record.confidence));
        circuit.decided = (*reading < 19.0).then(|| "ream and oversize valve".to_owned());
    }
    for check in &mut record.checks {
        check.at += 1800 * number as i64;
    }
    record
}

fn inhg(number: f64) -> Pressure {
    Pressure::constant(number * INCH_OF_MERCURY)
}

fn python() -> String {
    std::env::var("SPOOLPROOF_PYTHON").unwrap_or_else(|_| "target/outside/bin/python".to_owned())
}

/// Runs what stands beside, which prints its own lines.
fn beside(program: &str, arguments: &[&str]) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR"));
    let done = Command::new(program).args(arguments).current_dir(folder).status();
    if !done.as_ref().is_ok_and(std::process::ExitStatus::success) {
        println!("  ({program} {} did not run: {done:?})", arguments[0]);
    }
}
