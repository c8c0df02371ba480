//! The rig set at the prompt without a procedure: there is no journal, so what was answered is kept here.

use std::cell::RefCell;
use std::rc::Rc;

use super::Person;
use super::runner::{ask_for_air, calibrate};
use super::screens::SUCTION;
use crate::procedure::{Aside, Desk, Halt, Place, Shown, Walk};
use crate::quantity::Unit;
use crate::record::{Answer, BenchState, Question, Wants};

/// What can hurt about a rig beside its hose; a procedure has cautions of its own.
const OIL_MIST: &str = "Oil mist of the pump harms lungs and burns: filter it or lead it outside.";

/// Coaches a person through setting the rig, without a procedure and without a record.
pub(crate) fn coach(person: Person, bench: BenchState, vacuum_unit: &'static Unit) -> Result<(), String> {
    let coached = Rc::new(RefCell::new(Coached { person, given: Vec::new(), n_asked: 0 }));
    loop {
        coached.borrow_mut().n_asked = 0;
        let mut walk = Walk::new(Box::new(Rc::clone(&coached)), bench.clone(), vacuum_unit);
        let set = |walk: &mut Walk| {
            ask_for_air(walk)?;
            walk.ask_for_runner(format!("{SUCTION} {OIL_MIST}"), Wants::Acknowledgement)?;
            calibrate(walk)
        };
        match set(&mut walk) {
            Ok(()) => return Ok(()),
            // What follows an answer hangs on it, so what was given since goes with it.
            Err(Halt::Aside(Aside::Back(steps) | Aside::Again(steps))) => {
                coached.borrow_mut().take_back(steps)
            }
            Err(Halt::Aside(Aside::Jot(_) | Aside::Photo { .. } | Aside::TakenOver(_) | Aside::Did(_))) => {
                coached.borrow_mut().person.hint("Without a session nothing of that is kept.");
            }
            Err(Halt::Aside(Aside::Lost(why))) => return Err(why),
            Err(Halt::Fault(fault)) => return Err(fault.message),
            Err(Halt::Aside(Aside::Park) | Halt::LeaveCircuit | Halt::Drifted | Halt::FarEnough) => {
                return Err("the rig is not set".to_owned());
            }
        }
    }
}

/// A person, and the answers that they have given: they are given again, unseen, when the walk begins anew.
struct Coached {
    person: Person,
    given: Vec<Answer>,
    n_asked: usize,
}

impl Coached {
    fn take_back(&mut self, steps: usize) {
        if self.given.is_empty() {
            self.person.show(&Shown::NothingBefore);
        }
        self.given.truncate(self.given.len().saturating_sub(steps));
    }
}

impl Desk for Rc<RefCell<Coached>> {
    fn ask(&mut self, question: &Question, place: &Place) -> Result<Answer, Aside> {
        let mut coached = self.borrow_mut();
        coached.n_asked += 1;
        if let Some(given) = coached.given.get(coached.n_asked - 1) {
            return Ok(given.clone());
        }
        let answer = coached.person.ask(question, place)?;
        coached.given.push(answer.clone());
        Ok(answer)
    }

    fn show(&mut self, shown: &Shown<'_>) {
        let mut coached = self.borrow_mut();
        if coached.n_asked >= coached.given.len() {
            coached.person.show(shown);
        }
    }
}
