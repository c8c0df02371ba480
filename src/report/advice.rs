//! What limits from good units and gauge studies of a class are worth, and what to do next, in words.

use crate::leak::{Baseline, HoldsRule, Shape};
use crate::quantity::{Pressure, Unit, shown, so_many};
use crate::stats::{Components, GaugeStudy, OperatorHabit, f_above};
use crate::tell::percent;

/// Says what limits from good units are worth and what they are not, a sentence or two each.
pub(crate) fn baseline_advice(baseline: &Baseline, unit: &Unit) -> Vec<String> {
    let show = |pa: f64| hundredths(pa, unit);
    let summary = &baseline.summary;
    let mut told = vec![limit_told(baseline, unit)];
    told.extend(more(baseline, unit));
    if baseline.shape == Shape::Unknown {
        told.push(
            "Whether they spread like a bell, on which this limit rests, does not show yet; sound circuits that read next \
             to the plugged point often do not."
                .to_owned(),
        );
    }
    if let Some(without) = &baseline.without_odd {
        told.push(format!(
            "One unit read {}, further below the others than chance puts one in 19 of 20 times (Grubbs, 5 %): was it good, and \
             read well? Without it holds would be {}.",
            show(summary.least),
            without.map_or("below the scale".to_owned(), |holds| holds.in_unit(unit)),
        ));
    }
    if let Some(limits) = &baseline.limits {
        if baseline.without_odd.is_none() && summary.least < limits.upper().si() {
            told.push(format!(
                "At least one of these good units would not hold by that limit: the least read {}.",
                show(summary.least)
            ));
        }
        told.push(format!(
            "Good units say nothing of where a circuit fails. Leaks at {} is a rule: twice the leak that holds allows, and \
             at least 3 inHg below it, so that the gauge can tell them apart. Change it when you have read units that failed.",
            limits.lower().in_unit(unit)
        ));
    }
    told
}

fn hundredths(pa: f64, unit: &Unit) -> String {
    format!("{} {}", shown(unit.from_si(pa), 2), unit.symbol)
}

/// Says what good units read, and the limit that comes of it.
fn limit_told(baseline: &Baseline, unit: &Unit) -> String {
    let show = |pa: f64| hundredths(pa, unit);
    let (share, confidence) =
        (percent(baseline.promise.share(), 1), percent(baseline.promise.confidence(), 1));
    let summary = &baseline.summary;
    match (&baseline.limits, baseline.rule) {
        (Some(limits), HoldsRule::Factor(factor)) => format!(
            "{} good units read {} to {}, {} on average. With {confidence} confidence {share} of good units read \
             {} or higher: the mean less {} deviations of {} (ISO 16269-6).",
            summary.n,
            show(summary.least),
            show(summary.most),
            show(summary.mean),
            limits.upper().in_unit(unit),
            shown(factor, 3),
            show(baseline.deviation),
        ),
        (Some(limits), HoldsRule::Rank(rank)) => format!(
            "{} good units read {} to {}. With {confidence} confidence {share} of good units read {} or higher: the {} \
             of them (ISO 16269-6, whatever the distribution).",
            summary.n,
            show(summary.least),
            show(summary.most),
            limits.upper().in_unit(unit),
            ranked(rank),
        ),
        (Some(limits), HoldsRule::Lower(_)) => format!(
            "{} good units read {} to {}, and not as a bell does (Anderson and Darling, 5 %). {} is the lower of the least of \
             them and what a bell would give; nothing is promised of it before there are {} good units. Look at the odd ones.",
            summary.n,
            show(summary.least),
            show(summary.most),
            limits.upper().in_unit(unit),
            baseline.needed_for_least,
        ),
        (None, _) => format!(
            "{} good units are too few, or too scattered, for any limit with {confidence} confidence that {share} of good \
             units reach.",
            summary.n
        ),
    }
}

/// Says in words which of some readings a rank means, counted from the least.
pub(crate) fn ranked(rank: usize) -> String {
    const NAMED: [&str; 5] = ["least", "second least", "third least", "fourth least", "fifth least"];
    NAMED.get(rank.wrapping_sub(1)).map_or_else(|| format!("{rank}th least"), |named| (*named).to_owned())
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
    let units = so_many(more, "more good unit");
    Some(format!(
        "Provisional: with few good units the limit lies low, to be on the safe side. {} are enough to come within one \
         deviation of what very many would say. With {units} that read alike, holds would be {then}.",
        baseline.needed
    ))
}

/// Says what a gauge study of a class means, and what to practise; `between` is what lies between the limits that
/// it is to tell apart.
///
/// The marks of 10 and 30 % and the five kinds are those of the AIAG manual (Measurement Systems Analysis, 4th edition,
/// 2010, chapter II section D).
pub(crate) fn class_advice(study: &GaugeStudy, between: Pressure, vacuum_unit: &Unit) -> Vec<String> {
    let components = study.components(study.may_be_pooled());
    let shown_vacuum =
        |pa: f64| format!("{} {}", shown(vacuum_unit.from_si(pa), vacuum_unit.decimals), vacuum_unit.symbol);
    let share = components.gauge_share();
    let judged = if share <= 0.1 {
        "The class reads well: how it reads hardly matters beside how the circuits differ."
    } else if share <= 0.3 {
        "The class reads well enough for most work; what is below would make it better."
    } else {
        "The class does not read well enough yet: who reads, and when, matters too much."
    };
    let mut advice = vec![format!(
        "Reading makes {} of the whole scatter. {judged} That share hangs on how different the pieces were.",
        percent(share, 1)
    )];
    // ISO 5725-6: two results differ by more than 2.8 standard deviations in one case of twenty.
    let (two_hands, one_hand) = (2.8 * components.gauge(), 2.8 * components.repeatability);
    advice.push(format!(
        "Two readings of one circuit by two of the class differ by up to {} in 19 cases of 20; by the same hand, up to {}. {}",
        shown_vacuum(two_hands),
        shown_vacuum(one_hand),
        if two_hands > between.si() / 2.0 {
            format!("With limits {} apart two of the class can give one circuit different verdicts.", shown_vacuum(between.si()))
        } else {
            format!("Between limits {} apart that is less than half.", shown_vacuum(between.si()))
        }
    ));
    if let Some(n) = components.distinct_categories() {
        // The ratio says nothing finer: it hangs on the few pieces that were read.
        const MANY: usize = 10;
        let kinds = if n > MANY { format!("more than {MANY} kinds") } else { format!("about {n} kinds") };
        advice.push(format!(
            "By the manual's ratio such readings tell {kinds} of circuits apart where circuits differ as these pieces do{}.",
            if n < 5 { "; five or more are wanted" } else { "" }
        ));
    }
    let error = if components.is_pooled { study.table.pooled_error() } else { study.table.interaction };
    let furthest = study.operators.iter().zip(&study.readers);
    let furthest = furthest.max_by(|(_, one), (_, other)| one.above.abs().total_cmp(&other.above.abs()));
    // 5 %: the usual mark of a test (AIAG, as above).
    if let Some((name, reader)) = furthest.filter(|_| study.table.operators.against(&error).1 < 0.05) {
        advice.push(format!(
            "Furthest from the class reads {name}: {} {} on average, which is more than chance.",
            shown_vacuum(reader.above.abs()),
            if reader.above > 0.0 { "higher" } else { "lower" }
        ));
    }
    if let Some((name, reader)) = unsteady(study) {
        advice.push(format!(
            "Least steady is {name}: {} from reading to reading, which is more than chance beside the others. Let {name} \
             read one circuit ten times.",
            shown_vacuum(reader.scatter)
        ));
    }
    advice.push(to_practise(&components).to_owned());
    advice
}

fn to_practise(components: &Components) -> &'static str {
    let between = components.operators.hypot(components.interaction);
    if components.repeatability >= between {
        "Practise first what one hand does twice: seat the plate or tip, press evenly, wait until the needle stands, read \
         straight on and to a quarter of a division."
    } else if components.operators >= components.interaction {
        "Practise first what the hands do differently: set both points of the rig by the same marks, agree how hard to \
         press and when to read, and compare calibrations before circuits."
    } else {
        "Practise first the circuits on which the hands differ: agree on where the plate goes, which passages are closed \
         and how the valve is held; the set-up text may need to say more."
    }
}

/// Returns who scatters most, where that is more than chance beside the others (F test of variances, 5 %).
pub(crate) fn unsteady(study: &GaugeStudy) -> Option<(&str, &OperatorHabit)> {
    let readers = || {
        study
            .operators
            .iter()
            .map(String::as_str)
            .zip(&study.readers)
            .filter(|(_, reader)| reader.freedom > 0)
    };
    let (name, worst) = readers().max_by(|(_, one), (_, other)| one.scatter.total_cmp(&other.scatter))?;
    let others = || readers().filter(|(other, _)| *other != name).map(|(_, reader)| reader);
    let freedom: usize = others().map(|reader| reader.freedom).sum();
    let squares: f64 = others().map(|reader| reader.scatter.powi(2) * reader.freedom as f64).sum();
    let usual = squares / freedom as f64;
    let ratio = worst.scatter.powi(2) / usual;
    // The worst of several is picked, so chance gets as many tries as there are readers (Bonferroni).
    let mark = 0.05 / study.operators.len() as f64;
    let is_more = usual > 0.0 && f_above(ratio, worst.freedom as f64, freedom as f64) < mark;
    is_more.then_some((name, worst))
}
