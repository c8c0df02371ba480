use super::words::{hole, rough};
use crate::leak::{Assessment, Context, Estimate, Interpretation, Land, LeakKind, OilState, Seal};
use crate::oil::TYPICAL_SOURCE;
use crate::quantity::{Unit, shown};

/// Says what a leak is like: as a hole, in air, of which kind it is, as a clearance, and in oil.
pub(crate) fn meaning(assessment: &Assessment, context: &Context, seal: Option<Seal>) -> Vec<String> {
    let litres = 60e3;
    let mut sentences = vec![format!(
        "Air goes through as through one round hole of {}: {} l of air a minute at this vacuum.",
        hole(assessment),
        figures(&assessment.air_standard_flow(), litres, 2),
    )];
    sentences.push(kind(context, seal).to_owned());
    if assessment.is_wide_open() {
        sentences.push(WIDE_OPEN.to_owned());
    } else {
        let told = context.land.as_ref().zip(assessment.clearance_m.as_ref());
        sentences.extend(told.map(|(land, told)| clearance(land, told)));
    }
    if let Some(seal) = seal {
        sentences.push(sealed(seal).to_owned());
    }
    if let Some(oil) = context.oil.as_ref().filter(|_| !assessment.is_wide_open()) {
        sentences.extend(oil_loss(assessment, context, oil));
    }
    sentences
}

fn kind(context: &Context, seal: Option<Seal>) -> &'static str {
    match context.kind() {
        None if seal.is_some() => {
            "A seal leaks past its edge or through a nick: the range of its standard reading holds both."
        }
        Some(LeakKind::Gap) if context.kind.is_none() => {
            "Its standard reading is that of a gap, as between a valve and its bore; a nick in the land would read otherwise far \
             from sea level, so its range is wider by half of that until the kind is said to be a gap."
        }
        Some(LeakKind::Gap) => "Its standard reading is that of a gap, as between a valve and its bore.",
        Some(LeakKind::Hole) => "Its standard reading is that of a hole.",
        None => "Whether it is a gap or a hole is not known: the range of its standard reading holds both.",
    }
}

fn sealed(seal: Seal) -> &'static str {
    match seal {
        Seal::Lip => "A lip seals here, which has no clearance: neither that nor a loss of oil can be told.",
        Seal::Elastomer => {
            "An elastomer seals here, which has no clearance: neither that nor a loss of oil can be told."
        }
    }
}

const WIDE_OPEN: &str = "It is wide open: near zero the needle does not tell how wide, so no clearance is told, and no loss \
                         of oil.";

fn clearance(land: &Land, clearance: &Interpretation) -> String {
    let around = match land.lands() {
        1 => "Clearance around the land".to_owned(),
        lands => format!("Clearance around each of the {lands} lands"),
    };
    match clearance {
        Interpretation::Value(estimate) => {
            // Two figures.
            let decimals = usize::from(estimate.high < 10e-6);
            let in_unit = |si: f64, decimals| {
                let high = shown(estimate.high / si, decimals);
                match shown(estimate.low / si, decimals).as_str() {
                    "0" => format!("at most {high}"),
                    low => format!("{low} to {high}"),
                }
            };
            let lies = match land.eccentricity() {
                Some(_) => "as the valve is said to lie",
                None => "as the valve lies to one side or in the middle",
            };
            let is_unchecked = estimate.low < UNCHECKED.1 && estimate.high > UNCHECKED.0;
            let check = match is_unchecked {
                true => " No measurement was found to check the law of gaps at this size.",
                false => "",
            };
            format!(
                "{around}, on the radius: {} µm ({} thou), {lies}, {IN_ONE_LAND}.{check}",
                in_unit(1e-6, decimals),
                in_unit(25.4e-6, 1),
            )
        }
        Interpretation::OutOfDomain { out_of_domain } => {
            format!("{around}: none can be told; {out_of_domain}.")
        }
    }
}

/// What a clearance takes for granted.
pub(crate) const IN_ONE_LAND: &str = "if all of the leak passes there";

/// Clearances in m between which no measurement of air in gaps was found.
const UNCHECKED: (f64, f64) = (10e-6, 60e-6);

/// An order of magnitude: of what a gap or a hole would lose, or of either where nobody knows which it is.
fn oil_loss(assessment: &Assessment, context: &Context, oil: &OilState) -> Vec<String> {
    let (gap, hole) = (assessment.gap_oil_m3_s, assessment.hole_oil_m3_s);
    let either = match context.kind() {
        Some(LeakKind::Gap) => [gap, None],
        Some(LeakKind::Hole) => [hole, None],
        None => [gap, hole],
    };
    let at = match (Unit::by_word("psi"), Unit::by_word("celsius")) {
        (Some(psi), Some(celsius)) => {
            format!("At {} and {}", oil.pressure().in_unit(psi), oil.temperature().in_unit(celsius))
        }
        _ => "At work".to_owned(),
    };
    let told = either.into_iter().flatten();
    let Some(range) = told.clone().filter_map(|loss| loss.estimate()).reduce(Estimate::with) else {
        let why = told.filter_map(|loss| loss.outside()).next();
        return why.map(|why| format!("{at} no loss of oil can be told: {why}.")).into_iter().collect();
    };
    let litres = 60e3;
    let loss = match range.high * litres >= 0.1 {
        true => format!("{} l", rough(range.low * litres, range.high * litres)),
        false => format!("{} ml", rough(range.low * litres * 1e3, range.high * litres * 1e3)),
    };
    let share = oil.pump_delivery().map(|delivery| {
        let percent = 100.0 / delivery.si();
        format!(", {} % of what the pump delivers", rough(range.low * percent, range.high * percent))
    });
    let source = if oil.oil().is_typical() { format!(", {TYPICAL_SOURCE}") } else { String::new() };
    let growth = match (context.kind(), context.land.and_then(|land| land.expansions())) {
        (Some(LeakKind::Hole), _) => "",
        (_, Some(_)) => " The clearance is taken as it is when hot.",
        (_, None) => " How much valve and bore grow until it is hot is not in it.",
    };
    vec![format!(
        "{at} it would lose {loss} of oil a minute{}: an order of magnitude, for an {}{source}.{growth}",
        share.unwrap_or_default(),
        oil.oil(),
    )]
}

/// Writes a value with its interval, multiplied into a unit.
fn figures(estimate: &Estimate, factor: f64, decimals: usize) -> String {
    let number = |si: f64| shown(si * factor, decimals);
    format!("{} ({} to {})", number(estimate.value), number(estimate.low), number(estimate.high))
}
