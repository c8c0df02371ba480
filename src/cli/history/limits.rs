use std::collections::BTreeMap;

use super::answer::{AnswerSheet, ChosenUnit, vacuum_cell, vacuum_unit};
use crate::cli::status::Failure;
use crate::history::{Index, ReadingSpread, Tests};
use crate::leak::Limits;
use crate::quantity::{Pressure, so_many};
use crate::report::{Cell, Histogram, Picture, Table};
use crate::tell;

pub(super) fn spread(index: &Index, circuit: &str, unit: &ChosenUnit) -> Result<AnswerSheet, Failure> {
    let (unit, circuit) = unit.circuit(index, circuit)?;
    let title = format!("{unit}, {circuit}: how the standard readings spread");
    let of = |tests| index.spread_of(tests, &unit, &circuit);
    let (first, again) = (of(Tests::First)?, of(Tests::Again)?);
    let mut heads = vec!["figure", "first tests, inHg"];
    heads.extend(again.as_ref().map(|_| "tested again, inHg"));
    let mut table = Table::new(title.clone(), &heads);
    let columns: Vec<Option<ReadingSpread>> = [first].into_iter().chain(again.map(Some)).collect();
    let mut say = |what: &str, figure: &dyn Fn(&ReadingSpread) -> Option<Cell>| {
        let cells = columns.iter().map(|of| of.as_ref().and_then(figure).unwrap_or_default());
        table.row([Cell::from(what)].into_iter().chain(cells));
    };
    say("readings", &|of| Some(Cell::count(of.summary.n)));
    say("of tests left undecided", &|of| Some(Cell::count(of.n_undecided)));
    if columns.iter().flatten().any(|of| of.n_differing > 0) {
        say("left out, as no two takes agree", &|of| Some(Cell::count(of.n_differing)));
    }
    say("mean", &|of| Some(vacuum_cell(of.summary.mean)));
    say("standard deviation", &|of| of.summary.deviation.map(vacuum_cell));
    // One in twenty is nothing to be told of fewer than twenty.
    for (share, least, what) in [
        (0.05, 20, "1 in 20 is at or below"),
        (0.25, 4, "1 in 4 is at or below"),
        (0.5, 1, "half are at or below"),
        (0.75, 4, "1 in 4 is above"),
        (0.95, 20, "1 in 20 is above"),
    ] {
        say(what, &|of| (of.summary.n >= least).then(|| vacuum_cell(of.quantile(share))));
    }
    if let Some(limits) = columns.iter().flatten().find_map(|of| of.limits) {
        let [lower, upper] = tell::limit_names(&limits);
        say(upper, &|of| of.limits.map(|limits| vacuum_cell(limits.upper().si())));
        say(lower, &|of| of.limits.map(|limits| vacuum_cell(limits.lower().si())));
    }
    if let Some(first) = columns.into_iter().next().flatten() {
        table.note(
            "The picture shows the first tests. A reading is marked by the side of the limits on which it lies; next to \
             a limit it may have decided nothing.",
        );
        table.picture = Some(Picture::Histogram(Histogram { bins: first.bins(), limits: first.limits }));
    }
    Ok(AnswerSheet { title, tables: vec![table] })
}

pub(super) fn judged(
    index: &Index,
    circuit: &str,
    (holds, leaks): (Option<Pressure>, Option<Pressure>),
    between: Option<&[Pressure]>,
    unit: &ChosenUnit,
) -> Result<AnswerSheet, Failure> {
    let (unit, circuit) = unit.circuit(index, circuit)?;
    let now =
        index.latest_limits(&unit, &circuit)?.ok_or_else(|| Failure::wrong("the circuit has no limits"))?;
    let limits = match between {
        Some([from, to]) => Limits::window(*from, *to),
        _ if now.is_window() => {
            return Err(Failure::wrong(format!(
                "{circuit} is a passage that is to be open; name a window with --between"
            )));
        }
        _ => Limits::new(holds.unwrap_or(now.upper()), leaks.unwrap_or(now.lower())),
    };
    let limits = limits.map_err(Failure::wrong)?;
    let judged = index.judged_by(&unit, &circuit, &limits)?;
    let [lower, upper] = tell::limit_names(&limits);
    let title = format!(
        "{unit}, {circuit}: {upper} {}, {lower} {} instead of {} and {}",
        limits.upper().in_unit(vacuum_unit()),
        limits.lower().in_unit(vacuum_unit()),
        now.upper().in_unit(vacuum_unit()),
        now.lower().in_unit(vacuum_unit())
    );
    let mut summary = Table::new(title.clone(), &["was", "would be", "records"]);
    let mut counts: BTreeMap<(String, String), usize> = BTreeMap::new();
    for changed in &judged.changed {
        *counts.entry((changed.was.to_string(), changed.would_be.to_string())).or_default() += 1;
    }
    for ((was, would_be), n) in counts {
        summary.row([Cell::from(was), Cell::from(would_be), Cell::count(n)]);
    }
    summary.note(format!(
        "Of {}, {} would be judged otherwise, those after a repair included.",
        so_many(judged.n_records, "record"),
        judged.changed.len()
    ));
    let mut records = Table::new("The records", &["session", "was", "would be"]);
    for changed in judged.changed {
        records.row([changed.session, changed.was.to_string(), changed.would_be.to_string()]);
    }
    let tables = if records.rows.is_empty() { vec![summary] } else { vec![summary, records] };
    Ok(AnswerSheet { title, tables })
}
