use std::cell::RefCell;
use std::rc::Rc;

use super::desk::{EveryAnswer, Mind};
use super::findings::{self, at};
use super::gather::Gatherer;
use super::kind::{AnswerKind, Ladder};
use super::notebook::{Choice, Notebook, Policy};
use super::prose::Prose;
use super::report::{FoundFault, Report, Tried, Typing};
use crate::leak::DEFAULT_CONFIDENCE;
use crate::procedure::{Aside, Fault, Program, Source, Stop, Trail, Walk, runaway};
use crate::quantity::UNITS;
use crate::record::{BenchState, RigParts};
use crate::session::{walk_closing, walk_tests};

/// Answers with the plainest that there is.
const PLAIN: &[AnswerKind] = &[];

/// Answers all alike, each tried on a walk of its own.
const ALIKE: &[&[AnswerKind]] = &[
    &[AnswerKind::Leaks, AnswerKind::Open, AnswerKind::No, AnswerKind::High],
    &[AnswerKind::Worn, AnswerKind::Tight, AnswerKind::No, AnswerKind::Low],
    &[AnswerKind::Retest, AnswerKind::Yes],
    &[AnswerKind::Leaks, AnswerKind::Yes, AnswerKind::Low],
    &[AnswerKind::Holds, AnswerKind::No, AnswerKind::High],
    &[AnswerKind::Cannot],
    &[AnswerKind::Leaks, AnswerKind::Cannot],
    &[AnswerKind::Pick(1), AnswerKind::Worn],
];

/// The most faults that are looked for on walks.
const MOST_FAULTS: usize = 20;
/// The most walks that may end in a spent budget, each of which costs as much as many others.
const MOST_RUNAWAYS: usize = 3;
/// Walks allowed for each question that was met, above some to begin with.
const WALKS_A_QUESTION: usize = 12;

/// The most walks that go into finding a shorter way to one fault.
const MOST_SHORTER_WALKS: usize = 40;

/// Compiles a procedure, walks it with every kind of answer, and reports what went wrong, what no walk reached and what a
/// technician will stumble over.
pub fn proofread(source: Source) -> Report {
    let copy = source.clone();
    match Program::compile(source) {
        Err(faults) => Report::of_faults(copy, faults),
        Ok(program) => report(&program),
    }
}

/// Walks a procedure until nothing is left to try.
fn report(program: &Program) -> Report {
    let mut explorer = Explorer::new(program);
    explorer.mind.borrow_mut().prose.titled(&program.title);
    explorer.go();
    let Explorer { mind, found, n_walks, .. } = explorer;
    let mind = &mut *mind.borrow_mut();
    // A script that looks at the reading itself decides by that.
    if !mind.ladder.is_fine {
        mind.prose.undecided();
    }
    let statements = program.sites().count();
    let missed = findings::unreached(program, &mind.trail);
    let statements_reached = statements - missed.len();
    let mut without_a_walk = Vec::new();
    if found.iter().all(|found| !found.fault.is_error()) {
        without_a_walk.extend(findings::untested(&mind.prose));
        without_a_walk.extend(missed);
    }
    without_a_walk.append(&mut mind.prose.remarks);
    without_a_walk.extend(findings::undecidable(mind));
    without_a_walk.extend(findings::undecidable_apart(program, &mut mind.ladder));
    without_a_walk.extend(findings::symptoms(program, &mind.prose));
    without_a_walk.extend(findings::twins(&mind.prose));
    let mut faults = found;
    faults.extend(without_a_walk.into_iter().map(|fault| {
        // What has no place is of the whole procedure.
        let is_placed = !fault.file.is_empty();
        let file = &program.source.files[0].name;
        FoundFault::plain(if is_placed { fault } else { fault.placed(file, rhai::Position::NONE) })
    }));
    faults
        .sort_by_key(|found| (program.source.place(&found.fault.file), found.fault.line, found.fault.column));
    let (questions, kinds) = mind.notebook.n_questions();
    let tried = Tried {
        walks: n_walks,
        answers: mind.notebook.n_answers,
        questions,
        kinds,
        kinds_given: mind.notebook.n_tried(),
        statements,
        statements_reached,
    };
    Report { source: program.source.clone(), faults, tried }
}

/// Returns whether two faults are one, met with other figures.
fn is_alike(a: &Fault, b: &Fault) -> bool {
    let plain = |text: &str| text.chars().filter(|c| !c.is_ascii_digit() && *c != '.').collect::<String>();
    (&a.file, a.line, a.column) == (&b.file, b.line, b.column) && plain(&a.message) == plain(&b.message)
}

/// Walks a procedure as proofreading does, and gathers everything that it may ask.
pub(super) fn gather(program: &Program) -> Gatherer {
    let mut explorer = Explorer::new(program);
    explorer.mind.borrow_mut().form = Some(Gatherer::of(program));
    explorer.go();
    let form = explorer.mind.borrow_mut().form.take();
    form.unwrap_or_default()
}

struct Walked {
    fault: Option<Fault>,
    /// The circuit under test when it did.
    circuit: Option<String>,
    /// The circuits described and not tested, with a walk that came to its end.
    untested: Vec<String>,
    /// Every choice, and everything typed.
    choices: Vec<Choice>,
    lines: Vec<Typing>,
}

/// Whoever walks a procedure again and again.
struct Explorer<'a> {
    program: &'a Program,
    mind: Rc<RefCell<Mind>>,
    n_walks: usize,
    /// Whether the script asks for what is not true of something.
    blames: bool,
    /// Circuits whose tests fail whatever is answered; they are passed over from then on.
    left_out: Vec<String>,
    found: Vec<FoundFault>,
    n_runaways: usize,
    is_stuck: bool,
}

impl<'a> Explorer<'a> {
    fn new(program: &'a Program) -> Explorer<'a> {
        let mind = Mind {
            notebook: Notebook::default(),
            prose: Prose::default(),
            form: None,
            ladder: Ladder::new(program.asks_for(&["standard", "hole"])),
            trail: Trail::default(),
        };
        Explorer {
            program,
            mind: Rc::new(RefCell::new(mind)),
            n_walks: 0,
            blames: program.asks_for_no(&["holds", "worn", "leaks"]),
            left_out: Vec::new(),
            found: Vec::new(),
            n_runaways: 0,
            is_stuck: false,
        }
    }

    fn go(&mut self) {
        self.try_walk(Policy::Alike(PLAIN));
        for kinds in ALIKE {
            self.try_walk(Policy::Alike(kinds));
        }
        while self.mind.borrow().notebook.has_goals() && self.may_walk() {
            self.try_walk(Policy::Novel);
        }
        for circuit in self.circuits() {
            if !self.is_stuck && !self.left_out.contains(&circuit) {
                self.learn(Policy::Alike(PLAIN), Some(vec![circuit]));
            }
        }
    }

    fn circuits(&self) -> Vec<String> {
        self.mind.borrow().prose.circuits.keys().cloned().collect()
    }

    fn may_walk(&self) -> bool {
        let (questions, _) = self.mind.borrow().notebook.n_questions();
        !self.is_stuck && self.n_walks < 100 + WALKS_A_QUESTION * questions
    }

    /// Walks the procedure as far as it can be walked.
    fn try_walk(&mut self, policy: Policy) {
        if self.is_stuck {
            return;
        }
        let circuits =
            self.circuits().into_iter().filter(|circuit| !self.left_out.contains(circuit)).collect();
        self.learn(policy, Some(circuits).filter(|_| !self.left_out.is_empty()));
    }

    /// Walks the procedure, and keeps what goes wrong with the shortest way there.
    fn learn(&mut self, policy: Policy, only: Option<Vec<String>>) {
        let walked = self.walk(policy, only.as_deref());
        let Some(fault) = &walked.fault else { return self.untested(&walked) };
        self.avoid(&walked);
        if self.found.iter().all(|found| !is_alike(&found.fault, fault)) {
            let shrunk = self.shrink(walked, only.as_deref());
            self.found.extend(shrunk.fault.map(|fault| FoundFault { fault, answers: shrunk.lines }));
            self.is_stuck |= self.found.len() >= MOST_FAULTS;
        }
    }

    /// Walks the procedure once, with the tests of these circuits only where some are named.
    fn walk(&mut self, policy: Policy, only: Option<&[String]>) -> Walked {
        self.n_walks += 1;
        let trail = {
            let mind = &mut *self.mind.borrow_mut();
            // A script that looks at the reading itself can tell readings apart without a verdict.
            let is_plain = matches!(policy, Policy::Alike([]));
            mind.prose.begin(self.blames && is_plain && !mind.ladder.is_fine);
            mind.notebook.begin(policy);
            mind.trail.clone()
        };
        let (oil, sets_rig) = (self.program.title.oil, self.program.sets_rig);
        let bench = BenchState::new(RigParts::USUAL, oil, DEFAULT_CONFIDENCE).thorough(sets_rig);
        let desk = Box::new(EveryAnswer::new(self.mind.clone(), sets_rig));
        let mut walk = Walk::new(desk, bench, &UNITS[0]).leaving(trail);
        if let Some(circuits) = only {
            walk = walk.first_of(circuits.len(), circuits);
        }
        let ended = walk_tests(self.program, walk).and_then(|mut walk| walk_closing(&mut walk));
        let mind = &mut *self.mind.borrow_mut();
        let fault = ended.err().and_then(|stop| match stop {
            Stop::Broken(fault) => Some(*fault),
            Stop::Aside(Aside::Lost(why)) => {
                Some(Fault::new(&self.program.source.files[0].name, rhai::Position::NONE, why))
            }
            Stop::Aside(_) | Stop::Drifted => None,
        });
        let is_whole = fault.is_none() && only.is_none();
        if let Some(form) = &mut mind.form {
            form.end_walk(is_whole);
        }
        Walked {
            circuit: mind.prose.under_test.clone(),
            untested: if is_whole { mind.prose.untested() } else { Vec::new() },
            choices: mind.notebook.choices.clone(),
            lines: mind.notebook.lines.clone(),
            fault,
        }
    }

    /// Reports circuits that a walk came to its end without testing.
    fn untested(&mut self, walked: &Walked) {
        for name in &walked.untested {
            let message = format!("on some answers the circuit \"{name}\" is described and not tested");
            if self.found.iter().any(|found| found.fault.message == message) {
                continue;
            }
            let site = self.mind.borrow().prose.circuits.get(name).and_then(|(site, _)| site.clone());
            let fault = at(site.as_ref(), message)
                .help("describe it where it is tested, so that the record does not miss a verdict");
            self.found.push(FoundFault { fault: fault.warning(), answers: walked.lines.clone() });
        }
    }

    /// Has later walks get by what failed: by another answer to the last question, or else without that circuit.
    fn avoid(&mut self, walked: &Walked) {
        let is_runaway = walked.fault.as_ref().is_some_and(|fault| fault.message == runaway());
        self.n_runaways += usize::from(is_runaway);
        self.is_stuck |= self.n_runaways >= MOST_RUNAWAYS;
        let notebook = &mut self.mind.borrow_mut().notebook;
        let has_another = walked.choices.last().is_some_and(|last| notebook.ban(*last));
        if has_another {
            return;
        }
        match &walked.circuit {
            Some(circuit) if !self.left_out.contains(circuit) => self.left_out.push(circuit.clone()),
            _ => self.is_stuck = true,
        }
    }

    /// Finds a plainer way to the same fault: as many answers as can be are the plainest ones.
    fn shrink(&mut self, walked: Walked, only: Option<&[String]>) -> Walked {
        let mut best = walked;
        let mut walks = MOST_SHORTER_WALKS;
        let mut try_without = |explorer: &mut Self, best: &mut Walked, drop: &dyn Fn(&Choice) -> bool| {
            let kept: Vec<_> = best.choices.iter().copied().filter(|choice| !drop(choice)).collect();
            if kept.len() == best.choices.len() || walks == 0 {
                return;
            }
            walks -= 1;
            let again = explorer.walk(Policy::Fixed(kept), only);
            if again.fault == best.fault && again.untested == best.untested {
                *best = again;
            }
        };
        // First everything outside the scope of the last choice, then each choice that is not plain.
        let mind = self.mind.clone();
        let scope_of = |choice: &Choice| mind.borrow().notebook.scope_of(*choice);
        if let Some(last) = best.choices.last() {
            let here = scope_of(last);
            try_without(self, &mut best, &|choice| scope_of(choice) != here);
        }
        for choice in best.choices.clone().into_iter().rev() {
            let is_plain = mind.borrow().notebook.is_plain(choice);
            if !is_plain && best.choices.contains(&choice) {
                try_without(self, &mut best, &|other| *other == choice);
            }
        }
        best
    }
}
