use clap::Args;

use super::answer::Answer;
use super::by::counted;
use super::units::ChosenUnit;
use crate::cli::status::Failure;
use crate::history::{GroupBy, Index};

/// Which circuits fail most: worn or leaking, of those tested.
#[derive(Debug, Args)]
pub(super) struct Failing {
    #[command(flatten)]
    unit: ChosenUnit,
}

impl Failing {
    pub(super) fn answer(self, index: &Index) -> Result<Answer, Failure> {
        let mut tables = Vec::new();
        for unit in self.unit.units(index)? {
            let mut groups = index.groups(GroupBy::Circuit, &unit, None).map_err(Failure::wrong)?;
            groups.sort_by(|one, other| other.counts.failed_share().total_cmp(&one.counts.failed_share()));
            tables.push(counted(format!("{unit}: which circuits fail most"), "circuit", &groups));
        }
        Ok(Answer { title: "Which circuits fail most".to_owned(), tables })
    }
}
