//! A circuit that reads as the plugged hose did: the hose may be on its plug still.

use crate::leak::Verdict;
use crate::record::Record;
use crate::tests::support::{Script, Shopfront, entered, takes};

const ASKED: &str = "is it on the port, or on its plug still?";
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
