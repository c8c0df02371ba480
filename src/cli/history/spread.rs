use clap::Args;

use super::answer::Answer;
use super::units::{ChosenUnit, vacuum};
use crate::cli::status::Failure;
use crate::history::Index;
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
        let mut table = Table::new(title.clone(), &["figure", "inHg"]);
        if let Some(spread) = index.spread_of(&unit, &circuit).map_err(Failure::wrong)? {
            let mut say = |what: &str, pa: f64| table.row([what.to_owned(), vacuum(pa)]);
            say("mean", spread.mean);
            say("standard deviation", spread.deviation);
            for (share, what) in [
                (0.05, "1 in 20 is at or below"),
                (0.25, "1 in 4 is at or below"),
                (0.5, "the middle one"),
                (0.75, "1 in 4 is above"),
                (0.95, "1 in 20 is above"),
            ] {
                say(what, spread.quantile(share));
            }
            if let Some(limits) = &spread.limits {
                say("holds from", limits.holds().si());
                say("leaks to", limits.leaks().si());
            }
            table.note(format!("{} readings.", spread.n));
            table.picture = Some(Picture::Histogram(Histogram { bins: spread.bins, limits: spread.limits }));
        }
        Ok(Answer { title, tables: vec![table] })
    }
}
