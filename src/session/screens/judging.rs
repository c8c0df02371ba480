use super::INDENT;
use super::layout::marker;
use crate::console::Screen;
use crate::leak::Verdict;
use crate::procedure::Shown;
use crate::quantity::Unit;
use crate::record::{Circuit, TakesOutcome};
use crate::rig::Calibration;
use crate::session::dial_strip;
use crate::tell;

/// Shows what follows from an answer.
pub fn shown(screen: &mut Screen, shown: &Shown<'_>, vacuum_unit: &Unit) {
    match shown {
        Shown::Kept { question, answer } => {
            screen.item(
                &marker("kept"),
                &format!("{}: {}", question.words.trim_end_matches(['.', '?', ':']), tell::answer_text(answer)),
            );
        }
        Shown::Coached(reason) => screen.paragraph(INDENT, reason),
        Shown::Checked(check) => {
            let how = if check.is_good { "where it was set" } else { "not where it was set" };
            screen.item(
                &marker("rig"),
                &format!(
                    "The rig is {how}: {} plugged, {} through the orifice.",
                    check.plugged.in_unit(vacuum_unit),
                    check.through.in_unit(vacuum_unit)
                ),
            );
        }
        Shown::Drifted(circuits) => screen.item(
            &marker("rig"),
            &format!(
                "It has drifted since it was last good, so what was read since then is read again, after setting the \
                 rig: {}.",
                circuits.join(", ")
            ),
        ),
        Shown::Calibrated(calibration) => calibrated(screen, calibration, vacuum_unit),
        Shown::Judged { circuit, calibration, outcome, more } => {
            judged(screen, circuit, calibration, outcome, *more, vacuum_unit);
        }
        Shown::Concluded { circuit, verdict } => {
            screen.item(&marker("done"), &format!("{circuit}: {}", tell::verdict_word(*verdict)));
        }
    }
}

fn calibrated(screen: &mut Screen, calibration: &Calibration, vacuum_unit: &Unit) {
    let (plugged, through) = calibration.targets();
    screen.item(
        &marker("rig"),
        &format!(
            "Set: {} plugged and {} through the orifice; {} and {} are the marks where the \
             barometer stands at {}. Readings are worked out from where it stands.",
            calibration.plugged().in_unit(vacuum_unit),
            calibration.through().in_unit(vacuum_unit),
            plugged.in_unit(vacuum_unit),
            through.in_unit(vacuum_unit),
            calibration.barometer().in_unit(vacuum_unit)
        ),
    );
    if calibration.pump().is_some() {
        let text = "The pump does not keep the inlet valve sonic, so readings are judged with the pump's figures too.";
        screen.item(&marker(""), text);
    }
}

fn judged(
    screen: &mut Screen,
    circuit: &Circuit,
    calibration: &Calibration,
    outcome: &TakesOutcome,
    more: bool,
    vacuum_unit: &Unit,
) {
    let label = match outcome.verdict() {
        Verdict::Retest => "undecided".to_owned(),
        verdict => verdict.to_string(),
    };
    let so_far = if more { " so far" } else { "" };
    screen.item(
        &marker(""),
        &format!(
            "{label}{so_far}: standard reading {}. Leaks like a hole of {}, {} of the test orifice's area.",
            tell::range(&outcome.assessment.standard_reading_pa, vacuum_unit),
            tell::hole(&outcome.assessment.hole_m),
            tell::percent(outcome.assessment.relative_leak.value, 1),
        ),
    );
    let limits = circuit.limits.as_ref();
    for line in dial_strip(screen.width() - INDENT, limits, calibration, &outcome.assessment, vacuum_unit) {
        screen.line(&format!("{:INDENT$}{line}", ""));
    }
    let aside = outcome.counts.iter().filter(|counts| !**counts).count();
    if aside > 0 {
        screen.paragraph(
            INDENT,
            "A take that read clearly less than the best one is set aside: the seat leaked then.",
        );
    }
    if let (Some(advice), false) = (outcome.judgement.and_then(|judgement| judgement.advice), more) {
        screen.paragraph(INDENT, &advice.to_string());
    }
}
