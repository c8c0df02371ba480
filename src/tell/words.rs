//! The words and figures that every telling uses.

use libm::{log10, pow};

use crate::leak::{Assessment, Estimate, Limits, Verdict};
use crate::quantity::{Length, Unit, shown};
use crate::record::{
    Agreement, Answer, Event, FindingRecord, Photo, Question, Record, TakesOutcome, VerdictCounts,
};
use crate::rig::OrificeKind;

/// The word for what became of a circuit.
pub(crate) fn verdict_word(verdict: Option<Verdict>) -> &'static str {
    verdict.map_or("not tested", Verdict::word)
}

/// How the hole of an orifice is made.
pub(crate) fn orifice_kind(kind: OrificeKind) -> &'static str {
    match kind {
        OrificeKind::Plug => "plug",
        OrificeKind::Plate => "plate",
    }
}

/// Where a circuit holds and where it leaks, or where a passage is right.
pub(crate) fn limits(limits: &Limits, unit: &Unit) -> String {
    let (lower, upper) = (limits.lower().in_unit(unit), limits.upper().in_unit(unit));
    if limits.is_window() {
        format!("Right between {lower} and {upper}, too open below, too tight above")
    } else {
        format!("Holds from {upper} up, leaks from {lower} down")
    }
}

/// What the lower and the upper limit say, as in "holds from 20 inHg".
pub(crate) fn limit_names(limits: &Limits) -> [&'static str; 2] {
    if limits.is_window() { ["too open to", "too tight from"] } else { ["leaks to", "holds from"] }
}

/// The mark of a verdict's part of a scale or a bar that is drawn with letters.
pub(crate) fn mark(verdict: Verdict) -> char {
    match verdict {
        Verdict::Holds | Verdict::Right => '=',
        Verdict::Worn => '-',
        Verdict::Leaks => 'x',
        Verdict::Open => 'o',
        Verdict::Tight => '#',
        Verdict::Retest | Verdict::Unjudged | Verdict::NotFitted => '?',
    }
}

/// An estimate with its interval in a unit.
pub(crate) fn range(estimate: &Estimate, unit: &Unit) -> String {
    let show = |si| shown(unit.from_si(si), unit.decimals);
    format!("{} {} ({} to {})", show(estimate.value), unit.symbol, show(estimate.low), show(estimate.high))
}

/// What a photo is of, when it was put into the session, and what it shows.
pub(crate) fn photo(record: &Record, event: &Event, circuit: Option<&str>, photo: &Photo) -> String {
    let words = photo.words.as_ref().map(|words| format!(": {words}")).unwrap_or_default();
    format!("{}, {}{words}", circuit.unwrap_or("beside the circuits"), record.minute(event.at))
}

/// What is to be said of takes that do not all agree.
pub(crate) fn agreement(outcome: &TakesOutcome, unit: &Unit) -> Option<String> {
    match (outcome.agreement, &outcome.takes[..]) {
        (Agreement::Agree, _) => None,
        (Agreement::OddOne, takes) => {
            let (odd, _) = takes.iter().find(|(_, counts)| !counts)?;
            Some(format!("Set aside: {}", odd_take(&shown(unit.from_si(odd.si()), unit.decimals))))
        }
        (Agreement::None, [(one, _), (other, _)]) => {
            let by = shown(unit.from_si((one.si() - other.si()).abs()), unit.decimals);
            Some(format!(
                "The two takes differ by {by} {}, more than takes of the same do. A third is to tell which is right.",
                unit.symbol
            ))
        }
        (Agreement::None, _) => Some("No two takes agree, so none of them is held for right.".to_owned()),
    }
}

/// Returns the first sentence of a caution, and what follows where that is only a call: it says what hurts.
pub(crate) fn gist(caution: &str) -> &str {
    const A_CALL: usize = 3;
    let ends = caution.char_indices().filter(|(at, sign)| {
        let mut rest = caution[at + sign.len_utf8()..].chars();
        matches!(sign, '.' | '!' | '?')
            && rest.next() == Some(' ')
            && rest.next().is_some_and(char::is_uppercase)
    });
    let gists = ends.map(|(at, sign)| &caution[..at + sign.len_utf8()]);
    gists.into_iter().find(|gist| gist.split_whitespace().count() > A_CALL).unwrap_or(caution)
}

/// Says why a take is set aside.
pub(super) fn odd_take(take: &str) -> String {
    format!(
        "{take} does not agree with the two others; a seat that leaked, a wet film that sealed, or the eye."
    )
}

/// The hole that a leak is like, in inches with millimetres behind; the one end alone where no more is known.
pub(crate) fn hole(assessment: &Assessment) -> String {
    let hole = &assessment.hole_m;
    let inches = |si: f64| format!("{:.4}", si / 0.0254);
    if assessment.is_wide_open() {
        return format!("at least {} in, {:.2} mm", inches(hole.low), hole.low * 1e3);
    }
    if assessment.is_tight() {
        let most = hole.high.max(1e-4 * 0.0254);
        return format!("at most {} in, {} mm", inches(most), shown(most * 1e3, 3));
    }
    format!(
        "{} in ({} to {}), {:.2} mm",
        inches(hole.value),
        inches(hole.low),
        inches(hole.high),
        hole.value * 1e3
    )
}

/// The area of a leak as a share of the test orifice's; the one end alone where no more is known.
pub(crate) fn area(assessment: &Assessment) -> String {
    let area = &assessment.relative_leak;
    if assessment.is_wide_open() {
        return format!("at least {}", percent(area.low, 0));
    }
    if assessment.is_tight() {
        return format!("at most {}", percent(area.high, 1));
    }
    percent(area.value, 1)
}

/// A range of which only the order of magnitude is known, to one figure.
pub(crate) fn rough(low: f64, high: f64) -> String {
    let place = |number: f64| -(log10(number.max(1e-9)).floor() as i32);
    let to = |number: f64, round: fn(f64) -> f64| {
        let scale = pow(10.0, f64::from(place(number)));
        shown(round(number * scale) / scale, place(number).max(0) as usize)
    };
    if low * 100.0 < high {
        return format!("at most {}", to(high, f64::ceil));
    }
    format!("roughly {} to {}", to(low, f64::floor), to(high, f64::ceil))
}

/// How probable something is. What dials do beyond one case in twenty nobody knows, so no more is claimed.
pub(crate) fn sure(probability: f64) -> String {
    match probability {
        much if much >= 0.95 => "over 95 %".to_owned(),
        little if little <= 0.05 => "under 5 %".to_owned(),
        between => percent(between, 0),
    }
}

/// A share of one as percent.
pub(crate) fn percent(share: f64, decimals: usize) -> String {
    format!("{} %", shown(share * 100.0, decimals))
}

/// A finding, and of which circuit it is.
pub(crate) fn finding(finding: &FindingRecord) -> String {
    let of = finding.circuit.as_ref().map(|circuit| format!("{circuit}: ")).unwrap_or_default();
    format!("{of}{}", finding.text)
}

/// An answer as it was given.
pub(crate) fn answer_text(answer: &Answer) -> String {
    match answer {
        Answer::Confirmed => "done".to_owned(),
        Answer::Yes(true) => "yes".to_owned(),
        Answer::Yes(false) => "no".to_owned(),
        Answer::Choice(chosen) => chosen.clone(),
        Answer::Text(text) => text.clone(),
        Answer::Quantity { entry, .. } => entry.entered.clone(),
        Answer::AtStop(entry) => format!("{}, valve at its stop", entry.entered),
        Answer::Barometer { entered, .. } => entered.clone(),
        Answer::AirTemperature { entered: Some(entered), .. } => entered.clone(),
        Answer::AirTemperature { air, .. } => {
            let celsius = shown(air.temperature().si() - 273.15, 1);
            let how = if air.is_assumed() { "assumed" } else { "as earlier today" };
            format!("{celsius} °C, {how}")
        }
        Answer::Unable(reason) => format!("could not be done: {reason}"),
        Answer::NotFitted(why) => format!("not fitted: {why}"),
    }
}

/// Writes a question with its answer behind it.
pub(crate) fn answered(question: &Question, answer: &Answer) -> String {
    format!("{}: {}", question.words.trim_end_matches(['.', '?', ':']), answer_text(answer))
}

/// Says of a test that began with complaints that no circuit is their cause, where every one that was
/// to be tested is sound.
pub(crate) fn complaints_without_cause(record: &Record) -> Option<String> {
    let plan = record.plan.as_ref().filter(|plan| !plan.complaints.is_empty() && plan.after.is_none())?;
    let is_sound = |name: &str| {
        let circuit = record.circuits.iter().find(|circuit| circuit.circuit.name == name);
        circuit.and_then(|circuit| circuit.verdict).is_some_and(Verdict::is_sound)
    };
    plan.circuits.iter().all(|planned| is_sound(&planned.circuit)).then(|| {
        format!(
            "Each circuit that the procedure names for \"{}\" is sound: the cause is elsewhere, or one that this test does \
             not show.",
            plan.complaints.join("\", \"")
        )
    })
}

/// How many circuits got which verdict, in a line.
pub(crate) fn summary(counts: &VerdictCounts) -> String {
    let counts = counts.each().filter(|(_, n)| *n > 0);
    let counts: Vec<_> = counts.map(|(verdict, n)| format!("{n} {}", verdict_word(verdict))).collect();
    if counts.is_empty() { "no circuits".to_owned() } else { counts.join(", ") }
}

/// Writes an elevation as shops know it, and as it can be typed.
pub(crate) fn elevation(elevation: Length) -> String {
    Unit::by_word("foot").map_or_else(|| elevation.to_string(), |foot| elevation.in_unit(foot))
}
