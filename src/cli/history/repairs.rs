use clap::Args;

use super::answer::Answer;
use super::units::{ChosenUnit, vacuum_if};
use crate::cli::status::Failure;
use crate::history::Index;
use crate::report::Table;

/// Circuits before and after what was decided about them.
#[derive(Debug, Args)]
pub(super) struct Repairs {
    #[command(flatten)]
    unit: ChosenUnit,
}

impl Repairs {
    pub(super) fn answer(self, index: &Index) -> Result<Answer, Failure> {
        let heads = ["circuit", "decided", "tested again", "hold now", "before, inHg", "after, inHg"];
        let mut tables = Vec::new();
        for unit in self.unit.units(index)? {
            let mut table = Table::new(format!("{unit}: before and after repairs"), &heads);
            for repair in index.repairs(&unit).map_err(Failure::wrong)? {
                table.row([
                    repair.circuit,
                    repair.decided,
                    repair.n.to_string(),
                    repair.holds_now.to_string(),
                    vacuum_if(repair.before_pa),
                    vacuum_if(repair.after_pa),
                ]);
            }
            table.note(
                "Means of the lowest standard reading of each test; only what was tested again counts.",
            );
            tables.push(table);
        }
        Ok(Answer { title: "Before and after repairs".to_owned(), tables })
    }
}
