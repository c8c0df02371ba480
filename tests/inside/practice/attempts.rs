//! An attempt is a session like others: parked, taken up, kept as a record, and audited, grade and all.

use std::cell::RefCell;
use std::rc::Rc;

use super::class::{show, total};
use super::handed_out::lines_of;
use super::pupils::{Pupil, Skill, attempt, room};
use crate::practice::{HARDEST, Workbench, drawn, graded, not_graded, shipped};
use crate::procedure::{Aside, Desk, Place, Program, SHIPPED};
use crate::record::{Answer, Event, HoseOn, Mode, Point, PointMark, Question, Wants, What};
use crate::rehearse::Student;
use crate::session::{Auditor, Ended};
use crate::tests::support::{Browser, Home, Running, journal_at};

const MIDDLING: Skill = Skill { eye: 0.4, haste: 0.3, guesses: 0.2, always: None };

#[test]
fn the_same_doings_give_the_same_grade() {
    for prepared in shipped() {
        let [one, other] = [(); 2].map(|()| attempt(&prepared, MIDDLING, 7).0);
        assert_eq!(one.grade, other.grade);
        assert_eq!(one.mode, Mode::Practice);
    }
}

#[test]
fn an_audit_works_the_grade_out_again() {
    for prepared in shipped() {
        let (record, bytes) = attempt(&prepared, MIDDLING, 3);
        assert_eq!(Auditor::default().audit(&bytes).faults, [], "{}", prepared.exercise.name);
        let text = String::from_utf8(bytes).unwrap();
        let total = format!("\"grade\": {{\"total\":{}", serde_json::json!(record.grade.unwrap().total));
        let better = text.replacen(&total, "\"grade\": {\"total\":99.5", 1);
        assert!(text != better, "{total}");
        let audit = Auditor::default().audit(better.as_bytes());
        assert!(audit.faults.iter().any(|fault| fault.field() == Some("/grade/total")), "{:?}", audit.faults);
    }
}

/// As the end of an attempt tells them, of one who passes everything without care and one who works well.
#[test]
fn each_point_says_what_was_done_what_counted_and_what_was_missed() {
    let because = |skill: Skill, point: Point| {
        let grade = attempt(&shipped().remove(2), skill, 1).0.grade.unwrap();
        let found = grade.points.into_iter().find(|graded| graded.point == point);
        found.unwrap_or_else(|| panic!("{point:?}")).because
    };
    let careless = Skill { eye: 0.8, haste: 1.0, guesses: 0.0, always: Some(true) };
    for (point, passes_all, works_well) in [
        (
            Point::Checks,
            "2 of 2 looks at the rig with the right thing on the hose and no valve turned",
            "2 of 2 looks at the rig with the right thing on the hose and no valve turned",
        ),
        (
            Point::Found,
            "you found 0 of 2 faulty circuits; missed load pressure, coil supply; of that 0 % counts: by so much your verdicts beat \
             guessing",
            "you found 2 of 2 faulty circuits",
        ),
        (
            Point::Spared,
            "you left 2 of 2 sound circuits alone; of that 0 % counts: by so much your verdicts beat guessing",
            "you left 2 of 2 sound circuits alone",
        ),
        (
            Point::Confidence,
            "you were 99 % sure on average, and right of sound or not at 2 of 4 circuits; the Brier score of that is 0.49: 0.01 or \
             less gives all, 0.25 or more, as by guessing, nothing; of that 0 % counts: by so much your verdicts beat guessing",
            "you were 99 % sure on average, and right of sound or not at 4 of 4 circuits; the Brier score of that is 0: 0.01 or \
             less gives all, 0.25 or more, as by guessing, nothing",
        ),
        (
            Point::Parts,
            "you bought no parts that have a price; of that 0 % counts: by so much your verdicts beat guessing",
            "you bought parts for 46, all to good purpose",
        ),
    ] {
        assert_eq!(because(careless, point), passes_all);
        assert_eq!(because(Skill::PERFECT, point), works_well);
    }
    let told = because(careless, Point::Handling);
    let unwiped =
        "of 4 readings at circuits you took 4 with faces not wiped before the plate was seated (takes half)";
    assert!(told.starts_with(unwiped) && told.ends_with("wipe, seat, and wait for the needle"), "{told}");
    let told =
        "4 readings at circuits, each with the hose in the right place, faces wiped and a needle that stood";
    assert_eq!(because(Skill::PERFECT, Point::Handling), told);
    let told = "on average you read 0 inHg off the needle at circuits (at worst 0) and 0 inHg off the needle at the rig (at worst \
                0); 0.125 or less gives all, 0.5 or more nothing";
    assert_eq!(because(Skill::PERFECT, Point::Readings), told);
}

#[test]
fn of_a_rig_that_was_handed_over_set_neither_points_nor_settings_are_graded_which_is_said() {
    let prepared = shipped().into_iter().find(|known| known.exercise.is_set).unwrap();
    let record = attempt(&prepared, Skill::PERFECT, 1).0;
    let is_of_setting = |graded: &PointMark| matches!(graded.point, Point::RigSet | Point::Settings);
    let grade = record.grade.as_ref().unwrap();
    assert!(!grade.points.iter().any(is_of_setting), "{grade:?}");
    let told = not_graded(&record).expect("what is not graded");
    assert!(told.contains("rig and settings, for the rig was handed over set"), "{told}");
    // Whoever sets it has it graded.
    let other = shipped().into_iter().find(|known| !known.exercise.is_set).unwrap();
    let record = attempt(&other, Skill::PERFECT, 1).0;
    assert_eq!(record.grade.as_ref().unwrap().points.iter().filter(|point| is_of_setting(point)).count(), 2);
    assert_eq!(not_graded(&record), None);
}

#[test]
fn the_page_is_told_the_grade_as_what_all_of_it_comes_to() {
    let prepared = shipped().remove(0);
    let (lines, home) = (lines_of(&attempt(&prepared, Skill::PERFECT, 1).1), Home::new());
    let practice = ["practice", &prepared.exercise.name, "--page"];
    let mut program = Running::start(&mut home.command(&practice));
    let address = std::iter::from_fn(|| program.line())
        .find_map(|line| line.split_whitespace().find(|word| word.starts_with("http://")).map(str::to_owned));
    let page = Browser::at(&address.expect("the address of a page"));
    let mut heard = page.listen();
    program.types(&lines);
    let is_result = |said: &serde_json::Value| said["kind"] == "result";
    let sight = heard.until(|sight| sight["said"].as_array().is_some_and(|said| said.iter().any(is_result)));
    assert_eq!(sight["state"], "ended");
    let said: Vec<_> = sight["said"].as_array().unwrap().iter().filter(|said| is_result(said)).collect();
    let [result] = &said[..] else { panic!("{said:?}") };
    let text = result["text"].as_str().unwrap();
    assert!(text.starts_with("Passed: ") && text.contains("of 100"), "{text}");
    // The terminal says it once, as a line of its own.
    let shown = program.ends().out;
    assert_eq!(shown.lines().filter(|line| line.starts_with("Passed: ")).count(), 1, "{shown}");
}

/// A student who types the same for every circuit, wherever the needle is.
struct Blind(Pupil);

impl Desk for Blind {
    fn ask(&mut self, question: &Question, place: &Place) -> Result<Answer, Aside> {
        let answer = self.0.ask(question, place)?;
        let is_of_circuit = matches!(&question.wants, Wants::Reading { on: HoseOn::Circuit { .. }, .. });
        Ok(if is_of_circuit { question.read("12").unwrap() } else { answer })
    }
}

/// In an exercise of one sound circuit whoever passes everything is right.
#[test]
fn who_reads_no_circuit_as_it_should_be_read_does_not_pass_by_a_lucky_guess() {
    let prepared = shipped().remove(0);
    let (front, circuits) = room(&prepared);
    let hasty = Skill { haste: 1.0, always: Some(true), ..Skill::PERFECT };
    let pupil = Pupil::new(&prepared.exercise, &circuits, hasty, 1);
    let Ended::Finished(record, _) = front.walk_with(Box::new(Blind(pupil))).unwrap() else {
        panic!("not finished")
    };
    assert!(!record.grade.as_ref().unwrap().passed, "{}", show(&prepared, &record));
}

/// A student who does everything but what is named so.
struct Sparing {
    pupil: Pupil,
    spares: &'static str,
}

impl Desk for Sparing {
    fn ask(&mut self, question: &Question, place: &Place) -> Result<Answer, Aside> {
        loop {
            match self.pupil.ask(question, place) {
                Err(Aside::Did(doing)) if doing.starts_with(self.spares) => {}
                other => return other,
            }
        }
    }
}

#[test]
fn a_plate_that_was_not_wiped_and_a_needle_that_had_not_stood_each_cost_half_of_a_reading_even_where_luck_would_have_it()
 {
    let prepared = shipped().remove(0);
    for (spares, share) in [("wipe", 0.5), ("wait", 0.5), ("nothing", 1.0)] {
        let (front, circuits) = room(&prepared);
        let pupil = Pupil::new(&prepared.exercise, &circuits, Skill::PERFECT, 1);
        let Ended::Finished(record, _) = front.walk_with(Box::new(Sparing { pupil, spares })).unwrap() else {
            panic!("not finished")
        };
        let points = record.grade.unwrap().points;
        let handling = points.iter().find(|graded| graded.point == Point::Handling).unwrap();
        assert!((handling.share - share).abs() < 1e-5, "{spares}: {handling:?}");
    }
}

#[test]
fn a_caution_that_was_read_after_the_hose_was_plugged_counts_nothing_whatever_was_asked_when_it_was() {
    let record = attempt(&shipped().remove(1), Skill::PERFECT, 1).0;
    let opening = record.opening().unwrap();
    let circuits: Vec<_> = record.circuits.iter().map(|circuit| (*circuit.circuit).clone()).collect();
    let of = |wanted: fn(&Wants) -> bool| {
        let asks =
            |event: &Event| matches!(&event.what, What::Answered { question, .. } if wanted(&question.wants));
        record.journal.iter().position(asks).unwrap()
    };
    let cautions = |events: &[Event]| {
        let points = graded(opening, &circuits, events).unwrap().points;
        points.into_iter().find(|graded| graded.point == Point::Cautions).unwrap().share
    };
    assert_eq!(cautions(&record.journal), 1.0);
    for asked in [of(|wants| *wants == Wants::Technician), of(|wants| *wants == Wants::Acknowledgement)] {
        let mut events = record.journal.clone();
        let plugged = What::Did { circuit: None, on: None, doing: "plug".to_owned() };
        events.insert(asked, Event { n: 0, at: record.started, what: plugged });
        assert!(cautions(&events) < 0.5, "{}", cautions(&events));
    }
}

/// A student who parks after so many questions and doings.
struct Leaving {
    pupil: Rc<RefCell<Pupil>>,
    left: usize,
}

impl Desk for Leaving {
    fn ask(&mut self, question: &Question, place: &Place) -> Result<Answer, Aside> {
        self.left = self.left.checked_sub(1).ok_or(Aside::Park)?;
        self.pupil.borrow_mut().ask(question, place)
    }
}

#[test]
fn a_parked_attempt_goes_on_at_the_bench_as_it_was_left() {
    let prepared = shipped().remove(2);
    for after in [5, 12, 25] {
        let (front, circuits) = room(&prepared);
        let pupil = Rc::new(RefCell::new(Pupil::new(&prepared.exercise, &circuits, Skill::PERFECT, 1)));
        let leaving = Leaving { pupil: Rc::clone(&pupil), left: after };
        let ended = front.walk_with(Box::new(leaving)).unwrap();
        assert!(matches!(ended, Ended::Parked), "{ended:?}");
        let journal = journal_at(&front.journal_path()).unwrap();
        let bench = Workbench::new(&prepared.exercise, &circuits).after(journal.events());
        drop(journal);
        pupil.borrow_mut().comes_back_to(bench);
        let staying = Leaving { pupil, left: usize::MAX };
        let Ended::Finished(record, _) = front.walk_with(Box::new(staying)).unwrap() else {
            panic!("not finished")
        };
        assert!(total(&record) > 99.9, "{}", show(&prepared, &record));
    }
}

/// A student who slips at the nth reading that is asked for, takes that back, and does it right.
struct Slipping {
    pupil: Pupil,
    readings_before: usize,
    is_to_be_taken_back: bool,
}

impl Desk for Slipping {
    fn ask(&mut self, question: &Question, place: &Place) -> Result<Answer, Aside> {
        if std::mem::take(&mut self.is_to_be_taken_back) {
            return Err(Aside::Back(1));
        }
        let answer = self.pupil.ask(question, place)?;
        if !matches!(question.wants, Wants::Reading { .. }) {
            return Ok(answer);
        }
        let n = self.readings_before;
        self.readings_before = n.wrapping_sub(1);
        self.is_to_be_taken_back = n == 0;
        Ok(if n == 0 { question.read("1").unwrap() } else { answer })
    }
}

#[test]
fn an_answer_that_was_taken_back_counts_nothing() {
    for (prepared, readings_before) in [(0, 0), (0, 1), (0, 2), (1, 0), (1, 1), (1, 4)] {
        let prepared = shipped().remove(prepared);
        let (front, circuits) = room(&prepared);
        let pupil = Pupil::new(&prepared.exercise, &circuits, Skill::PERFECT, 1);
        let slipping = Slipping { pupil, readings_before, is_to_be_taken_back: false };
        let Ended::Finished(record, _) = front.walk_with(Box::new(slipping)).unwrap() else {
            panic!("not finished")
        };
        assert!(total(&record) > 99.9, "{readings_before}: {}", show(&prepared, &record));
        let is_taken_back = |event: &Event| matches!(event.what, What::Retracted { .. });
        assert!(record.journal.iter().any(is_taken_back), "{readings_before}");
    }
}

#[test]
fn the_words_of_the_bench_are_no_name() {
    let prepared = shipped().remove(0);
    let (front, circuits) = room(&prepared);
    let bench = Workbench::new(&prepared.exercise, &circuits);
    let lines = ["look", "plug", "help", "bleed close all", "bleed close all", "Bo", "park"];
    let ended = front.walk_with(Box::new(Student::new(front.person(&lines), bench))).unwrap();
    assert!(matches!(ended, Ended::Parked), "{ended:?}");
    assert!(front.flat().contains("put the hose on the test orifice"), "{}", front.flat());
    assert_eq!(front.flat().matches("The valve is at its end").count(), 1, "{}", front.flat());
    let journal = journal_at(&front.journal_path()).unwrap();
    let done = journal.events().iter().filter(|event| matches!(event.what, What::Did { .. })).count();
    let named: Vec<_> = journal.standing().map(|(_, _, answer)| answer.clone()).collect();
    assert_eq!((done, named), (3, vec![Answer::Text("Bo".to_owned())]));
}

#[test]
fn nothing_says_what_a_reading_means_before_the_student_has_committed() {
    let prepared = shipped().remove(2);
    let (front, circuits) = room(&prepared);
    let lines = [
        "Bo", "29.92", "19 C", "1", "ok", "ok", "ok", "", "ok", "plug", "25", "orifice", "5", "seat",
        "wait 60", "22.7", "holds", "90", "wipe", "seat", "wait 60", "more", "10", "park",
    ];
    let bench = Workbench::new(&prepared.exercise, &circuits);
    let ended = front.walk_with(Box::new(Student::new(front.person(&lines), bench))).unwrap();
    assert!(matches!(ended, Ended::Parked), "{ended:?}");
    let shown = front.flat();
    // The second circuit was read far below its limits, and is asked about as any other.
    assert_eq!(shown.matches("Your verdict?").count(), 2, "{shown}");
    assert!(shown.contains("not told before you have committed"), "more tells nothing: {shown}");
    for word in ["found", "lift the plate", "probably", "standard reading of", "(^) reading"] {
        assert!(!shown.contains(word), "{word}: {shown}");
    }
}

#[test]
fn every_drawn_unit_fits_its_procedure_and_the_same_number_draws_the_same() {
    let (mut n_sound, mut n_units) = (0.0, 0.0);
    for shipped in SHIPPED {
        let program = Program::compile(shipped.source().unwrap()).unwrap();
        let outline = program.outline().unwrap();
        if outline.circuits.iter().all(|circuit| circuit.limits.is_none()) {
            continue;
        }
        for (level, seed) in (1..=HARDEST).flat_map(|level| (1..=40).map(move |seed| (level, seed))) {
            let one = drawn(shipped.id, &outline.circuits, None, level, seed);
            assert_eq!(one.fault(outline), None, "{} at {level} with {seed}", shipped.id);
            assert_eq!(one, drawn(shipped.id, &outline.circuits, None, level, seed));
            let is_sound = one.exercise.defects.iter().all(|defect| !defect.cause.is_of_circuit());
            n_sound += f64::from(u8::from(is_sound));
            n_units += 1.0;
        }
    }
    // One of four, within four standard deviations of such a count.
    let off = (n_sound - 0.25 * n_units) / (0.25 * 0.75 * n_units).sqrt();
    assert!(n_units >= 240.0 && off.abs() < 4.0, "{n_sound} of {n_units} units are sound");
}
