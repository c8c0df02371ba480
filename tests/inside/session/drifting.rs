//! A rig that moves during a session: what it is caught by, what is read again, and what the coach makes of it.

use crate::leak::Verdict;
use crate::record::Record;
use crate::tests::support::{BODY, BODY_LINES, Shopfront, entered, takes, times_answered};

/// Walks a test of one circuit, whose rig reads these two points at the check before the end.
fn drifted_to(plugged: &str, through: &str, then: &[&str]) -> (Record, String) {
    let front = Shopfront::new("test(c);");
    let before = ["Ada", "29.92 inHg", "20 C", "25", "5", "", "22", plugged, through, plugged, through];
    (front.finish_bare(&[&before, then].concat()), front.flat())
}

const AGAIN: [&str; 6] = ["25", "5", "", "21.5", "25", "5"];

#[test]
fn a_rig_that_has_not_moved_is_only_looked_at() {
    let front = Shopfront::new("test(c);");
    let record = front.finish(&["", "22"]);
    assert_eq!((record.calibrations.len(), record.checks.len(), record.drifts().count()), (1, 1, 0));
    assert_eq!(takes(&record), ["22"]);
}

#[test]
fn a_slip_at_a_look_takes_nothing_back() {
    let front = Shopfront::new("test(c);");
    let lines = ["Ada", "29.92 inHg", "20 C", "25", "5", "", "22", "2.5", "5", "5", "25", "5"];
    let record = front.finish_bare(&lines);
    // More through a hole than plugged can't be, and a figure that can't be is typed twice before it counts.
    assert!(front.flat().contains("The hose showed 2.5 inHg plugged, and a hole can't show more than that"));
    assert_eq!((record.calibrations.len(), record.checks.len(), record.drifts().count()), (1, 1, 0));
    assert_eq!(record.circuits[0].readings[0].check, Some(1));
    assert!(front.shown().contains("Look at both once more"));
}

#[test]
fn a_reading_that_is_a_perfect_vacuum_or_nearly_is_asked_for_once_more() {
    // 0.98 of 29.1 inHg are 28.5.
    for (plugged, is_doubted) in [("29.1", true), ("30", true), ("28.6", true), ("28.4", false)] {
        let front = Shopfront::new("test(c);");
        front.walk_bare(&["Ada", "29.1 inHg", "20 C", plugged]);
        let said = format!("At a barometer of 29.1 inHg, {plugged} inHg is");
        assert_eq!(front.flat().contains(&said), is_doubted, "{plugged}: {}", front.flat());
        assert_eq!(front.flat().contains("Fit the test orifice"), !is_doubted, "{plugged}");
        // Typed again it is what the gauge shows.
        front.begin_anew();
        front.walk_bare(&["Ada", "29.1 inHg", "20 C", plugged, plugged]);
        let again =
            front.journal().standing().filter(|(_, asked, _)| asked.words.starts_with("Plug")).count();
        assert_eq!(again, 1, "{plugged}: {}", front.flat());
        // A session that is taken up knows the barometer too.
        front.begin_anew();
        front.walk_bare(&["Ada", "29.1 inHg", "20 C", "park"]);
        let before = front.flat().matches(&said).count();
        front.walk_bare(&[plugged]);
        assert_eq!(front.flat().matches(&said).count() - before, usize::from(is_doubted), "{plugged}");
    }
}

#[test]
fn another_orifice_at_a_look_is_thought_of_before_a_drift() {
    let front = Shopfront::new("test(c);");
    let record = front.finish_bare(&["Ada", "29.92 inHg", "20 C", "25", "5", "22", "25", "4.2", "25", "5"]);
    assert_eq!((record.checks.len(), record.drifts().count()), (1, 0));
    assert!(
        front.flat().contains("see first that the orifice is the rig's own, and clean"),
        "{}",
        front.flat()
    );
}

#[test]
fn what_was_read_while_the_rig_drifted_is_read_again() {
    let (record, shown) = drifted_to("25.6", "5.9", &AGAIN);
    assert_eq!((record.calibrations.len(), record.checks.len(), record.drifts().count()), (2, 1, 1));
    assert_eq!(record.checks[0].calibration, 2);
    let reading = &record.circuits[0].readings[0];
    assert_eq!((entered(&record, &reading.takes[0]), reading.calibration), ("21.5", 2));
    assert!(shown.contains("It has drifted since it was last good"), "{shown}");
}

/// The hose was off for the rig, so that the plate is not where it was.
#[test]
fn what_led_to_a_reading_is_done_again_and_what_did_not_is_kept() {
    let front = Shopfront::new(
        "ready(\"Take the cover off.\"); let kind = ask_text(\"Which body?\");
         test(c, |t| { t.ready(\"Seat the plate.\"); let noise = t.ask_yes(\"Any noise?\"); t.read(\"inboard\"); });",
    );
    let lines =
        ["Ada", "29.92 inHg", "20 C", "", "late", "25", "5", "", "no", "22", "25.6", "5.9", "25.6", "5.9"];
    let again = ["25", "5", "", "21.5", "25", "5"];
    let record = front.finish_bare(&[&lines[..], &again].concat());
    let times = |words| times_answered(&record, words);
    assert_eq!((times("Seat the plate."), times("Take the cover off."), times("Any noise?")), (2, 1, 1));
    assert_eq!(takes(&record), ["21.5"]);
}

#[test]
fn what_the_unit_has_not_is_not_asked_again_after_a_drift() {
    let front =
        Shopfront::new("test(circuit(#{ name: \"lockup\", holds: 20.inHg, leaks: 15.inHg })); test(c);");
    let before = ["Ada", "29.92 inHg", "20 C", "25", "5", "not fitted no lockup", "", "22"];
    let drifted = ["25.6", "5.9", "25.6", "5.9"];
    let record = front.finish_bare(&[&before[..], &drifted, &AGAIN].concat());
    assert_eq!(record.drifts().map(|(_, circuits)| circuits.to_vec()).collect::<Vec<_>>(), [["c"]]);
    let lockup = record.circuits.iter().find(|circuit| circuit.circuit.name == "lockup").unwrap();
    assert_eq!(lockup.verdict, Some(Verdict::NotFitted));
    assert_eq!(takes(&record), ["21.5"]);
}

#[test]
fn who_takes_a_session_up_before_the_rig_is_set_again_is_told_that_it_drifted() {
    let front = Shopfront::new("test(c);");
    let lines = ["Ada", "29.92 inHg", "20 C", "25", "5", "", "22", "25.6", "5.9", "25.6", "5.9", "park"];
    front.walk_bare(&lines);
    let before = front.flat().matches("It has drifted since it was last good").count();
    front.finish_bare(&AGAIN);
    let after = front.flat().matches("It has drifted since it was last good").count();
    assert_eq!((before, after), (1, 2), "{}", front.flat());
}

#[test]
fn each_drift_has_the_rig_set_anew() {
    let twice = ["25", "5", "", "21.5", "25.6", "5.9", "25.6", "5.9", "25", "5", "", "21.7", "25", "5"];
    let (record, _) = drifted_to("25.6", "5.9", &twice);
    assert_eq!((record.calibrations.len(), record.drifts().count()), (3, 2));
    let reading = &record.circuits[0].readings[0];
    assert_eq!((entered(&record, &reading.takes[0]), reading.calibration), ("21.7", 3));
}

#[test]
fn a_look_from_before_a_drift_is_one_at_the_setting_before() {
    let front = Shopfront::new(
        "for n in 1..=14 { test(circuit(#{ name: \"feed \" + n, holds: 20.inHg, leaks: 15.inHg })); }",
    );
    let lines: Vec<&str> =
        [&["Ada", "29.92 inHg", "20 C", "25", "5"][..], &["22"; 12], &["24.9", "4.9"], &["22"; 2]]
            .concat()
            .into_iter()
            .chain(["25.6", "5.9", "25.6", "5.9", "25", "5", "21.5", "21.5", "25", "5"])
            .collect();
    let record = front.finish_bare(&lines);
    let checks: Vec<_> = record.checks.iter().map(|check| check.calibration).collect();
    assert_eq!((record.calibrations.len(), checks), (2, vec![1, 2]));
    let first = record.journal.iter().position(|event| event.n == record.checks[0].plugged).unwrap();
    assert!(record.journal[first].n < record.calibrations[1].readings[0]);
}

#[test]
fn back_goes_no_further_than_the_looks_that_found_the_drift() {
    let (record, shown) = drifted_to("25.6", "5.9", &[&["back", "back 3"][..], &AGAIN].concat());
    assert_eq!(shown.matches("back goes no further than that").count(), 2, "{shown}");
    assert_eq!((record.technician.as_deref(), record.calibrations.len()), (Some("Ada"), 2));
    assert_eq!(times_answered(&record, "Who is testing?"), 1);
    // What was answered since is taken back as ever.
    let then = ["24", "back", "25", "5", "", "21.5", "25", "5"];
    let (record, _) = drifted_to("25.6", "5.9", &then);
    assert_eq!(record.calibrations.len(), 2);
}

#[test]
fn an_orifice_that_reads_otherwise_alone_is_suspected_and_once_only() {
    let seen_to = ["25", "6", ""];
    let (record, shown) = drifted_to("25", "6", &[&seen_to[..], &AGAIN].concat());
    assert_eq!(shown.matches("what is fitted flows like a hole of 0.0328 in").count(), 1, "{shown}");
    assert_eq!(record.circuits[0].readings[0].calibration, 2);
}

#[test]
fn a_procedure_with_detours_has_its_rig_looked_at_before_the_end_too() {
    let front = Shopfront::new(BODY);
    let record = front.finish(&BODY_LINES);
    assert!(!record.checks.is_empty());
}
