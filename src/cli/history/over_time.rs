use jiff::Timestamp;

use super::answer::{AnswerSheet, ChosenUnit, vacuum, vacuum_if, vacuum_unit};
use crate::cli::status::Failure;
use crate::history::{ChartPoint, Index, Savings};
use crate::quantity::shown;
use crate::report::{Chart, Picture, Table};
use crate::stats::ControlChart;

pub(super) fn repairs(index: &Index, unit: &ChosenUnit) -> Result<AnswerSheet, Failure> {
    let heads = ["circuit", "decided", "tested again", "hold now", "before, inHg", "after, inHg"];
    let mut tables = Vec::new();
    for unit in unit.units(index)? {
        let mut table = Table::new(format!("{unit}: before and after repairs"), &heads);
        for repair in index.repairs(&unit)? {
            table.row([
                repair.circuit,
                repair.decided,
                repair.n.to_string(),
                repair.holds_now.to_string(),
                vacuum_if(repair.before_pa),
                vacuum_if(repair.after_pa),
            ]);
        }
        table.note("Means of the lowest standard reading of each test; only what was tested again counts.");
        tables.push(table);
    }
    Ok(AnswerSheet { title: "Before and after repairs".to_owned(), tables })
}

pub(super) fn savings(index: &Index) -> Result<AnswerSheet, Failure> {
    let title = "What the decided repairs save against replacements".to_owned();
    let heads = ["month", "money", "units to repair", "repairs cost", "saved if done", "circuits not in it"];
    let mut table = Table::new(title.clone(), &heads);
    let mut totals: Vec<Savings> = Vec::new();
    let mut row = |month: &Savings| {
        table.row([
            month.month.clone(),
            month.currency.clone(),
            month.n.to_string(),
            shown(month.total, 2),
            shown(month.saved, 2),
            month.outside.to_string(),
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
         once: a second repair costs more, and what was replaced after all is taken away again. Circuits that were \
         undecided or not tested are not in it, counted at each test, and may cost more. Advice, never a guarantee.",
    );
    Ok(AnswerSheet { title, tables: vec![table] })
}

pub(super) fn drift(index: &Index, last: u32) -> Result<AnswerSheet, Failure> {
    let mut tables = Vec::new();
    for rig in index.rigs()? {
        let points = index.drift(&rig, last)?;
        let heads = ["session", "checked (UTC)", "plugged, inHg", "through, inHg"];
        let mut table = Table::new(format!("Rig with {rig}: checks against the calibration"), &heads);
        for point in &points {
            let at = Timestamp::from_second(point.at).unwrap_or_default();
            table.row([
                point.session.clone(),
                at.strftime("%Y-%m-%d %H:%M").to_string(),
                vacuum(point.plugged),
                vacuum(point.through),
            ]);
        }
        let charts = [
            chart("Plugged hose, higher by", points.iter().map(|point: &ChartPoint| point.plugged)),
            chart("Through the orifice, higher by", points.iter().map(|point| point.through)),
        ];
        table.picture = Some(Picture::Charts(charts.into_iter().flatten().collect()));
        table.note(
            "Limits: the mean and three standard deviations, by the mean step from check to check over 1.128 \
             (Shewhart chart of individuals).",
        );
        tables.push(table);
    }
    Ok(AnswerSheet { title: "Drift of the rig".to_owned(), tables })
}

fn chart(title: &str, values: impl Iterator<Item = f64>) -> Option<Chart> {
    let values: Vec<f64> = values.map(|pa| vacuum_unit().from_si(pa)).collect();
    let chart = ControlChart::of(&values)?;
    Some(Chart { title: title.to_owned(), unit: vacuum_unit().symbol, chart })
}
