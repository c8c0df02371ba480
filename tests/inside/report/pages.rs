//! Reports and exports: nothing of a record can break out of them, and a strict reader takes the table.

use std::sync::{Arc, LazyLock};

use crate::leak::Verdict;
use crate::practice::shipped;
use crate::quantity::{UNITS, Unit};
use crate::record::{JobNotes, Record, ShopAddress};
use crate::report::{JobReport, ReportedRecord, csv, json_lines, page, rows, show};
use crate::session::Ended;
use crate::tests::practice::{Skill, attempt};
use crate::tests::support::{Shopfront, flat, sample, shown, tick};

static SAMPLE: LazyLock<Record> = LazyLock::new(|| sample().record());

const HOSTILE: &str = "=cmd, \"x\"\r\n</p><script>alert(1)</script>\u{1b}[2J\u{202e}";

fn hostile() -> Record {
    let mut record = SAMPLE.clone();
    record.technician = Some(HOSTILE.to_owned());
    record.procedure.title = HOSTILE.to_owned();
    Arc::make_mut(&mut record.circuits[0].circuit).name = HOSTILE.to_owned();
    record.circuits[0].left = Some(HOSTILE.to_owned());
    record
}

/// The report of a record by itself.
fn report(record: &Record, before: Option<&Record>, unit: &'static Unit) -> JobReport {
    let (record, before) = (record.clone(), before.cloned());
    let (warnings, pictures, photos) = (Vec::new(), Vec::new(), Vec::new());
    let reported = ReportedRecord { record, before, warnings, pictures, photos };
    JobReport::of(&[reported], &JobNotes::default(), &ShopAddress::default(), unit)
}

fn text(report: &JobReport) -> String {
    shown(80, |screen| show(screen, report))
}

/// Reads a table by the grammar of RFC 4180, section 2; fails where it is broken. Texts may be UTF-8 (RFC 7111, 5.1).
fn strict_rows(text: &str) -> Result<Vec<Vec<String>>, String> {
    let (mut rows, mut row, mut rest) = (Vec::new(), Vec::new(), text);
    while !rest.is_empty() {
        let (field, after) = match rest.strip_prefix('"') {
            None => {
                let end = rest.find([',', '\r', '\n', '"']).unwrap_or(rest.len());
                (rest[..end].to_owned(), &rest[end..])
            }
            Some(inner) => {
                let mut field = String::new();
                let mut inner = inner;
                loop {
                    let end = inner.find('"').ok_or("a quoted field does not end")?;
                    field += &inner[..end];
                    inner = &inner[end + 1..];
                    match inner.strip_prefix('"') {
                        Some(after) => {
                            field.push('"');
                            inner = after;
                        }
                        None => break,
                    }
                }
                (field, inner)
            }
        };
        row.push(field);
        if let Some(after) = after.strip_prefix(',') {
            rest = after;
        } else if let Some(after) = after.strip_prefix("\r\n") {
            rows.push(std::mem::take(&mut row));
            rest = after;
        } else {
            return Err(format!("{:?} after a field", after.chars().next()));
        }
    }
    if row.is_empty() { Ok(rows) } else { Err("the last line does not end in CR LF".to_owned()) }
}

#[test]
fn a_strict_reader_of_rfc_4180_takes_the_table() {
    let readings = rows(&hostile(), None);
    let text = csv(&readings).unwrap();
    // Without the mark that says UTF-8, which spreadsheets look for and no line of the table has.
    let table = strict_rows(text.strip_prefix('\u{feff}').unwrap()).unwrap();
    assert_eq!(table.len(), 2);
    assert_eq!(table[0].len(), table[1].len());
    let cell = |name: &str| &table[1][table[0].iter().position(|head| head == name).unwrap()];
    assert_eq!(*cell("circuit"), format!("'{HOSTILE}"));
    assert_eq!(cell("reading_inHg").parse::<f64>().unwrap(), 22.0);
    assert_eq!(cell("clearance_um"), "");
}

#[test]
fn what_was_typed_in_inches_of_mercury_is_that_number_in_the_table() {
    let row = &rows(&hostile(), Some("later"))[0];
    let cell = |name: &str| row.iter().find(|(column, _)| *column == name).unwrap().1.clone();
    let typed = ["reading_inHg", "upper_limit_inHg", "lower_limit_inHg"].map(cell);
    assert_eq!(typed, [22.0, 20.0, 15.0]);
    assert_eq!(cell("amended_by"), "later");
    let likely = ["probability_above", "probability_between", "probability_below"];
    let likely = likely.map(|name| cell(name).as_f64().unwrap());
    assert!((likely.iter().sum::<f64>() - 1.0).abs() < 1e-9, "{likely:?}");
}

#[test]
fn the_strict_reader_refuses_what_is_not_rfc_4180() {
    for broken in ["a,b\n", "a,b", "a\"b\r\n", "\"a\r\n", "\"a\"b\r\n"] {
        assert!(strict_rows(broken).is_err(), "{broken:?}");
    }
}

#[test]
fn json_lines_hold_one_object_a_line_with_every_digit() {
    let readings = rows(&hostile(), None);
    let text = json_lines(&readings);
    assert_eq!(text.lines().count(), readings.len());
    let value: serde_json::Value = serde_json::from_str(text.lines().next().unwrap()).unwrap();
    assert_eq!(value["circuit"], HOSTILE);
    assert!(readings[0].iter().all(|(name, cell)| value[*name] == *cell));
}

#[test]
fn hostile_text_stays_text_in_the_page_and_on_the_terminal() {
    let told = report(&hostile(), None, &UNITS[0]);
    let html = page(&told);
    assert!(html.contains("&lt;script&gt;alert(1)") && !html.contains("<script"));
    let shown = text(&told);
    for output in [&html, &shown] {
        assert!(!output.contains(['\u{1b}', '\u{202e}', '\r']), "{output}");
    }
}

#[test]
fn the_page_loads_nothing() {
    let html = page(&report(&SAMPLE, None, &UNITS[0]));
    for reference in ["src=", "href=", "@import", "url(http", "<link", "<iframe", "<object"] {
        assert!(!html.contains(reference), "{reference}");
    }
    assert!(html.contains("default-src 'none'") || html.contains("default-src &#39;none&#39;"));
}

#[test]
fn a_report_says_what_was_read_what_it_means_and_what_goes_before_it() {
    let shown = text(&report(&SAMPLE, None, &UNITS[0]));
    let flat = flat(&shown);
    for words in [
        "1 of 1 circuit holds.",
        "feed: HOLDS",
        "read 22 inHg; standard reading 22 inHg (",
        "Holds from 20 inHg up, leaks from 15 inHg down.",
        "25 inHg plugged, 5 inHg through the orifice",
        "Drift: checked: 25 and 5 inHg at",
        "The unit's service information, local codes and the judgement of a licensed technician go before",
    ] {
        assert!(flat.contains(words), "{words} is not in:\n{shown}");
    }
    assert!(flat.contains(SAMPLE.digest.as_deref().unwrap()));
}

#[test]
fn a_test_after_a_repair_stands_beside_the_one_before() {
    let mut before = SAMPLE.clone();
    before.circuits[0].verdict = Some(Verdict::Leaks);
    let reading = &mut before.circuits[0].readings[0];
    reading.judgement.as_mut().unwrap().verdict = Verdict::Leaks;
    let standard = &mut reading.meaning.as_mut().unwrap().standard_reading_pa;
    *standard = standard.scaled(0.5);
    let told = report(&SAMPLE, Some(&before), &UNITS[0]);
    assert!(text(&told).contains("Before: leaks, standard reading 11 inHg"));
    let html = page(&told);
    for words in ["before: leaks", "Before: 11 inHg", "class=\"earlier\""] {
        assert!(html.contains(words), "{words}");
    }
}

#[test]
fn another_unit_gets_a_scale_with_round_numbers() {
    let kilopascal = UNITS.iter().find(|unit| unit.word == "kPa").unwrap();
    let html = page(&report(&SAMPLE, None, kilopascal));
    assert!(html.contains(">20</text>") && html.contains(">100 kPa</text>"), "{html}");
}

#[test]
fn of_an_exercise_it_is_told_what_the_student_said_and_nothing_of_a_shops_own_bench() {
    let mut n_said = 0;
    for prepared in shipped() {
        let (record, _) = attempt(&prepared, Skill::PERFECT, 1);
        let told = report(&record, None, &UNITS[0]);
        let html = page(&told);
        let text = flat(&text(&told));
        for output in [&text, &html] {
            for words in [
                "The rig was simulated: no part was tested",
                "of 100. To pass, 70 are needed",
                "says nothing of any real unit",
            ] {
                assert!(output.contains(words), "{words} is not in:\n{output}");
            }
            for claim in ["by this shop", "What is to be done about it is not decided"] {
                assert!(!output.contains(claim), "{claim} is in:\n{output}");
            }
        }
        n_said += text.matches("The student said: leaks, the land is worn").count();
    }
    assert!(n_said > 0, "worn lands are among what the exercises hide");
    let text = flat(&text(&report(&SAMPLE, None, &UNITS[0])));
    assert!(text.contains("by this shop on its own bench") && !text.contains("simulated"), "{text}");
}

#[test]
fn a_look_that_found_the_rig_off_stands_in_the_report_beside_the_one_that_did_not() {
    let told = |looks: &[&str]| {
        let front = Shopfront::new("test(c);");
        let before = ["Ada", "29.92 inHg", "20 C", "25", "5", "", "22"];
        let record = front.finish_bare(&[&before, looks].concat());
        flat(&text(&report(&record, None, &UNITS[0])))
    };
    let once = told(&["25.6", "5.9", "25", "5"]);
    let at = once.find("25.6 and 5.9 inHg at").expect("the first look");
    assert!(once[at..].contains("off at this look, so it was looked at again; 25 and 5 inHg at"), "{once}");
    let drifted = told(&["25.6", "5.9", "25.6", "5.8", "25", "5", "", "21.5", "25", "5"]);
    assert_eq!(drifted.matches("off at this look").count(), 1, "{drifted}");
    assert!(drifted.contains("drifted, so these were tested again: c"), "{drifted}");
    let set = told(&["25", "5"]);
    let corrected = told(&["25.6", "back", "25", "5"]);
    assert!(
        !set.contains("off at this look") && !corrected.contains("off at this look"),
        "{set} {corrected}"
    );
}

#[test]
fn a_session_over_two_days_names_both_and_says_of_each_look_on_which_day_it_was() {
    fn next_day() -> jiff::Timestamp {
        tick() + jiff::SignedDuration::from_hours(24)
    }
    let front = Shopfront::new("test(c); test(circuit(#{ name: \"d\", holds: 20.inHg, leaks: 15.inHg }));");
    front.walk_bare(&["Ada", "29.92 inHg", "20 C", "25", "5", "", "22", "park"]);
    let then = ["25", "5", "22", "25", "5"];
    let Ok(Ended::Finished(record, _)) = front.walk_by(next_day, Box::new(front.person(&then))) else {
        panic!("{}", front.flat())
    };
    let [first, last] =
        [record.journal.first(), record.journal.last()].map(|event| record.day(event.unwrap().at));
    assert_ne!(first, last);
    let mut record = *record;
    record.procedure.unit = Some("Merle M1".to_owned());
    let told = flat(&text(&report(&record, None, &UNITS[0])));
    assert!(told.contains(&format!("Tested: {first} to {last}, by Ada")), "{told}");
    let set = told.split("(marks at this barometer").nth(1).expect("a calibration");
    assert!(set.split("checked: ").next().unwrap().contains(&format!(" on {first}")), "{told}");
    assert_eq!(told.matches(&format!(" on {last}, good")).count(), 2, "{told}");
}
