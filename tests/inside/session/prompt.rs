//! What may be typed at a prompt: numbers as people write them, refusals with advice, lines of a pipe.

use crate::leak::Verdict;
use crate::quantity::{Entry, Unit};
use crate::record::{Answer, Asker, Question, Wants};
use crate::session::Ended;
use crate::tests::support::{
    BODY, BODY_LINES, FEED_LINES, Shopfront, answers, home, keyed, lines, shown, takes,
};

/// The conventional inch of mercury in Pa (NIST SP 811, appendix B.8).
const INHG: f64 = 3386.389;

#[test]
fn a_bare_enter_confirms_nothing_that_matters() {
    let front = Shopfront::new(BODY);
    let record = front.finish(&["", " ", "yes", "OK", "", "2", "", "12.5", "", "", "22", "", "no", "", "x"]);
    assert_eq!(answers(&record).len(), 7);
    let flat = front.flat();
    for wanted in [
        "Read the caution, then type ok.",
        "Type a number from 1 to 2, or the words of one choice.",
        "Nothing was entered; type a number",
        "Type yes or no.",
        "Type a few words.",
    ] {
        assert!(flat.contains(wanted), "no {wanted:?} in {}", front.shown());
    }
    let front = Shopfront::new("test(c);");
    let Ended::Lost(_) = front.walk_bare(&["", "Ada", "", "29.92 inHg", "high", "", ""]) else { panic!() };
    assert_eq!(front.journal().standing().count(), 3, "{}", front.shown());
}

#[test]
fn numbers_are_read_as_people_write_them() {
    let si = |line: &str| {
        let record = Shopfront::new("test(c);").finish(&[line]);
        let (entry, _) = record.read_at(record.circuits[0].readings[0].takes[0].event).unwrap();
        let has_unit = line.contains(char::is_alphabetic) && !line.contains("e-1");
        assert_eq!(if has_unit { &entry.entered } else { entry.number() }, line.trim());
        entry.si
    };
    for line in keyed(
        "22.5 | 22 1/2 | 22-1/2 | 22,5 |  22.5  | 22.5inHg | 22.5 in Hg | +22.5 | 225e-1 | 22.5 inches hg",
    ) {
        assert!((si(line) - 22.5 * INHG).abs() < 1e-9, "{line}");
    }
    // 76.193 753 kPa are 22.5 inHg by the same factor.
    for line in ["76.1937525 kPa", "76.1937525kPa", "761.937525 hPa", "761.937525 mbar", "76193.7525 Pa"] {
        assert!((si(line) - 22.5 * INHG).abs() < 1e-6, "{line}");
    }
}

#[test]
fn of_takes_that_differ_no_figure_is_told() {
    let front = Shopfront::new("test(c);");
    front.walk(&["11", "", "22", "", "16"]);
    let flat = front.flat();
    let (_, told) = flat.split_once("undecided so far.").expect(&flat);
    assert!(told.contains("differ by 11 inHg"), "{flat}");
    assert!(!told.contains("inHg (") && !told.contains("a hole of"), "{told}");
}

#[test]
fn a_reading_that_stays_undecided_names_the_limit_that_it_is_too_near_to() {
    let front = Shopfront::new("test(c);");
    front.walk(&["20"]);
    assert!(front.flat().contains(", with the limit 20 in between."), "{}", front.flat());
}

/// Checks that these lines are refused as the first reading of a circuit, each with this advice, and asked again.
#[track_caller]
fn check_refused(lines: &[&str], advice: &str) {
    let front = Shopfront::new("test(c);");
    let record = front.finish(&[lines, &["22"]].concat());
    assert_eq!(takes(&record), ["22"], "{}", front.shown());
    assert_eq!(front.flat().matches(advice).count(), lines.len(), "{}", front.shown());
    assert_eq!(
        front.flat().matches("read Reading").count(),
        1,
        "asked again at the prompt, without the question"
    );
}

#[test]
fn a_reading_that_cannot_be_is_refused_with_what_to_do_at_the_bench() {
    check_refused(
        &["25.6", "26", "87 kPa"],
        "No circuit can read higher than the plugged hose, and more than 25.5 inHg is more than eye and needle make of it.",
    );
    check_refused(&["29.93", "40"], "plug the hose, look, and set the rig again");
    check_refused(&["-1", "-0.5 kPa", "−3"], "Check the dial's zero with the hose open");
    check_refused(
        &["0"],
        "No vacuum at all: check that the pump runs, the inlet valve is open and the hose is on.",
    );
    check_refused(&["20 mm", "20 C"], "but pressure is asked for; use inHg, kPa");
    check_refused(&["20 psi per", "20 inhg5"], "is not a unit of pressure; known are inHg, kPa");
    check_refused(
        &["hello", "yes", "20.5.5", "NaN", "inf", "1e999"],
        "is not a number; write it like 18.5, 18,5 or 18 1/2",
    );
    check_refused(&["1/0", "22 1/0", "1/2/3", "20/15", "18 2/2"], "is not a fraction; write it like 18 1/2");
}

#[test]
fn a_temperature_that_nobody_knows_is_taken_as_offered_and_the_record_is_in_order() {
    let home = home();
    let typed = [&FEED_LINES[..2], &[""], &FEED_LINES[3..]].concat();
    home.run(&["guide", "merle.rhai"], &lines(&typed)).exits(0);
    home.says(&["records", "audit"], "1 of 1 records in order.");
}

#[test]
fn a_circuit_that_is_wide_open_is_read_as_0_and_leaks() {
    let front = Shopfront::new("test(c);");
    let record = front.finish(&["0", "0", "", "0", "leave it as it is"]);
    assert_eq!(takes(&record), ["0", "0"]);
    assert_eq!(record.circuits[0].verdict, Some(Verdict::Leaks), "{}", front.shown());
}

#[test]
fn a_tight_circuit_may_read_a_shade_more_than_the_plugged_hose() {
    let front = Shopfront::new("test(c);");
    let record = front.finish(&["25.25", "25.25"]);
    assert_eq!(takes(&record), ["25.25"]);
    assert_eq!(record.circuits[0].verdict, Some(Verdict::Holds), "{}", front.shown());
}

#[test]
fn fractions_by_their_signs_and_thousands_of_feet_are_numbers() {
    let front = Shopfront::new("test(c);");
    assert_eq!(takes(&front.finish(&["22½"])), ["22½"]);
    let parsed = |text: &str, unit: &str| Entry::parse(text, Unit::by_text(unit).unwrap()).unwrap().si;
    assert!((parsed("22½", "inHg") - 22.5 * INHG).abs() < 1e-9);
    assert!((parsed("⅜ in", "in") - 0.009_525).abs() < 1e-12);
    // The international foot: 0.3048 m.
    assert!((parsed("4,300 ft", "m") - 4300.0 * 0.3048).abs() < 1e-9);
    assert!(Entry::parse("4,300 inHg", Unit::by_text("inHg").unwrap()).is_err());
}

#[test]
fn a_point_of_the_rig_that_cannot_be_is_refused() {
    let front = Shopfront::new("test(c);");
    let Ended::Lost(_) = front.walk_bare(&["Ada", "24.6 inHg", "", "29", "-2", "40"]) else { panic!() };
    let advice =
        ["No vacuum is that much higher than the barometer.", "Check the dial's zero with the hose open"];
    let times = advice.map(|advice| front.flat().matches(advice).count());
    assert_eq!(times, [2, 1], "{}", front.shown());
    assert_eq!(front.journal().standing().count(), 3);
}

#[test]
fn a_barometer_takes_pressure_elevation_or_a_report_with_the_elevation() {
    let station = |line: &str| {
        let front = Shopfront::new("test(c);");
        front.walk_bare(&["Ada", line]);
        let journal = front.journal();
        let mut answers = journal.standing().map(|(_, _, answer)| answer.clone());
        answers.find_map(|answer| match answer {
            Answer::Barometer { barometer, .. } => Some(barometer.station().si()),
            _ => None,
        })
    };
    assert!((station("29.92 inHg").unwrap() - 29.92 * INHG).abs() < 1e-9);
    assert_eq!(station("29.92"), station("29.92 inHg"));
    // U.S. Standard Atmosphere, 1976, by its formula for the troposphere: 83 430 Pa to 10 Pa at 5280 ft.
    assert!((station("5280 ft").unwrap() - 83_430.0).abs() < 10.0, "{:?}", station("5280 ft"));
    assert!(station("30.11 inHg at 5577 ft").is_some());
    for line in ["", "high", "2 inHg", "30.11 at 5577", "5280 furlongs", "20 C", "9 km"] {
        assert_eq!(station(line), None, "{line}");
    }
}

#[test]
fn a_temperature_takes_either_unit_and_enter_alone_where_nobody_knows_it() {
    let air = |line: &str| {
        let wants = Wants::AirTemperature;
        let question =
            Question { asker: Asker::Runner, circuit: None, words: "?".to_owned(), occurrence: 1, wants };
        match question.read(line) {
            Ok(Answer::AirTemperature { air, .. }) => Some((air.temperature().si(), air.is_assumed())),
            _ => None,
        }
    };
    assert_eq!(air("22 C"), Some((295.15, false)));
    // 72 F are 22.2 C (NIST SP 811).
    assert!((air("72 F").unwrap().0 - 295.372).abs() < 1e-3);
    assert_eq!(air(""), Some((293.15, true)));
    for line in ["22", "warm", "29.92 inHg", "25 in", "70 C", "-40 F"] {
        assert_eq!(air(line), None, "{line}");
    }
    // A figure without a unit is asked for with the one that it can have.
    let front = Shopfront::new("");
    front.walk_bare(&["Ada", "29.92 inHg", "22,5", "72", "park"]);
    let shown = front.flat();
    assert!(shown.contains("\"22,5\" lacks its unit: type 22,5 C or 22,5 F; Enter where nobody"), "{shown}");
    assert!(shown.contains("\"72\" lacks its unit: type 72 F; Enter where nobody knows it."), "{shown}");
}

#[test]
fn air_that_hardly_any_shop_has_is_asked_about_once() {
    for (lines, is_taken) in [
        (&["17 inHg"][..], false),
        (&["17 inHg", "17"], true),
        (&["17 inHg", "17.5 inHg"], false),
        (&["17 inHg", "29.1 inHg"], true),
        // 10 000 ft: 20.6 inHg (U.S. Standard Atmosphere, 1976).
        (&["20.6 inHg"], true),
        (&["15000 ft"], true),
    ] {
        let front = Shopfront::new("test(c);");
        front.walk_bare(&[&["Ada"], lines].concat());
        let is_answered =
            front.journal().standing().any(|(_, question, _)| question.wants == Wants::Barometer);
        assert_eq!(is_answered, is_taken, "{lines:?}");
        assert_eq!(
            front.flat().contains("Hardly any shop has such air"),
            lines[0].starts_with("17"),
            "{lines:?}"
        );
    }
    let front = Shopfront::new("test(c);");
    front.walk_bare(&["Ada", "30000 ft"]);
    assert!(
        front
            .flat()
            .contains("9144 m (30000 ft) is not the elevation of a shop (-500 to 6000 m, -1640 to 19685 ft)")
    );
}

#[test]
fn a_command_and_a_path_stay_whole_on_the_narrowest_screen() {
    let (path, command) =
        ("/home/ada/spoolproof/records/20261126-merle.json", "spoolproof guide --resume 20261126-merle");
    let shown = shown(30, |screen| {
        screen.paragraph(2, &format!("The record is in {path} now. Go on with:\n{command}"));
        screen.report(&format!("It is left. Go on with:\n  {command}"));
        screen.item("kept  ", path);
    });
    assert_eq!(shown.lines().filter(|line| line.trim() == command).count(), 2, "{shown}");
    assert_eq!(shown.lines().filter(|line| line.contains(path)).count(), 2, "{shown}");
}

#[test]
fn progress_says_what_is_done_now_in_the_tests_and_around_them() {
    let front = Shopfront::new("section(\"Clutches\"); test(c);");
    let p = "progress";
    front.walk_bare(&[p, "Ada", "29.92 inHg", "20 C", p, "25", "5", p, "5", "5", "5", p, "25", "5", p]);
    let shown = front.flat();
    let mut rest = shown.as_str();
    for wanted in [
        "Before the rig is set. No circuit is begun yet.",
        "Setting the rig. Circuits done: 0 of 1.",
        "Clutches. Testing",
        "Checking the rig. Circuits done: 1 of 1.",
        "What is to be done. Circuits done: 1 of 1.",
    ] {
        let at = rest.find(wanted).unwrap_or_else(|| panic!("no {wanted:?} behind the others in {shown}"));
        rest = &rest[at + wanted.len()..];
    }
}

#[test]
fn more_tells_nothing_of_a_reading_that_was_taken_back() {
    let two = "let d = circuit(#{ name: \"d\", holds: 20.inHg, leaks: 15.inHg }); test(c); test(d);";
    let front = Shopfront::new(two);
    front.walk_bare(&["Ada", "29.92 inHg", "20 C", "25", "5", "22.5", "more", "back", "more"]);
    let shown = front.flat();
    let (before, behind) = shown.rsplit_once("more").expect("what was typed");
    let told = "holds: standard reading 22.5 inHg";
    assert!(before.contains(told) && !behind.contains(told), "{shown}");
    assert!(behind.contains("Nothing has been read of it yet."), "{shown}");
}

#[test]
fn lines_that_begin_with_a_number_sign_are_comments() {
    let front = Shopfront::new(BODY);
    // Some editors put a byte-order mark before the first line.
    let mut lines = vec!["\u{feff}# Answers for bench two."];
    for line in BODY_LINES {
        lines.extend(["#", line, "# next"]);
    }
    let record = front.finish(&lines);
    assert_eq!(answers(&record).len(), BODY_LINES.len());
}

#[test]
fn a_number_that_can_only_be_a_slip_is_asked_for_again() {
    let front = Shopfront::new(
        "let a = ask_number(\"How deep?\", #{ unit: \"inHg\" }); let b = ask_number(\"Oil?\", #{ unit: \"celsius\" });
         let d = ask_number(\"Off by?\", #{ unit: \"inHg\", low: 0.inHg - 1.inHg, high: 1.inHg });",
    );
    let record = front.finish(&["-3", "299", "29.9", "-3", "-0.5"]);
    let entered: Vec<_> = answers(&record)
        .into_iter()
        .map(|(_, answer)| match answer {
            Answer::Quantity { entry, .. } => entry.number().to_owned(),
            other => panic!("{other:?}"),
        })
        .collect();
    assert_eq!(entered, ["29.9", "-3", "-0.5"]);
    let shown = front.flat();
    assert!(
        shown.contains("can't be below zero") && shown.contains("more than any barometer shows"),
        "{shown}"
    );
}

#[test]
fn a_line_beyond_all_measure_is_no_answer_and_its_rest_answers_nothing() {
    let front = Shopfront::new("let a = ask_text(\"First?\"); let b = ask_text(\"Second?\");");
    let monster = "x".repeat(40_000);
    let Ended::Lost(why) = front.walk(&[&monster, "two"]) else { panic!("it was taken") };
    assert!(why.contains("longer than"), "{why}");
    let record = front.finish(&["one", "two"]);
    assert_eq!(answers(&record)[0].1, Answer::Text("one".to_owned()));
}

#[test]
fn cannot_is_refused_where_the_rest_depends_on_the_answer() {
    let front = Shopfront::new(BODY);
    let record =
        front.finish(&["cannot read", "ok", "cannot tell", "cannot", "late", "12.5", "", "22", "no", "x"]);
    assert_eq!(answers(&record).len(), 7);
    for wanted in [
        "A caution can't be left out.",
        "What comes next depends on this answer.",
        "Write the reason behind it",
    ] {
        assert!(front.flat().contains(wanted), "no {wanted:?} in {}", front.shown());
    }
    let front = Shopfront::new("test(c);");
    let Ended::Lost(_) =
        front.walk_bare(&["cannot say", "Ada", "cannot know", "29.92 inHg", "20 C", "cannot plug"])
    else {
        panic!("{}", front.shown());
    };
    assert!(front.flat().contains("Nothing can be judged on a rig that isn't set."), "{}", front.shown());
    assert_eq!(front.journal().standing().count(), 3);
}

#[test]
fn back_and_again_say_where_there_is_nothing_before() {
    let front = Shopfront::new(BODY);
    let nothing = "There is no answer that far back.";
    front.walk_bare(&["back", "again", "Ada", "again 2", "park"]);
    assert_eq!(front.flat().matches(nothing).count(), 3, "{}", front.flat());
}
