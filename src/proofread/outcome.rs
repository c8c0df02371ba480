use std::collections::BTreeSet;

use super::desk::Mind;
use super::findings;
use super::gather::Gatherer;
use super::report::{FoundFault, Report, Tried};
use super::search::ScriptSearch;
use crate::procedure::{Aspect, Fault, Program, Site, Source, Statement};

/// Compiles a procedure, walks it without a rig, and reports what went wrong, what was reached, what is impossible,
/// what was not tried, and what a technician will stumble over.
pub fn proofread(source: Source) -> Report {
    let copy = source.clone();
    match Program::compile(source) {
        Err(faults) => Report::of_faults(copy, faults),
        Ok(program) => report(&program),
    }
}

/// Walks a procedure as proofreading does, and gathers everything that it may ask.
pub(super) fn gather(program: &Program) -> ScriptSearch<'_> {
    let mut search = ScriptSearch::new(program, Some(Gatherer::of(program)));
    search.go();
    search
}

/// Whether a statement can be come by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Reach {
    Reached,
    /// Whatever it hangs on was tried in every combination.
    Impossible,
    /// It hangs on figures or texts, of which not all can be tried.
    ByValues,
    NotTried,
}

/// Says whether a statement can be come by; nothing is impossible where a fault cut walks short.
pub(super) fn reach(mind: &Mind, statement: &Statement, has_faults: bool) -> Reach {
    if mind.trail.has_seen(&statement.site) {
        return Reach::Reached;
    }
    if has_faults {
        return Reach::NotTried;
    }
    let on = &statement.hangs_on;
    let deciding = mind.bundles.deciding(on);
    if deciding.iter().any(|bundle| !bundle.is_spent) {
        Reach::NotTried
    } else if on.has(Aspect::Figure) {
        Reach::ByValues
    } else if deciding.iter().all(|bundle| mind.bundles.shows(bundle)) {
        Reach::Impossible
    } else {
        Reach::NotTried
    }
}

/// Returns the statements that ask or tell.
pub(super) fn asking(program: &Program) -> impl Iterator<Item = &Statement> {
    let asking: BTreeSet<&Site> = program.sites().map(|(_, site)| site).collect();
    program.influences().statements.iter().filter(move |statement| asking.contains(&statement.site))
}

/// Walks a procedure until nothing is left to try or the budget is spent.
fn report(program: &Program) -> Report {
    let mut search = ScriptSearch::new(program, None);
    search.mind.borrow_mut().prose.titled(&program.title);
    search.go();
    let ScriptSearch { mind, found, n_walks, n_answers, is_cut, .. } = search;
    let mind = &mut *mind.borrow_mut();
    let has_faults = found.iter().any(|found| found.fault.is_error());
    let mut tried = Tried {
        walks: n_walks,
        answers: n_answers,
        is_cut,
        statements: program.sites().count(),
        ..Tried::default()
    };
    let mut without_a_walk = Vec::new();
    for statement in asking(program) {
        let reach = reach(mind, statement, has_faults);
        match reach {
            Reach::Reached => tried.reached += 1,
            Reach::Impossible => tried.impossible += 1,
            Reach::ByValues | Reach::NotTried => {}
        }
        // What follows from a fault shows when that is mended.
        if !has_faults {
            without_a_walk.extend(findings::missed(statement, reach));
        }
    }
    tried.not_tried = tried.statements.saturating_sub(tried.reached + tried.impossible);
    if !has_faults {
        without_a_walk.extend(findings::untested(&mind.prose, is_cut));
    }
    without_a_walk.append(&mut mind.prose.remarks);
    without_a_walk
        .extend(mind.blame.remarks(program, &mind.bundles, |statement| mind.trail.has_seen(&statement.site)));
    without_a_walk.extend(findings::undecidable(mind));
    without_a_walk.extend(findings::undecidable_apart(program, &mut mind.ladder));
    without_a_walk.extend(findings::twins(&mind.prose));
    without_a_walk.extend(findings::unplaced(program, &mind.prose));
    without_a_walk.extend(findings::noted(program));
    without_a_walk.extend(findings::symptoms(program, &mind.prose));
    let mut faults = found;
    faults.extend(without_a_walk.into_iter().map(|fault: Fault| {
        // What has no place is of the whole procedure.
        let is_placed = !fault.file.is_empty();
        let file = &program.source.files[0].name;
        FoundFault::plain(if is_placed { fault } else { fault.placed(file, rhai::Position::NONE) })
    }));
    faults
        .sort_by_key(|found| (program.source.place(&found.fault.file), found.fault.line, found.fault.column));
    Report { source: program.source.clone(), faults, tried }
}
