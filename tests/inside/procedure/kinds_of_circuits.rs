//! What circuits are like besides one land that is to hold: lands with limits of their own, passages that are to be
//! open, what a variant does not have, and what is counted and measured around them. From the script to the history.

use std::sync::LazyLock;

use crate::leak::{Land, Limits, Verdict};
use crate::proofread::{proofread, worksheet};
use crate::record::{Answer, Plan, Record};
use crate::tests::support::{FEED, FEED_LINES, Home, Shopfront, close, compiled, inhg, lines, source};
use serde_json::Value;

const EXAMPLE: &str = include_str!("../../../examples/merle-m2-pump-body.rhai");

/// Five balls of six, a coil of 6 ohm at 40 °C, a worn inboard land, a bleed that is too tight, and bolts at 9 ft-lb.
const ANSWERS: &str = "Ana\n29.92 inHg\n20 C\nok\nok\nM2-B\n5.5\n5\n65\n40\n6.0\n25\n5\n\n22.5\n\n15.5\n\n15.5\n\n18\n\n18\n\
                       25\n5\n1\nleave it as it is\n\n9 ft-lb\n";

struct Session {
    home: Home,
    shown: String,
    record: Record,
}

static SESSION: LazyLock<Session> = LazyLock::new(|| {
    let home = Home::with("pump-body.rhai", EXAMPLE);
    let shown = home.run(&["guide", "pump-body.rhai"], ANSWERS).exits(0).out;
    let record = home.record();
    Session { home, shown: shown.split_whitespace().collect::<Vec<_>>().join(" "), record }
});

#[test]
fn the_example_is_proofread_clean_and_reaches_everything() {
    let report = proofread(source(EXAMPLE));
    assert!(report.faults.is_empty(), "{}", report.text());
}

#[test]
fn a_reading_goes_by_its_own_port_land_and_limits() {
    let regulator = &SESSION.record.circuits[0];
    let [outboard, inboard] = &regulator.readings[..] else { panic!("{:?}", regulator.readings) };
    let (first, second) = (regulator.spot(outboard), regulator.spot(inboard));
    let limits = |holds, leaks| Some(Limits::new(inhg(holds), inhg(leaks)).unwrap());
    assert_eq!((first.port.as_deref(), first.limits), (Some("5A"), limits(20.0, 16.0)));
    assert_eq!((second.port.as_deref(), second.limits), (Some("5B"), limits(18.0, 13.0)));
    // By the circuit's limits 15.5 inHg would leak.
    assert_eq!((outboard.verdict(), inboard.verdict()), (Verdict::Holds, Verdict::Worn));
    assert_eq!(regulator.verdict, Some(Verdict::Worn));
    let land = |mm: f64, long: f64| {
        let length = |mm: f64| crate::quantity::Length::constant(mm / 1e3);
        Some(Land::new(length(mm), length(long), None).unwrap())
    };
    assert_eq!((first.land, second.land), (land(15.9, 9.5), land(12.7, 4.8)));
    let shown = &SESSION.shown;
    assert!(
        shown.contains("Move the plate to port 5B. Reading, inboard land Hose on port 5B. Good: 18 inHg up (sure: 18.6), leaks: 13 down (sure: 12.4)."),
        "{shown}"
    );
}

#[test]
fn a_passage_is_judged_by_its_window() {
    let bleed = &SESSION.record.circuits[1];
    assert_eq!(bleed.verdict, Some(Verdict::Tight));
    assert_eq!(bleed.readings[0].takes.len(), 2, "seated again before it is condemned");
    assert!(SESSION.shown.contains("too tight so far"), "{}", SESSION.shown);
    assert!(SESSION.record.findings.iter().any(|finding| finding.text.starts_with("The bleed is clogged")));
    let planned: Vec<_> =
        Plan::after_repair(&SESSION.record).circuits.into_iter().map(|planned| planned.circuit).collect();
    assert_eq!(planned, ["pressure regulator", "lube bleed"]);
    let decided: Vec<_> = SESSION.record.decisions.iter().map(|decision| &*decision.circuit).collect();
    assert_eq!(decided, ["pressure regulator", "lube bleed"]);
}

#[test]
fn what_a_variant_does_not_have_is_neither_sound_nor_untested() {
    let lockup = &SESSION.record.circuits[2];
    assert_eq!(lockup.verdict, Some(Verdict::NotFitted));
    assert_eq!(lockup.left.as_deref(), Some("the M2-B has no lockup clutch"));
    let summary = &SESSION.record.summary;
    assert_eq!((summary.holds, summary.worn, summary.tight), (0, 1, 1));
    assert_eq!((summary.not_fitted, summary.not_tested), (1, 0));
}

#[test]
fn a_coil_is_judged_by_what_it_has_at_20_celsius() {
    let found = SESSION.record.findings.iter().find(|finding| finding.text.contains("coil")).unwrap();
    // IEC 60028: 1 + 0.00393 * 20 of what it has at 20 °C.
    close(6.0 / 1.0786, 5.5628, 1e-4);
    assert_eq!(found.text, "At 20 celsius the coil has 5.56 ohm: replace it.");
}

#[test]
fn things_are_counted_in_whole_numbers() {
    assert!(SESSION.shown.contains("\"5.5\" is not a whole number"), "{}", SESSION.shown);
    let mut answered = SESSION.record.answers.iter().filter_map(|n| SESSION.record.answered(*n));
    let counted = answered.find(|(question, _)| question.words.contains("check balls")).unwrap();
    let Answer::Quantity { entry, .. } = counted.1 else { panic!("{counted:?}") };
    assert_eq!((entry.si, entry.unit.symbol), (5.0, ""));
    assert!(
        SESSION.record.findings.iter().any(|finding| finding.text.starts_with("Check balls are missing"))
    );
}

#[test]
fn a_torque_may_be_typed_in_another_unit() {
    // 9 ft-lb are 108 lbf·in, which is within; else there were a finding.
    assert!(!SESSION.record.findings.iter().any(|finding| finding.text.contains("bolts")));
}

#[test]
fn the_report_the_export_and_the_history_say_the_same() {
    let Session { home, record, .. } = &*SESSION;
    let name = record.session.as_str();
    home.done(&["records", "audit", name]);
    home.says(&["records", "list"], "1 worn, 1 too tight, 1 not fitted");
    let report = home.done(&["report", name]).split_whitespace().collect::<Vec<_>>().join(" ");
    for said in [
        "0 of 2 circuits read as sound. Too tight: lube bleed (decided: leave it as it is). Worn: pressure regulator (decided: ream \
         and fit an oversize valve). Not fitted to this unit: lockup control.",
        "inboard land, port 5B: read 15.5, 15.5 inHg",
        "Holds from 18 inHg up, leaks from 13 inHg down.",
        "Right between 8 inHg and 12 inHg, too open below, too tight above.",
        "It passes less than it must (standard reading above 12 inHg)",
        "Not fitted - the M2-B has no lockup clutch: lockup control",
        "How many check balls came out with the plate?: 5",
    ] {
        assert!(report.contains(said), "no {said}: {report}");
    }
    home.done(&["report", name, "--html", "page.html"]);
    assert!(home.read("page.html").contains("holds, or right"));
    let lines = home.run(&["records", "export", "--format", "jsonl"], "").exits(0).out;
    let rows: Vec<Value> = lines.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    assert_eq!((&rows[1]["port"], &rows[1]["lower_limit_inHg"]), (&Value::from("5B"), &Value::from(13.0)));
    assert_eq!(
        (&rows[2]["limits_are_window"], &rows[2]["verdict"]),
        (&Value::from(true), &Value::from("too tight"))
    );
    let failing = home.json(&["history", "failing"]);
    let of = |circuit: &str, column: &str| {
        let rows = failing["tables"][0]["rows"].as_array().unwrap();
        rows.iter().find(|row| row["circuit"] == circuit).unwrap()[column].clone()
    };
    assert_eq!(
        (of("lube bleed", "too tight"), of("lube bleed", "failed, %")),
        (Value::from(1), Value::from(100.0))
    );
    assert_eq!(
        (of("lockup control", "not fitted"), of("lockup control", "tested")),
        (Value::from(1), Value::from(0))
    );
    // A reading with limits of its own is of another place than the circuit's others.
    home.says(&["history", "spread", "pressure regulator"], "22.5");
    let judged = home.done(&["history", "limits", "lube bleed", "--between", "8inHg", "20inHg"]);
    assert!(judged.contains("too tight") && judged.contains("right"), "{judged}");
    home.refuses(
        2,
        &["history", "limits", "lube bleed", "--holds", "20inHg"],
        "name a window with --between",
    );
}

#[test]
fn the_form_says_the_window() {
    let form = worksheet(&compiled(EXAMPLE), None).0;
    assert!(form.contains("Right between 8 inHg and 12 inHg"), "{form}");
}

#[test]
fn a_rehearsal_finds_a_passage_as_it_was_asked_to() {
    let home = Home::with("pump-body.rhai", EXAMPLE);
    let rehearsed = |leak: &str| home.done(&["rehearse", "pump-body.rhai", "--leak", leak]);
    assert!(rehearsed("lube bleed=sound").contains("right lube bleed"));
    assert!(rehearsed("lube bleed=open").contains("too open lube bleed"));
    assert!(rehearsed("lube bleed=tight").contains("too tight lube bleed"));
    assert!(rehearsed("pressure regulator: inboard land=worn").contains("worn pressure regulator"));
    home.refuses(2, &["rehearse", "pump-body.rhai", "--leak", "lube bleed=worn"], "open, tight");
    home.refuses(2, &["rehearse", "pump-body.rhai", "--leak", "lockup control=tight"], "worn, leaks");
}

const TWO: &str = "test(circuit(#{ name: \"lockup\", port: \"7\", holds: 20.inHg, leaks: 15.inHg }));
test(circuit(#{ name: \"valve\", port: \"8\", holds: 20.inHg, leaks: 15.inHg }), |t| { t.read(\"in\"); t.read(\"out\"); });
";

#[test]
fn a_technician_may_say_that_a_circuit_is_not_fitted_but_not_once_a_reading_of_it_stands() {
    let front = Shopfront::new(TWO);
    let refused = "Not Fitted is what I say";
    let lines = [
        &["not fitted", "not fitted no valve in its bore", "10", refused, "", refused, "10", refused][..],
        &["cannot go on"],
    ];
    let lines = lines.concat();
    let record = front.finish(&lines);
    let [lockup, valve] = &record.circuits[..] else { panic!("{:?}", record.circuits) };
    assert!(front.flat().contains("Write behind it by what you know"), "{}", front.shown());
    assert_eq!(front.flat().matches("A reading of this circuit stands. Take it back first").count(), 3);
    assert_eq!(
        (lockup.verdict, lockup.left.as_deref()),
        (Some(Verdict::NotFitted), Some("no valve in its bore"))
    );
    assert_eq!((valve.verdict, valve.left.as_deref()), (Some(Verdict::Leaks), Some("go on")));
}

#[test]
fn a_circuit_whose_reading_was_taken_back_may_be_said_to_be_not_fitted() {
    let front = Shopfront::new(TWO);
    let lines = ["10", "not fitted no port", "back", "not fitted no port", "22", "22"];
    let lockup = &front.finish(&lines).circuits[0];
    assert_eq!((lockup.verdict, lockup.left.as_deref()), (Some(Verdict::NotFitted), Some("no port")));
}

/// Neither a land's gap nor a hole: nothing is unknown of it that the procedure did not say.
#[test]
fn a_seal_that_leaks_is_told_as_a_seal() {
    let told = "leaks: 15.inHg, seal: \"lip\" }";
    let home = Home::with("merle.rhai", FEED.replace("leaks: 15.inHg }", told));
    let leaking = lines(&FEED_LINES).replacen("22", "9\n\n9", 1) + "1\n";
    home.run(&["guide", "merle.rhai"], &leaking).exits(0);
    let ran = home.run(&["report"], "").exits(0).says("A lip seals here, which has no clearance");
    let ran = ran
        .says("A seal leaks past its edge or through a nick: the range of its standard reading holds both.");
    assert!(!ran.out.contains("is not known: the range"), "{}", ran.out);
}
