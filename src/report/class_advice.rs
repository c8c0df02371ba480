use crate::quantity::{Unit, shown};
use crate::stats::GaugeStudy;

/// Says what a gauge study of a class means, and what to practise.
///
/// The marks of 10 and 30 % and the five kinds are those of the AIAG manual (Measurement Systems Analysis, 4th edition,
/// 2010, chapter II section D).
pub fn class_advice(study: &GaugeStudy, vacuum_unit: &Unit) -> Vec<String> {
    let components = study.components(study.may_be_pooled());
    let shown_vacuum =
        |pa: f64| format!("{} {}", shown(vacuum_unit.from_si(pa), vacuum_unit.decimals), vacuum_unit.symbol);
    let share = 100.0 * components.gauge_share();
    let judged = if share <= 10.0 {
        "The class reads well: how it reads hardly matters beside how the circuits differ."
    } else if share <= 30.0 {
        "The class reads well enough for most work; what is below would make it better."
    } else {
        "The class does not read well enough yet: who reads, and when, matters too much."
    };
    let mut advice = vec![format!("Reading makes {} % of the whole scatter. {judged}", shown(share, 1))];
    // ISO 5725-6: two results differ by more than 2.8 standard deviations in one case of twenty.
    advice.push(format!(
        "Two readings of one circuit by two of the class differ by up to {} in 19 cases of 20; by the same hand, up to {}.",
        shown_vacuum(2.8 * components.gauge()),
        shown_vacuum(2.8 * components.repeatability)
    ));
    if let Some(n) = components.distinct_categories() {
        advice.push(format!(
            "The class can tell {n} kinds of these circuits apart{}.",
            if n < 5 { "; five or more are wanted, if the circuits really differ" } else { "" }
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
            if reader.above > 0.0 { "deeper" } else { "less deep" }
        ));
    }
    let between = components.operators.hypot(components.interaction);
    advice.push(if components.repeatability >= between {
        "Practise first what one hand does twice: seat the plate or tip, press evenly, wait until the needle stands, read \
         straight on and to a quarter of a division."
            .to_owned()
    } else if components.operators >= components.interaction {
        "Practise first what the hands do differently: set both points of the rig by the same marks, agree how hard to \
         press and when to read, and compare calibrations before circuits."
            .to_owned()
    } else {
        "Practise first the circuits on which the hands differ: agree on where the plate goes, which passages are closed \
         and how the valve is held; the set-up text may need to say more."
            .to_owned()
    });
    advice
}
