use clap::Args;

use super::answer::Answer;
use super::units::{ChosenUnit, vacuum};
use crate::cli::status::Failure;
use crate::history::{Index, ReadingSpread, Tests};
use crate::leak::Limits;
use crate::quantity::Pressure;
use crate::report::{Histogram, Picture, Table};

/// How the readings of a circuit spread.
#[derive(Debug, Args)]
pub(super) struct Spread {
    /// The circuit
    circuit: String,
    #[command(flatten)]
    unit: ChosenUnit,
}

impl Spread {
    pub(super) fn answer(self, index: &Index) -> Result<Answer, Failure> {
        let (unit, circuit) = self.unit.circuit(index, &self.circuit)?;
        let title = format!("{unit}, {circuit}: how the standard readings spread");
        let of = |tests| index.spread_of(tests, &unit, &circuit).map_err(Failure::wrong);
        let (first, again) = (of(Tests::First)?, of(Tests::Again)?);
        let mut heads = vec!["figure", "first tests, inHg"];
        heads.extend(again.as_ref().map(|_| "tested again, inHg"));
        let mut table = Table::new(title.clone(), &heads);
        let columns: Vec<Option<ReadingSpread>> = [first].into_iter().chain(again.map(Some)).collect();
        let mut say = |what: &str, figure: &dyn Fn(&ReadingSpread) -> Option<String>| {
            let cells = columns.iter().map(|of| of.as_ref().and_then(figure).unwrap_or_default());
            table.row([what.to_owned()].into_iter().chain(cells));
        };
        say("readings", &|of| Some(of.summary.n.to_string()));
        say("of tests left undecided", &|of| Some(of.n_undecided.to_string()));
        say("mean", &|of| Some(vacuum(of.summary.mean)));
        say("standard deviation", &|of| of.summary.deviation.map(vacuum));
        // One in twenty is nothing to be told of fewer than twenty.
        for (share, least, what) in [
            (0.05, 20, "1 in 20 is at or below"),
            (0.25, 4, "1 in 4 is at or below"),
            (0.5, 1, "half are at or below"),
            (0.75, 4, "1 in 4 is above"),
            (0.95, 20, "1 in 20 is above"),
        ] {
            say(what, &|of| (of.summary.n >= least).then(|| vacuum(of.quantile(share))));
        }
        for (what, limit) in [
            ("holds from", (|limits| limits.holds()) as fn(&Limits) -> Pressure),
            ("leaks to", |limits| limits.leaks()),
        ] {
            say(what, &|of| of.limits.as_ref().map(|limits| vacuum(limit(limits).si())));
        }
        if let Some(first) = columns.into_iter().next().flatten() {
            table.note(
                "The picture shows the first tests. A reading is marked by the side of the limits on which it lies; next to \
                 a limit it may have decided nothing.",
            );
            table.picture = Some(Picture::Histogram(Histogram { bins: first.bins(), limits: first.limits }));
        }
        Ok(Answer { title, tables: vec![table] })
    }
}
