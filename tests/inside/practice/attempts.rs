//! An attempt is a session like others: parked, taken up, kept as a record, and audited, grade and all.

use std::cell::RefCell;
use std::rc::Rc;

use super::class::{show, total};
use super::pupils::{Pupil, Skill, attempt, room};
use crate::practice::{Workbench, shipped};
use crate::procedure::{Aside, Desk, Place};
use crate::record::{Answer, Mode, Question};
use crate::session::{Auditor, Ended};
use crate::tests::support::journal_at;

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
