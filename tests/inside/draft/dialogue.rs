//! The questions of a draft: whatever is answered, taken back or left, nothing is lost and no file is written over.

use crate::tests::support::{Home, Ran, keyed, png};
use std::sync::LazyLock;

use proptest::prelude::{ProptestConfig, prop_assert_eq, proptest};

/// Unit, part and cost, a circuit with everything, one with nothing but its name, the end of them, no picture.
static ANSWERS: LazyLock<Vec<&str>> = LazyLock::new(|| {
    keyed(
        "Merle M2 | lower body | 850 \
         | clutch feed | | 7 | 3A |  | 67,5 kPa | 50 | 12,7 mm | 7.6 | late upshift, flare 2-3 | new seals | 48 | 1/2 \
         | line boost | | | | | | | | | | | ",
    )
});

/// How many of the answers stand before the second circuit's name.
const FIRST: usize = 16;

fn drafted(home: &Home, arguments: &[&str], lines: &[&str], status: i32) -> Ran {
    let ran = home.run(&[&["draft"], arguments].concat(), &crate::tests::support::lines(lines)).exits(status);
    for line in ran.out.lines() {
        // What somebody types at a prompt is as long as it is.
        let typed = lines.iter().filter(|typed| line.ends_with(**typed));
        let typed = typed.map(|typed| typed.chars().count()).max().unwrap_or(0);
        assert!(line.chars().count() - typed <= 80, "{line}");
    }
    ran
}

/// Returns what lines make of a file, and what was shown.
fn made_of(lines: &[&str]) -> (String, String) {
    let home = Home::new();
    let ran = drafted(&home, &["-o", "made.rhai"], lines, 0);
    assert!(home.names(&home.shop().join("drafts")).is_empty(), "what became a procedure is kept no more");
    (home.read("made.rhai"), ran.out)
}

#[test]
fn a_draft_of_plain_answers_and_empty_ones_is_written_and_sound() {
    let home = Home::new();
    drafted(&home, &[], &ANSWERS, 0).says("Proofread: no errors");
    let written = home.read("merle-m2-lower-body.rhai");
    for wanted in [
        "title: \"Merle M2, lower body\"",
        "replacement: 850,",
        "holds: 67.5.kPa",
        // A bare number is in the unit of the one before it.
        "leaks: 50.kPa",
        "land: #{ diameter: 12.7.mm, length: 7.6.mm }",
        "symptoms: [\"late upshift\", \"flare 2-3\"]",
        "does: \"new seals\", parts: 48, hours: 0.5",
        "limits: \"to be found\"",
    ] {
        assert!(written.contains(wanted), "{wanted} is not in\n{written}");
    }
}

#[test]
fn a_price_is_typed_with_its_sign_of_money_or_without() {
    for sum in ["$850", "850 €", "£ 850"] {
        let lines: Vec<&str> = ANSWERS.iter().map(|line| if *line == "850" { sum } else { line }).collect();
        let (written, _) = made_of(&lines);
        assert!(written.contains("replacement: 850,"), "{sum} made\n{written}");
    }
}

#[test]
fn a_file_that_is_there_is_never_written_over() {
    let home = Home::with("merle-m2-lower-body.rhai", "mine");
    drafted(&home, &[], &ANSWERS, 0).says("merle-m2-lower-body-2.rhai");
    assert_eq!(home.read("merle-m2-lower-body.rhai"), "mine");
    drafted(&home, &["-o", "merle-m2-lower-body.rhai"], &ANSWERS, 2).complains("never writes over");
    for name in ["notes.txt", "a b.rhai", "größe.rhai"] {
        drafted(&home, &["-o", name], &ANSWERS, 2);
    }
}

#[test]
fn whoever_leaves_at_any_question_goes_on_there_and_ends_with_the_same_procedure() {
    let (whole, _) = made_of(&ANSWERS);
    for n in 1..ANSWERS.len() {
        let home = Home::new();
        let left = drafted(&home, &["-o", "made.rhai"], &ANSWERS[..n], 3);
        left.complains("What was answered is kept").complains("draft --resume");
        assert!(!home.path("made.rhai").exists(), "{n}");
        drafted(&home, &["--resume"], &ANSWERS[n..], 0);
        assert_eq!(home.read("made.rhai"), whole, "left after {n} answers");
        assert!(home.names(&home.shop().join("drafts")).is_empty());
    }
    let home = Home::new();
    drafted(&home, &[], &[], 3).complains("Stopped before anything was answered.");
    drafted(&home, &["--resume"], &[], 2).complains("no draft was left");
}

#[test]
fn a_new_draft_says_that_another_was_left_and_each_goes_on_by_its_name() {
    let home = Home::new();
    drafted(&home, &["-o", "first.rhai"], &ANSWERS[..5], 3);
    let first = home.names(&home.shop().join("drafts"))[0].replace(".jsonl", "");
    let second = drafted(&home, &["-o", "second.rhai"], &ANSWERS[..7], 3);
    second.says(&format!("A draft was left before its end, {first} (Merle M2)."));
    drafted(&home, &["--resume", &first], &ANSWERS[5..], 0).says("Going on where the draft was left.");
    assert!(home.path("first.rhai").exists());
    drafted(&home, &["--resume", &first], &[], 2).complains("there is no draft");
    drafted(&home, &["--resume"], &ANSWERS[7..], 0);
    assert_eq!(home.read("second.rhai"), home.read("first.rhai").replace("first.rhai", "second.rhai"));
}

#[test]
fn a_line_that_was_cut_off_by_a_power_cut_is_asked_again_and_a_damaged_one_is_named() {
    let home = Home::new();
    drafted(&home, &["-o", "made.rhai"], &ANSWERS[..6], 3);
    let path = home.shop().join("drafts").join(&home.names(&home.shop().join("drafts"))[0]);
    let text = std::fs::read_to_string(&path).unwrap();
    std::fs::write(&path, &text[..text.len() - 4]).unwrap();
    drafted(&home, &["--resume"], &ANSWERS[5..], 0);
    assert_eq!(home.read("made.rhai"), made_of(&ANSWERS).0);

    drafted(&home, &["-o", "other.rhai"], &ANSWERS[..6], 3);
    let path = home.shop().join("drafts").join(&home.names(&home.shop().join("drafts"))[0]);
    let text = std::fs::read_to_string(&path).unwrap().replacen("Merle", "Me\"rle", 1);
    std::fs::write(&path, text).unwrap();
    drafted(&home, &["--resume"], &[], 2).complains("line 2").complains("is damaged");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn going_back_and_taking_every_answer_with_enter_changes_nothing(
        at in 1..ANSWERS.len(),
        steps in 1..10_usize,
        again in proptest::bool::ANY,
    ) {
        let steps = steps.min(at);
        let mut lines = ANSWERS[..at].to_vec();
        let said = format!("{} {steps}", if again { "again" } else { "back" });
        lines.push(&said);
        lines.extend(std::iter::repeat_n("", if again { 1 } else { steps }));
        lines.extend(&ANSWERS[at..]);
        prop_assert_eq!(made_of(&lines).0, made_of(&ANSWERS).0);
    }
}

#[test]
fn back_goes_across_circuits_and_shows_what_was_answered() {
    let (first, rest) = ANSWERS.split_at(FIRST + 1);
    // From the second circuit's section over its name to the hours of the first one's repair.
    let lines = [first, &["back 2", "0.75", ""], rest].concat();
    let (written, shown) = made_of(&lines);
    assert!(written.contains("hours: 0.75") && written.contains("\"line boost\""), "{written}");
    assert!(shown.contains("Circuit 1: clutch feed\nHours of work for it [1/2]: 0.75"), "{shown}");
    assert!(shown.contains("[line boost]: \n"), "{shown}");
}

#[test]
fn again_asks_one_question_and_keeps_the_rest() {
    let (first, rest) = ANSWERS.split_at(FIRST);
    // The kind of the first circuit: eleven answers before the second circuit's name.
    let (written, shown) = made_of(&[first, &["again 11", "1"], rest].concat());
    assert!(written.contains("t.read(\"inboard\", #{") && written.contains("holds: 67.5.kPa"), "{written}");
    let set_up = "Valve and spring in place and oiled";
    assert!(written.contains(set_up), "what hangs on the kind goes with it: {written}");
    assert_eq!(shown.matches("What is at its port [7]: 1").count(), 1, "{shown}");
    assert_eq!(shown.matches("Port that the hose goes to").count(), 2, "{shown}");
}

#[test]
fn again_with_a_circuits_name_asks_everything_about_it_its_kind_too() {
    let (most, end) = ANSWERS.split_at(ANSWERS.len() - 1);
    let lines = [most, &["again LINE BOOST", "", "", "8", "7B", "", "", "", "", "", ""], end].concat();
    let (written, _) = made_of(&lines);
    assert!(written.contains("Piston, seals and spring in place and oiled, cover bolted "), "{written}");
    assert!(written.contains("port 7B."), "{written}");
    assert_eq!(written.matches("name: ").count(), 2, "{written}");
    // Also while it is being asked about.
    let (first, rest) = ANSWERS.split_at(9);
    let again = ["again clutch feed", "apply feed", "", "", "", "", "70 kPa"];
    let (again, _) = made_of(&[first, &again, rest].concat());
    assert!(again.contains("\"apply feed\"") && again.contains("holds: 70.kPa"), "{again}");
    let (_, shown) = made_of(&[&["Merle M2", "again brakes"], &ANSWERS[1..]].concat());
    assert!(shown.contains("No circuit of that name is begun yet"), "{shown}");
}

#[test]
fn a_circuit_in_the_middle_can_be_left_out_and_those_behind_it_stay() {
    let (most, end) = ANSWERS.split_at(ANSWERS.len() - 1);
    let (written, _) = made_of(&[most, &["again clutch feed", "none"], end].concat());
    assert!(written.contains("\"line boost\"") && !written.contains("clutch feed"), "{written}");
}

#[test]
fn the_words_of_a_session_are_no_answers_at_any_question_and_in_quotes_they_are() {
    let (whole, _) = made_of(&ANSWERS);
    let words = ["help", "?", "progress", "HELP", "jot the plate is nicked", "cannot say", "jot", "cannot"];
    let mut lines = Vec::new();
    for answer in &*ANSWERS {
        lines.extend(words);
        lines.push(answer);
    }
    let (written, shown) = made_of(&lines);
    assert_eq!(written, whole);
    assert_eq!(shown.matches("At any question you may also type:").count(), 3 * ANSWERS.len());
    let quoted: Vec<_> =
        ANSWERS.iter().map(|line| if *line == "clutch feed" { "\"back\"" } else { *line }).collect();
    assert!(made_of(&quoted).0.contains("name: \"back\""));
    let home = Home::new();
    drafted(&home, &[], &["Merle M2", "park"], 3).complains("draft --resume");
}

#[test]
fn an_answer_that_no_longer_fits_is_asked_again_and_says_why() {
    let (first, rest) = ANSWERS.split_at(FIRST);
    // Holds 40 kPa with leaks at 50 is no pair of limits: the second one is asked for once more.
    let (written, shown) = made_of(&[first, &["again 8", "40 kPa", "30"], rest].concat());
    assert!(written.contains("holds: 40.kPa") && written.contains("leaks: 30.kPa"), "{written}");
    assert!(shown.contains("50 no longer fits"), "{shown}");
}

#[test]
fn a_bore_without_its_length_is_asked_for_in_the_bores_unit_or_left_out_as_a_whole() {
    let feed = ["Merle M2", "", "", "feed", "", "", "", "", "", ""];
    let (written, shown) = made_of(&[&feed[..], &["0.5", "", "0.3", "", "", ""]].concat());
    assert!(written.contains("land: #{ diameter: 0.5.inch, length: 0.3.inch }"), "{written}");
    assert!(shown.contains("the bore is of no use without it"), "{shown}");
    assert!(shown.contains("Length of that land, in inches: 0.3"), "{shown}");
    let (written, _) = made_of(&[&feed[..], &["0.5 in", "not known", "", "", ""]].concat());
    assert!(written.contains("// land: #{"), "{written}");
}

#[test]
fn a_limit_that_would_let_more_than_the_test_orifice_pass_is_asked_again() {
    let mut slipped = ANSWERS.to_vec();
    slipped.splice(8..8, ["2.0", "4.9 inHg"]);
    let (file, shown) = made_of(&slipped);
    assert_eq!(file, made_of(&ANSWERS).0);
    assert_eq!(shown.matches("the whole test orifice reads 5 inHg").count(), 2, "{shown}");
}

#[test]
fn limits_that_are_upside_down_or_equal_are_refused_at_once() {
    let mut slipped = ANSWERS.to_vec();
    slipped.splice(9..9, ["70", "67.5", "67,50 kPa"]);
    let (file, shown) = made_of(&slipped);
    assert_eq!(file, made_of(&ANSWERS).0);
    assert_eq!(shown.matches("so it leaks at less than that: type less").count(), 3, "{shown}");
    let coil = keyed("Merle M2 | | | lockup solenoid | | 11 | 13 | 12 | 13 | 5 psi | 15 ohm | none");
    let (file, shown) = made_of(&coil);
    assert!(file.contains("low: 13.ohm, high: 15.ohm"), "{file}");
    assert_eq!(shown.matches("that is not more than the first figure").count(), 2, "{shown}");
}

#[test]
fn a_second_land_has_what_is_its_own_and_the_rest_from_the_first() {
    let regulator = "Merle M2 | | | regulator | | 4 | 1A | | 20 | 15 | 12.7 mm | 7.6 | | |";
    let own = |answers: &str| made_of(&keyed(&format!("{regulator} {answers} | none | none"))).0;
    let written = own("1B | 18 | 62 kPa | 10 | 10.3 mm | 8.1");
    for wanted in [
        "let second = t.read(\"second land\", #{\n        set_up: \"Seat the plate over port 1B.\",\n        port: \"1B\",\n        holds: 18.inHg, leaks: 10.inHg,\n",
        "        land: #{ diameter: 10.3.mm, length: 8.1.mm },\n    });",
    ] {
        assert!(written.contains(wanted), "no {wanted} in {written}");
    }
    // The first land's size says nothing of the second one's.
    let written = own(" | | ");
    let second = "let second = t.read(\"second land\", #{ set_up: \"Seat the plate over the port.\" });";
    assert!(written.contains(second), "{written}");
    let first = "t.read(\"first land\", #{ land: #{ diameter: 12.7.mm, length: 7.6.mm } });";
    assert!(written.contains(first) && written.matches("land: #{").count() == 1, "{written}");
}

#[test]
fn a_passage_that_is_to_be_open_has_a_window() {
    let passage = "Merle M2 | | | drain | | 10 | 6 | | 40 kPa | 30 | 27 inHg";
    let (written, shown) = made_of(&keyed(&format!("{passage} | 50 | | | none | none")));
    assert!(shown.contains("passes too little or too much") && !shown.contains("a leak causes"), "{shown}");
    assert!(written.contains("    between: [40.kPa, 50.kPa],") && !written.contains("land:"), "{written}");
    for ends in ["|", "9 | not known |"] {
        let (written, _) =
            made_of(&keyed(&format!("Merle M2 | | | drain | | 10 | 6 | | {ends} | | none | none")));
        assert!(written.contains("    // between: [8.inHg, 12.inHg],"), "{written}");
    }
    let (written, _) = made_of(&keyed("Merle M2 | | | lockup solenoid | | 11 | 3 | not known | none"));
    assert!(written.contains("// low: 4.6.ohm, high: 5.6.ohm,"), "{written}");
}

#[test]
fn circuits_of_one_section_stand_together_and_those_without_one_first() {
    let circuits = "first | Clutch feeds | | | | | | | | | second | Other | | | | | | | | \
                    | third | clutch feeds? | | | | | | | | | fourth | none | | | | | | | | | fifth | Clutch feeds";
    let lines = keyed("Merle M2 | | |").into_iter().take(3).chain(keyed(circuits)).collect::<Vec<_>>();
    let (written, _) = made_of(&[&lines[..], &["", "", "", "", "", "", "", "", "none"]].concat());
    let stands = |text: &str| written.find(text).unwrap_or_else(|| panic!("no {text} in {written}"));
    let order = [
        "\"fourth\"",
        "section(\"Clutch feeds\")",
        "\"first\"",
        "\"fifth\"",
        "section(\"Other\")",
        "\"second\"",
    ];
    assert!(order.map(stands).is_sorted(), "{written}");
    assert_eq!(written.matches("section(").count(), 3, "{written}");
}

#[test]
fn what_people_type_is_taken_as_they_mean_it() {
    let lines = keyed(
        "Merle M2 |  |  | feed |  |  | port D |  | 22.5, 21.8, 22.1 and 22.9 \
         | yes |  |  | \"ream, then sleeve\", new seals | 48 | 50 min | 12 | 1/3 | none | none",
    );
    let (file, _) = made_of(&lines);
    for wanted in [
        "port: \"D\"",
        "over port D.",
        "From 4 good units",
        "#{ does: \"ream, then sleeve\", parts: 48, hours: 0.83 }",
        "#{ does: \"new seals\", parts: 12, hours: 0.33 }",
    ] {
        assert!(file.contains(wanted), "no {wanted} in {file}");
    }
}

#[test]
fn readings_on_good_units_become_limits_only_where_somebody_says_so() {
    let draft = |answer: &str| {
        let lines = ["Merle M2", "", "", "feed", "", "", "", "", "", "22.5 21,8; 22.1 22.9 22.2", answer];
        made_of(&[&lines[..], &["", "", "", ""]].concat())
    };
    let (taken, told) = draft("yes");
    let told = told.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(told.contains("With 9 more good units"), "{told}");
    assert!(taken.contains("holds: 20.5.inHg") && taken.contains("From 5 good units"), "{taken}");
    // What is not taken is not forgotten either.
    let (left, _) = draft("");
    assert!(left.contains("to be found") && !left.contains("    holds: "), "{left}");
    assert!(left.contains("which read 22.5, 21.8, 22.1, 22.9, 22.2") && left.contains("// holds: 20.5.inHg"));
}

#[test]
fn what_reads_too_near_a_limit_is_told_neither_as_sound_nor_as_worn() {
    let home = Home::new();
    for (kind, file, undecided, sure) in [
        ("1", "valve.rhai", Some("too near a limit to tell"), "It holds at neither stop"),
        // Where nothing blames the feed, nothing is looked for behind it.
        ("7", "feed.rhai", None, "Blocked, it is not sound"),
    ] {
        let lines = ["Merle M2", "", "", "boost", "", kind, "", "", "20", "15", "", "", "", "none"];
        drafted(&home, &["-o", file], &lines, 0);
        // 20 inHg, the limit itself, is a hole of 0.0149 in (spoolproof leak 20); 0.018 in is between the limits.
        for (hole, verdict, found) in [("0.0149in", "retest", undecided), ("0.018in", "worn", Some(sure))] {
            let leak = format!("boost={hole}");
            let ran = home.run(&["rehearse", file, "--seed", "1", "--leak", &leak], "").exits(0);
            let ran = ran.says(&format!("{verdict} boost"));
            match found {
                Some(found) => _ = ran.says(found),
                None => assert!(!ran.out.contains("Blocked"), "{}", ran.out),
            }
        }
    }
}

#[test]
fn where_answers_can_not_be_kept_that_is_said_once_and_the_procedure_is_written_all_the_same() {
    let home = Home::new();
    std::fs::create_dir_all(home.shop()).expect("a folder");
    std::fs::write(home.shop().join("drafts"), "in the way").expect("a file");
    let ran = drafted(&home, &["-o", "made.rhai"], &ANSWERS, 0).says("The answers can't be kept: ");
    assert_eq!(ran.out.matches("can't be kept").count(), 1, "{}", ran.out);
    assert_eq!(home.read("made.rhai"), made_of(&ANSWERS).0);
    drafted(&home, &["-o", "other.rhai"], &ANSWERS[..5], 3)
        .complains("Not all that was answered could be kept");
}

#[test]
fn a_draft_whose_file_is_there_by_now_goes_on_into_another() {
    let home = Home::new();
    drafted(&home, &["-o", "made.rhai"], &ANSWERS[..5], 3);
    home.write("made.rhai", "mine");
    drafted(&home, &["--resume"], &[], 2).complains("name another with --output");
    drafted(&home, &["--resume", "-o", "mine-too.rhai"], &ANSWERS[5..], 0);
    assert_eq!(home.read("made.rhai"), "mine");
    assert!(home.read("mine-too.rhai").contains("\"line boost\""));
}

/// Unit, part and cost, a circuit with a port, the end of them.
const WITH_PORT: &str = "Merle M2 | | | clutch feed | | 7 | 3A | | 20 | | | | | ";

#[test]
fn a_picture_of_the_body_is_asked_for_once_there_are_ports_and_lies_beside_the_procedure() {
    let home = Home::new();
    home.write("notes.txt", "no picture");
    home.write("my body.png", png(40, 30));
    let files = ["none.png", "notes.txt", "my body.png"];
    let said = drafted(&home, &[], &[&keyed(WITH_PORT)[..], &files].concat(), 0);
    let said = said.says("There is no file none.png. Type its path, or drop it here.");
    let said = said.says("notes.txt: it is neither PNG nor JPEG. Have the camera write JPEG.");
    said.says("Its picture is merle-m2.png")
        .says("spoolproof map merle-m2.rhai")
        .says("Proofread: no errors");
    assert_eq!(std::fs::read(home.path("merle-m2.png")).unwrap(), png(40, 30));
    assert!(home.read("merle-m2.rhai").contains("    picture: \"merle-m2.png\",\n"));
    home.run(&["map", "merle-m2.rhai"], "38 3\n\n").exits(0).says("Written: merle-m2.rhai");
    home.run(&["proofread", "merle-m2.rhai"], "").exits(0);

    // Another picture is not written over, nor a procedure: both go by the next name.
    home.write("other.png", png(8, 8));
    std::fs::remove_file(home.path("merle-m2.rhai")).unwrap();
    drafted(&home, &[], &[&keyed(WITH_PORT)[..], &["other.png"]].concat(), 0)
        .says("Its picture is merle-m2-2.png");
    assert_eq!(std::fs::read(home.path("merle-m2.png")).unwrap(), png(40, 30));
    assert!(!home.path("merle-m2.rhai").exists() && home.path("merle-m2-2.rhai").exists());

    let bare =
        drafted(&home, &["-o", "bare.rhai"], &keyed("Merle M2 | | | feed | | 7 | | | 20 | | | | | "), 0);
    assert!(!bare.out.contains("Picture of it"), "{}", bare.out);
    bare.says("map bare.rhai --picture FILE");
}
