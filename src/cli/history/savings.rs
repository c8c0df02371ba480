use clap::Args;

use super::answer::Answer;
use crate::cli::status::Failure;
use crate::history::Index;
use crate::quantity::shown;
use crate::report::Table;

/// What the shop saved by the figures at hand.
#[derive(Debug, Args)]
pub(super) struct Savings {}

impl Savings {
    pub(super) fn answer(self, index: &Index) -> Result<Answer, Failure> {
        let title = "What the shop saved against replacements".to_owned();
        let mut table =
            Table::new(title.clone(), &["month", "money", "units repaired", "repairs cost", "saved"]);
        let mut totals: Vec<(String, i64, f64, f64)> = Vec::new();
        for month in index.savings().map_err(Failure::wrong)? {
            match totals.iter_mut().find(|(currency, ..)| *currency == month.currency) {
                Some((_, n, total, saved)) => {
                    *n += month.n;
                    *total += month.total;
                    *saved += month.saved;
                }
                None => totals.push((month.currency.clone(), month.n, month.total, month.saved)),
            }
            table.row([
                month.month,
                month.currency,
                month.n.to_string(),
                shown(month.total, 2),
                shown(month.saved, 2),
            ]);
        }
        for (currency, n, total, saved) in totals {
            table.row(["together".to_owned(), currency, n.to_string(), shown(total, 2), shown(saved, 2)]);
        }
        table.note(
            "By the figures that the records were made with: what a replacement costs, less the repairs. Only units about \
             which something was decided and for which a replacement has a price count, each once: a second repair costs \
             more, and what was replaced after all is taken away again. Advice, never a guarantee.",
        );
        Ok(Answer { title, tables: vec![table] })
    }
}
