use super::sight::wanted_in_short;
use crate::console::Screen;
use crate::page::{Ask, AskKind, CircuitSight, Offered};
use crate::procedure::{Place, Source};
use crate::quantity::{Pressure, UNITS, Unit};
use crate::record::{
    Asker, HoseOn, Mode, Opening, Origin, Plan, Question, RigParts, Told, Wants, provenance,
};

/// Column where texts begin; what stands left of it says what kind of text it is.
pub(crate) const INDENT: usize = 7;

/// What the hose does, where no procedure says it.
pub(crate) const SUCTION: &str = "The open hose end holds on to skin, eyes, hair and rings: keep them away, and stop the pump \
                                  before you free anything.";

/// Returns what stands left of a text and says what kind it is.
pub(super) fn marker(kind: &str) -> String {
    format!("{kind:>5}  ")
}

/// Shows what a session is about to do on this rig, or that it goes on, and who has been testing.
pub(crate) fn opened(
    screen: &mut Screen,
    opening: &Opening,
    rig: RigParts,
    goes_on: bool,
    tester: Option<&str>,
) {
    let identity = &opening.procedure;
    screen.title(&format!("{}, version {}", identity.title, identity.version));
    if identity.origin != Origin::Shipped {
        screen
            .paragraph(INDENT, &format!("It is {}.", provenance(identity.origin, identity.signer.as_ref())));
    }
    if let Some(job) = &opening.job {
        screen.paragraph(INDENT, &format!("Job: {job}."));
    }
    let begins = match (goes_on, opening.mode) {
        (true, _) => &match tester {
            Some(tester) => format!(
                "Going on where {} was left, {tester} testing. Where somebody else tests now, type technician and the name.",
                opening.session
            ),
            None => format!("Going on where {} was left.", opening.session),
        },
        (false, Mode::Rehearsal) => {
            "A rehearsal on a simulated rig: nothing is measured, nothing enters the shop's records."
        }
        (false, Mode::Practice) => {
            "An exercise at a simulated rig: nothing is measured. Where a step has you hold a valve of the unit, it is held. At any prompt you may do things at the bench: help lists \
             the words. What is found is not told before you have committed to your verdicts."
        }
        (false, Mode::Bench) => "Every answer is kept at once; help or ? works at any prompt.",
    };
    screen.paragraph(INDENT, begins);
    if opening.rig_is_assumed && rig == opening.rig {
        let (RigParts { orifice, dial, .. }, unit) = (rig, &UNITS[0]);
        let told = format!(
            "Nobody has described this rig: an orifice of {} and a gauge to {}, marked every {}, are assumed. Describe yours, \
             parking first:\nspoolproof rig set",
            orifice.diameter(),
            dial.span().in_unit(unit),
            dial.smallest_division().in_unit(unit)
        );
        screen.paragraph(INDENT, &told);
    }
    screen.paragraph(
        INDENT,
        "The unit's service information, local codes and licensed practice go before this program.",
    );
}

/// Shows which circuits a plan tests, in which order, and why.
pub(crate) fn plan(screen: &mut Screen, plan: &Plan) {
    screen.title("plan");
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

pub(crate) fn changed(screen: &mut Screen, begun: &Source, current: &Source) {
    screen.title("the procedure has changed since this session began");
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

pub(crate) fn told(screen: &mut Screen, told: &Told) {
    match told {
        Told::Section { title } => {
            screen.line("");
            screen.title(title);
        }
        Told::Said { text } => screen.paragraph(INDENT, text),
        Told::Found { text, .. } => screen.item(&marker("found"), text),
        Told::NotFitted { circuit, why } => {
            screen.item(&marker("done"), &format!("{circuit}: not fitted ({why})"));
        }
        Told::Described { .. } | Told::Passed { .. } | Told::Began { .. } | Told::Ended { .. } => {}
    }
}

/// Shows which circuit comes, where the hose goes and what its limits are.
pub(crate) fn circuit(screen: &mut Screen, circuit: &CircuitSight, place: &Place) {
    let of = match place.n_circuits {
        0 | 1 => String::new(),
        n => format!("{}/{n}: ", place.n_tested + 1),
    };
    let port = circuit.port.as_ref().map(|port| format!(", port {port}")).unwrap_or_default();
    screen.line("");
    screen.title(&format!("{of}{}{port}", circuit.name));
    screen.paragraph(INDENT, &circuit.limits);
}

pub(crate) fn question(screen: &mut Screen, ask: &Ask) {
    let kind = match ask.kind {
        AskKind::Caution => "CARE",
        AskKind::Ready => "do",
        AskKind::Wait => "wait",
        AskKind::Reading => "read",
        _ => "ask",
    };
    screen.item(&marker(kind), &ask.words);
    ask.below.iter().for_each(|text| screen.paragraph(INDENT, text));
    for (n, Offered { text, cost }) in (1..).zip(&ask.choices) {
        let cost = cost.as_ref().map(|cost| format!(": {cost}")).unwrap_or_default();
        screen.item(&format!("{:INDENT$}{n} ", ""), &format!("{text}{cost}"));
    }
}

pub(crate) fn prompt(question: &Question) -> String {
    format!("{:INDENT$}{}: ", "", wanted_in_short(question))
}

/// Says where the needle is, or that the gauge is silent.
pub(crate) fn needle(vacuum: Option<Pressure>, unit: &Unit) -> String {
    let now = vacuum.map_or("...".to_owned(), |vacuum| vacuum.in_unit(unit));
    format!("{:INDENT$}{now:<14} settling; Ctrl-C to type instead", "")
}

pub(crate) fn seconds_left(left: f64) -> String {
    format!("{:INDENT$}{} s left; Ctrl-C parks", "", left.ceil())
}

/// Returns the title of what a question belongs to: of what the runner does by itself, else of the procedure's section.
pub(crate) fn section(question: &Question, place: &Place) -> Option<String> {
    let title = match &question.wants {
        _ if question.asker != Asker::Runner || question.circuit.is_some() => return place.section.clone(),
        Wants::Technician | Wants::Barometer | Wants::AirTemperature => "Before the rig is set",
        Wants::Reading { on: HoseOn::Check(_), .. } => "Checking the rig",
        Wants::Decision { .. } => "What is to be done",
        _ => "Setting the rig",
    };
    Some(title.to_owned())
}

/// Says where a question stands, and what is left.
pub(crate) fn progress(question: &Question, place: &Place) -> String {
    let section = section(question, place).map(|title| format!("{title}. ")).unwrap_or_default();
    let here = match &place.circuit {
        Some(circuit) => format!("Testing \"{}\". ", circuit.name),
        None => String::new(),
    };
    let circuits = match place.n_circuits {
        0 => "No circuit is begun yet.".to_owned(),
        n_circuits => format!("Circuits done: {} of {n_circuits}.", place.n_tested),
    };
    format!("{section}{here}{circuits}")
}
