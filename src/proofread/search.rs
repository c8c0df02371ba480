use std::cell::RefCell;
use std::collections::BTreeSet;
use std::rc::Rc;

use super::blame::Blame;
use super::bundles::Bundles;
use super::cover::Wish;
use super::desk::{EveryAnswer, Mind, Notes};
use super::findings::at;
use super::gather::Gatherer;
use super::kind::{AnswerKind, Ladder, Values};
use super::prose::Prose;
use super::report::{FoundFault, Typing};
use crate::leak::{DEFAULT_CONFIDENCE, Verdict};
use crate::procedure::{Aside, Aspect, Fault, Program, Stop, Trail, Walk, WalkBudget, runaway};
use crate::quantity::UNITS;
use crate::record::{BenchState, RigParts};
use crate::session::{walk_closing, walk_tests};

/// Answers all alike, each tried on a walk of its own before anything else.
const MOODS: &[&[AnswerKind]] = &[
    &[],
    &[AnswerKind::Read(Verdict::Leaks), AnswerKind::Read(Verdict::Open), AnswerKind::No, AnswerKind::High],
    &[AnswerKind::Read(Verdict::Worn), AnswerKind::Read(Verdict::Tight), AnswerKind::No, AnswerKind::Low],
    &[AnswerKind::Read(Verdict::Retest)],
    &[AnswerKind::Read(Verdict::Leaks), AnswerKind::Low],
    &[AnswerKind::No, AnswerKind::High],
    &[AnswerKind::Cannot],
    &[AnswerKind::Read(Verdict::Leaks), AnswerKind::Cannot],
    &[AnswerKind::Pick(1), AnswerKind::Read(Verdict::Worn)],
];

/// How the readings of a circuit that is tested alone come out, as at a retest.
const RETESTS: &[&[AnswerKind]] = &[
    &[],
    &[AnswerKind::Read(Verdict::Leaks), AnswerKind::Read(Verdict::Open)],
    &[AnswerKind::Read(Verdict::Worn), AnswerKind::Read(Verdict::Tight)],
    &[AnswerKind::Read(Verdict::Retest)],
];

/// The most faults that are looked for on walks.
const MOST_FAULTS: usize = 20;
/// The most walks that may end in a spent budget, each of which costs as much as many others.
const MOST_RUNAWAYS: usize = 3;
/// The most looks that are kept of all walks: about 60 MB.
const MOST_KEPT: usize = 300_000;
/// The most walks that go into finding a shorter way to one fault.
const MOST_SHORTER_WALKS: usize = 40;
/// Up to so many circuits each is left out and tested alone even where no test knows of another.
const FEW_CIRCUITS: usize = 16;

/// What one walk came to.
struct Walked {
    fault: Option<Fault>,
    /// The circuit under test when it did.
    circuit: Option<String>,
    /// The circuits described and not tested, with a walk that came to its end.
    untested: Vec<String>,
    given: Wish,
    lines: Vec<Typing>,
    looks: Vec<(usize, &'static str)>,
}

/// Whoever walks a procedure again and again, until nothing is left to try or the budget is spent.
pub(super) struct ScriptSearch<'a> {
    program: &'a Program,
    pub(super) mind: Rc<RefCell<Mind>>,
    budget: WalkBudget,
    pub(super) n_walks: usize,
    pub(super) n_answers: usize,
    /// Circuits whose tests fail whatever is answered; they are passed over from then on.
    failing: Vec<String>,
    pub(super) found: Vec<FoundFault>,
    n_runaways: usize,
    /// Whether what bundles wish for is tried by itself, because something failed.
    is_apart: bool,
    /// Whether the search ended before everything was tried.
    pub(super) is_cut: bool,
}

impl<'a> ScriptSearch<'a> {
    pub(super) fn new(program: &'a Program, form: Option<Gatherer>) -> ScriptSearch<'a> {
        let influences = program.influences();
        let statements = &influences.statements;
        let sets = influences.sets(form.is_some());
        let called = |word: &str| {
            let calls = statements.iter().enumerate().filter(move |(_, statement)| statement.word == word);
            calls.map(|(n, _)| n).collect::<BTreeSet<usize>>()
        };
        let barometers = called("barometer");
        let is_figure = |n: &usize| {
            let hangs = |set: &crate::procedure::Influence| {
                set.is_all
                    || set.strands.iter().any(|strand| strand.asker == *n && strand.aspect == Aspect::Figure)
            };
            sets.iter().any(hangs)
        };
        let mut figures: BTreeSet<usize> = (0..statements.len()).filter(is_figure).collect();
        // There is one barometer, wherever it is asked for.
        let barometer = barometers.first().copied();
        figures.extend(barometer.filter(|_| barometers.iter().any(is_figure)));
        let mind = Mind {
            bundles: Bundles::new(sets, statements.len(), &barometers),
            values: Values::default(),
            prose: Prose::default(),
            blame: Blame::of(program),
            form,
            ladder: Ladder::on(None),
            trail: Trail::default(),
            calls: statements.iter().enumerate().map(|(n, found)| (found.site.clone(), n)).collect(),
            figures,
            barometer,
            tests: called("test"),
            notes: Notes::default(),
        };
        ScriptSearch {
            program,
            mind: Rc::new(RefCell::new(mind)),
            budget: WalkBudget::new(),
            n_walks: 0,
            n_answers: 0,
            failing: Vec::new(),
            found: Vec::new(),
            n_runaways: 0,
            is_apart: false,
            is_cut: false,
        }
    }

    pub(super) fn go(&mut self) {
        for mood in MOODS {
            if self.n_walks == 0 || self.changes_something(mood) {
                self.learn(&Wish::new(), mood, &[], None);
            }
        }
        self.plans();
        self.exhaust();
    }

    /// Returns whether a question would be answered otherwise in a mood than as a matter of course.
    fn changes_something(&self, mood: &[AnswerKind]) -> bool {
        let mind = self.mind.borrow();
        mind.bundles
            .options
            .iter()
            .any(|options| options.iter().skip(1).any(|other| mood.contains(&other.kind)))
    }

    /// Leaves each circuit out, as a complaint does, and tests each alone, as a retest does.
    fn plans(&mut self) {
        let circuits = self.circuits();
        let are_tied = self.program.influences().tests_are_tied;
        if circuits.len() < 2 || !are_tied && circuits.len() > FEW_CIRCUITS {
            return;
        }
        for circuit in &circuits {
            self.learn(&Wish::new(), &[], std::slice::from_ref(circuit), None);
            let others: Vec<String> = circuits.iter().filter(|other| *other != circuit).cloned().collect();
            for mood in RETESTS {
                self.learn(&Wish::new(), mood, &others, None);
            }
        }
    }

    /// Tries what decides together in every combination, as many bundles side by side as go together.
    fn exhaust(&mut self) {
        let mut turns: Vec<usize> = Vec::new();
        let (mut wanted, mut wanted_at) = (Vec::new(), None);
        while !self.is_spent() {
            let next = {
                let mind = self.mind.borrow();
                turns.resize(mind.bundles.all.len(), 0);
                let at = (mind.trail.n_seen(), turns.len());
                if wanted_at.replace(at) != Some(at) {
                    let missed: Vec<_> = self.missed(&mind.trail).collect();
                    let is_wanted = |n: usize| missed.iter().any(|on| on.is_in(mind.bundles.set_of(n)));
                    wanted = (0..turns.len()).map(is_wanted).collect();
                }
                {
                    let has_figures = |n: &usize| mind.bundles.set_of(*n).has(Aspect::Figure);
                    let open = mind.bundles.open(|n| wanted[n]);
                    open.min_by_key(|n| (!wanted[*n], has_figures(n), turns[*n]))
                }
            };
            let Some(first) = next else { return self.is_cut = false };
            self.is_cut = true;
            turns[first] = self.n_walks;
            let Some(mut wish) = self.mind.borrow_mut().bundles.wish_of(first) else { continue };
            let own = wish.clone();
            let n_ways = self.mind.borrow().bundles.all[first].n_ways;
            if !self.is_apart {
                self.mind.borrow_mut().bundles.wish_along(first, &mut wish);
            }
            let is_whole = self.learn(&wish, &[], &[], Some(first));
            if !is_whole && !self.is_apart {
                // Which of the bundles that is the fault of shows only when each is tried by itself.
                self.is_apart = true;
                self.learn(&own, &[], &[], Some(first));
            }
            if wish != own && self.mind.borrow().bundles.all[first].n_ways == n_ways {
                // What another bundle left out may have cut this one short.
                self.learn(&own, &[], &[], Some(first));
            }
            let bundles = &mut self.mind.borrow_mut().bundles;
            if bundles.all[first].n_ways == n_ways && !self.budget.is_spent() {
                bundles.give_up(first, &own);
            }
        }
    }

    fn is_spent(&self) -> bool {
        self.budget.is_spent()
            || self.mind.borrow().bundles.n_kept > MOST_KEPT
            || self.n_runaways >= MOST_RUNAWAYS
            || self.found.len() >= MOST_FAULTS
    }

    /// Returns what each statement hangs on that no walk has come by.
    fn missed<'b>(&self, trail: &'b Trail) -> impl Iterator<Item = &'b crate::procedure::Influence>
    where
        'a: 'b,
    {
        let program: &'a Program = self.program;
        let asks: BTreeSet<&crate::procedure::Site> = program.sites().map(|(_, site)| site).collect();
        let statements = program.influences().statements.iter();
        let missed =
            statements.filter(move |found| asks.contains(&found.site) && !trail.has_seen(&found.site));
        missed.map(|statement| &statement.hangs_on)
    }

    fn circuits(&self) -> Vec<String> {
        self.mind.borrow().prose.circuits.keys().cloned().collect()
    }

    /// Walks the procedure, and keeps what goes wrong with the shortest way there; returns whether nothing did.
    fn learn(
        &mut self,
        wish: &Wish,
        mood: &'static [AnswerKind],
        left_out: &[String],
        first: Option<usize>,
    ) -> bool {
        if self.is_spent() {
            self.is_cut = true;
            return true;
        }
        let walked = self.walk(wish, mood, left_out);
        let only = first.filter(|_| walked.fault.is_some());
        if walked.fault.is_none() || only.is_some() && (self.is_apart || wish.is_empty()) {
            let bundles = &mut self.mind.borrow_mut().bundles;
            bundles.take_in(&walked.looks, &walked.given, self.n_walks - 1, only);
        }
        let Some(fault) = walked.fault.clone() else {
            self.untested(&walked, left_out);
            return true;
        };
        self.n_runaways += usize::from(fault.message == runaway());
        if wish.is_empty() && mood.is_empty() && left_out.is_empty() {
            self.pass_over(&walked);
        }
        if self.found.iter().all(|found| !is_alike(&found.fault, &fault)) {
            let shrunk = self.shrink(walked, left_out);
            self.found.extend(shrunk.fault.map(|fault| FoundFault {
                fault,
                answers: shrunk.lines,
                left_out: left_out.to_vec(),
            }));
        }
        false
    }

    /// Returns the circuits whose tests a wish leaves out.
    fn wished_out(&self, wish: &Wish) -> Vec<String> {
        let mind = self.mind.borrow();
        let is_out = |question: &usize| {
            let (call, _, time) = &mind.bundles.questions[*question];
            *time == 0 && mind.tests.contains(call)
        };
        let out =
            wish.iter().filter(|(question, kinds)| kinds[..] == [AnswerKind::Cannot] && is_out(question));
        out.filter_map(|(question, _)| mind.bundles.questions[*question].1.clone()).collect()
    }

    /// Walks the procedure once, without the tests of these circuits.
    fn walk(&mut self, wish: &Wish, mood: &'static [AnswerKind], left_out: &[String]) -> Walked {
        self.n_walks += 1;
        let circuits = self.circuits();
        let trail = {
            let mind = &mut *self.mind.borrow_mut();
            mind.prose.begin();
            mind.notes = Notes { wish: wish.clone(), mood, ..Notes::default() };
            mind.trail.take();
            mind.trail.clone()
        };
        // A test is left out by a plan that has all the others.
        let wished_out = self.wished_out(wish);
        let is_in = |name: &&String| {
            !left_out.contains(name) && !self.failing.contains(name) && !wished_out.contains(name)
        };
        let planned: Vec<String> = circuits.iter().filter(is_in).cloned().collect();
        let sets_rig = self.program.sets_rig;
        let bench =
            BenchState::new(RigParts::USUAL, self.program.title.oil, DEFAULT_CONFIDENCE).thorough(sets_rig);
        let desk = Box::new(EveryAnswer::new(self.mind.clone(), sets_rig));
        let mut walk = Walk::new(desk, bench, &UNITS[0]).leaving(trail);
        let is_plan = planned.len() < circuits.len();
        if is_plan {
            walk = walk.first_of(planned.len(), &planned);
        }
        let before = self.program.n_operations();
        let ended = walk_tests(self.program, walk, None);
        let ended = ended.and_then(|mut walk| walk_closing(&mut walk));
        let mind = &mut *self.mind.borrow_mut();
        self.n_answers += mind.notes.lines.len();
        self.budget.spend(mind.notes.lines.len(), self.program.n_operations() - before);
        if let Err(Stop::Aside(Aside::Park)) = &ended {
            // Somebody has had enough of it.
            self.n_runaways = MOST_RUNAWAYS;
        }
        let is_ended = ended.is_ok();
        let fault = ended.err().and_then(|stop| self.fault_of(stop));
        let is_whole = fault.is_none() && !is_plan;
        if let Some(form) = &mut mind.form {
            form.end_walk(self.n_walks - 1, is_whole);
        }
        let trace = mind.trail.take();
        for (circuit, site) in &trace.passed {
            mind.began(circuit, Some(site), true);
        }
        let notes = std::mem::take(&mut mind.notes);
        let looks = notes.looks_with(&trace.looks.into_iter().collect::<Vec<_>>());
        mind.blame.end_walk(is_whole && is_ended, &looks, &mind.bundles, &notes.given);
        let answers: Vec<f64> = notes.lines.iter().filter_map(|line| line.figure()).collect();
        for compared in trace.compared {
            let is_answer = |si: f64| answers.iter().any(|answer| (answer - si).abs() <= 1e-9 * si.abs());
            mind.values.learn(compared, is_answer);
        }
        Walked {
            circuit: mind.prose.under_test.clone(),
            untested: if is_whole { mind.prose.untested() } else { Vec::new() },
            given: notes.given,
            lines: notes.lines,
            looks,
            fault,
        }
    }

    fn fault_of(&self, stop: Stop) -> Option<Fault> {
        match stop {
            Stop::Broken(fault) => Some(*fault),
            Stop::Aside(Aside::Lost(why)) => {
                Some(Fault::new(&self.program.source.files[0].name, rhai::Position::NONE, why))
            }
            Stop::Aside(_) | Stop::Drifted => None,
        }
    }

    /// Reports circuits that a walk came to its end without testing.
    fn untested(&mut self, walked: &Walked, left_out: &[String]) {
        for name in &walked.untested {
            let message = format!("on some answers the circuit \"{name}\" is described and not tested");
            if self.found.iter().any(|found| found.fault.message == message) {
                continue;
            }
            let site = self.mind.borrow().prose.circuits.get(name).and_then(|(site, _)| site.clone());
            let fault = at(site.as_ref(), message)
                .help("describe it where it is tested, so that the record does not miss a verdict");
            let (answers, left_out) = (walked.lines.clone(), left_out.to_vec());
            self.found.push(FoundFault { fault: fault.warning(), answers, left_out });
        }
    }

    /// Has later walks get by what fails with the plainest answers: without that circuit, and else there are none.
    fn pass_over(&mut self, walked: &Walked) {
        match &walked.circuit {
            Some(circuit) if !self.failing.contains(circuit) => {
                self.failing.push(circuit.clone());
                self.learn(&Wish::new(), &[], &[], None);
            }
            _ => self.n_runaways = MOST_RUNAWAYS,
        }
    }

    /// Finds a plainer way to the same fault: as many answers as can be are the plainest ones.
    fn shrink(&mut self, walked: Walked, left_out: &[String]) -> Walked {
        let mut best = walked;
        let mut walks = MOST_SHORTER_WALKS;
        let mut try_without = |search: &mut Self, best: &mut Walked, drop: &dyn Fn(usize) -> bool| {
            let kept: Wish =
                best.given.iter().filter(|(n, _)| !drop(**n)).map(|(n, kinds)| (*n, kinds.clone())).collect();
            if kept.len() == best.given.len() || walks == 0 || search.budget.is_spent() {
                return;
            }
            walks -= 1;
            let again = search.walk(&kept, &[], left_out);
            if again.fault == best.fault {
                *best = again;
            }
        };
        // First everything outside the test of the last answer, then each answer that is not plain.
        let mind = self.mind.clone();
        let circuit_of = |question: usize| mind.borrow().bundles.questions[question].1.clone();
        let here = best.circuit.clone();
        try_without(self, &mut best, &|question| circuit_of(question) != here);
        for question in best.given.keys().rev().copied().collect::<Vec<_>>() {
            let is_plain = {
                let options = &mind.borrow().bundles.options[question];
                let plain = options.first().map(|plain| plain.kind);
                best.given.get(&question).is_none_or(|kinds| kinds.first().copied() == plain)
            };
            if !is_plain {
                try_without(self, &mut best, &|other| other == question);
            }
        }
        best
    }
}

/// Returns whether two faults are one, met with other figures.
fn is_alike(a: &Fault, b: &Fault) -> bool {
    let plain = |text: &str| text.chars().filter(|c| !c.is_ascii_digit() && *c != '.').collect::<String>();
    (&a.file, a.line, a.column) == (&b.file, b.line, b.column) && plain(&a.message) == plain(&b.message)
}
