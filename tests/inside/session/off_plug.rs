//! A circuit that reads as the hose did at a point of the rig: the hose may be there still, on its plug or on the orifice.

use std::sync::Arc;
use std::thread;

use super::hands::{Browser, RUNNER, seen};
use crate::leak::Verdict;
use crate::page::{Board, SaidKind, Sight};
use crate::quantity::UNITS;
use crate::record::Record;
use crate::session::{Ended, Person};
use crate::tests::support::{Script, Shopfront, entered, takes};

const ASKED: &str = "is it on the port, or on its plug still?";
const ON_ORIFICE: &str = "is it on the port, or on the orifice still?";
const SAID: &str = "As tight as the plug";

/// Walks one circuit on a rig that reads 25 inHg plugged; returns what counted, and how often that was asked about.
fn read(script: &str, readings: &[&str]) -> (Vec<String>, usize) {
    let front = Shopfront::new(script);
    let record = front.finish(readings);
    (takes(&record), front.flat().matches(ASKED).count())
}

/// What was read of each circuit, as it was entered.
fn read_of_each(record: &Record) -> Vec<&str> {
    let takes = record.circuits.iter().flat_map(|circuit| &circuit.readings[0].takes);
    takes.map(|take| entered(record, take)).collect()
}

/// A unit of as many circuits.
fn unit(n: usize) -> Shopfront {
    let script = format!(
        "for n in 1..={n} {{ test(circuit(#{{ name: \"feed \" + n, holds: 20.inHg, leaks: 15.inHg }})); }}"
    );
    Shopfront::of(Script::new(&script).compile().expect("a sound script"))
}

#[test]
fn a_circuit_that_reads_as_the_plugged_hose_is_asked_about_before_it_counts() {
    // The usual dial has a mark every half inch of mercury: half of that an eye may be off.
    for reading in ["25.25", "25", "24.8", "24.75"] {
        assert_eq!(read("test(c);", &[reading, "22"]), (vec!["22".to_owned()], 1), "{reading}");
        assert_eq!(read("test(c);", &[reading, reading]), (vec![reading.to_owned()], 1), "{reading}");
    }
    assert_eq!(read("test(c);", &["24.7"]), (vec!["24.7".to_owned()], 0));
    let front = Shopfront::new("test(c);");
    front.walk(&["25"]);
    let asked = "Plugged, the hose showed 25 inHg: is it on the port, or on its plug still? Where it is on the port and the \
                 circuit that tight, type 25 inHg once more.";
    assert!(front.flat().contains(asked), "{}", front.flat());
}

#[test]
fn a_passage_that_is_to_be_open_is_asked_about_once_however_often_it_is_read() {
    let passage = "test(circuit(#{ name: \"hole\", between: [8.inHg, 12.inHg] }));";
    let tight = ["25", "24.9", "", "25", "", "leave it as it is"];
    assert_eq!(read(passage, &tight).1, 1);
    // Whoever found the hose on its plug is asked no more either.
    assert_eq!(read(passage, &["25", "10.5"]), (vec!["10.5".to_owned()], 1));
}

#[test]
fn of_a_tight_unit_one_circuit_is_asked_about_and_of_the_others_it_is_said_at_their_verdicts() {
    let front = unit(4);
    let record = front.finish(&["25", "25", "25", "22", "24.9"]);
    assert_eq!(read_of_each(&record), ["25", "25", "22", "24.9"]);
    assert!(record.circuits.iter().all(|circuit| circuit.verdict == Some(Verdict::Holds)));
    assert_eq!((front.flat().matches(ASKED).count(), front.flat().matches(SAID).count()), (1, 2));
}

#[test]
fn behind_a_look_at_the_rig_and_in_a_session_that_is_gone_on_with_it_is_asked_about_again() {
    let front = unit(14);
    let rig = ["Ada", "29.92 inHg", "20 C", "25", "5"];
    let looked = ["25", "5", "25", "25", "park"];
    front.walk_bare(&[&rig[..], &["25"; 13], &looked].concat());
    assert_eq!((front.flat().matches(ASKED).count(), front.flat().matches(SAID).count()), (2, 11));
    front.walk_bare(&["25", "park"]);
    assert_eq!(front.flat().matches(ASKED).count(), 3);
}

#[test]
fn whoever_had_the_hose_on_its_plug_takes_the_reading_again() {
    let front = unit(3);
    let record = front.finish(&["24.9", "24.9", "25", "again", "21.5", "22"]);
    assert_eq!(read_of_each(&record), ["24.9", "21.5", "22"], "{}", front.shown());
}

#[test]
fn the_first_circuit_since_a_look_that_reads_as_the_orifice_did_is_asked_about_before_it_counts() {
    for reading in ["5", "4.75", "5.25"] {
        let front = Shopfront::new("test(c);");
        assert_eq!(takes(&front.finish(&[reading, "22"])), ["22"], "{reading}");
        assert_eq!(front.flat().matches(ON_ORIFICE).count(), 1, "{reading}");
    }
    let front = Shopfront::new("test(c);");
    front.walk(&["4.6"]);
    assert!(!front.flat().contains(ON_ORIFICE), "{}", front.flat());
    let front = Shopfront::new("test(c);");
    assert_eq!(takes(&front.finish(&["5", "5", "5"])), ["5", "5"]);
    let asked = "Through the orifice, the hose showed 5 inHg: is it on the port, or on the orifice still? Where it is on the \
                 port, type 5 inHg once more.";
    assert_eq!(front.flat().matches(asked).count(), 1, "{}", front.flat());
}

#[test]
fn once_a_circuit_was_read_the_hose_is_off_the_orifice_until_the_next_look() {
    let front = unit(2);
    front.walk(&["22", "5", "5", "park"]);
    assert!(!front.flat().contains(ON_ORIFICE), "{}", front.flat());
    // What the orifice read at the last look counts, not what it read when the rig was set.
    let front = unit(14);
    front.walk_bare(&[&RUNNER[..], &["22"; 12], &["25", "5.1", "5.3", "22", "park"]].concat());
    let asked = "Through the orifice, the hose showed 5.1 inHg";
    assert_eq!(front.flat().matches(asked).count(), 1, "{}", front.flat());
}

#[test]
fn on_the_page_it_is_a_question_beside_no_refusal_and_enter_alone_answers_neither() {
    let front = Shopfront::new("test(c);");
    let board = Arc::<Board>::default();
    let ended = thread::scope(|scope| {
        let page = Arc::clone(&board);
        scope.spawn(move || {
            let browser = Browser(&page);
            browser.types(&RUNNER);
            browser.types(&["25"]);
            let ask = |sight: &Sight| sight.ask.clone().unwrap_or_default();
            let ask = ask(&seen(&page, |sight| sight.question > 0 && ask(sight).doubt.is_some()));
            assert!(ask.doubt.is_some_and(|doubt| doubt.contains(ASKED)));
            assert_eq!((ask.refusal, ask.enter), (None, None));
            let is_asked_back = |sight: &Sight| sight.said.iter().any(|one| one.kind == SaidKind::Doubt);
            assert!(is_asked_back(&page.now().sight));
            browser.types(&["", "21", "25", "5"]);
        });
        let prompt = front.prompt(&[]).with_page(Arc::clone(&board)).unwrap();
        front.walk_with(Box::new(Person::new(prompt, &UNITS[0]))).unwrap()
    });
    let Ended::Finished(record, _) = ended else { panic!("{ended:?} {}", front.shown()) };
    assert_eq!(takes(&record), ["21"], "{}", front.shown());
}
