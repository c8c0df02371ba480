use std::cell::RefCell;
use std::rc::Rc;

use super::desk::{Explorer, Mind};
use super::ladder::Ladder;
use super::notebook::{Choice, Policy};
use super::report::Line;
use crate::leak::DEFAULT_CONFIDENCE;
use crate::procedure::{Aside, Fault, Program, Stop, Trail, Walk, runaway};
use crate::quantity::UNITS;
use crate::record::{BenchState, RigParts};
use crate::session::{walk_closing, walk_tests};

/// Whoever walks a procedure again and again.
pub(super) struct Walker<'a> {
    program: &'a Program,
    trail: Trail,
    pub(super) mind: Rc<RefCell<Mind>>,
    pub(super) n_walks: usize,
    /// Whether the script asks for what is not true of something.
    blames: bool,
}

/// What came of one walk.
pub(super) struct Walked {
    /// What went wrong.
    pub(super) fault: Option<Fault>,
    /// The circuit under test when it did.
    pub(super) circuit: Option<String>,
    /// The circuits described and not tested, with a walk that came to its end.
    pub(super) untested: Vec<String>,
    /// The circuits tested.
    pub(super) tested: Vec<String>,
    /// Every choice.
    pub(super) choices: Vec<Choice>,
    /// Everything typed.
    pub(super) lines: Vec<Line>,
}

impl<'a> Walker<'a> {
    pub(super) fn new(program: &'a Program) -> Walker<'a> {
        let trail = Trail::default();
        let ladder = Ladder::new(program.asks_for(&["standard", "hole"]));
        let mind = Rc::new(RefCell::new(Mind::new(trail.clone(), ladder)));
        let blames = program.asks_for_no(&["holds", "worn", "leaks"]);
        Walker { program, trail, mind, n_walks: 0, blames }
    }

    pub(super) fn trail(&self) -> &Trail {
        &self.trail
    }

    /// Walks the procedure once, with the tests of these circuits only where some are named.
    pub(super) fn walk(&mut self, policy: Policy, only: Option<Vec<String>>) -> Walked {
        self.n_walks += 1;
        {
            let mind = &mut *self.mind.borrow_mut();
            // A script that looks at the reading itself can tell readings apart without a verdict.
            let blames = self.blames && matches!(policy, Policy::Plain) && !mind.ladder.is_fine();
            mind.prose.begin(blames);
            mind.notebook.begin(policy);
        }
        let bench = BenchState::new(RigParts::USUAL, self.program.title.oil, DEFAULT_CONFIDENCE)
            .thorough(self.program.sets_rig);
        let desk = Box::new(Explorer::new(self.mind.clone(), self.program.sets_rig));
        let mut walk = Walk::new(desk, bench, &UNITS[0]).leaving(self.trail.clone());
        let is_planned = only.is_some();
        if let Some(circuits) = only {
            walk = walk.first_of(circuits.len(), &circuits);
        }
        let ended = walk_tests(self.program, walk).and_then(|mut walk| walk_closing(&mut walk));
        let mind = &mut *self.mind.borrow_mut();
        let fault = ended.err().and_then(|stop| match stop {
            Stop::Broken(fault) if fault.message == runaway() => Some(self.placed(*fault)),
            Stop::Broken(fault) => Some(*fault),
            Stop::Aside(Aside::Lost(why)) => {
                Some(Fault::new(&self.program.source.files[0].name, rhai::Position::NONE, why))
            }
            Stop::Aside(_) | Stop::Drifted => None,
        });
        let is_whole = fault.is_none() && !is_planned;
        if let Some(form) = &mut mind.form {
            form.end_walk(is_whole);
        }
        Walked {
            circuit: mind.prose.under_test(),
            untested: if is_whole { mind.prose.untested() } else { Vec::new() },
            tested: mind.prose.tested(),
            choices: mind.notebook.choices.clone(),
            lines: mind.notebook.lines.clone(),
            fault,
        }
    }

    /// Puts a fault that has no place of its own to the last thing that the script did.
    fn placed(&self, fault: Fault) -> Fault {
        match self.trail.here() {
            Some(site) => {
                let message = format!("after this {}", fault.message);
                Fault { help: fault.help, ..Fault::at_site(&site, message) }
            }
            None => fault,
        }
    }
}
