use super::report::Finding;
use crate::procedure::{Fault, Program, Trail};

/// Reports each statement that asks or tells and that no walk came by; returns how many there are, too.
pub(super) fn unreached(program: &Program, trail: &Trail) -> (usize, Vec<Finding>) {
    let n = program.sites().count();
    let missed = program.sites().filter(|(_, site)| !trail.has_seen(site));
    let findings = missed.map(|(word, site)| {
        let fault = Fault::at_site(site, format!("no answer leads to this {word}"));
        Finding::plain(fault.warning().help("look at the conditions before it: is it meant to be reached?"))
    });
    (n, findings.collect())
}
