//! The history at the command line: every question answers as text, as JSON and as a page.

use std::path::Path;
use std::sync::{Arc, LazyLock};

use crate::history::Index;
use crate::quantity::INCH_OF_MERCURY;
use crate::record::{Mode, Record, Shop};
use crate::report::Cell;
use crate::stats::GaugeStudy;
use crate::tests::support::{Home, Run, Table, close, drawn, flat, generated, inhg, near, store};
use serde_json::Value;

static SHOP: LazyLock<tempfile::TempDir> = LazyLock::new(|| {
    let folder = tempfile::tempdir().unwrap();
    let shop = Shop::open(folder.path()).unwrap();
    for number in 0..40 {
        store(&shop.records(), &generated(&drawn(number, 2)));
    }
    folder
});

fn asked(shop: &Path, arguments: &[&str]) -> Run {
    let arguments = [&["--shop", shop.to_str().unwrap(), "history"], arguments].concat();
    Home::new().run(&arguments, "")
}

#[track_caller]
fn answer(arguments: &[&str]) -> String {
    asked(SHOP.path(), arguments).exits(0).out
}

pub(super) const QUESTIONS: &[&[&str]] = &[
    &["overview"],
    &["failing"],
    &["failing", "--unit", "merle m1"],
    &["by", "technician"],
    &["by", "rig", "--unit", "Merle M2"],
    &["by", "month", "--unit", "Merle M1", "--circuit", "circuit 3"],
    &["spread", "circuit 3", "--unit", "Merle M1"],
    &["repairs"],
    &["limits", "circuit 3", "--unit", "Merle M1", "--holds", "21 inHg", "--leaks", "16"],
    &["savings"],
    &["drift"],
    &["baseline", "circuit 3", "--unit", "Merle M1", "--all-good"],
    &["baseline", "--unit", "Merle M1", "--all-good", "--share", "90", "--confidence", "99"],
];

#[test]
fn every_question_answers_as_text_as_json_and_as_a_page() {
    for question in QUESTIONS {
        let text = answer(question);
        assert!(text.lines().count() >= 3, "{question:?}: {text}");
        assert!(text.lines().all(|line| line.chars().count() <= 80), "{question:?} is too wide: {text}");
        let json: Value = serde_json::from_str(&answer(&[question, &["--json"][..]].concat())).unwrap();
        let rows = json["tables"][0]["rows"].as_array().unwrap();
        assert!(!rows.is_empty(), "{question:?}");
        let page = SHOP.path().join("answer.html");
        answer(&[question, &["--html", page.to_str().unwrap()][..]].concat());
        let html = std::fs::read_to_string(&page).unwrap();
        assert!(html.starts_with("<!DOCTYPE html>") && html.ends_with("</html>\n"));
        assert!(html.contains("<table") || html.contains("<ul class=\"bars\">"));
    }
}

#[test]
fn numbers_in_json_have_all_their_digits_and_names_are_no_numbers() {
    let asked = ["by", "technician", "--unit", "Merle M1"];
    let json: Value = serde_json::from_str(&answer(&[&asked[..], &["--json"]].concat())).unwrap();
    let text = answer(&asked);
    let rows = json["tables"][0]["rows"].as_array().unwrap();
    for row in rows {
        let tested = row["tested"].as_u64().unwrap();
        let parts = ["holds", "worn", "leaks", "retest"].map(|verdict| row[verdict].as_u64().unwrap());
        assert_eq!(tested, parts.iter().sum::<u64>());
        let line = text.lines().find(|line| line.contains(row["technician"].as_str().unwrap())).unwrap();
        let shown: Vec<&str> = line.split_whitespace().rev().take(2).collect();
        for (head, shown, decimals) in [("mean, inHg", shown[0], 2), ("failed, %", shown[1], 1)] {
            assert_eq!(format!("{:.decimals$}", row[head].as_f64().unwrap()), shown, "{line}");
        }
    }
    let has_more = |row: &Value| (row["mean, inHg"].as_f64().unwrap() * 100.0).fract().abs() > 1e-6;
    assert!(rows.iter().all(has_more), "{rows:?}");
    let mut table = crate::report::Table::new("names", &["session", "circuit", "mean"]);
    table.row([Cell::from("4711"), Cell::from("7"), Cell::default()]);
    let cells: Vec<Value> = table.values().remove(0).into_iter().map(|(_, cell)| cell).collect();
    assert_eq!(cells, [Value::from("4711"), Value::from("7"), Value::Null]);
}

#[test]
fn tests_after_a_repair_are_told_apart_from_first_tests() {
    let said = flat(&answer(&["failing", "--unit", "Merle M1"]));
    assert!(said.contains("First tests only; "), "{said}");
    assert!(said.contains("were tested again, as after a repair"), "{said}");
    let said = answer(&["spread", "circuit 3", "--unit", "Merle M1"]);
    assert!(said.contains("first tests, inHg  tested again, inHg"), "{said}");
    assert!(said.contains("x at or below leaks, - between the limits, = at or above holds"), "{said}");
}

#[test]
fn what_is_missing_or_nearly_right_is_asked_back() {
    for (status, question, wanted) in [
        (2, &["baseline", "circuit 3", "--unit", "Merle M1"][..], "--good SESSION"),
        (2, &["baseline", "circuit 3", "--unit", "Merle M1"], "--all-good"),
        (2, &["baseline", "--unit", "Merle M1", "--good", "no-such-session"], ""),
        (2, &["baseline", "--unit", "Merle M1", "--all-good", "--share", "0.95"], ""),
        (1, &["class"], "guide class-study"),
        (2, &["failing", "--since", "yesterday"], "write the day as in 2026-11-02"),
        (2, &["failing", "--until", "31.12.2026"], "as in 2026-11-02"),
        (2, &["spread", "circuit 3"], "--unit: Merle M1, Merle M2"),
        (2, &["spread", "circit 3", "--unit", "Merle M1"], "Did you mean \"circuit 3\"?"),
    ] {
        asked(SHOP.path(), question).exits(status).complains(wanted);
    }
}

fn index() -> Index {
    let mut index = Index::open(&Shop::open(SHOP.path()).unwrap(), Mode::Bench).unwrap();
    index.update(&|| false, &|_| {}).unwrap();
    index
}

/// Returns the row of a circuit in the answer about limits from good units.
fn baseline(arguments: &[&str]) -> Value {
    let asked = [&["baseline", "circuit 3", "--unit", "Merle M1", "--json"][..], arguments].concat();
    let json: Value = serde_json::from_str(&answer(&asked)).unwrap();
    json["tables"][0].clone()
}

#[test]
fn limits_come_from_the_units_that_somebody_says_are_good() {
    let index = index();
    let sessions = index.sessions("Merle M1").unwrap();
    let good: Vec<&str> = sessions.iter().take(6).flat_map(|name| ["--good", name]).collect();
    let few = baseline(&good);
    assert_eq!(few["rows"][0]["units"], 6.0);
    // k of 6 values for 95 % with 95 % confidence is 3.708 (ISO 16269-6:2014, table C.2).
    assert_eq!(few["rows"][0]["holds is"], "mean - 3.708 deviations");
    let named: Vec<String> = sessions.iter().take(6).cloned().collect();
    let units = index.good_units("Merle M1", "circuit 3", Some(&named)).unwrap();
    let mean = units.iter().map(|unit| unit.standard.si() / INCH_OF_MERCURY).sum::<f64>() / 6.0;
    assert!((few["rows"][0]["mean"].as_f64().unwrap() - mean).abs() < 6e-3);
    let all = baseline(&["--all-good"]);
    assert!(all["rows"][0]["units"].as_f64().unwrap() > 6.0);
}

#[test]
fn a_unit_that_was_read_again_after_a_repair_counts_once() {
    let index = index();
    let good = |sessions: &[String]| {
        let units = index.good_units("Merle M1", "circuit 3", Some(sessions)).unwrap();
        units.into_iter().map(|unit| unit.session).collect::<Vec<_>>()
    };
    let sessions = index.sessions("Merle M1").unwrap();
    let mut n_pairs = 0;
    for later in &sessions {
        let path = SHOP.path().join("records").join(format!("{later}.json"));
        let after = crate::record::read(&path).unwrap().plan.and_then(|plan| plan.after);
        let earlier = after.map(|after| after.session).filter(|earlier| sessions.contains(earlier));
        let Some(earlier) = earlier else { continue };
        assert_eq!(good(std::slice::from_ref(&earlier)).len(), 1);
        assert_eq!(good(&[earlier, later.clone()]), std::slice::from_ref(later));
        n_pairs += 1;
    }
    assert!(n_pairs > 0, "nothing was read again");
}

#[test]
fn many_files_that_are_no_records_do_not_bury_the_answer() {
    let folder = tempfile::tempdir().unwrap();
    let shop = Shop::open(folder.path()).unwrap();
    store(&shop.records(), &generated(&drawn(0, 2)));
    for number in 0..9 {
        std::fs::write(shop.records().join(format!("note {number}.json")), "none").unwrap();
    }
    let ran = asked(folder.path(), &["failing"]).exits(0).complains("4 more are left out");
    let ran = ran.says("which circuits fail most");
    assert_eq!(ran.err.matches(" is left out").count(), 5, "{}", ran.err);
}

#[test]
fn a_shop_without_records_says_so() {
    let empty = tempfile::tempdir().unwrap();
    for question in [&["failing"][..], &["repairs"], &["savings"], &["drift"]] {
        let said = asked(empty.path(), question).exits(0).out;
        assert!(said.contains("nothing yet") || said.contains("no records"), "{said}");
    }
    asked(empty.path(), &["class"]).exits(1);
}

/// AIAG, Measurement Systems Analysis, 4th edition (2010), tables III-B 7 and 8: the data of the manual, read as
/// inches of mercury above ten, as a class would leave them.
#[test]
fn a_class_that_reads_the_manuals_data_gets_the_manuals_result() {
    let mut plain = generated(&drawn(0, 2));
    plain.procedure.unit = Some("Class study".to_owned());
    let mut piece = plain.circuits[0].clone();
    let reading = piece.readings[0].clone();
    piece.readings.clear();
    plain.circuits.clear();
    let mut records: Vec<Record> = Vec::new();
    for row in Table::read("08_aiag_msa_grr_data.csv").rows() {
        let (technician, part, value) = (row.text("op"), row.text("part"), row.number("y"));
        let session = format!("study-{technician}");
        if records.last().is_none_or(|record| record.session != session) {
            records.push(Record { session, technician: Some(technician.to_owned()), ..plain.clone() });
        }
        let circuits = &mut records.last_mut().unwrap().circuits;
        if circuits.last().is_none_or(|circuit| circuit.circuit.name != part) {
            circuits.push(piece.clone());
            Arc::make_mut(&mut circuits.last_mut().unwrap().circuit).name = part.to_owned();
        }
        let mut reading = reading.clone();
        reading.meaning.as_mut().unwrap().standard_reading_pa.value = inhg(10.0 + value).si();
        circuits.last_mut().unwrap().readings.push(reading);
    }
    let folder = tempfile::tempdir().unwrap();
    let shop = Shop::open(folder.path()).unwrap();
    let mut index = Index::open(&shop, Mode::Bench).unwrap();
    let read: Vec<_> = records.into_iter().map(|record| (record.session.clone(), Ok(record))).collect();
    index.take_up(&read).unwrap();
    let study = GaugeStudy::of(&index.study("Class study").unwrap()).unwrap();
    let pooled = study.components(study.may_be_pooled());
    near(pooled.repeatability / INCH_OF_MERCURY, 0.199_933, 2e-6);
    near(pooled.operators / INCH_OF_MERCURY, 0.226_838, 2e-6);
    near(pooled.gauge() / INCH_OF_MERCURY, 0.302_373, 2e-6);
    near(pooled.parts / INCH_OF_MERCURY, 1.042_327, 2e-6);
    // The same manual's data sheet (figure III-B 15), from memory: the appraisers' averages lie 0.4446 apart.
    let above: Vec<f64> = study.readers.iter().map(|reader| reader.above).collect();
    let apart = above.iter().fold(f64::MIN, |most, a| most.max(*a))
        - above.iter().fold(f64::MAX, |least, a| least.min(*a));
    near(apart / INCH_OF_MERCURY, 0.4446, 2e-4);
    assert!(above.iter().sum::<f64>().abs() < 1e-6);
    // A name in another case and with a blank is the same technician's, and counts as its latest record.
    let mut again = generated(&drawn(0, 2));
    again.procedure.unit = Some("Class study".to_owned());
    (again.session, again.technician) = ("study-later".to_owned(), Some("a ".to_owned()));
    index.take_up(&[(again.session.clone(), Ok(again))]).unwrap();
    assert_eq!(index.spellings("Class study").unwrap(), [["A", "a "]]);
    let named = index.study("Class study").unwrap();
    assert!(named.iter().any(|r| r.operator == "a") != named.iter().any(|r| r.operator == "A"));
    // Each reads every piece equally often, so the mean square of their scatters is that of the repetition.
    let squares: f64 = study.readers.iter().map(|reader| reader.scatter.powi(2)).sum::<f64>() / 3.0;
    close(study.table.repetition.mean_square(), squares, 1e-6);
}

#[test]
fn the_overview_says_in_its_sentences_what_the_other_answers_count() {
    let rows = |question: &[&str]| -> Vec<Value> {
        let json: Value = serde_json::from_str(&answer(&[question, &["--json"][..]].concat())).unwrap();
        let tables = json["tables"].as_array().unwrap();
        tables.iter().flat_map(|table| table["rows"].as_array().unwrap()).cloned().collect()
    };
    let sum =
        |rows: &[Value], head: &str| rows.iter().map(|row| row[head].as_u64().unwrap_or(0)).sum::<u64>();
    let overview = flat(&answer(&["overview"]));
    let failing = rows(&["failing"]);
    let (tested, amiss) = (sum(&failing, "tested"), sum(&failing, "worn") + sum(&failing, "leaks"));
    assert!(
        overview.contains(&format!("Not as they should be in first tests: {amiss} of {tested} circuits")),
        "{overview}"
    );
    let repairs = rows(&["repairs"]);
    let (n, hold) = (sum(&repairs, "tested again"), sum(&repairs, "hold now"));
    assert!(n > 0);
    let told = format!(
        "Tested again after what had been decided about them: {n} circuits, of which hold now: {hold}."
    );
    assert!(overview.contains(&told), "{overview}");
    // Of one month the overview is only about that.
    assert_ne!(flat(&answer(&["overview", "--until", "2021-01-05"])), overview);
    assert!(answer(&["overview", "--until", "2020-01-01"]).contains("There are no records of that yet."));
}
