use super::INDENT;
use super::layout::{marker, rule};
use crate::console::Screen;
use crate::procedure::Source;
use crate::quantity::UNITS;
use crate::record::{Mode, Opening, Plan, RigParts, Told, provenance};

/// Shows what a session is about to do, or that it goes on.
pub fn opened(screen: &mut Screen, opening: &Opening, goes_on: bool) {
    screen.line(&rule(
        screen.width(),
        &format!("{}, version {}", opening.procedure.title, opening.procedure.version),
    ));
    let identity = &opening.procedure;
    screen.paragraph(INDENT, &format!("It is {}.", provenance(identity.origin, identity.signer.as_ref())));
    if let Some(job) = &opening.job {
        screen.paragraph(INDENT, &format!("Job: {job}."));
    }
    let begins = match (goes_on, opening.mode) {
        (true, _) => &format!("Going on where {} was left.", opening.session),
        (false, Mode::Rehearsal) => {
            "A rehearsal on a simulated rig: nothing is measured, nothing enters the shop's records."
        }
        (false, Mode::Bench) => "Every answer is kept at once. Type help or ? at any prompt.",
    };
    screen.paragraph(INDENT, begins);
    if opening.rig_is_assumed {
        let (RigParts { orifice, dial, .. }, unit) = (opening.rig, &UNITS[0]);
        let told = format!(
            "Nobody has described this shop's rig, so a test orifice of {} and a gauge to {} with a mark every {} are \
             assumed, and the record says so. To describe yours, park and type: spoolproof rig set",
            orifice.diameter(),
            dial.span().in_unit(unit),
            dial.smallest_division().in_unit(unit)
        );
        screen.paragraph(INDENT, &told);
    }
    screen.paragraph(
        INDENT,
        "The unit's service information, local codes and a licensed technician's judgement go before what you read here.",
    );
}

/// Shows which circuits a plan tests, in which order, and why.
pub fn plan(screen: &mut Screen, plan: &Plan) {
    screen.line(&rule(screen.width(), "plan"));
    for (index, planned) in plan.circuits.iter().enumerate() {
        let because = planned.because.join(", ");
        let why = if plan.after.is_some() {
            format!("before: {because}")
        } else {
            format!("it can cause {because}")
        };
        screen.item(&format!("{:INDENT$}{} ", "", index + 1), &format!("{}: {why}", planned.circuit));
    }
    screen.paragraph(INDENT, "The other circuits are left out, and the record says so.");
}

/// Shows that a procedure has changed since a session began.
pub fn changed(screen: &mut Screen, begun: &Source, current: &Source) {
    screen.line(&rule(screen.width(), "the procedure has changed since this session began"));
    for file in &current.files {
        let what = match begun.file(&file.name) {
            None => "is new".to_owned(),
            Some(before) if before.sha256 == file.sha256 => continue,
            Some(before) => {
                let old: Vec<_> = before.text.lines().collect();
                let added = file.text.lines().filter(|line| !old.contains(line)).count();
                let new: Vec<_> = file.text.lines().collect();
                let gone = before.text.lines().filter(|line| !new.contains(line)).count();
                format!("{added} lines new or changed, {gone} gone or changed")
            }
        };
        screen.paragraph(INDENT, &format!("{}: {what}.", file.name));
    }
    screen.paragraph(
        INDENT,
        "Answers that still fit are kept, the rest is asked again. To go on as it was, park and resume with --as-begun.",
    );
}

/// Shows something that is told.
pub fn told(screen: &mut Screen, told: &Told) {
    match told {
        Told::Section { title } => {
            screen.line("");
            screen.line(&rule(screen.width(), title));
        }
        Told::Said { text } => screen.paragraph(INDENT, text),
        Told::Found { text, .. } => screen.item(&marker("found"), text),
        Told::Described { .. } | Told::Began { .. } | Told::Ended { .. } => {}
    }
}
