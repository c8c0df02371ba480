//! Sessions through the library, without a terminal: lines are typed, a record comes out.

use super::hands::RUNNER;
use crate::leak::Verdict;
use crate::record::{Answer, Mode, What, read};
use crate::session::Ended;
use crate::tests::support::{BODY, BODY_LINES, Script, Shopfront, answers, essence, takes, times_answered};

/// The conventional inch of mercury in Pa (NIST SP 811, appendix B.8).
const INHG: f64 = 3386.389;

fn text(line: &str) -> Answer {
    Answer::Text(line.to_owned())
}

/// Two circuits without a set-up, the second called d.
const TWO: &str = "let d = circuit(#{ name: \"d\", holds: 20.inHg, leaks: 15.inHg }); test(c); test(d);";

#[test]
fn a_walk_without_detours_leaves_the_record_that_it_should() {
    let front = Shopfront::new(BODY);
    let record = front.finish(&BODY_LINES);
    assert_eq!((record.mode, record.technician.as_deref()), (Mode::Bench, Some("Ada")));
    assert_eq!((record.procedure.title.as_str(), record.procedure.version.as_str()), ("Test", "1.0.0"));
    assert!((record.barometer.as_ref().unwrap().station_pa - 101_325.0).abs() < 1e-9);
    assert_eq!((record.summary.holds, record.summary.leaks, record.summary.not_tested), (1, 0, 0));
    let circuit = &record.circuits[0];
    assert_eq!((circuit.verdict, &circuit.left), (Some(Verdict::Holds), &None));
    assert_eq!(circuit.readings.len(), 1);
    let reading = &circuit.readings[0];
    assert_eq!((reading.label.as_deref(), reading.trial, reading.calibration), (Some("inboard"), false, 1));
    let (entry, _) = record.read_at(reading.takes[0].event).unwrap();
    assert_eq!(entry.entered, "22 inHg");
    assert!((entry.si - 22.0 * INHG).abs() < 1e-9);
    let findings: Vec<_> = record.findings.iter().map(|f| (f.circuit.as_deref(), f.text.as_str())).collect();
    assert_eq!(findings, [(None, "The bore is worn."), (Some("c"), "It hisses.")]);
    let answered: Vec<_> = record.answers.iter().map(|n| record.answered(*n).unwrap()).collect();
    let asked: Vec<_> = answered.iter().map(|(q, _)| (q.circuit.as_deref(), q.words.as_str())).collect();
    assert_eq!(
        asked,
        [(None, "Which body?"), (None, "Bore?"), (Some("c"), "Any noise?"), (None, "Anything else?"),]
    );
    assert_eq!(*answered[3].1, text("no"));
    assert!(front.flat().contains("Hands off the hose. type ok: ok"), "{}", front.shown());
    assert!(!front.journal_path().exists(), "the finished session stays open");
    assert_eq!(read(&front.record_path()).unwrap().circuits, record.circuits);
}

#[test]
fn back_undoes_as_many_answers_as_it_says_and_asks_them_again() {
    let front = Shopfront::new(BODY);
    let lines = ["ok", "late", "13.5", "", "22", "back 5", "12.5", "", "21", "yes", "back", "no", "done"];
    let record = front.finish(&lines);
    assert_eq!(takes(&record), ["21"]);
    assert!(record.findings.is_empty(), "{:?}", record.findings);
    assert_eq!(times_answered(&record, "Bore?"), 2);
    assert_eq!(times_answered(&record, "Which body?"), 1);
    assert_eq!(times_answered(&record, "Any noise?"), 2);
}

#[test]
fn back_beyond_the_beginning_begins_anew() {
    let front = Shopfront::new("let a = ask_text(\"First?\"); let b = ask_text(\"Second?\");");
    let record = front.finish(&["one", "back 10", "back 9", "uno", "due"]);
    assert_eq!(
        answers(&record).iter().map(|(_, answer)| answer.clone()).collect::<Vec<_>>(),
        [text("uno"), text("due")]
    );
    assert_eq!(times_answered(&record, "Who is testing?"), 2);
}

#[test]
fn again_takes_one_answer_again_and_keeps_those_after_it() {
    let front = Shopfront::new(BODY);
    let record =
        front.finish(&["ok", "late", "13.5", "", "22", "again 5", "12.5", "no", "again 2", "21.5", "end"]);
    assert_eq!(takes(&record), ["21.5"]);
    assert_eq!(times_answered(&record, "Seat the plate."), 1);
    assert_eq!(times_answered(&record, "Any noise?"), 1);
    assert!(record.findings.is_empty());
    assert!(front.flat().contains("kept Seat the plate: done"), "{}", front.shown());
}

#[test]
fn taking_a_point_of_the_rig_again_sets_it_anew_and_keeps_the_circuits() {
    let front = Shopfront::new("test(c); let last = ask_text(\"Last?\");");
    // Who, barometer, plugged, through, the reading: the fourth and third last are the rig's.
    let record = front.finish(&["22", "again 3", "end"]);
    assert_eq!(times_answered(&record, "Reading"), 1);
    assert_eq!(record.calibrations.len(), 1);
    let retracted: Vec<_> = record
        .journal
        .iter()
        .filter_map(|event| match &event.what {
            What::Retracted { answers } => Some(answers.len()),
            _ => None,
        })
        .collect();
    assert_eq!(retracted, [2], "both points go together");
}

#[test]
fn a_note_goes_into_the_record_and_answers_nothing() {
    let front = Shopfront::new(BODY);
    let record = front.finish(&[
        "jot bench two",
        "ok",
        "late",
        "12.5",
        "",
        "jot",
        "jot the plate is nicked",
        "22",
        "no",
        "x",
    ]);
    let notes: Vec<_> = record.notes().collect();
    assert_eq!(notes, [(None, "bench two"), (Some("c"), "the plate is nicked")]);
    assert_eq!(front.flat().matches("Noted.").count(), 2);
    assert!(front.flat().contains("Write the note behind it"), "{}", front.shown());
}

#[test]
fn a_note_belongs_to_what_is_asked_about_when_it_is_given() {
    let front = Shopfront::new(TWO);
    let lines =
        ["22", "jot oil on the plate", "9", "jot still 9", "9", "jot ream it by hand", "leave it as it is"];
    let typed = [&["Ada", "29.92 inHg", "20 C", "25", "5"], &lines[..5], &["25", "5"], &lines[5..]].concat();
    let record = front.finish_bare(&typed);
    let notes: Vec<_> = record.notes().collect();
    assert_eq!(
        notes,
        [(Some("d"), "oil on the plate"), (Some("d"), "still 9"), (Some("d"), "ream it by hand")]
    );
}

#[test]
fn a_circuit_that_cannot_be_tested_is_left_with_its_reason_and_what_was_not_read_twice_is_to_be_tested_again()
{
    for (lines, verdict) in [
        (&["ok", "late", "12.5", "cannot no plate fits", "x"][..], None),
        (&["ok", "late", "12.5", "", "cannot no plate fits", "x"], None),
        (&["ok", "late", "12.5", "", "22", "cannot no plate fits", "x"], None),
        // At seating the plate again, and at reading after that.
        (&["ok", "late", "12.5", "", "12", "cannot no plate fits", "x"], Some(Verdict::Retest)),
        (&["ok", "late", "12.5", "", "12", "", "cannot no plate fits", "x"], Some(Verdict::Retest)),
    ] {
        let record = Shopfront::new(BODY).finish(lines);
        let circuit = &record.circuits[0];
        assert_eq!((circuit.verdict, circuit.left.as_deref()), (verdict, Some("no plate fits")), "{lines:?}");
        assert_eq!(record.summary.not_tested, usize::from(verdict.is_none()));
        assert!(record.decisions.is_empty());
    }
}

#[test]
fn what_cannot_be_done_outside_a_circuit_becomes_a_finding() {
    let front = Shopfront::new(
        "ready(\"Wash the body.\"); let bore = ask_number(\"Bore?\", #{ unit: \"mm\" }); \
         if !bore.taken { say(\"not measured\"); } let words = ask_text(\"Words?\"); say(\"<\" + words + \">\");",
    );
    let record = front.finish(&["cannot no water", "cannot no gauge", "cannot nothing to say"]);
    let texts: Vec<_> = record.findings.iter().map(|finding| finding.text.as_str()).collect();
    assert_eq!(
        texts,
        [
            "could not be done: Wash the body. (no water)",
            "could not be done: Bore? (no gauge)",
            "could not be done: Words? (nothing to say)"
        ]
    );
    assert!(front.flat().contains("not measured") && front.flat().contains("<>"), "{}", front.shown());
}

#[test]
fn a_parked_session_goes_on_where_it_was() {
    let front = Shopfront::new(BODY);
    for line in BODY_LINES {
        let Ended::Parked = front.walk(&["park"]) else { panic!("{}", front.shown()) };
        let Ended::Parked = front.walk(&[line, "park"]) else {
            assert_eq!(line, BODY_LINES[6], "{}", front.shown());
            break;
        };
    }
    let record = read(&front.record_path()).unwrap();
    assert_eq!(answers(&record).len(), BODY_LINES.len());
    assert_eq!(essence(&record), essence(&Shopfront::new(BODY).finish(&BODY_LINES)));
    assert_eq!(front.flat().matches("Which body?").count(), 3, "asked, parked at, asked and answered");
}

#[test]
fn whoever_goes_on_in_the_middle_of_a_circuit_is_told_its_set_up_and_what_it_came_to_so_far() {
    let front = Shopfront::new(
        "let c2 = circuit(#{ name: \"feed\", set_up: \"Seat the plate over C1.\", holds: 20.inHg, leaks: 15.inHg });
         test(c2);",
    );
    let Ended::Parked = front.walk(&["12.5", "park"]) else { panic!("{}", front.shown()) };
    let before = front.flat().len();
    let Ended::Parked = front.walk(&["park"]) else { panic!("{}", front.shown()) };
    let told = front.flat()[before..].to_owned();
    assert!(told.contains("Seat the plate over C1: 12.5 inHg"), "{told}");
    assert!(told.contains("leaks so far: standard reading 12.5 inHg"), "{told}");
}

#[test]
fn lines_that_run_out_lose_nothing() {
    let front = Shopfront::new(BODY);
    for end in 1..BODY_LINES.len() {
        let Ended::Lost(why) = front.walk(&BODY_LINES[end - 1..end]) else { panic!("{}", front.shown()) };
        assert_eq!(why, "there are no more answers");
    }
    let record = front.finish(&BODY_LINES[6..]);
    assert_eq!(answers(&record).len(), BODY_LINES.len());
}

#[test]
fn a_test_that_ends_without_a_reading_that_counts_is_a_fault_and_loses_nothing() {
    for (body, line) in [
        ("test(c, |t| { });", ""),
        ("test(c, |t| { t.trial(\"port blocked\"); });", "22"),
        ("test(c, |t| { t.ready(\"x\"); return; });", ""),
    ] {
        let mut front = Shopfront::new(&format!("let a = ask_text(\"First?\"); {body}"));
        let Ended::Broken(fault) = front.walk(&["one", line]) else { panic!("{}", front.shown()) };
        assert!(fault.message.contains("without a reading that counts"), "{}", fault.message);
        // Once the procedure is mended, the answers are still there.
        front.program = Script::new("let a = ask_text(\"First?\"); test(c);").compile().unwrap();
        let record = front.finish(&["22"]);
        assert_eq!(times_answered(&record, "First?"), 1);
    }
}

#[test]
fn a_circuit_is_tested_once_and_one_at_a_time() {
    for (body, wanted) in [
        ("test(c); test(c);", "has been tested already"),
        ("test(c, |t| { test(c); });", "has not ended"),
        ("let keep = []; test(c, |t| { keep.push(t); t.read(); }); keep[0].read();", "belong inside test"),
        (
            "test(c); let d = circuit(#{ name: \"c\", holds: 20.inHg, leaks: 15.inHg }); test(d);",
            "there is a circuit \"c\" already",
        ),
    ] {
        let front = Shopfront::new(body);
        let Ended::Broken(fault) = front.walk(&["22", "22"]) else { panic!("{}", front.shown()) };
        assert!(fault.message.contains(wanted), "{}", fault.message);
    }
}

#[test]
fn a_branch_that_changes_asks_only_what_is_new() {
    let front = Shopfront::new(
        "if ask_yes(\"Valve stuck?\") { let a = ask_text(\"Where?\"); } else { let b = ask_text(\"How free?\"); } \
         test(c); let last = ask_text(\"Last?\");",
    );
    let record =
        front.finish(&["yes", "at the stop", "22", "again 5", "no", "quite", "again 5", "yes", "end"]);
    let wanted = [("Valve stuck?", 3), ("Where?", 1), ("How free?", 1), ("Reading", 1), ("Last?", 1)];
    for (words, times) in wanted {
        assert_eq!(times_answered(&record, words), times, "{words}");
    }
    let walked: Vec<_> = answers(&record).into_iter().map(|(words, _)| words).collect();
    assert_eq!(walked, ["Valve stuck?", "Where?", "Reading", "Last?"]);
}

const CHANGING: &str = "
let side = ask_choice(\"Which side?\", [\"left\", \"right\"]);
let ports = if side == \"left\" { [\"A\", \"B\"] } else { [\"B\", \"C\"] };
let port = ask_choice(\"Which port?\", ports);
let last = ask_text(\"Last?\");
";

#[test]
fn a_kept_answer_that_no_longer_fits_is_asked_again() {
    let record = Shopfront::new(CHANGING).finish(&["left", "A", "again 2", "right", "C", "end"]);
    assert_eq!(answers(&record)[1].1, Answer::Choice("C".to_owned()));
    let record = Shopfront::new(CHANGING).finish(&["left", "B", "again 2", "right", "end"]);
    assert_eq!(answers(&record)[1].1, Answer::Choice("B".to_owned()));
}

#[test]
fn an_answer_that_was_replaced_does_not_come_back_when_the_new_one_is_undone() {
    // A does not fit on the right and gives way to B; back on the left, where A would fit again, B is undone.
    let front = Shopfront::new(CHANGING);
    let lines = ["left", "A", "again 2", "right", "B", "again 2", "left", "back", "B", "end"];
    let record = front.finish(&lines);
    assert_eq!(answers(&record)[1].1, Answer::Choice("B".to_owned()), "{}", front.shown());
    assert_eq!(answers(&record)[2].1, text("end"));
}

#[test]
fn a_finished_session_whose_record_is_missing_is_stored_on_resume() {
    let front = Shopfront::new(BODY);
    // A folder in the record's place stands for a disk that refuses.
    std::fs::create_dir(front.record_path()).unwrap();
    let error = front.walk_with(Box::new(front.usual(&BODY_LINES))).unwrap_err();
    assert!(front.journal_path().exists(), "{error}");
    std::fs::remove_dir(front.record_path()).unwrap();
    let before = front.journal().events().len();
    let record = front.finish(&[]);
    assert_eq!(record.journal.len(), before, "nothing is added to a finished journal");
    assert_eq!(essence(&record), essence(&Shopfront::new(BODY).finish(&BODY_LINES)));
}

#[test]
fn a_session_that_ended_right_after_storing_finishes_with_the_same_record() {
    let front = Shopfront::new(BODY);
    front.walk(&BODY_LINES[..6]);
    let record = front.finish(&BODY_LINES[6..]);
    let bytes = std::fs::read(front.record_path()).unwrap();
    // The journal as it was at the end, put back as if the program had been killed before it was removed.
    std::fs::create_dir(front.journal_path().parent().unwrap()).unwrap();
    front.rewrite_journal(&record.journal);
    front.finish(&[]);
    assert_eq!(std::fs::read(front.record_path()).unwrap(), bytes);
}

#[test]
fn a_record_is_never_overwritten() {
    let front = Shopfront::new(BODY);
    std::fs::write(front.record_path(), "another record\n").unwrap();
    let error = front.walk_with(Box::new(front.usual(&BODY_LINES))).unwrap_err();
    assert!(error.to_string().contains("never overwritten"), "{error}");
    assert_eq!(std::fs::read_to_string(front.record_path()).unwrap(), "another record\n");
    assert!(front.journal_path().exists(), "the journal goes only when the record is in place");
}

#[test]
fn back_names_what_it_took_back_and_shows_what_stands_of_the_circuit() {
    let front = Shopfront::new("test(c);");
    front.walk_bare(&[&RUNNER[..], &["12.5", "13", "back", "park"]].concat());
    let shown = front.flat();
    let (_, behind) = shown.split_once("Taken back at ").unwrap_or_else(|| panic!("{shown}"));
    assert!(behind.contains(": 13 inHg.") && behind.contains("kept"), "{shown}");
    assert!(behind.contains(": 12.5 inHg") && behind.contains("leaks so far"), "{shown}");
    let front = Shopfront::new("test(c);");
    front.walk_bare(&[&RUNNER[..], &["12.5", "13", "back 2", "park"]].concat());
    assert!(front.flat().contains("Taken back: 2 answers, the first of them at "), "{}", front.flat());
}

#[test]
fn of_takes_that_differ_one_thing_is_said_once() {
    let (third, again) = ("A third is to tell which is right.", "test the circuit again");
    let front = Shopfront::new("test(c);");
    front.walk(&["12.5", "22", "more", "park"]);
    let shown = front.flat();
    assert_eq!((shown.matches(third).count(), shown.matches(again).count()), (2, 0), "{shown}");
    let front = Shopfront::new("test(c);");
    front.walk(&["12.5", "22", "17", "park"]);
    let shown = front.flat();
    assert_eq!(
        (shown.matches("No two takes agree").count(), shown.matches(again).count()),
        (1, 1),
        "{shown}"
    );
}
