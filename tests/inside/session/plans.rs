//! Sessions that test some circuits only: which, in which order, and what comes before and after.

use crate::record::{Opening, Plan, Planned, Record};
use crate::session::Ended;
use crate::tests::support::{Shopfront, entered};

/// Two circuits without a set-up, the second called d.
const TWO: &str = "let d = circuit(#{ name: \"d\", holds: 20.inHg, leaks: 15.inHg }); test(c); test(d);";

const BODY: &str = r#"
ready("Wash the body.");
test(c);
section("Nothing here");
section("Clutches");
let drive = circuit(#{ name: "drive", port: "3", holds: 20.inHg, leaks: 15.inHg });
let third = circuit(#{ name: "third", port: "4", holds: 20.inHg, leaks: 15.inHg });
test(drive, |t| { t.ready("Hold the valve inboard."); t.read(); });
test(third);
ready("Tighten the bolts.");
section("Nor here");
"#;

/// Tests third first, then drive; c is left out.
fn plan(opening: &mut Opening) {
    let planned = |circuit: &str| Planned { circuit: circuit.to_owned(), because: vec!["flare".to_owned()] };
    let circuits = vec![planned("third"), planned("drive")];
    opening.plan = Some(Plan {
        complaints: vec!["flare".to_owned()],
        meant: Vec::new(),
        after: None,
        seed: None,
        circuits,
    });
}

fn front() -> Shopfront {
    let mut front = Shopfront::new(BODY);
    front.unusual = plan;
    front
}

fn asked(record: &Record) -> Vec<String> {
    let at = |text: &str, shown: &str| shown.find(text).unwrap_or(usize::MAX);
    let words = ["Wash the body", "Hold the valve inboard", "Tighten the bolts"];
    let journal = serde_json::to_string(&record.journal).expect("a journal");
    let mut found: Vec<_> = words.iter().map(|text| (at(text, &journal), (*text).to_owned())).collect();
    found.sort();
    found.into_iter().map(|(_, text)| text).collect()
}

#[test]
fn a_complaint_of_which_no_circuit_is_the_cause_is_answered() {
    let found = "Each circuit that the procedure names for \"flare\" is sound";
    let shown = |readings: &[&str]| {
        let front = front();
        let record = front.finish(readings);
        crate::tell::complaints_without_cause(&record)
    };
    assert!(shown(&["", "22", "", "21", ""]).is_some_and(|text| text.starts_with(found)));
    assert_eq!(shown(&["", "12", "", "12", "", "21", "", "leave it as it is"]), None);
}

#[test]
fn a_conclusion_is_said_once_and_not_again_behind_another_circuit() {
    let third = "test(third, |t| { t.read(); t.finding(\"Third is scored.\"); });";
    let behind = BODY.replace("test(third);", third);
    let drive = "test(drive, |t| { t.ready(\"Hold the valve inboard.\"); t.read(); });";
    let ahead = BODY.replace("test(third);", "").replace(drive, &format!("{third}\n{drive}"));
    for body in [behind, ahead] {
        let mut front = Shopfront::new(&body);
        front.unusual = plan;
        let record = front.finish(&["", "22", "", "21", ""]);
        assert_eq!(record.findings.len(), 1);
        assert_eq!(front.shown().matches("Third is scored.").count(), 1, "{}", front.shown());
    }
}

#[test]
fn a_section_whose_circuits_are_all_left_out_is_not_shown_with_what_it_says_of_them() {
    let body = r#"
section("Only c");
say("Look at c by daylight.");
test(c);
section("Clutches");
say("Take the springs out.");
let drive = circuit(#{ name: "drive", port: "3", holds: 20.inHg, leaks: 15.inHg });
let third = circuit(#{ name: "third", port: "4", holds: 20.inHg, leaks: 15.inHg });
let fourth = circuit(#{ name: "fourth", port: "5", holds: 20.inHg, leaks: 15.inHg });
test(drive);
test(third);
section("Only the fourth");
test(fourth);
say("That was the fourth.");
section("In general");
say("Vent the pump.");
"#;
    let mut front = Shopfront::new(body);
    front.unusual = plan;
    front.finish(&["22", "21"]);
    let shown = front.shown();
    for left_out in ["Only c", "daylight", "Only the fourth", "That was the fourth."] {
        assert!(!shown.contains(left_out), "{left_out}: {shown}");
    }
    for told in ["── Clutches", "Take the springs out.", "── In general", "Vent the pump."] {
        assert!(shown.contains(told), "{told}: {shown}");
    }
}

#[test]
fn what_could_not_be_tested_is_tested_after_the_repair() {
    let front = Shopfront::new(TWO);
    let record = front.finish(&["22", "cannot the port is broken"]);
    let plan = Plan::after_repair(&record);
    assert_eq!(plan.circuits.len(), 1);
    assert_eq!(
        (plan.circuits[0].circuit.as_str(), plan.circuits[0].because[0].as_str()),
        ("d", "not tested")
    );
}

#[test]
fn the_plan_sets_the_order_and_what_follows_the_tests_comes_after_all_of_them() {
    let front = front();
    let record = front.finish(&["", "22", "", "21", ""]);
    let read = |name: &str| {
        let circuit = record.circuits.iter().find(|circuit| circuit.circuit.name == name).expect("a circuit");
        circuit.readings.first().map(|reading| entered(&record, &reading.takes[0]))
    };
    assert_eq!((read("third"), read("drive"), read("c")), (Some("22"), Some("21"), None));
    assert_eq!(asked(&record), ["Wash the body", "Hold the valve inboard", "Tighten the bolts"]);
    let shown = front.shown();
    let place = |text: &str| shown.find(text).expect(text);
    assert!(place("1/2: third") < place("2/2: drive"), "{shown}");
    assert!(place("2/2: drive") < place("Tighten the bolts"), "{shown}");
    assert!(!shown.contains("Nothing here") && !shown.contains("Nor here"), "{shown}");
}

#[test]
fn a_planned_session_that_was_parked_goes_on_where_it_was() {
    let front = front();
    assert!(matches!(front.walk(&["", "22", "park"]), Ended::Parked));
    let record = front.finish(&["", "21", ""]);
    assert_eq!((record.summary.holds, record.summary.not_tested), (2, 1));
}

#[test]
fn back_in_a_planned_session_goes_back_over_circuits_in_the_plans_order() {
    let front = front();
    let record = front.finish(&["", "22", "", "back 2", "21.7", "", "21", ""]);
    let third = record.circuits.iter().find(|circuit| circuit.circuit.name == "third").expect("a circuit");
    assert_eq!(entered(&record, &third.readings[0].takes[0]), "21.7");
    assert_eq!(record.summary.not_tested, 1);
}

#[test]
fn after_a_drift_every_circuit_of_a_plan_is_read_again() {
    let front = front();
    let drifted =
        ["Ada", "29.92 inHg", "20 C", "", "25", "5", "22", "", "21", "", "25.6", "5.9", "25.6", "5.9"];
    let again = ["25", "5", "22.5", "", "21.5", "25", "5"];
    let record = front.finish_bare(&[&drifted[..], &again].concat());
    let mut read: Vec<_> = record
        .circuits
        .iter()
        .flat_map(|circuit| &circuit.readings)
        .map(|reading| (entered(&record, &reading.takes[0]), reading.calibration))
        .collect();
    read.sort_unstable();
    assert_eq!(read, [("21.5", 2), ("22.5", 2)]);
    assert_eq!((record.drifts().count(), record.calibrations.len()), (1, 2));
}
