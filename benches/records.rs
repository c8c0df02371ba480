//! Times audit, index and history beside what somebody would take instead, in one run, on the same records.
//!
//! `cargo bench --bench records`. Beside it run Node with ajv and Python with DuckDB; name other ones in
//! `SPOOLPROOF_NODE_MODULES` (a folder that holds `node_modules`) and `SPOOLPROOF_PYTHON`. The questions of the history are
//! the program's own texts, asked of a million readings: a small shop's records, taken up by the program and multiplied.
#![expect(
    clippy::unwrap_used,
    clippy::print_stdout,
    reason = "a benchmark shows what it found and stops at a surprise"
)]

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::thread;
use std::time::{Duration, Instant};

use rusqlite::{Connection, ToSql};
use serde::de::IgnoredAny;
use serde_json::{Value, json};
use sha2::{Digest, Sha256};
use spoolproof::records::{Auditor, Record, document};

/// That of the program.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

/// Records on the disk.
const N_RECORDS: usize = 20_000;
/// Records of the small shop whose index is multiplied.
const N_MULTIPLIED: usize = 1_000;
const N_CIRCUITS: usize = 12;
const N_READINGS: usize = 1_000_000;
/// Units of a shop with many; the other shop has one.
const N_UNITS: usize = 8;

/// Each question: its name, its text, its file, and its parameters. It is asked about all records, so that no table is narrowed.
macro_rules! question {
    ($name:literal, $file:literal, $($parameter:expr),*) => {
        ($name, include_str!(concat!("../src/history/sql/", $file)), $file, json!([$($parameter),*]))
    };
}

fn main() {
    let n_records =
        std::env::var("SPOOLPROOF_RECORDS").ok().and_then(|n| n.parse().ok()).unwrap_or(N_RECORDS);
    let (shop, record) = rehearsed();
    let sample: Value = serde_json::from_slice(&std::fs::read(&record).unwrap()).unwrap();
    audits("nobody signed", &record, n_records);
    audits("is signed", &signed(shop.path(), &record), n_records);
    index(&sample, n_records);
    for n_units in [N_UNITS, 1] {
        questions(&sample, n_units);
    }
    drop(shop);
}

/// Walks an invented unit on the simulated rig; returns the shop and the record.
fn rehearsed() -> (tempfile::TempDir, PathBuf) {
    let shop = tempfile::tempdir().unwrap();
    let mut script =
        "procedure(#{ title: \"Merle M1\", unit: \"Merle M1\", version: \"1.0.0\" });\n".to_owned();
    for n in 1..=N_CIRCUITS {
        script += &format!(
            "let c{n} = circuit(#{{ name: \"circuit {n}\", port: \"{n}\", holds: 20.inHg, leaks: 15.inHg, \
             symptoms: [\"late upshift\"], land: #{{ diameter: 12.7.mm, length: 7.6.mm }}, \
             repairs: [#{{ does: \"ream and oversize valve\", parts: 48, hours: 0.6 }}] }});\ntest(c{n});\n"
        );
    }
    let path = shop.path().join("merle-m1.rhai");
    std::fs::write(&path, script).unwrap();
    let mut command = program(shop.path());
    command.arg("rehearse").arg(&path).args(["--seed", "1"]);
    for n in 1..=N_CIRCUITS {
        command.arg("--leak").arg(format!("circuit {n}=0.006in"));
    }
    assert!(command.status().unwrap().success());
    let mut records = std::fs::read_dir(shop.path().join("rehearsals/records")).unwrap();
    let record = records.next().unwrap().unwrap().path();
    (shop, record)
}

fn program(shop: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_spoolproof"));
    command.arg("--shop").arg(shop).stdin(Stdio::null()).stdout(Stdio::null());
    command
}

/// Puts the record into the shop as one of its bench, signed: nobody signs a rehearsal.
fn signed(shop: &Path, record: &Path) -> PathBuf {
    let mut record: Value = serde_json::from_slice(&std::fs::read(record).unwrap()).unwrap();
    record["mode"] = "bench".into();
    record["journal"][0]["opened"]["mode"] = "bench".into();
    let record: Record = serde_json::from_value(record).unwrap();
    let path = shop.join("records").join(format!("{}.json", record.session));
    std::fs::create_dir_all(shop.join("records")).unwrap();
    std::fs::write(&path, document(&record).unwrap()).unwrap();
    assert!(program(shop).args(["records", "sign", "--as", "North Bench"]).status().unwrap().success());
    path
}

/// Audits copies of a record, each a file of its own, and has others read the same files.
fn audits(which: &str, record: &Path, n_records: usize) {
    let bytes = std::fs::read(record).unwrap();
    let size = bytes.len() as f64 / 1e3;
    println!("a record that {which}, of {N_CIRCUITS} circuits and {size:.1} KB, as {n_records} files");
    let folder = tempfile::tempdir().unwrap();
    let copy = |n: usize| folder.path().join(format!("{n}.json"));
    let paths: Vec<PathBuf> = (0..n_records).map(copy).collect();
    paths.iter().for_each(|path| std::fs::write(path, &bytes).unwrap());
    on_one_and_all("  audit", &paths, Auditor::default, |auditor, some| {
        auditor.audit_files(some, |_, audit| audit.unwrap().is_in_order()).into_iter().all(|is_so| is_so)
    });
    // No audit can do with less than this, nor scale better.
    on_one_and_all(
        "  read, skipped through and hashed alone",
        &paths,
        || (),
        |(), some| {
            some.iter().all(|path| {
                let bytes = std::fs::read(path).unwrap();
                let is_json = serde_json::from_slice::<IgnoredAny>(&bytes).is_ok();
                is_json && Sha256::digest(&bytes) != Sha256::digest([])
            })
        },
    );
    beside("node", &["benches/records_ajv.mjs", &node_modules(), &folder.path().to_string_lossy()], "");
}

/// Times what is done for some paths at a time, with something that each core begins with, and holds it to be true.
fn on_one_and_all<S>(
    what: &str,
    paths: &[PathBuf],
    begin: impl Fn() -> S + Sync,
    done: impl Fn(&mut S, &[PathBuf]) -> bool + Sync,
) {
    let n = paths.len();
    let groups: Vec<&[PathBuf]> = paths.chunks(Auditor::AT_A_TIME).collect();
    let start = Instant::now();
    let mut own = begin();
    assert!(groups.iter().all(|some| done(&mut own, some)));
    let one = n as f64 / start.elapsed().as_secs_f64();
    let start = Instant::now();
    on_all_cores(groups.len(), &begin, |own, at| assert!(done(own, groups[at])));
    let all = n as f64 / start.elapsed().as_secs_f64();
    println!("{what}: {one:.0} records/s on one core, {all:.0} on all ({:.2} times)", all / one);
}

fn on_all_cores<S>(n: usize, begin: impl Fn() -> S + Sync, done: impl Fn(&mut S, usize) + Sync) {
    let n_cores = thread::available_parallelism().map_or(1, |n| n.get());
    thread::scope(|scope| {
        for core in 0..n_cores {
            let (begin, done) = (&begin, &done);
            scope.spawn(move || {
                let mut own = begin();
                (core..n).step_by(n_cores).for_each(|at| done(&mut own, at));
            });
        }
    });
}

fn index(sample: &Value, n_records: usize) {
    let shop = shop_of(sample, n_records, N_UNITS);
    let rebuild = || assert!(program(shop.path()).args(["history", "rebuild"]).status().unwrap().success());
    let start = Instant::now();
    rebuild();
    println!("index of {n_records} records: built in {:.2} s on all cores", start.elapsed().as_secs_f64());
    let records = shop.path().join("records");
    beside(&python(), &["benches/records_duckdb.py", "read", &records.to_string_lossy()], "");
}

/// Makes a shop with records of some units that are like one, each with other readings, people and dates.
fn shop_of(sample: &Value, n_records: usize, n_units: usize) -> tempfile::TempDir {
    let shop = tempfile::tempdir().unwrap();
    let folder = shop.path().join("records");
    std::fs::create_dir(&folder).unwrap();
    on_all_cores(
        n_records,
        || (),
        |(), number| {
            let record: Record = serde_json::from_value(varied(sample.clone(), number, n_units)).unwrap();
            let text = document(&record).unwrap();
            std::fs::write(folder.join(format!("{}.json", session(number))), text).unwrap();
        },
    );
    shop
}

fn session(number: usize) -> String {
    format!("20210104-080000-merle-{number:07}")
}

/// Varies a record; one in ten tests again, after its repair, the unit of the one nine before it.
fn varied(mut record: Value, number: usize, n_units: usize) -> Value {
    let follows = number % 10 == 9;
    let first = if follows { number - 9 } else { number };
    let unit = (drawn(first as u64) * n_units as f64) as usize + 1;
    record["session"] = session(number).into();
    record["mode"] = "bench".into();
    record["procedure"]["unit"] = format!("Merle M{unit}").into();
    record["technician"] = ["Ana", "Bo", "Chidi", "Dara", "Eik"][number * 7 % 5].into();
    if follows {
        let after = json!({ "session": session(first), "digest": "0".repeat(64) });
        record["plan"] =
            json!({ "after": after, "circuits": [{ "circuit": "circuit 1", "because": ["worn"] }] });
    }
    let mut decisions = Vec::new();
    for (at, circuit) in record["circuits"].as_array_mut().unwrap().iter_mut().enumerate() {
        let of_reading = (number * N_CIRCUITS + at) as u64 * 3 + 1_000_000_007;
        let low = !follows && drawn(of_reading) < 0.15;
        let centre = if follows { 22.5 } else { 22.0 - 0.4 * at as f64 };
        let scatter = drawn(of_reading + 1) + drawn(of_reading + 2) - 1.0;
        let inhg = centre + scatter - if low { 8.0 } else { 0.0 };
        let verdict = match inhg {
            20.4.. => "holds",
            19.6.. => "retest",
            15.4.. => "worn",
            14.6.. => "retest",
            _ => "leaks",
        };
        circuit["verdict"] = verdict.into();
        circuit["readings"][0]["meaning"]["standard_reading_pa"]["value"] = (inhg * 3386.389).into();
        if inhg < 19.0 {
            let (circuit, offered) = (&circuit["circuit"]["name"], &circuit["circuit"]["repairs"]);
            decisions.push(json!({ "circuit": circuit, "offered": offered, "decided": offered[0]["does"] }));
        }
    }
    record["account"]["total"] = (102.0 * decisions.len() as f64).into();
    record["account"]["prices"]["replacement"] = 700.0.into();
    // What there is none of is left out of a record.
    if !decisions.is_empty() {
        record["decisions"] = decisions.into();
    }
    record
}

/// A number from 0 to 1 that looks like chance and is always the same (SplitMix64).
fn drawn(seed: u64) -> f64 {
    let mut z = seed.wrapping_mul(0x9e37_79b9_7f4a_7c15);
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
}

/// Asks every question of an index of a million readings.
fn questions(sample: &Value, n_units: usize) {
    let shop = shop_of(sample, N_MULTIPLIED, n_units);
    // Until its folder is some seconds old, the index looks again which files are in it.
    thread::sleep(Duration::from_secs(3));
    assert!(program(shop.path()).args(["history", "rebuild"]).status().unwrap().success());
    let database = shop.path().join("history.sqlite");
    let connection = Connection::open(&database).unwrap();
    multiply(&connection, N_READINGS.div_ceil(N_MULTIPLIED * N_CIRCUITS));
    let n: usize = connection.query_row("SELECT COUNT(*) FROM reading", [], |row| row.get(0)).unwrap();
    let unit = "Merle M1";
    let rig: String = connection.query_row("SELECT MIN(rig) FROM record", [], |row| row.get(0)).unwrap();
    let asked = [
        question!("which circuits fail most", "failing.sql", unit, false),
        question!("by technician", "by.sql", unit, false, "technician"),
        question!("by month, one circuit", "by_of_circuit.sql", unit, false, "month", "circuit 3"),
        question!("spread of a circuit", "spread.sql", unit, "circuit 3", false),
        question!("before and after repairs", "repairs.sql", unit),
        question!("judged by other limits", "limits.sql", unit, "circuit 3"),
        question!("limits from good units", "good.sql", unit, "circuit 3"),
        question!("savings of the shop", "savings.sql",),
        question!("drift of a rig", "drift.sql", rig, 100),
        question!("a class", "class.sql", unit),
    ];
    println!("questions at {n} readings of {n_units} units, the text alone:");
    for (name, sql, _, parameters) in &asked {
        let (ms, n_rows) = middle(|| rows(&connection, sql, parameters.as_array().unwrap()));
        println!("  {name:<26} {ms:8.2} ms ({n_rows} rows)");
    }
    drop(connection);
    println!("the whole command:");
    for question in ["failing", "by technician", "spread", "repairs", "limits", "savings", "drift"] {
        let mut command = program(shop.path());
        command.arg("history").args(question.split(' '));
        match question {
            "limits" => command.args(["circuit 3", "--holds", "21", "--leaks", "16", "--unit", unit]),
            "spread" => command.args(["circuit 3", "--unit", unit]),
            "savings" | "drift" => &mut command,
            _ => command.args(["--unit", unit]),
        };
        let (ms, _) = middle(|| usize::from(command.status().unwrap().success()));
        println!("  history {question:<18} {ms:8.2} ms");
    }
    let questions: Vec<Value> = asked
        .iter()
        .map(|(name, _, file, parameters)| json!({ "name": name, "file": file, "parameters": parameters }))
        .collect();
    let arguments = ["benches/records_duckdb.py", "ask", &database.to_string_lossy()];
    beside(&python(), &arguments, &json!(questions).to_string());
}

/// Multiplies what is in an index, each time some weeks later and with other readings.
fn multiply(connection: &Connection, times: usize) {
    connection.execute_batch("PRAGMA synchronous = OFF; BEGIN").unwrap();
    for k in 1..times {
        let months = k * 72 / times;
        let month = format!("{}-{:02}", 2021 + months / 12, months % 12 + 1);
        let (from, later) = (k * N_MULTIPLIED, k * 2_000_000);
        let name = |column: &str| format!("{column} || '-{k}'");
        let (session, family, after, follows) =
            (name("session"), name("family"), name("after"), name("follows"));
        let shift = drawn(k as u64) * 200.0 - 100.0;
        connection
            .execute_batch(&format!(
                "INSERT INTO record SELECT id + {from}, bench, {session}, digest, amends, {family}, counts, {after}, {follows},
                     finished + {later}, '{month}-01', unit, technician, rig, confidence, job, held_back_by, n_holds, n_right, n_worn, n_leaks,
                     n_open, n_tight, n_retest, n_unjudged, n_unfitted, n_untested, n_left, readings, total + {shift}, differing FROM record WHERE id <= {N_MULTIPLIED};
                 INSERT INTO test SELECT bench, record + {from}, circuit, again, verdict, decided, wanted, lowest + {shift}, readings,
                     total + {shift}, differing FROM test WHERE record <= {N_MULTIPLIED};
                 INSERT INTO reading SELECT bench, circuit, record + {from}, n, again, verdict, standard + {shift}, normal,
                     rectangle, apart FROM reading WHERE record <= {N_MULTIPLIED};
                 INSERT INTO account SELECT bench, record + {from}, currency, total, replacement, replaced, outside
                     FROM account WHERE record <= {N_MULTIPLIED};
                 INSERT INTO rig_check SELECT bench, record + {from}, n, rig, checked + {later}, minutes_ahead, plugged, through,
                     calibration, division, drifted
                     FROM rig_check WHERE record <= {N_MULTIPLIED};"
            ))
            .unwrap();
    }
    connection.execute_batch("COMMIT; PRAGMA wal_checkpoint(TRUNCATE)").unwrap();
}

/// Asks for all rows and reads every column; returns how many rows there were.
fn rows(connection: &Connection, sql: &str, parameters: &[Value]) -> usize {
    let mut query = connection
        .prepare_cached(&sql.replace("asked_", "").replace(" AS MATERIALIZED ", " AS NOT MATERIALIZED "))
        .unwrap();
    let values: Vec<Box<dyn ToSql>> = parameters.iter().map(value).collect();
    let names: Vec<String> = (1..=values.len()).map(|n| format!("${n}")).collect();
    let named: Vec<(&str, &dyn ToSql)> =
        names.iter().map(String::as_str).zip(values.iter().map(|v| &**v)).collect();
    let n_columns = query.column_count();
    let mut rows = query.query(named.as_slice()).unwrap();
    let mut n = 0;
    while let Some(row) = rows.next().unwrap() {
        n += usize::from((0..n_columns).all(|column| row.get_ref(column).is_ok()));
    }
    n
}

fn value(parameter: &Value) -> Box<dyn ToSql> {
    match parameter {
        Value::Bool(is_so) => Box::new(*is_so),
        Value::Number(number) => Box::new(number.as_i64().unwrap()),
        text => Box::new(text.as_str().unwrap().to_owned()),
    }
}

/// The middle of eleven times in ms, and what came of it.
fn middle(mut done: impl FnMut() -> usize) -> (f64, usize) {
    let mut times: Vec<(f64, usize)> = Vec::new();
    for _ in 0..11 {
        let start = Instant::now();
        let n = done();
        times.push((start.elapsed().as_secs_f64() * 1e3, n));
    }
    times.sort_by(|one, other| one.0.total_cmp(&other.0));
    times[5]
}

fn node_modules() -> String {
    std::env::var("SPOOLPROOF_NODE_MODULES").unwrap_or_else(|_| "target/outside-node".to_owned())
}

fn python() -> String {
    std::env::var("SPOOLPROOF_PYTHON").unwrap_or_else(|_| "target/outside/bin/python".to_owned())
}

/// Runs what stands beside, which prints its own lines.
fn beside(program: &str, arguments: &[&str], told: &str) {
    let mut command = Command::new(program);
    command.args(arguments).current_dir(env!("CARGO_MANIFEST_DIR")).stdin(Stdio::piped());
    let done = command.spawn().and_then(|mut child| {
        std::io::Write::write_all(&mut child.stdin.take().unwrap(), told.as_bytes())?;
        child.wait()
    });
    if !done.as_ref().is_ok_and(std::process::ExitStatus::success) {
        println!("  ({program} {} did not run: {done:?})", arguments[0]);
    }
}
