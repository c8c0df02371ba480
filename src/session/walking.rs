use std::cell::RefCell;
use std::rc::Rc;

use super::Recorder;
use super::committing::commit;
use super::runner::{walk_closing, walk_tests};
use crate::procedure::{Aside, Commit, Desk, Duty, Place, Program, Shown, Stop, Walk};
use crate::quantity::Unit;
use crate::record::{Answer, BenchState, Opening, Question, Told, latest_rig};

/// A procedure walked with the recorder as its desk: live, and again where only the journal answers.
pub(super) struct Walking {
    pub(super) opening: Opening,
    pub(super) recorder: Rc<RefCell<Recorder>>,
    vacuum_unit: &'static Unit,
}

impl Walking {
    pub(super) fn new(opening: Opening, recorder: Recorder, vacuum_unit: &'static Unit) -> Walking {
        Walking { opening, recorder: Rc::new(RefCell::new(recorder)), vacuum_unit }
    }

    /// Walks the procedure; with a plan, once for each planned circuit, so that they come in the plan's order whatever
    /// the script's is, and what the script does after its tests comes after all of them. What was answered on an
    /// earlier walk is answered by the journal.
    pub(super) fn walk(&self, program: &Program) -> Result<(), Stop> {
        let order = self.opening.plan.iter().flat_map(|plan| &plan.circuits);
        let order: Vec<_> = order.map(|planned| planned.circuit.clone()).collect();
        self.recorder.borrow_mut().begin();
        for n in 1..order.len() {
            walk_tests(program, self.new_walk(program).first_of(n, &order), self.commit())?;
            self.recorder.borrow_mut().begin_walk();
        }
        let walk = self.new_walk(program);
        let walk = if self.opening.plan.is_some() { walk.first_of(order.len(), &order) } else { walk };
        walk_closing(&mut walk_tests(program, walk, self.commit())?)
    }

    fn commit(&self) -> Option<Commit> {
        self.opening.exercise.is_some().then_some(commit)
    }

    fn new_walk(&self, program: &Program) -> Walk {
        let recorder = self.recorder.borrow();
        let rig = latest_rig(recorder.journal.events()).unwrap_or(self.opening.rig);
        let bench = BenchState::new(rig, program.title.oil, self.opening.confidence);
        let bench = bench.thorough(program.sets_rig);
        Walk::new(Box::new(Rc::clone(&self.recorder)), bench, self.vacuum_unit)
    }
}

/// The recorder is the walk's desk while the session keeps hold of it.
impl Desk for Rc<RefCell<Recorder>> {
    fn tell(&mut self, told: &Told) {
        self.borrow_mut().tell(told);
    }

    fn ask(&mut self, question: &Question, place: &Place) -> Result<Answer, Aside> {
        self.borrow_mut().ask(question, place)
    }

    fn duty(&mut self, before: Option<&str>) -> Duty {
        self.borrow_mut().duty(before)
    }

    fn show(&mut self, shown: &Shown<'_>) {
        self.borrow_mut().show(shown);
    }
}
