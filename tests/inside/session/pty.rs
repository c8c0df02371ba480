//! A terminal: what only a real one shows. Everything else about sessions is proved without.

use std::io::Write;
use std::path::Path;
use std::process::Command;
use std::sync::{Arc, Mutex};
use std::time::Duration;

use crate::record::{Answer, Record, What};
use crate::tests::support::{Home, Terminal, takes};

const PROCEDURE: &str = "
procedure(#{ title: \"Merle M2, feed\", unit: \"Merle M2\", version: \"1.0.0\" });
caution(\"Suction holds skin.\");
let side = ask_choice(\"Which body?\", [\"early\", \"late\"]);
let feed = circuit(#{ name: \"feed\", set_up: \"Seat the plate.\", holds: 20.inHg, leaks: 15.inHg });
test(feed);
let words = ask_text(\"Anything else?\");
";

fn home() -> Home {
    Home::with("merle.rhai", PROCEDURE)
}

fn at(home: &Home, arguments: &[&str]) -> Terminal {
    Terminal::open(home, 80, arguments)
}

const OPENING: [(&str, &str); 3] =
    [("name: ", "Ada"), ("barometer: ", "29.92 inHg"), ("temperature: ", "20 C")];
const SET: [(&str, &str); 2] = [("inHg: ", "25"), ("inHg: ", "5")];
const BODY: [(&str, &str); 6] =
    [("type ok: ", "ok"), ("which: ", "late"), SET[0], SET[1], ("inHg: ", "22"), ("words: ", "all well")];
const CLOSING: [(&str, &str); 2] = [("inHg: ", "25"), ("inHg: ", "5")];

/// Returns how often each of these questions was answered.
fn times_answered(record: &Record, words: &[&str]) -> Vec<usize> {
    let answered = |wanted: &str| {
        let is_it = |what: &What| matches!(what, What::Answered { question, .. } if question.words == wanted);
        record.journal.iter().filter(|event| is_it(&event.what)).count()
    };
    words.iter().map(|words| answered(words)).collect()
}

#[test]
fn a_session_is_walked_at_a_terminal_from_the_first_prompt_to_the_record() {
    let home = home();
    let mut terminal = at(&home, &["guide", "merle.rhai"]);
    terminal.types(&[&OPENING[..], &BODY, &CLOSING].concat());
    terminal.sees("Record:");
    terminal.exits(0);
    let record = home.record();
    assert_eq!((record.technician.as_deref(), record.summary.holds), (Some("Ada"), 1));
    assert_eq!(
        *record.answered(*record.answers.last().unwrap()).unwrap().1,
        Answer::Text("all well".to_owned())
    );
}

#[test]
fn back_goes_over_several_answers_and_asks_them_again() {
    let home = home();
    let mut terminal = at(&home, &["guide", "merle.rhai"]);
    terminal.types(&OPENING);
    terminal.types(&BODY[..5]);
    terminal.types(&[("words: ", "back 4"), ("which: ", "early"), SET[0], SET[1], ("inHg: ", "21.5")]);
    terminal.types(&[("words: ", "again"), ("inHg: ", "21"), ("words: ", "now it is")]);
    terminal.types(&CLOSING);
    terminal.exits(0);
    let record = home.record();
    let words = ["Suction holds skin.", "Which body?", "Seat the plate.", "Anything else?"];
    assert_eq!(times_answered(&record, &words), [1, 2, 3, 1]);
    assert_eq!(takes(&record), ["21"]);
}

#[test]
fn ctrl_c_and_ctrl_d_park_and_lose_nothing() {
    let home = home();
    let mut terminal = at(&home, &["guide", "merle.rhai"]);
    terminal.types(&OPENING);
    terminal.types(&BODY[..1]);
    terminal.sees("which: ");
    terminal.presses('c');
    terminal.sees("Parked. Nothing is lost");
    terminal.exits(3);

    let mut terminal = at(&home, &["guide", "--resume"]);
    terminal.sees("was left");
    terminal.types(&BODY[1..2]);
    terminal.sees("inHg: ");
    terminal.presses('d');
    terminal.sees("Parked. Nothing is lost");
    terminal.exits(3);

    let mut terminal = at(&home, &["guide", "--resume"]);
    terminal.sees("inHg: ");
    // What was begun to be typed is no answer.
    terminal.begins("2");
    terminal.presses('c');
    terminal.exits(3);

    let mut terminal = at(&home, &["guide", "--resume"]);
    terminal.types(&BODY[2..]);
    terminal.types(&CLOSING);
    terminal.exits(0);
    let record = home.record();
    let words =
        ["Who is testing?", "Suction holds skin.", "Which body?", "Seat the plate.", "Anything else?"];
    assert_eq!(times_answered(&record, &words), [1; 5]);
    let parked = record.journal.iter().filter(|event| event.what == What::Parked).count();
    assert_eq!(parked, 3);
}

#[test]
fn a_stray_enter_confirms_neither_a_caution_nor_a_reading() {
    let home = home();
    let mut terminal = at(&home, &["guide", "merle.rhai"]);
    terminal.types(&OPENING);
    terminal.types(&[("type ok: ", "")]);
    terminal.sees("Read the caution, then type ok.");
    terminal.types(&[("type ok: ", "ok"), ("which: ", "late"), SET[0], SET[1], ("inHg: ", "")]);
    terminal.sees("type a number");
    terminal.types(&[("inHg: ", "22"), ("words: ", "x")]);
    terminal.types(&CLOSING);
    terminal.exits(0);
    assert_eq!(times_answered(&home.record(), &["Suction holds skin.", "Seat the plate."]), [1, 1]);
}

#[test]
fn a_wait_passes_by_itself_and_ctrl_c_in_it_parks() {
    let home = Home::new();
    let script = |seconds: u32| {
        format!(
            "procedure(#{{ title: \"Wait\", version: \"1.0.0\" }}); wait({seconds}.seconds, \"Let it settle.\"); \
             let words = ask_text(\"Anything else?\");"
        )
    };
    home.write("wait.rhai", script(600));
    let mut terminal = at(&home, &["guide", "wait.rhai"]);
    terminal.types(&OPENING);
    terminal.sees("s left");
    terminal.presses('c');
    terminal.sees("Parked. Nothing is lost");
    terminal.exits(3);
    home.write("wait.rhai", script(1));
    let mut terminal = at(&home, &["guide", "--resume"]);
    terminal.sees("the procedure has changed");
    terminal.sees("s left");
    terminal.types(&[("words: ", "settled")]);
    terminal.exits(0);
    assert_eq!(times_answered(&home.record(), &["Let it settle.", "Anything else?"]), [1, 1]);
}

#[test]
fn what_is_typed_ahead_confirms_no_caution() {
    let home = Home::new();
    home.write(
        "ahead.rhai",
        "procedure(#{ title: \"Ahead\", version: \"1.0.0\" }); wait(1.seconds, \"Let it settle.\"); \
         caution(\"Suction holds skin.\"); let words = ask_text(\"Anything else?\");",
    );
    let mut terminal = at(&home, &["guide", "ahead.rhai"]);
    terminal.types(&OPENING);
    terminal.sees("s left");
    // The caution is not on the screen yet: nobody has read it.
    terminal.sends("ok");
    terminal.types(&[("type ok: ", "ok"), ("words: ", "all read")]);
    terminal.exits(0);
    let record = home.record();
    let said = |event: &What| matches!(event, What::Answered { answer: Answer::Text(text), .. } if text == "all read");
    assert!(
        record.journal.iter().any(|event| said(&event.what)),
        "the line typed ahead was taken for the caution"
    );
}

/// A gauge on a pipe that sends what the needle shows, until it is unplugged: what it shows then is nothing.
fn plugged_in(pipe: &Path) -> Arc<Mutex<Option<f64>>> {
    assert!(Command::new("mkfifo").arg(pipe).status().unwrap().success());
    let needle = Arc::new(Mutex::new(Some(25.0)));
    let (pipe, shown) = (pipe.to_owned(), needle.clone());
    std::thread::spawn(move || {
        let mut pipe = std::fs::File::options().write(true).open(pipe).unwrap();
        while let Some(vacuum) = *shown.lock().unwrap() {
            if writeln!(pipe, "P = {vacuum} inHg").is_err() {
                break;
            }
            std::thread::sleep(Duration::from_millis(50));
        }
    });
    needle
}

#[test]
fn a_gauge_that_sends_lines_offers_its_value_for_one_key_and_typing_goes_on_without_it() {
    let home = home();
    let pipe = home.path("gauge");
    let needle = plugged_in(&pipe);
    let shows = |vacuum: Option<f64>| *needle.lock().unwrap() = vacuum;
    let mut terminal = at(&home, &["guide", "merle.rhai", "--gauge", "gauge", "--gauge-line", "P = {} inHg"]);
    terminal.types(&[&OPENING[..], &BODY[..2]].concat());
    for vacuum in [25.0, 5.0] {
        shows(Some(vacuum));
        terminal.sees(&format!("The gauge has settled at {vacuum} inHg"));
        terminal.types(&[("inHg: ", "")]);
    }
    // The hose is on its plug still; what it showed there is not taken once it has been looked at, nor on the port.
    shows(Some(24.9));
    terminal.sees("The gauge has settled at 24.9 inHg");
    terminal.types(&[("inHg: ", "")]);
    terminal.sees("is it on the port");
    shows(Some(22.0));
    terminal.types(&[("inHg: ", "")]);
    // Somebody who trusts the eye more than the gauge types what it saw.
    terminal.types(&[("inHg: ", "21.9")]);
    shows(None);
    terminal.types(&[("words: ", "unplugged")]);
    terminal.sees("the gauge");
    terminal.types(&CLOSING);
    terminal.exits(0);
    let record = home.record();
    let readings: Vec<_> = record
        .journal
        .iter()
        .filter_map(|event| match &event.what {
            What::Answered { answer: Answer::Quantity { entry, samples }, .. } => {
                Some((entry.entered.as_str(), samples.len() >= 5))
            }
            _ => None,
        })
        .collect();
    assert_eq!(
        readings,
        [("25 inHg", true), ("5 inHg", true), ("21.9 inHg", false), ("25 inHg", false), ("5 inHg", false)]
    );
}

/// What closes a body, behind a test.
const CLOSED: &str = "
procedure(#{ title: \"Merle M2, feed\", unit: \"Merle M2\", version: \"1.0.0\" });
test(circuit(#{ name: \"feed\", holds: 20.inHg, leaks: 15.inHg }));
closing(\"Closing\");
ready(\"Tighten the bolts.\");
";

const DRIFTED: [(&str, &str); 5] =
    [("inHg: ", "22"), ("inHg: ", "25.6"), ("inHg: ", "5.9"), ("inHg: ", "25.6"), ("inHg: ", "5.9")];

#[test]
fn back_after_a_drift_goes_no_further_than_the_drift_and_loses_nothing() {
    let home = Home::with("merle.rhai", CLOSED);
    let mut terminal = at(&home, &["guide", "merle.rhai"]);
    terminal.types(&[&OPENING[..], &SET].concat());
    terminal.types(&DRIFTED);
    terminal.sees("It has drifted since it was last good");
    terminal.types(&[("inHg: ", "back 3")]);
    terminal.sees("back goes no further than that");
    terminal.types(&[("inHg: ", "25"), ("inHg: ", "back"), ("inHg: ", "25"), ("inHg: ", "5")]);
    terminal.types(&[("inHg: ", "21.5"), ("inHg: ", "25"), ("inHg: ", "5"), ("done: ", "")]);
    terminal.exits(0);
    let record = home.record();
    assert_eq!(takes(&record), ["21.5"]);
    assert_eq!(record.drifts().count(), 1);
    assert_eq!(record.technician.as_deref(), Some("Ada"));
}

#[test]
fn a_body_is_closed_after_the_last_look_and_what_is_decided() {
    let home = Home::with("merle.rhai", CLOSED);
    let mut terminal = at(&home, &["guide", "merle.rhai"]);
    terminal.types(&[&OPENING[..], &SET].concat());
    terminal.types(&[("inHg: ", "9"), ("inHg: ", "9")]);
    terminal.sees("Before the end, recheck the calibration");
    terminal.types(&CLOSING);
    terminal.sees("what is to be done?");
    terminal.types(&[("which: ", "leave it as it is")]);
    terminal.sees("Tighten the bolts.");
    terminal.types(&[("done: ", "")]);
    terminal.exits(0);
}

#[test]
fn what_is_told_after_a_window_became_narrower_is_wrapped_to_it() {
    let home = home();
    let mut terminal = at(&home, &["guide", "merle.rhai"]);
    terminal.types(&OPENING[..1]);
    terminal.sees("barometer: ");
    terminal.resizes(40);
    terminal.sends("help");
    terminal.types(&[("barometer: ", "park")]);
    let shown = terminal.exits(3);
    let (_, told) = shown.split_once("At any question you may").expect("help");
    let told: Vec<&str> = told.lines().take_while(|line| !line.contains("barometer: ")).collect();
    assert!(told.len() > 10 && told.iter().all(|line| line.chars().count() <= 40), "{told:#?}");
}
