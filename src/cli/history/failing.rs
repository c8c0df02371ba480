use clap::Args;

use super::answer::Answer;
use super::by::{counted, tested_again};
use super::units::ChosenUnit;
use crate::cli::status::Failure;
use crate::history::{GroupBy, Index, Tests};

/// Which circuits fail most in first tests: worn or leaking, of those tested.
#[derive(Debug, Args)]
pub(super) struct Failing {
    #[command(flatten)]
    unit: ChosenUnit,
}

impl Failing {
    pub(super) fn answer(self, index: &Index) -> Result<Answer, Failure> {
        let mut tables = Vec::new();
        for unit in self.unit.units(index)? {
            let mut groups =
                index.groups(GroupBy::Circuit, Tests::First, &unit, None).map_err(Failure::wrong)?;
            groups.sort_by(|one, other| other.counts.failed_share().total_cmp(&one.counts.failed_share()));
            let mut table = counted(format!("{unit}: which circuits fail most"), "circuit", &groups);
            table.note(tested_again(index, &unit, None)?);
            tables.push(table);
        }
        Ok(Answer { title: "Which circuits fail most".to_owned(), tables })
    }
}
