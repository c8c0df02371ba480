//! The table of a class: whose attempts count, and at which exercise.

use super::pupils::{Skill, handed_in};
use crate::practice::{Prepared, shipped};
use crate::record::{Record, document};
use crate::tests::support::{Home, home};

const POOR: Skill = Skill { always: Some(true), ..Skill::PERFECT };
const POOR_EYE: Skill = Skill { eye: 1.2, ..Skill::PERFECT };
const SOME: &str = "20260101-080000-some-1";
const OTHER: &str = "20260101-090000-some-2";

/// A home in whose folder `class` these files lie.
fn class(files: &[(&str, &[u8])]) -> Home {
    let home = Home::new();
    for (name, bytes) in files {
        let path = home.path("class").join(name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, bytes).unwrap();
    }
    home
}

/// The second exercise, of two circuits of which one leaks; it is short.
fn exercise() -> Prepared {
    shipped().remove(1)
}

/// The same with nothing to find, and only what cannot go wrong counting.
fn made_easy() -> Prepared {
    let mut easy = exercise();
    easy.exercise.defects.clear();
    easy
}

const GRADES: [&str; 3] = ["practice", "grades", "class"];

#[test]
fn attempts_are_found_in_the_folders_of_the_students() {
    let perfect = handed_in("Ann", SOME, &exercise(), Skill::PERFECT);
    let poor = handed_in("ann ", OTHER, &exercise(), POOR);
    let bob = handed_in("Bob", "20260101-100000-some-3", &exercise(), POOR);
    let home = class(&[("ann/1.json", &poor), ("ann/of today/2.json", &perfect), ("3.json", &bob)]);
    let ran = home.run(&[&GRADES[..], &["--csv"]].concat(), "").exits(0);
    let table = ran.out.strip_prefix('\u{feff}').unwrap();
    let rows: Vec<Vec<&str>> = table.lines().map(|row| row.split(',').collect()).collect();
    assert_eq!(rows[0][..6], ["student", "exercise", "begun", "total", "passed", "signed by"]);
    // Each attempt has its row, with what it reached of each point.
    let found = rows[0].iter().position(|head| *head == "found").unwrap();
    let row = |who: &str, passed: &str| {
        let row =
            rows.iter().find(|row| row[0] == who && row[4] == passed).unwrap_or_else(|| panic!("{who}"));
        (row[1], row[5], row[found])
    };
    assert_eq!(row("Ann", "yes"), ("set-the-rig", "nobody", "100.0"));
    assert_eq!(row("ann", "no"), ("set-the-rig", "nobody", "0.0"));
    assert_eq!(row("Bob", "no"), ("set-the-rig", "nobody", "0.0"));
    assert_eq!(rows.len(), 4, "{}", ran.out);
    let table = home.run(&GRADES, "").exits(0);
    let row = |who: &str| {
        table
            .out
            .lines()
            .find(|line| line.trim_start().starts_with(who))
            .unwrap()
            .split_whitespace()
            .collect::<Vec<_>>()
    };
    assert_eq!((&row("Ann")[1..4], row("Ann")[5]), (&["set-the-rig", "2", "100"][..], "yes"));
    assert_eq!((&row("Bob")[1..3], row("Bob")[5]), (&["set-the-rig", "1"][..], "no"));
    table.says("Signed by nobody: 3 of 3");
}

#[test]
fn what_lies_beside_records_is_not_named_and_a_record_that_is_broken_is() {
    let perfect = handed_in("Ann", SOME, &exercise(), Skill::PERFECT);
    let rig: &[u8] = br#"{"grade": "B"}"#;
    let home = class(&[("practice/records/1.json", &perfect), ("rig.json", rig), ("prices.json", b"{}")]);
    let ran = home.run(&GRADES, "").exits(0).says("set-the-rig");
    assert!(!ran.err.contains("Not counted"), "{}", ran.err);
    let beside = class(&[("rig.json", rig)]).run(&GRADES, "").exits(2);
    beside.complains("there is no record in class or a folder in it");
    for broken in [&perfect[..perfect.len() / 2], &perfect[1..]] {
        std::fs::write(home.path("class/broken.json"), broken).unwrap();
        home.run(&GRADES, "").exits(1).complains("Not counted: broken.json: not JSON");
    }
}

#[test]
fn a_table_and_a_page_are_written_together() {
    let home = class(&[("1.json", &handed_in("Ann", SOME, &exercise(), POOR))]);
    let ran = home.run(&[&GRADES[..], &["--csv", "--html", "class.html"]].concat(), "").exits(0);
    let ran = ran.complains("Written: class.html");
    assert!(ran.out.starts_with("\u{feff}student,") && !ran.out.contains("Written"), "{}", ran.out);
    assert!(home.read("class.html").contains("Ann"));
}

#[test]
fn the_grade_of_a_course_is_the_mean_of_the_best_in_each_exercise() {
    let first = shipped().remove(0);
    let sessions = ["1", "2", "3", "4"].map(|n| format!("20260101-08000{n}-some-{n}"));
    let work = [
        ("Ann", POOR, exercise()),
        ("Ann", Skill::PERFECT, exercise()),
        ("Ann", POOR_EYE, first.clone()),
        ("Bob", POOR, exercise()),
    ];
    let done: Vec<Vec<u8>> = work
        .iter()
        .zip(&sessions)
        .map(|((who, skill, prepared), session)| handed_in(who, session, prepared, *skill))
        .collect();
    let grade = |n: usize| serde_json::from_slice::<Record>(&done[n]).unwrap().grade.unwrap().total;
    let files = ["1.json", "2.json", "3.json", "4.json"];
    let home = class(&files.into_iter().zip(done.iter().map(Vec::as_slice)).collect::<Vec<_>>());
    let ran = home.run(&GRADES, "").exits(0);
    let course = ran.out.split("Grades of the course").nth(1).expect("a course").to_owned();
    let row = |who: &str| {
        let line = course.lines().find(|line| line.trim_start().starts_with(who)).unwrap();
        line.split_whitespace().map(str::to_owned).collect::<Vec<_>>()
    };
    let shown = |total: f64| crate::quantity::shown(total, 1);
    assert!(grade(2) < 99.0);
    assert_eq!(row("Ann")[1..6], ["2", "of", "2", &shown((100.0 + grade(2)) / 2.0), "yes"]);
    // Who has handed in half of it has neither passed nor failed.
    assert_eq!(row("Bob")[1..8], ["1", "of", "2", &shown(grade(3)), "not", "all", "handed"]);
    // One exercise is no course.
    let home = class(&[("ann.json", &done[0])]);
    assert!(!home.run(&GRADES, "").exits(0).out.contains("course"));
}

#[test]
fn an_exercise_that_was_made_easier_is_set_apart_from_the_one_whose_name_it_has() {
    let (true_one, easy) = (exercise(), made_easy());
    let ann = handed_in("Ann", SOME, &true_one, POOR);
    let cal = handed_in("Cal", OTHER, &easy, Skill::PERFECT);
    let home = class(&[("ann.json", &ann), ("cal.json", &cal)]);
    let ran = home.run(&GRADES, "").exits(1).complains("other defects are hidden in it");
    let row = |name: &str| ran.out.lines().find(|line| line.contains(name)).unwrap().to_owned();
    assert_ne!(row("Ann").split_whitespace().nth(2), row("Cal").split_whitespace().nth(2), "{}", ran.out);
    for named in ["set-the-rig", "ours.json"] {
        home.write("ours.json", serde_json::to_string(&true_one.clone().with_weights()).unwrap());
        let ran = home.run(&[&GRADES[..], &["--exercise", named]].concat(), "").exits(1);
        let ran = ran.complains("cal.json: it is at another exercise; other defects are hidden in it");
        assert!(ran.out.contains("Ann") && !ran.out.contains("Cal"), "{}", ran.out);
    }
}

#[test]
fn an_exercise_of_ones_own_whose_points_weigh_otherwise_is_another_one() {
    let mut ours = exercise().with_weights();
    ours.exercise.name = "ours".to_owned();
    let mut light = ours.clone();
    light.exercise.weights.iter_mut().skip(1).for_each(|weight| weight.weight = 0.0);
    let [ann, bea] = [("Ann", SOME), ("Bea", OTHER)].map(|(who, name)| handed_in(who, name, &ours, POOR));
    let cal = handed_in("Cal", "20260101-100000-some-3", &light, POOR);
    let alike = class(&[("ann.json", &ann), ("bea.json", &bea)]);
    alike.run(&GRADES, "").exits(0);
    let home = class(&[("ann.json", &ann), ("bea.json", &bea), ("cal.json", &cal)]);
    home.run(&GRADES, "")
        .exits(1)
        .complains("the exercise ours of most attempts: its points weigh otherwise");
}

#[test]
fn a_copy_counts_once_and_of_two_tales_of_one_attempt_neither_does() {
    let ann = handed_in("Ann", SOME, &exercise(), Skill::PERFECT);
    let home = class(&[("1.json", &ann), ("copy.json", &ann)]);
    let ran = home.run(&GRADES, "").exits(1).complains("copy.json: it is a copy of 1.json");
    let cells: Vec<&str> =
        ran.out.lines().find(|line| line.contains("Ann")).unwrap().split_whitespace().collect();
    assert_eq!(cells[2], "1", "{}", ran.out);
    // Somebody puts another name to the work, with a digest that fits.
    let text = String::from_utf8(ann.clone()).unwrap().replace("\"Ann\"", "\"Cal\"");
    let taken: Record = serde_json::from_str(&text).unwrap();
    let taken = document(&Record { digest: None, ..taken }).unwrap();
    class(&[("cal.json", taken.as_bytes())]).run(&GRADES, "").exits(0).says("Cal");
    let home = class(&[("ann.json", &ann), ("cal.json", taken.as_bytes())]);
    let ran = home.run(&GRADES, "").exits(1).complains("cal.json: another record says something else");
    assert!(!ran.out.contains("Ann") && !ran.out.contains("Cal"), "{}", ran.out);
}

#[test]
fn what_is_no_sound_attempt_is_named_and_an_empty_folder_is_an_error() {
    let ann = handed_in("Ann", SOME, &exercise(), Skill::PERFECT);
    let text = String::from_utf8(ann).unwrap();
    let better = text.replacen("\"passed\":true", "\"passed\":false", 1);
    assert_ne!(text, better);
    let home = class(&[("ann.json", better.as_bytes()), ("list.json", b"[]")]);
    let ran = home.run(&GRADES, "").exits(1).complains("Not counted: ann.json");
    ran.complains("Not counted: list.json");
    std::fs::create_dir_all(home.path("empty/er")).unwrap();
    home.run(&["practice", "grades", "empty"], "").exits(2).complains("there is no record in empty");
}

#[test]
fn the_page_has_a_row_for_each_student_and_fits_a_phone() {
    let ann = handed_in("Ann <b>", SOME, &exercise(), Skill::PERFECT);
    let home = class(&[("ann.json", &ann)]);
    home.run(&[&GRADES[..], &["--html", "class.html"]].concat(), "").exits(0);
    let page = home.read("class.html");
    assert!(page.contains("width=device-width") && page.contains("Ann &lt;b&gt;"), "{page}");
    assert!(!page.contains("<b>"), "{page}");
}

#[test]
fn attempts_that_are_begun_together_do_not_have_the_same_name() {
    let [one, other] = [(); 2].map(|()| {
        let home = home();
        home.run(&["practice", "merle.rhai", "--seed", "1"], "Ada\npark\n").exits(3);
        let name = home.names(&home.shop().join("practice/open")).pop().unwrap();
        // Behind the day, the second and its part: one pair in a million is alike.
        name[name.len() - 4..].to_owned()
    });
    assert_ne!(one, other);
}

#[test]
fn an_attempt_is_found_by_its_name_in_the_shop_where_it_was_made() {
    let home = Home::new();
    home.run(&["practice"], "").exits(0);
    let ann = handed_in("Ann", SOME, &exercise(), Skill::PERFECT);
    std::fs::write(home.shop().join(format!("practice/records/{SOME}.json")), ann).unwrap();
    for (command, told) in
        [(&["records", "show"][..], "Ann"), (&["records", "audit"], "1 of 1"), (&["report"], "Ann")]
    {
        home.run(&[command, &[SOME]].concat(), "").exits(0).says(told);
    }
    home.run(&["records", "show", OTHER], "").exits(2).complains("there is no record");
}

#[test]
fn an_exercise_in_which_nothing_counts_or_a_point_counts_twice_is_refused() {
    let home = Home::new();
    let begun = |ours: &Prepared| {
        home.write("ours.json", serde_json::to_string(ours).unwrap());
        home.run(&["practice", "ours.json"], "park\n")
    };
    let mut ours = exercise().with_weights();
    begun(&ours).exits(3);
    ours.exercise.weights.push(ours.exercise.weights[0].clone());
    begun(&ours).exits(2).complains("stands twice in its weights");
    ours.exercise.weights.pop();
    ours.exercise.weights.iter_mut().for_each(|weight| weight.weight = 0.0);
    begun(&ours).exits(2).complains("all its weights are 0");
    home.run(&["practice", "set-the-rig", "--seed", "7"], "").exits(2).complains("an exercise has its own");
}

#[test]
fn an_exercise_that_somebody_has_changed_is_not_written_over() {
    let home = Home::new();
    let prepare = ["practice", "prepare", "set-the-rig", "--to-edit", "-o", "ours.json"];
    home.run(&prepare, "").exits(0);
    let changed = home.read("ours.json").replace("\"seed\": 22", "\"seed\": 999");
    assert!(changed.contains("\"name\": \"ours\""), "{changed}");
    home.write("ours.json", &changed);
    home.run(&prepare, "").exits(2).complains("is there already and stays as it is");
    assert_eq!(home.read("ours.json"), changed);
}

#[test]
fn what_is_neither_exercise_nor_procedure_is_told_both() {
    let home = Home::new();
    for named in ["nosuch", "nosuch.rhai"] {
        home.run(&["practice", named], "").exits(2).complains("The exercises are read-the-needle, ");
    }
    home.run(&["practice", "nosuch"], "").exits(2).complains("Known are osier-o7-rear");
    home.run(&["practice", "prepare", "nosuch", "-o", "ours.json"], "")
        .exits(2)
        .complains("The exercises are read-the-needle, ");
}
