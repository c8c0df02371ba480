use super::desk::Mind;
use super::form::Gatherer;
use super::kind::Kind;
use super::ladder::Ladder;
use super::notebook::Policy;
use super::report::{Finding, Report, Tried};
use super::shrink::shrink;
use super::symptoms::symptoms;
use super::unreached::unreached;
use super::walking::{Walked, Walker};
use crate::leak::Limits;
use crate::procedure::{Fault, Program, Site, Source, runaway};
use crate::quantity::{INCH_OF_MERCURY, UNITS, shown};
use crate::rig::STANDARD_THROUGH;

/// Answers all alike, each tried on a walk of its own.
const ALIKE: &[&[Kind]] = &[
    &[Kind::Leaks, Kind::No, Kind::High],
    &[Kind::Worn, Kind::No, Kind::Low],
    &[Kind::Retest, Kind::Yes],
    &[Kind::Leaks, Kind::Yes, Kind::Low],
    &[Kind::Holds, Kind::No, Kind::High],
    &[Kind::Cannot],
    &[Kind::Leaks, Kind::Cannot],
    &[Kind::Pick(1), Kind::Worn],
];

/// The most faults that are looked for on walks.
const MOST_FAULTS: usize = 20;
/// The most walks that may end in a spent budget, each of which costs as much as many others.
const MOST_RUNAWAYS: usize = 3;
/// Walks allowed for each question that was met, above some to begin with.
const WALKS_A_QUESTION: usize = 12;

/// Proofreads a procedure.
pub fn proofread(source: Source) -> Report {
    let copy = source.clone();
    match Program::compile(source) {
        Err(faults) => Report::of_faults(copy, faults),
        Ok(program) => explore(&program),
    }
}

/// Walks a procedure until nothing is left to try.
fn explore(program: &Program) -> Report {
    let title = &program.title;
    let mut explorer = Explorer::new(program);
    explorer.walker.mind.borrow_mut().prose.titled(title);
    explorer.go();
    let (walker, found) = (explorer.walker, explorer.found);
    let tested = explorer.tested;
    let mind = &mut *walker.mind.borrow_mut();
    // A script that looks at the reading itself decides by that.
    if !mind.ladder.is_fine() {
        mind.prose.undecided();
    }
    let mut findings = found;
    let is_clean = findings.iter().all(|finding| !finding.fault.is_error());
    let (statements, missed) = unreached(program, walker.trail());
    if is_clean {
        for (name, (site, _)) in mind.prose.circuits.iter().filter(|(name, _)| !tested.contains(name)) {
            let message = format!("the circuit \"{name}\" is described, and no answer leads to its test");
            let fault = at(program, site.as_ref(), &message);
            findings.push(Finding::plain(fault.help("test it, or leave its description out")));
        }
        findings.extend(missed.iter().cloned());
    }
    findings.extend(mind.prose.remarks.iter().map(|remark| {
        let fault = at(program, remark.site.as_ref(), &remark.message);
        Finding::plain(fault.help(remark.help.as_str()).warning())
    }));
    findings.extend(undecidable(program, mind));
    findings.extend(symptoms(&program.source, title, &mind.prose));
    findings.sort_by_key(|finding| {
        let fault = &finding.fault;
        (program.source.place(&fault.file), fault.line, fault.column)
    });
    let (questions, kinds) = mind.notebook.n_questions();
    let tried = Tried {
        walks: walker.n_walks,
        answers: mind.notebook.n_answers,
        questions,
        kinds,
        kinds_given: mind.notebook.n_tried(),
        statements,
        statements_reached: statements - missed.len(),
    };
    Report { source: program.source.clone(), findings, tried }
}

/// Reports circuits whose limits are to be found, or leave a verdict that no reading of the usual gauge gets.
fn undecidable(program: &Program, mind: &mut Mind) -> Vec<Finding> {
    let mut found = Vec::new();
    for (name, (site, circuit)) in &mind.prose.circuits {
        let Some(limits) = &circuit.limits else {
            let message =
                format!("the limits of \"{name}\" are to be found: it is read, and gets no verdict");
            let fault = at(program, site.as_ref(), &message).warning();
            let help =
                "read units that you know are good; draft and history baseline propose limits from them";
            found.push(Finding::plain(fault.help(help)));
            continue;
        };
        // What no reading gets any more follows from the slip.
        if let Some((message, help)) = slipped(&mind.ladder, name, limits) {
            let fault = at(program, site.as_ref(), &message).help(help.as_str());
            found.push(Finding::plain(fault.warning()));
            continue;
        }
        let readings = mind.ladder.readings(Some(limits));
        for (kind, verdict) in [(Kind::Holds, "holds"), (Kind::Worn, "worn"), (Kind::Leaks, "leaks")] {
            if readings.iter().all(|(known, _)| *known != kind) {
                let message = format!("no reading of the usual gauge gets \"{name}\" the verdict {verdict}");
                let fault = at(program, site.as_ref(), &message).warning();
                let help = "put the limits further apart, and away from 0 and 25 inHg";
                found.push(Finding::plain(fault.help(help)));
            }
        }
    }
    found
}

/// Below this, in inHg, limits of circuits hardly lie; common practice, no source.
const LEAST_USUAL_LIMIT: f64 = 10.0;

/// How many mmHg an inHg is, by definition of the inch.
const MILLIMETRES_IN_AN_INCH: f64 = 25.4;

/// Says what a limit lets pass that is most likely a slip: kPa or mmHg for inHg, a decimal point one place too far left, or a circuit
/// that is to leak more than the test orifice before it is condemned.
fn slipped(ladder: &Ladder, name: &str, limits: &Limits) -> Option<(String, String)> {
    let in_hg = |pa: f64| pa / INCH_OF_MERCURY;
    let (holds, leaks) = (limits.holds().si(), limits.leaks().si());
    single(ladder, name, limits).or_else(|| {
        let is_beyond = in_hg(holds) >= LEAST_USUAL_LIMIT && leaks < STANDARD_THROUGH.si();
        is_beyond.then(|| {
            let shown = limits.leaks().in_unit(&UNITS[0]);
            let message = format!(
                "by leaks: {shown} \"{name}\" is condemned only where it leaks more than the whole test orifice"
            );
            (message, format!("the test orifice of 0.035 in reads {STANDARD_THROUGH}; look at figure and unit"))
        })
    })
}

/// Looks at each limit by itself.
fn single(ladder: &Ladder, name: &str, limits: &Limits) -> Option<(String, String)> {
    let in_hg = |pa: f64| pa / INCH_OF_MERCURY;
    let (holds, leaks) = (limits.holds().si(), limits.leaks().si());
    // Where a circuit leaks it does not hold.
    let limits = [("holds", "holds", holds, 25.0), ("leaks", "does not leak", leaks, in_hg(holds))];
    limits.into_iter().find_map(|(key, consequence, pa, most)| {
        let is_meant = |meant: f64| {
            // Whoever writes a limit writes a round one.
            let is_round = (2.0 * meant - (2.0 * meant).round()).abs() < 1e-6;
            (LEAST_USUAL_LIMIT..most).contains(&meant) && is_round
        };
        let readings = [
            (pa / 1e3, 1.0, "kPa"),
            (in_hg(pa), 10.0, "inHg"),
            (in_hg(pa) * MILLIMETRES_IN_AN_INCH, 1.0, "mmHg"),
        ];
        let (number, factor, unit) =
            readings.into_iter().find(|(number, factor, _)| is_meant(number * factor))?;
        let hole = shown(ladder.hole(in_hg(pa))?, 3);
        let message = format!(
            "by {key}: {} {unit} \"{name}\" {consequence} with a hole of {hole} in",
            shown(number, 2)
        );
        let meant = shown(number * factor, 1);
        let help = format!(
            "the test orifice of 0.035 in reads 5 inHg; if {meant} inHg is meant, write {key}: {meant}.inHg"
        );
        Some((message, help))
    })
}

/// Returns whether two faults are one, met with other figures.
fn is_alike(a: &Fault, b: &Fault) -> bool {
    let plain = |text: &str| text.chars().filter(|c| !c.is_ascii_digit() && *c != '.').collect::<String>();
    (&a.file, a.line, a.column) == (&b.file, b.line, b.column) && plain(&a.message) == plain(&b.message)
}

/// Makes a fault at a place, or of the whole procedure where there is none.
fn at(program: &Program, site: Option<&Site>, message: &str) -> Fault {
    match site {
        Some(site) => Fault::at_site(site, message),
        None => Fault::new(&program.source.files[0].name, rhai::Position::NONE, message),
    }
}

/// Walks a procedure as proofreading does, and gathers everything that it may ask.
pub(super) fn gather(program: &Program) -> Gatherer {
    let mut explorer = Explorer::new(program);
    explorer.walker.mind.borrow_mut().form = Some(Gatherer::of(program));
    explorer.go();
    let form = explorer.walker.mind.borrow_mut().form.take();
    form.unwrap_or_default()
}

struct Explorer<'a> {
    walker: Walker<'a>,
    /// Circuits whose tests fail whatever is answered; they are passed over from then on.
    left_out: Vec<String>,
    found: Vec<Finding>,
    tested: Vec<String>,
    n_runaways: usize,
    is_stuck: bool,
}

impl<'a> Explorer<'a> {
    fn new(program: &'a Program) -> Explorer<'a> {
        Explorer {
            walker: Walker::new(program),
            left_out: Vec::new(),
            found: Vec::new(),
            tested: Vec::new(),
            n_runaways: 0,
            is_stuck: false,
        }
    }

    fn go(&mut self) {
        self.walk_once(Policy::Plain);
        for kinds in ALIKE {
            self.walk_once(Policy::Alike(kinds.to_vec()));
        }
        while !self.is_stuck && self.walker.mind.borrow().notebook.has_goals() && self.may_walk() {
            self.walk_once(Policy::Novel);
        }
        let circuits: Vec<String> = self.walker.mind.borrow().prose.circuits.keys().cloned().collect();
        for circuit in circuits {
            if !self.is_stuck && !self.left_out.contains(&circuit) {
                self.walk(Policy::Plain, Some(vec![circuit]));
            }
        }
    }

    fn may_walk(&self) -> bool {
        let (questions, _) = self.walker.mind.borrow().notebook.n_questions();
        self.walker.n_walks < 100 + WALKS_A_QUESTION * questions
    }

    fn walk_once(&mut self, policy: Policy) {
        if self.is_stuck {
            return;
        }
        let only = (!self.left_out.is_empty()).then(|| {
            let circuits = self.walker.mind.borrow().prose.circuits.keys().cloned().collect::<Vec<_>>();
            circuits.into_iter().filter(|circuit| !self.left_out.contains(circuit)).collect()
        });
        self.walk(policy, only);
    }

    fn walk(&mut self, policy: Policy, only: Option<Vec<String>>) {
        let walked = self.walker.walk(policy, only.clone());
        for circuit in &walked.tested {
            if !self.tested.contains(circuit) {
                self.tested.push(circuit.clone());
            }
        }
        if walked.fault.is_some() {
            self.avoid(&walked);
        }
        let is_known = |finding: &Finding| match &walked.fault {
            Some(fault) => is_alike(&finding.fault, fault),
            None => false,
        };
        if self.found.iter().any(is_known) {
            return;
        }
        if walked.fault.is_some() {
            let shrunk = shrink(&mut self.walker, walked, only.as_deref());
            self.found.extend(shrunk.fault.map(|fault| Finding { fault, answers: shrunk.lines }));
            self.is_stuck |= self.found.len() >= MOST_FAULTS;
        } else if !walked.untested.is_empty() {
            self.untested(walked);
        }
    }

    /// Reports circuits that a walk came to its end without testing.
    fn untested(&mut self, walked: Walked) {
        let sites = self.walker.mind.borrow().prose.circuits.clone();
        for name in walked.untested.clone() {
            let message = format!("on some answers the circuit \"{name}\" is described and not tested");
            if self.found.iter().any(|finding| finding.fault.message == message) {
                continue;
            }
            let Some((Some(site), _)) = sites.get(&name) else { continue };
            let fault = Fault::at_site(site, message).warning();
            let fault =
                fault.help("describe it where it is tested, so that the record does not miss a verdict");
            self.found.push(Finding { fault: fault, answers: walked.lines.clone() });
        }
    }

    /// Has later walks get by what failed: by another answer to the last question, or else without that circuit.
    fn avoid(&mut self, walked: &Walked) {
        let is_runaway = walked.fault.as_ref().is_some_and(|fault| fault.message.ends_with(&runaway()));
        self.n_runaways += usize::from(is_runaway);
        self.is_stuck |= self.n_runaways >= MOST_RUNAWAYS;
        let notebook = &mut self.walker.mind.borrow_mut().notebook;
        let has_another = walked.choices.last().is_some_and(|last| notebook.ban(*last));
        if has_another {
            return;
        }
        match &walked.circuit {
            Some(circuit) if !self.left_out.contains(circuit) => self.left_out.push(circuit.clone()),
            _ => self.is_stuck = true,
        }
    }
}
