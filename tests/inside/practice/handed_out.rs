//! An exercise that an instructor hands out: signed, by rules, and what of it is held back.

use super::pupils::{Skill, handed_in};
use crate::practice::Prepared;
use crate::record::{Answer, Mode, Record, Shop, What};
use crate::tests::support::{Cluster, Home, Ran, records_in};

const SOME: &str = "20260101-080000-some-1";
const OTHER: &str = "20260101-090000-some-2";

/// The home of an instructor who has prepared an exercise, and that of a student who was given it.
fn handed_out(prepare: &[&str]) -> (Home, Home) {
    let school = Home::new();
    let all = [&["practice", "prepare"], prepare, &["-o", "exam.json", "--as", "Hill School"]].concat();
    school.run(&all, "").exits(0).says("Signed by Hill School");
    let student = Home::with("exam.json", school.read("exam.json"));
    (school, student)
}

fn prepared(home: &Home) -> Prepared {
    let document: serde_json::Value = serde_json::from_str(&home.read("exam.json")).unwrap();
    serde_json::from_value(document["prepared"].clone()).unwrap()
}

/// What somebody typed in an attempt, a line each.
pub(super) fn lines_of(record: &[u8]) -> String {
    let record: Record = serde_json::from_slice(record).unwrap();
    let line = |what: &What| match what {
        What::Did { doing, .. } => Some(doing.clone()),
        What::Answered { answer, .. } => Some(match answer {
            Answer::Choice(text) | Answer::Text(text) => text.clone(),
            Answer::Quantity { entry, .. } => entry.entered.clone(),
            Answer::Barometer { entered, .. } => entered.clone(),
            Answer::AirTemperature { entered, .. } => entered.clone().unwrap_or_default(),
            Answer::Yes(is_so) => (if *is_so { "yes" } else { "no" }).to_owned(),
            Answer::Confirmed => "ok".to_owned(),
            other => panic!("{other:?}"),
        }),
        _ => None,
    };
    record.journal.iter().filter_map(|event| line(&event.what)).collect::<Vec<_>>().join("\n") + "\n"
}

#[test]
fn what_was_handed_out_is_verified_and_says_by_whom_and_by_which_rules() {
    let (_, student) = handed_out(&["set-the-rig", "--attempts", "2", "--hold-back"]);
    let begun = student.run(&["practice", "exam.json", "--as", "Ann"], "Ann\npark\n").exits(3);
    let begun = begun.says("exam was handed out by Hill School").says("Each student may make 2 attempts.");
    begun.says("This is attempt 1 of 2 by Ann");
    for (from, to) in [
        ("\"cause\": \"worn_land\"", "\"cause\": \"nick\""),
        ("\"attempts\": 2", "\"attempts\": 9"),
        ("\"name\": \"Hill School\"", "\"name\": \"Mill School\""),
        ("reverse boost", "reverse boast"),
    ] {
        let altered = student.read("exam.json").replacen(from, to, 1);
        assert_ne!(altered, student.read("exam.json"), "{from}");
        student.write("altered.json", altered);
        student.run(&["practice", "altered.json"], "").exits(2).complains("signature does not fit");
    }
    // Nor can it be made one that nobody signed.
    let mut document: serde_json::Value = serde_json::from_str(&student.read("exam.json")).unwrap();
    student.write("altered.json", document["prepared"].take().to_string());
    student.run(&["practice", "altered.json"], "").exits(2).complains("nobody has signed it");
}

#[test]
fn more_attempts_than_allowed_are_refused_and_one_that_was_left_counts() {
    let (school, student) = handed_out(&["set-the-rig", "--attempts", "2"]);
    let exam = ["practice", "exam.json", "--as", "Ann"];
    student.run(&exam, "Ann\npark\n").exits(3);
    student.run(&exam, "Ann\npark\n").exits(3).says("This is attempt 2 of 2");
    let refused = "of exam, a student may make 2, and ann has begun 2";
    let third = student.run(&exam, "ann \npark\n").exits(3);
    assert!(third.out.to_lowercase().contains(refused) && !third.out.contains("attempt 3"), "{}", third.out);
    // Of an attempt that nobody may begin nothing is left.
    third.complains("nothing is left open");
    assert_eq!(student.names(&student.shop().join("practice/open")).len(), 2);
    // The same work under another name of the file is the same exercise.
    student.write("again.json", student.read("exam.json"));
    let third = student.run(&["practice", "again.json"], "Ann\npark\n").exits(3);
    assert!(third.out.to_lowercase().contains(refused), "{}", third.out);
    // Another student at the same machine has attempts of their own, and those that nobody began are nobody's.
    student.run(&exam, "Ann\nBea\npark\n").exits(3).says("This is attempt 1 of 2 by Bea");
    student.run(&exam, "Bea\npark\n").exits(3).says("This is attempt 2 of 2 by Bea");
    // Whoever makes more elsewhere is found when they are handed in.
    let three = ["1", "2", "3"].map(|n| {
        let name = format!("20260101-08000{n}-some-{n}");
        handed_in("Ann", &name, &prepared(&school), Skill::PERFECT)
    });
    std::fs::create_dir(school.path("class")).unwrap();
    three.iter().zip(1..).for_each(|(bytes, n)| drop(school.write(&format!("class/{n}.json"), bytes)));
    let ran = school.run(&["practice", "grades", "class", "--exercise", "exam.json"], "").exits(1);
    ran.complains("3.json: it is attempt 3 of Ann, and 2 may be made");
}

#[test]
fn an_attempt_is_signed_by_its_student_and_its_grade_held_back_from_all_but_who_handed_it_out() {
    let (school, student) = handed_out(&["set-the-rig", "--hold-back"]);
    let lines = lines_of(&handed_in("Ann", SOME, &prepared(&school), Skill::PERFECT));
    student.run(&["practice", "exam.json"], &lines).exits(2).complains("say once as whom: --as NAME");
    let done = student.run(&["practice", "exam.json", "--as", "Ann Example"], &lines).exits(0);
    let done = done.says("told by Hill School, who handed the exercise out");
    assert!(!done.out.contains("of 100") && !done.out.contains("True:"), "{}", done.out);
    let record = records_in(&student.shop().join("practice/records")).pop().unwrap();
    let name = record.file_stem().unwrap().to_str().unwrap();
    for command in [&["records", "show", name][..], &["records", "show", "--json", name], &["report", name]] {
        student.run(command, "").exits(2).complains("is told by Hill School");
    }
    let (own, folder) = (student.shop().join("practice"), record.parent().unwrap());
    for list in [&["records", "list"][..], &["records", "list", "--json"]] {
        let ran = student.run(&[&["--shop", own.to_str().unwrap()], list].concat(), "").exits(0);
        assert!(ran.out.contains(name) && !ran.out.contains("leaks"), "{}", ran.out);
    }
    std::fs::create_dir(student.path("another")).unwrap();
    for (status, command) in [(1, ["practice", "grades"]), (2, ["records", "export"])] {
        let of_folder = [&command[..], &[folder.to_str().unwrap()]].concat();
        for shop in [student.shop(), own.clone(), student.path("another")] {
            let ran = student.run(&[&["--shop", shop.to_str().unwrap()], &of_folder[..]].concat(), "");
            let ran = ran.exits(status);
            assert!(!ran.out.contains("Ann") && !ran.out.contains("leaks"), "{}", ran.out);
            ran.complains("is told by Hill School");
        }
    }
    let listed = student.run(&["records", "list", "--mode", "practice"], "").exits(0).says(name);
    assert!(!listed.out.contains("leaks"), "{}", listed.out);
    student
        .run(&["report", name.rsplit('-').next().unwrap()], "")
        .exits(2)
        .complains("is told by Hill School");
    student.run(&["records", "audit", name], "").exits(0).says("1 signed by Ann Example");
    std::fs::create_dir(school.path("class")).unwrap();
    std::fs::copy(&record, school.path("class/ann.json")).unwrap();
    school.run(&["report", "class/ann.json"], "").exits(0).says("Passed: ");
    let table = school.run(&["practice", "grades", "class", "--exercise", "exam.json"], "").exits(0);
    table.says("Signed by Ann Example").says("100");
}

#[test]
fn a_students_key_lies_with_the_attempts_and_signs_nothing_that_the_shop_tests() {
    let (_, student) = handed_out(&["set-the-rig"]);
    student.run(&["practice", "exam.json", "--as", "Ann"], "Ann\npark\n").exits(3);
    let shop = Shop::open(&student.shop()).unwrap();
    assert!(!shop.key().exists(), "the shop has no key");
    assert!(shop.of_mode(Mode::Practice).unwrap().key().is_file());
    // A shop that signs goes on as itself beside its students.
    student
        .run(&["practice", "prepare", "set-the-rig", "-o", "ours.json", "--as", "North Bench"], "")
        .exits(0);
    student.run(&["practice", "exam.json"], "Ann\npark\n").exits(3);
}

#[test]
fn attempts_that_were_taken_in_from_another_shop_use_up_none_of_this_one() {
    let (school, ann) = handed_out(&["set-the-rig", "--attempts", "1"]);
    let lines = lines_of(&handed_in("Ann", SOME, &prepared(&school), Skill::PERFECT));
    let other = Home::with("exam.json", school.read("exam.json"));
    let exam = ["practice", "exam.json", "--as", "Ann"];
    other.run(&exam, &lines).exits(0);
    let place = other.shop();
    ann.says(&["records", "import", "--mode", "practice", place.to_str().unwrap()], "1 taken");
    ann.run(&exam, "Ann\npark\n").exits(3).says("This is attempt 1 of 1 by Ann");
    // Nor is its grade shown as one that was reached here; the shipped exercises have none either.
    let list = ann.run(&["practice"], "").exits(0);
    assert!(!list.out.contains("100  set-the-rig"), "{}", list.out);
}

#[test]
fn what_is_held_back_is_in_no_answer_of_the_history_but_in_those_of_who_handed_it_out() {
    let (school, student) = handed_out(&["set-the-rig", "--hold-back"]);
    let lines = lines_of(&handed_in("Ann", SOME, &prepared(&school), Skill::PERFECT));
    student.run(&["practice", "exam.json", "--as", "Ann"], &lines).exits(0);
    let cluster = Cluster::prepared();
    let urls = cluster.as_ref().map(|cluster| {
        cluster.admit("north", "spoolproof_bench");
        cluster.admit("teacher", "spoolproof_instructor");
        let (north, boss) = (cluster.url("north"), cluster.url("boss"));
        let sent = ["records", "send", "--mode", "practice", "--database", &north];
        student.says(&sent, "1 record; 0 had arrived before.");
        school.says(&["server", "take-up", "--database", &boss], "records taken up: 1.");
        cluster.url("teacher")
    });
    let record = records_in(&student.shop().join("practice/records")).pop().unwrap();
    std::fs::create_dir_all(school.shop().join("practice/records")).unwrap();
    std::fs::copy(&record, school.shop().join("practice/records").join(record.file_name().unwrap())).unwrap();
    let places = [None, urls.as_deref()];
    for (place, question) in places.iter().flat_map(|place| EVERY_QUESTION.map(|question| (place, question)))
    {
        let more: Vec<&str> = place.iter().flat_map(|url| ["--database", url]).collect();
        let asked = [&["history"], question, &["--mode", "practice", "--json"], &more[..]].concat();
        let n_figures = |answer: Ran| -> usize {
            let tables = answer.json()["tables"].as_array().unwrap().clone();
            let rows = tables.iter().flat_map(|table| table["rows"].as_array().unwrap());
            rows.flat_map(|row| row.as_object().unwrap().values()).filter(|cell| !is_nothing(cell)).count()
        };
        let held_back = student.run(&asked, "").exits(0).complains("Attempts left out: 1.");
        assert_eq!(n_figures(held_back), 0, "{question:?}");
        let answer = school.run(&asked, "").exits(0);
        assert!(n_figures(answer) > 0, "{question:?}");
    }
}

#[test]
fn a_circuit_that_an_exercise_leaves_out_is_not_counted_as_one_that_nobody_tested() {
    let (school, student) = handed_out(&["set-the-rig"]);
    let record = handed_in("Ann", SOME, &prepared(&school), Skill::PERFECT);
    student.run(&["practice", "exam.json", "--as", "Ann"], &lines_of(&record)).exits(0);
    let stored = records_in(&student.shop().join("practice/records")).pop().unwrap();
    let summary = crate::record::read(&stored).unwrap().summary;
    assert!(summary.not_tested > 0, "{summary:?}");
    for question in [&["failing"][..], &["by", "technician"]] {
        let answer = student.json(&[&["history"], question, &["--mode", "practice"]].concat());
        let rows = answer["tables"][0]["rows"].as_array().unwrap();
        let sum = |head: &str| rows.iter().map(|row| row[head].as_u64().unwrap()).sum::<u64>();
        assert_eq!((sum("tested"), sum("not tested")), (2, 0), "{question:?}: {answer}");
    }
}

/// Whether a cell says nothing of any reading: it is a name, a nought or empty.
fn is_nothing(cell: &serde_json::Value) -> bool {
    cell.as_f64().is_none_or(|figure| figure == 0.0)
}

const EVERY_QUESTION: [&[&str]; 5] = [
    &["overview"],
    &["by", "technician"],
    &["by", "month", "--circuit", "reverse boost"],
    &["spread", "reverse boost"],
    &["failing"],
];

#[test]
fn one_name_with_two_keys_is_two_rows_and_neither_uses_up_the_attempts_of_the_other() {
    let (school, ann) = handed_out(&["set-the-rig", "--attempts", "1"]);
    let lines = lines_of(&handed_in("Ann", SOME, &prepared(&school), Skill::PERFECT));
    let other = Home::with("exam.json", school.read("exam.json"));
    std::fs::create_dir(school.path("class")).unwrap();
    for (home, name) in [(&ann, "ann.json"), (&other, "other.json")] {
        home.run(&["practice", "exam.json", "--as", "Ann"], &lines).exits(0);
        let record = records_in(&home.shop().join("practice/records")).pop().unwrap();
        std::fs::copy(record, school.path("class").join(name)).unwrap();
    }
    let table = school.run(&["practice", "grades", "class", "--exercise", "exam.json"], "").exits(0);
    table.says("ann: 2 rows of one name, each with a key of its own or none");
}

#[test]
fn a_complaint_that_no_circuit_covers_is_refused_before_anything_is_signed() {
    let home = Home::new();
    let exam = [
        "practice",
        "prepare",
        "osier-o7-rear",
        "--complaint",
        "purple wobble",
        "-o",
        "exam.json",
        "--as",
        "Hill",
    ];
    home.run(&exam, "").exits(2).complains("no circuit of this procedure covers \"purple wobble\"");
    assert!(!home.path("exam.json").exists());
}

#[test]
fn a_complaint_is_taken_in_a_customers_words_as_a_session_takes_it() {
    let home = Home::new();
    let prepare = [
        "practice",
        "prepare",
        "osier-o7-rear",
        "--complaint",
        "TCC shudder",
        "--seed",
        "7",
        "--to-edit",
        "-o",
        "ours.json",
    ];
    let told = "\"TCC shudder\" is looked for as: ";
    home.run(&prepare, "").exits(0).says(told);
    let guide = home.run(&["guide", "osier-o7-rear", "--complaint", "TCC shudder"], "park\n").exits(3);
    guide.says(told);
    let ours: Prepared = serde_json::from_str(&home.read("ours.json")).unwrap();
    assert_eq!(ours.exercise.complaint.as_deref(), Some("TCC shudder"));
    assert!(!ours.exercise.meant.is_empty() && ours.circuits == ["lock-up control"], "{ours:?}");
    // The student is told what the customer says, and finds the circuits.
    let begun = home.run(&["practice", "ours.json"], "9\nAnn\npark\n").exits(3);
    assert!(begun.says("The customer says: TCC shudder.").out.find("looked for as").is_none());
}

#[test]
fn what_is_signed_is_repeated_on_the_screen() {
    let home = Home::new();
    let prepare = [
        "practice",
        "prepare",
        "thin-air",
        "--attempts",
        "2",
        "--hold-back",
        "-o",
        "exam.json",
        "--as",
        "Hill",
    ];
    let told = home.run(&prepare, "").exits(0);
    let told = told.says("corrie-c4-main: main regulator, 1-2 shift valve").says("2 a student");
    let told = told
        .says("the wrong orifice was on the bench (the rig)")
        .says("held back; you tell them; 70 of 100 are needed to pass");
    told.says("rig 8, settings 4, readings 16");
    let told = home.run(&["practice", "prepare", "set-the-rig", "-o", "open.json"], "").exits(0);
    told.says("any number").says("told at the end of each attempt");
}

#[test]
fn the_procedure_of_what_was_handed_out_is_proofread_and_printed_for_a_lesson_as_a_pack_is() {
    let (school, _) = handed_out(&["set-the-rig"]);
    let lesson = school.run(&["worksheet", "--lesson", "exam.json"], "").exits(0);
    assert_eq!(lesson.out, school.run(&["worksheet", "--lesson", "corrie-c4-main"], "").exits(0).out);
    school.run(&["proofread", "exam.json"], "").exits(0).says("corrie-c4-main: no errors");
    school.run(&["practice", "prepare", "set-the-rig", "--to-edit", "-o", "ours.json"], "").exits(0);
    school.run(&["proofread", "ours.json"], "").exits(2).complains("name that by itself: corrie-c4-main");
    school.write("exam.json", school.read("exam.json").replace("reverse boost", "reverse boast"));
    school.run(&["worksheet", "--lesson", "exam.json"], "").exits(2).complains("signature does not fit");
}

#[test]
fn weights_are_replaced_by_a_table_and_a_bad_one_is_refused_with_what_to_write() {
    let home = Home::new();
    let table = home.run(&["practice", "weights"], "").exits(0).out;
    let prepare = |table: &str| {
        home.write("weights.csv", table);
        let name = format!("ours-{}.json", table.len());
        let all =
            ["practice", "prepare", "set-the-rig", "--to-edit", "--weights", "weights.csv", "-o", &name];
        (home.run(&all, ""), name)
    };
    let (ran, name) = prepare(&table.replace("\ntime,0.0,", "\ntime,12,"));
    ran.exits(0);
    let ours: Prepared = serde_json::from_str(&home.read(&name)).unwrap();
    let record: Record = serde_json::from_slice(&handed_in("Ann", OTHER, &ours, Skill::PERFECT)).unwrap();
    let grade = record.grade.unwrap();
    let time = grade.points.iter().find(|mark| mark.point == crate::record::Point::Time).expect("time");
    assert!((time.weight - 12.0).abs() < 1e-9 && time.because.contains("by the bench's clock"), "{time:?}");
    // Unasked, time is not graded.
    prepare(&table).0.exits(0);
    let all_but = |point: &str| {
        let rows = table.lines().filter(|row| !row.starts_with(&format!("{point},")));
        rows.collect::<Vec<_>>().join("\n")
    };
    prepare(&all_but("checks")).0.exits(2).complains("its weights have nothing for \"checks\"; a point");
    let with = |row: &str| all_but("found") + "\n" + row + "\n";
    let nothing = |(n, row): (usize, &str)| match row.split_once(',') {
        Some((point, _)) if n > 0 => format!("{point},0,"),
        _ => row.to_owned(),
    };
    let nothing = table.lines().enumerate().map(nothing).collect::<Vec<_>>().join("\n");
    for (bad, told) in [
        ("point,weight\nfund,12\n", "unknown variant `fund`, expected one of `rig_set`"),
        ("point,weight\nfound,much\n", "says what it weighs, 0 or more"),
        ("found,12\n", "The first row is point,weight,looks at"),
        ("point,weight\nfound,1\n", "its weights have nothing for \"rig_set\", \"settings\", \"readings\""),
        (&with("found,-1,"), "is -1, and a weight is 0 or more"),
        (&with("found,1,\nfound,2,"), "\"found\" stands twice in its weights"),
        (&nothing, "all its weights are 0"),
    ] {
        prepare(bad).0.exits(2).complains(told);
    }
}

#[test]
fn the_exercises_of_the_shop_are_in_the_list_and_are_begun_by_their_names() {
    let (school, _) = handed_out(&["corrie-c4-main", "--level", "2", "--seed", "7"]);
    std::fs::create_dir_all(school.shop().join("exercises")).unwrap();
    std::fs::copy(school.path("exam.json"), school.shop().join("exercises/monday.json")).unwrap();
    school.run(&["practice"], "").exits(0).says("monday: What a test finds");
    school.run(&["practice", "monday"], "Ann\npark\n").exits(3).says("exam was handed out by Hill School");
    // The best grade stands beside it, whatever the file is called.
    let (easy, _) = handed_out(&["set-the-rig"]);
    std::fs::create_dir_all(easy.shop().join("exercises")).unwrap();
    std::fs::copy(easy.path("exam.json"), easy.shop().join("exercises/monday.json")).unwrap();
    easy.run(&["practice"], "").exits(0).says("- monday: ");
    let done = handed_in("Ann", SOME, &prepared(&easy), Skill::PERFECT);
    std::fs::write(easy.shop().join(format!("practice/records/{SOME}.json")), done).unwrap();
    easy.run(&["practice"], "").exits(0).says("100 monday: ");
}
