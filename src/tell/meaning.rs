use super::words::{hole, percent};
use crate::leak::{Assessment, Estimate, Interpretation, OilState};
use crate::quantity::{Unit, shown};

/// Says what a leak is like: as a hole, in air, as a clearance, and in oil.
pub(crate) fn meaning(assessment: &Assessment, oil: Option<&OilState>) -> Vec<String> {
    let litres = 60e3;
    let mut sentences = vec![format!(
        "Air goes through as through one round hole of {}: {} l of air a minute at this vacuum.",
        hole(&assessment.hole_m),
        figures(&assessment.air_standard_flow_m3_s, litres, 2),
    )];
    sentences.extend(assessment.clearance_m.as_ref().map(clearance));
    if let (Some(oil), Some(gap), Some(hole)) =
        (oil, assessment.oil_flow_annulus_m3_s, assessment.oil_flow_hole_m3_s)
    {
        sentences.push(oil_loss(oil, &gap, &hole));
        sentences.extend(pump_share(assessment));
    }
    sentences
}

fn clearance(clearance: &Interpretation) -> String {
    match clearance {
        Interpretation::Value { estimate, assumption } => format!(
            "Clearance around the land: {} thou, {} µm ({} to {}), {assumption}.",
            shown(estimate.value / 25.4e-6, 2),
            shown(estimate.value * 1e6, 1),
            shown(estimate.low * 1e6, 1),
            shown(estimate.high * 1e6, 1),
        ),
        Interpretation::OutOfDomain { why } => format!("Clearance around the land: none can be told, {why}."),
    }
}

fn oil_loss(oil: &OilState, gap: &Interpretation, hole: &Interpretation) -> String {
    let unit = |word| Unit::by_word(word).map(|unit| (unit, unit.symbol));
    let at = match (unit("psi"), unit("celsius")) {
        (Some((psi, _)), Some((celsius, _))) => {
            format!("At {} and {}", oil.pressure().in_unit(psi), oil.temperature().in_unit(celsius))
        }
        _ => "At work".to_owned(),
    };
    let millilitres = 60e6;
    let end = |interpretation: &Interpretation, shape: &str| match interpretation {
        Interpretation::Value { estimate, .. } => {
            format!("{} ml a minute {shape}", figures(estimate, millilitres, 0))
        }
        Interpretation::OutOfDomain { why } => format!("no figure {shape}, since {why}"),
    };
    format!(
        "{at} it would lose oil: {}, {}. The truth lies between the two.",
        end(gap, "if the leak is a narrow gap"),
        end(hole, "if it is a hole")
    )
}

fn pump_share(assessment: &Assessment) -> Option<String> {
    let gap = assessment.pump_share_annulus?.estimate()?;
    let hole = assessment.pump_share_hole?.estimate()?;
    Some(format!(
        "That is {} to {} of what the pump delivers.",
        shown(gap.value * 100.0, 1),
        percent(hole.value, 1)
    ))
}

/// Writes a value with its interval, multiplied into a unit.
fn figures(estimate: &Estimate, factor: f64, decimals: usize) -> String {
    let number = |si: f64| shown(si * factor, decimals);
    format!("{} ({} to {})", number(estimate.value), number(estimate.low), number(estimate.high))
}
