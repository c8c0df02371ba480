use clap::Args;
use jiff::Timestamp;

use super::answer::Answer;
use super::units::{vacuum, vacuum_unit};
use crate::cli::status::Failure;
use crate::history::{ChartPoint, Index};
use crate::report::{Chart, Picture, Table};
use crate::stats::ControlChart;

/// Control charts of the rig's checks against its calibrations.
#[derive(Debug, Args)]
pub(super) struct Drift {
    /// How many checks to show, the latest
    #[arg(long, default_value_t = 50, value_parser = clap::value_parser!(u32).range(2..=1000))]
    last: u32,
}

impl Drift {
    pub(super) fn answer(self, index: &Index) -> Result<Answer, Failure> {
        let mut tables = Vec::new();
        for rig in index.rigs().map_err(Failure::wrong)? {
            let points = index.drift(&rig, self.last).map_err(Failure::wrong)?;
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
                chart("Plugged hose, deeper by", points.iter().map(|point: &ChartPoint| point.plugged)),
                chart("Through the orifice, deeper by", points.iter().map(|point| point.through)),
            ];
            table.picture = Some(Picture::Charts(charts.into_iter().flatten().collect()));
            table.note(
                "Limits: the mean and three standard deviations, by the mean step from check to check over 1.128 \
                 (Shewhart chart of individuals).",
            );
            tables.push(table);
        }
        Ok(Answer { title: "Drift of the rig".to_owned(), tables })
    }
}

fn chart(title: &str, values: impl Iterator<Item = f64>) -> Option<Chart> {
    let values: Vec<f64> = values.map(|pa| vacuum_unit().from_si(pa)).collect();
    let chart = ControlChart::of(&values)?;
    Some(Chart { title: title.to_owned(), unit: vacuum_unit().symbol, chart })
}
