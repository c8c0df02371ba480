use crate::quantity::shown;
use crate::record::{DecisionRecord, DoneRepair, Prices, REPLACE, Record, Repair, Unaccounted};

/// Writes what the decisions of a record cost and save, of which repairs that is not known, and how many
/// circuits are not in it.
pub(crate) fn account(record: &Record) -> String {
    let account = &record.account;
    let repairs: Vec<_> = record.decisions.iter().filter_map(DecisionRecord::repair).collect();
    let money = |figure: f64| money(figure, account.prices.currency.as_deref());
    let is_replaced = record.decisions.iter().any(|decision| decision.decided == REPLACE);
    let replacement = || account.prices.replacement.map_or("it has no price here".to_owned(), money);
    if repairs.is_empty() {
        return match is_replaced {
            true => format!("To replace the body was decided: {}. {AT_HAND}", replacement()),
            false => "No repair was decided, so nothing is added up.".to_owned(),
        };
    }
    let unpriced: Vec<_> =
        repairs.iter().filter(|repair| !repair.is_priced()).map(|repair| repair.does.as_str()).collect();
    let hours = shown(account.hours, 1);
    let hour = if hours == "1" { "hour" } else { "hours" };
    let mut text = format!("What was decided: parts for {}, {hours} {hour} of work", money(account.parts));
    if let Some(total) = account.total.filter(|_| account.prices.labour_per_hour.is_some()) {
        text += &format!(", together {}", money(total));
    }
    if let Some(saved) = account.saved {
        let than = if saved >= 0.0 { "less" } else { "more" };
        text += &format!("; {} {than} than a replacement", money(saved.abs()));
    }
    if !unpriced.is_empty() {
        text += &format!("; what is not known of these is not in it: {}", unpriced.join(", "));
    }
    let Unaccounted { undecided, untested } = Unaccounted::of(record);
    let circuits = |n: usize, state: &str| match n {
        0 => None,
        1 => Some(format!("1 circuit that is {state}")),
        n => Some(format!("{n} circuits that are {state}")),
    };
    let outside: Vec<_> =
        [circuits(undecided, "undecided"), circuits(untested, "not tested")].into_iter().flatten().collect();
    if !outside.is_empty() {
        text += &format!(". Not in it: {}", outside.join(" and "));
    }
    if is_replaced {
        text += &format!(". To replace the body was decided too, which is not in it: {}", replacement());
    }
    format!("{text}. {AT_HAND}")
}

const AT_HAND: &str = "Advice by the figures at hand, never a guarantee.";

/// Writes a sum of money; a whole one stays whole, any other has its cents. From five figures on a space
/// stands between each three.
pub(crate) fn money(figure: f64, currency: Option<&str>) -> String {
    let sum = if figure.fract() == 0.0 { shown(figure, 0) } else { format!("{figure:.2}") };
    let sum = in_threes(&sum);
    currency.map_or(sum.clone(), |currency| format!("{sum} {currency}"))
}

/// Puts a space that breaks no line between each three of five or more figures in front of the point (SI Brochure,
/// 9th edition, 5.4.4).
fn in_threes(sum: &str) -> String {
    let whole = sum.find('.').unwrap_or(sum.len());
    let starts = if sum.starts_with('-') { 1 } else { 0 };
    if whole - starts < 5 {
        return sum.to_owned();
    }
    let parted = |(at, figure): (usize, char)| {
        let is_parted = at > starts && at < whole && (whole - at).is_multiple_of(3);
        is_parted.then_some('\u{a0}').into_iter().chain([figure])
    };
    sum.char_indices().flat_map(parted).collect()
}

/// Writes what a repair costs, as far as that is known.
pub(crate) fn cost(repair: &Repair, prices: &Prices) -> Option<String> {
    let money = |figure: f64| money(figure, prices.currency.as_deref());
    let parts = repair.parts.map(|parts| format!("parts for {}", money(parts)));
    let hours = repair.hours.map(|hours| format!("{} h", shown(hours, 1)));
    let together = repair.parts.zip(repair.hours).zip(prices.labour_per_hour);
    let together = together.map(|((parts, hours), per_hour)| money(parts + hours * per_hour));
    let known: Vec<_> =
        [parts, hours, together.map(|sum| format!("together {sum}"))].into_iter().flatten().collect();
    (!known.is_empty()).then(|| known.join(", "))
}

/// Names a unit's circuit: by itself, or with its unit where others have circuits of that name.
pub(crate) fn titled(unit: &str, circuit: &str, has_several_units: bool) -> String {
    if has_several_units { format!("{unit}, {circuit}") } else { circuit.to_owned() }
}

/// Names the circuit of what was really done, or what it mends, for what stands behind it.
pub(crate) fn repaired_at(repair: &DoneRepair, has_several_units: bool) -> String {
    let unit = repair.unit.as_deref();
    let finding = repair.finding.as_deref().map(|finding| finding.trim_end_matches('.'));
    let of = |circuit: &str| {
        format!("{}: ", titled(unit.unwrap_or_default(), circuit, has_several_units && unit.is_some()))
    };
    repair.circuit.as_deref().or(finding).map(of).unwrap_or_default()
}

/// Writes what was really done, by whom, with which part and for how much.
pub(crate) fn done_repair(repair: &DoneRepair) -> String {
    let part = repair.part.as_ref().map(|part| format!(", with {part}")).unwrap_or_default();
    let cost = repair.cost.map(|cost| format!(", for {}", money(cost, repair.currency.as_deref())));
    format!("{}{part}, by {}{}", repair.did, repair.by, cost.unwrap_or_default())
}
