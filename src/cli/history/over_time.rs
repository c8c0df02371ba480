use jiff::Timestamp;

use super::answer::{AnswerSheet, ChosenUnit, vacuum_cell, vacuum_unit};
use crate::cli::status::Failure;
use crate::history::{ChartPoint, Index, Savings};
use crate::quantity::{shown, so_many};
use crate::record::minute;
use crate::report::{Cell, Chart, Picture, Table};
use crate::stats::ControlChart;

pub(super) fn repairs(index: &Index, unit: &ChosenUnit) -> Result<AnswerSheet, Failure> {
    let heads = ["circuit", "decided", "tested again", "hold now", "before, inHg", "after, inHg"];
    let mut tables = Vec::new();
    for unit in unit.units(index)? {
        let mut table = Table::new(format!("{unit}: before and after what was decided"), &heads);
        for repair in index.repairs(&unit)? {
            table.row([
                Cell::from(repair.circuit),
                Cell::from(repair.decided),
                Cell::count(repair.n),
                Cell::count(repair.holds_now),
                vacuum_cell(repair.before_pa),
                vacuum_cell(repair.after_pa),
            ]);
        }
        table.note("Means of the lowest standard reading of each test; only what was tested again counts. Whether what was decided was \
             done, or something else, no record shows: see job for what the shop noted.");
        tables.push(table);
    }
    Ok(AnswerSheet { title: "Before and after what was decided".to_owned(), tables })
}

pub(super) fn savings(index: &Index) -> Result<AnswerSheet, Failure> {
    let title = "What the decided repairs would save against replacements".to_owned();
    let heads =
        ["month", "money", "units to repair", "repairs would cost", "saved if done", "circuits not in it"];
    let mut table = Table::new(title.clone(), &heads);
    let mut totals: Vec<Savings> = Vec::new();
    let mut row = |month: &Savings| {
        table.row([
            Cell::from(&month.month),
            Cell::from(&month.currency),
            Cell::count(month.n),
            Cell::figure(month.total, shown(month.total, 2)),
            Cell::figure(month.saved, shown(month.saved, 2)),
            Cell::count(month.outside),
        ]);
    };
    for month in index.savings()? {
        row(&month);
        match totals.iter_mut().find(|total| total.currency == month.currency) {
            Some(total) => {
                total.n += month.n;
                total.total += month.total;
                total.saved += month.saved;
                total.outside += month.outside;
            }
            None => totals.push(Savings { month: "together".to_owned(), ..month }),
        }
    }
    totals.iter().for_each(row);
    table.note(
        "By the figures that the records were made with: what a replacement costs, less the repairs. A repair that was \
         decided counts, whether or not it has been done; where a replacement has no price, it does not. Each unit counts \
         once: a second repair costs more, and what was replaced after all is taken away again. Left out are units whose \
         last test found something amiss for which no repair was decided, and those whose earlier test has no such \
         figures. Circuits that were not tested or gave no verdict are not in it, counted at each test, and may cost \
         more. Advice, never a guarantee.",
    );
    Ok(AnswerSheet { title, tables: vec![table] })
}

pub(super) fn drift(index: &Index, last: u32) -> Result<AnswerSheet, Failure> {
    let mut tables = Vec::new();
    for rig in index.rigs()? {
        let points = index.drift(&rig, last)?;
        let heads = ["session", "checked", "plugged, inHg", "through, inHg", "found"];
        let mut table = Table::new(format!("Rig with {rig}: checks against the calibration"), &heads);
        for point in &points {
            let at = Timestamp::from_second(point.at).unwrap_or_default();
            table.row([
                Cell::from(&point.session),
                Cell::from(minute(at, point.minutes_ahead)),
                vacuum_cell(point.plugged),
                vacuum_cell(point.through),
                Cell::from(if point.drifted { "drifted" } else { "set" }),
            ]);
        }
        let charts = [
            chart("Plugged hose, higher by", &points, |point| point.plugged),
            chart("Through the orifice, higher by", &points, |point| point.through),
        ];
        table.picture = Some(Picture::Charts(charts.into_iter().flatten().collect()));
        table.note(
            "Against the calibration that each check looked back at. Limits: by the mean step from look to look over 1.128, no less \
             than rounding makes, and as wide as so many checks ask for (Student, Bonferroni). Charts of rigs that only scatter \
             were outside in fewer than 1 of 20 simulated cases.",
        );
        let n_drifted = points.iter().filter(|point| point.drifted).count();
        table.note(format!(
            "{n_drifted} of {} found the rig drifted, so that it was set again. A look that found it off, and was followed by one \
             that found it set, is not among them.",
            so_many(points.len(), "check")
        ));
        if points.len() < PROVISIONAL {
            table.note(format!(
                "Provisional: with fewer than {PROVISIONAL} checks the limits are wide, and a small drift does not show."
            ));
        }
        tables.push(table);
    }
    Ok(AnswerSheet { title: "Drift of the rig".to_owned(), tables })
}

/// Fewer checks than that make limits that are still far from those of very many (common practice, no source).
pub(super) const PROVISIONAL: usize = 50;

/// Charts what checks found, oldest first; those of one calibration are a run.
fn chart(title: &str, points: &[ChartPoint], value: impl Fn(&ChartPoint) -> f64) -> Option<Chart> {
    let runs =
        points.chunk_by(|one, next| (&one.session, one.calibration) == (&next.session, next.calibration));
    let value = |point: &ChartPoint| vacuum_unit().from_si(value(point));
    let runs: Vec<Vec<f64>> = runs.map(|run| run.iter().map(value).collect()).collect();
    let division = points.iter().map(|point| point.division).fold(0.0, f64::max);
    let chart = ControlChart::of(&runs, vacuum_unit().from_si(division))?;
    let sessions = points.iter().map(|point| point.session.clone()).collect();
    Some(Chart { title: title.to_owned(), unit: vacuum_unit().symbol, chart, sessions })
}
