use crate::leak::{Baseline, Shape};
use crate::quantity::{Unit, shown};

/// Says what limits from good units are worth and what they are not, a sentence or two each.
pub fn baseline_advice(baseline: &Baseline, unit: &Unit) -> Vec<String> {
    let show = |pa: f64| format!("{} {}", shown(unit.from_si(pa), 2), unit.symbol);
    let percent = |share: f64| format!("{} %", shown(share * 100.0, 1));
    let (share, confidence) = (percent(baseline.promise.share()), percent(baseline.promise.confidence()));
    let summary = &baseline.summary;
    let mut told = vec![match (&baseline.limits, baseline.factor) {
        (Some(limits), Some(factor)) => format!(
            "{} good units read {} to {}, {} on average. With {confidence} confidence {share} of good units read \
             {} or deeper: the mean less {} deviations of {} (ISO 16269-6).",
            summary.n,
            show(summary.least),
            show(summary.most),
            show(summary.mean),
            limits.holds().in_unit(unit),
            shown(factor, 3),
            show(baseline.deviation),
        ),
        (Some(limits), None) => format!(
            "{} good units read {} to {}. With {confidence} confidence {share} of good units read {} or deeper: the least \
             of them (ISO 16269-6, whatever the distribution).",
            summary.n,
            show(summary.least),
            show(summary.most),
            limits.holds().in_unit(unit),
        ),
        (None, _) => format!(
            "{} good units are too few, or too scattered, for any limit with {confidence} confidence that {share} of good \
             units reach.",
            summary.n
        ),
    }];
    told.extend(more(baseline, unit));
    match baseline.shape {
        Shape::Doubtful if baseline.factor.is_some() => told.push(format!(
            "The readings do not spread like a bell (Anderson and Darling, 5 %), on which this limit rests: look at the odd \
             ones. From {} good units on the least reading is a limit by itself.",
            baseline.needed_for_least
        )),
        Shape::Unknown => told.push(
            "Whether they spread like a bell, on which this limit rests, does not show yet; sound circuits that read next \
             to the plugged point often do not."
                .to_owned(),
        ),
        Shape::Doubtful | Shape::Bell => {}
    }
    if let Some(limits) = &baseline.limits {
        if baseline.factor.is_some() && summary.least < limits.holds().si() {
            told.push(format!(
                "At least one of these good units would not hold by that limit: the least read {}. Was it good?",
                show(summary.least)
            ));
        }
        told.push(format!(
            "Good units say nothing of where a circuit fails. Leaks at {} is a rule: twice the leak that holds allows, and \
             at least 3 inHg below it, so that the gauge can tell them apart. Change it when you have read units that failed.",
            limits.leaks().in_unit(unit)
        ));
    }
    told
}

/// Says how many more good units are needed.
fn more(baseline: &Baseline, unit: &Unit) -> Option<String> {
    let more = baseline.more();
    if more == 0 {
        return None;
    }
    let then = baseline
        .holds_then
        .map_or("below the scale".to_owned(), |holds| format!("about {}", holds.in_unit(unit)));
    let units = if more == 1 { "unit" } else { "units" };
    Some(format!(
        "Provisional: with few good units the limit lies low, to be on the safe side. {} are enough to come within one \
         deviation of what very many would say. With {more} more good {units} that read alike, holds would be {then}.",
        baseline.needed
    ))
}
