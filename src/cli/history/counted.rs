use clap::ValueEnum;

use super::answer::{AnswerSheet, ChosenUnit, vacuum_cell};
use crate::cli::status::Failure;
use crate::history::{Group, GroupBy, Index, Tests};
use crate::leak::Verdict;
use crate::quantity::so_many;
use crate::record::VerdictCounts;
use crate::report::{Cell, Picture, Shares, Table};
use crate::tell;

/// What first tests are set side by side by.
#[derive(Debug, Clone, Copy, ValueEnum)]
pub(super) enum CountedBy {
    /// Who tested
    Technician,
    /// The orifice and gauge
    Rig,
    /// The month
    Month,
}

/// Which circuits fail most in first tests, of those tested.
pub(super) fn failing(index: &Index, unit: &ChosenUnit) -> Result<AnswerSheet, Failure> {
    let mut tables = Vec::new();
    for unit in unit.units(index)? {
        let mut groups = index.groups(GroupBy::Circuit, Tests::First, &unit, None)?;
        let failed = |group: &Group| group.failed_share().unwrap_or(-1.0);
        groups.sort_by(|one, other| failed(other).total_cmp(&failed(one)));
        let mut table = counted(format!("{unit}: which circuits fail most"), "circuit", &groups);
        table.note(tested_again(index, &unit, None)?);
        tables.push(table);
    }
    Ok(AnswerSheet { title: "Which circuits fail most".to_owned(), tables })
}

pub(super) fn by(
    index: &Index,
    by: CountedBy,
    circuit: Option<&str>,
    unit: &ChosenUnit,
) -> Result<AnswerSheet, Failure> {
    let (by, head) = match by {
        CountedBy::Technician => (GroupBy::Technician, "technician"),
        CountedBy::Rig => (GroupBy::Rig, "rig"),
        CountedBy::Month => (GroupBy::Month, "month"),
    };
    let (units, circuit) = unit.units_with(index, circuit)?;
    let mut tables = Vec::new();
    for unit in units {
        let groups = index.groups(by, Tests::First, &unit, circuit.as_deref())?;
        let of = circuit.as_ref().map(|circuit| format!(", {circuit}")).unwrap_or_default();
        let mut table = counted(format!("{unit}{of}: by {head}"), head, &groups);
        table.note(tested_again(index, &unit, circuit.as_deref())?);
        tables.push(table);
    }
    Ok(AnswerSheet { title: format!("Verdicts by {head}"), tables })
}

/// What a share of failures is.
const FAILED: &str = "Failed: worn or leaks, or a passage too open or too tight, of those tested; what was left undecided (retest) is one of those \
     tested. Mean: of all standard readings but those with limits of their own.";

/// Says what is counted, and what was tested again.
fn tested_again(index: &Index, unit: &str, circuit: Option<&str>) -> Result<String, Failure> {
    let again = index.groups(GroupBy::Circuit, Tests::Again, unit, circuit)?;
    let tested: usize = again.iter().map(Group::tested).sum();
    let holds: usize = again.iter().map(|group| group.counts.sound()).sum();
    Ok(match tested {
        0 => FAILED.to_owned(),
        1 => format!(
            "{FAILED} First tests only; one circuit was tested again, as after a repair, and {}.",
            if holds == 1 { "is sound" } else { "is not sound" }
        ),
        _ => format!(
            "{FAILED} First tests only; {tested} circuits were tested again, as after a repair, and {holds} of them are sound. \
             History repairs shows those about which something had been decided."
        ),
    })
}

fn counted(title: String, head: &'static str, groups: &[Group]) -> Table {
    // The columns that most shops have nothing for stand only where there is something.
    const ALWAYS: [Option<Verdict>; 5] =
        [Some(Verdict::Holds), Some(Verdict::Worn), Some(Verdict::Leaks), Some(Verdict::Retest), None];
    let is_shown = |verdict: &Option<Verdict>| {
        ALWAYS.contains(verdict) || groups.iter().any(|group| group.counts.count(*verdict) > 0)
    };
    let verdicts: Vec<_> =
        VerdictCounts::default().each().map(|(verdict, _)| verdict).filter(is_shown).collect();
    let mut heads = vec![head, "tested"];
    heads.extend(verdicts.iter().map(|verdict| tell::verdict_word(*verdict)));
    heads.extend(["failed, %", "mean, inHg"]);
    let mut table = Table::new(title, &heads);
    for group @ Group { label, counts, mean_pa, .. } in groups {
        let mut cells = vec![Cell::from(label), Cell::count(group.tested())];
        cells.extend(verdicts.iter().map(|verdict| Cell::count(counts.count(*verdict))));
        let failed =
            group.failed_share().map(|share| Cell::figure(share * 100.0, format!("{:.1}", share * 100.0)));
        cells.extend([failed.unwrap_or_default(), vacuum_cell(*mean_pa)]);
        table.row(cells);
    }
    let shares =
        groups.iter().map(|group| Shares { label: group.label.clone(), counts: group.counts.clone() });
    table.picture = Some(Picture::Shares(shares.collect()));
    match groups.iter().map(|group| group.n_differing).sum::<usize>() {
        0 => {}
        n => table
            .note(format!("Left out of the means: {} of which no two takes agree.", so_many(n, "reading"))),
    }
    table
}
