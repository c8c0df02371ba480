use super::answer::{AnswerSheet, vacuum, vacuum_unit};
use super::class::{STUDY, in_order, readers};
use super::over_time;
use crate::cli::status::Failure;
use crate::history::{Group, GroupBy, Index, Savings, Tests};
use crate::quantity::{shown, so_many};
use crate::record::Shop;
use crate::report::{Bar, Bars, Cell, Picture, Table};
use crate::stats::GaugeStudy;
use crate::tell;

/// The most bars of a picture.
const MOST: usize = 8;

/// A picture with its sentence for each thing that a class or a shop looks at first; of what there is
/// nothing, it is silent.
pub(super) fn overview(index: &Index, own: Option<&Shop>) -> Result<AnswerSheet, Failure> {
    let units = index.units()?;
    let parts = [failing(index, &units)?, repaired(index, &units)?, money(index)?, hands(index, own)?];
    let tables: Vec<Table> = parts.into_iter().flatten().chain(rigs(index)?).collect();
    Ok(AnswerSheet { title: "Overview".to_owned(), tables })
}

fn pictured(title: String, sentence: String, reaches: f64, bars: Vec<Bar>) -> Table {
    // For programs; people see the picture.
    let mut table = Table::new(title, &["of", "from", "to", "in words"]);
    for Bar { name, from, to, figure } in &bars {
        let end = |end: f64| Cell::figure(end, shown(end, 4));
        table.row([Cell::from(name), end(*from), end(*to), Cell::from(figure)]);
    }
    table.lead = Some(sentence);
    table.picture = Some(Picture::Bars(Bars { bars, reaches }));
    table
}

/// Names a circuit, with its unit where there are several.
fn name(units: &[String], unit: &str, circuit: &str) -> String {
    if units.len() > 1 { format!("{unit}, {circuit}") } else { circuit.to_owned() }
}

fn failing(index: &Index, units: &[String]) -> Result<Vec<Table>, Failure> {
    let mut circuits: Vec<(String, Group)> = Vec::new();
    for unit in units {
        let groups = index.groups(GroupBy::Circuit, Tests::First, unit, None)?;
        let tested = groups.into_iter().filter(|group| group.tested() > 0);
        circuits.extend(tested.map(|group| (name(units, unit, &group.label), group)));
    }
    let tested: usize = circuits.iter().map(|(_, group)| group.tested()).sum();
    let amiss: usize = circuits.iter().map(|(_, group)| group.counts.amiss()).sum();
    let share = |group: &Group| group.failed_share().unwrap_or_default();
    let rank = |group: &Group| (share(group), group.tested() as f64);
    circuits.sort_by(|(_, one), (_, other)| {
        let ((share, n), (other_share, other_n)) = (rank(one), rank(other));
        other_share.total_cmp(&share).then(other_n.total_cmp(&n))
    });
    circuits.truncate(MOST);
    let Some((worst, group)) = circuits.first() else { return Ok(Vec::new()) };
    let most = match group.counts.amiss() {
        0 => String::new(),
        n => format!(" Most often {worst}: {n} of {}.", group.tested()),
    };
    let sentence = format!(
        "Not as they should be in first tests: {amiss} of {} ({} %).{most}",
        so_many(tested, "circuit"),
        shown(100.0 * amiss as f64 / tested as f64, 1)
    );
    let bar = |(name, group): &(String, Group)| Bar {
        name: name.clone(),
        from: 0.0,
        to: share(group),
        figure: format!("{} of {}", group.counts.amiss(), group.tested()),
    };
    Ok(vec![pictured("What fails most".to_owned(), sentence, 1.0, circuits.iter().map(bar).collect())])
}

fn repaired(index: &Index, units: &[String]) -> Result<Vec<Table>, Failure> {
    let mut repairs = Vec::new();
    for unit in units {
        repairs.extend(index.repairs(unit)?.into_iter().map(|repair| (unit, repair)));
    }
    let n: u64 = repairs.iter().map(|(_, repair)| repair.n).sum();
    let hold: u64 = repairs.iter().map(|(_, repair)| repair.holds_now).sum();
    if n == 0 {
        return Ok(Vec::new());
    }
    repairs.sort_by_key(|(_, repair)| std::cmp::Reverse(repair.n));
    let bars = repairs.iter().filter_map(|(unit, repair)| {
        let (from, to) = (repair.before_pa?, repair.after_pa?);
        let circuit = name(units, unit, &repair.circuit);
        Some(Bar {
            name: format!("{circuit}: {}", repair.decided),
            from: vacuum_unit().from_si(from),
            to: vacuum_unit().from_si(to),
            figure: format!("{} to {} {}", vacuum(from), vacuum(to), vacuum_unit().symbol),
        })
    });
    let circuits = so_many(n, "circuit");
    let sentence = format!(
        "Tested again after what had been decided about them: {circuits}, of which hold now: {hold}. Whether that was done, no record \
         shows. Each bar goes from the mean of the lowest standard readings before to that after; deeper is tighter."
    );
    Ok(vec![pictured(
        "Before and after what was decided".to_owned(),
        sentence,
        0.0,
        bars.take(MOST).collect(),
    )])
}

fn money(index: &Index) -> Result<Vec<Table>, Failure> {
    let months = index.savings()?;
    let mut currencies: Vec<&str> = months.iter().map(|month| month.currency.as_str()).collect();
    currencies.sort_unstable();
    currencies.dedup();
    let of = |currency: &str| {
        let money = |figure: f64| tell::money(figure, Some(currency).filter(|currency| !currency.is_empty()));
        let months: Vec<&Savings> = months.iter().filter(|month| month.currency == currency).collect();
        let sum = |figure: fn(&Savings) -> f64| months.iter().map(|month| figure(month)).sum::<f64>();
        let sentence = format!(
            "By the figures at hand, what was decided would cost {} and save {} against replacements, if it is done and then \
             holds. Advice, never a guarantee.",
            money(sum(|month| month.total)),
            money(sum(|month| month.saved))
        );
        let latest = months.len().saturating_sub(MOST);
        let bar = |month: &&Savings| Bar {
            name: month.month.clone(),
            from: 0.0,
            to: month.saved,
            figure: money(month.saved),
        };
        let bars = months[latest..].iter().map(bar).collect();
        pictured("Saved if done, by month".to_owned(), sentence, 0.0, bars)
    };
    Ok(currencies.into_iter().map(of).collect())
}

/// How the hands of a class differ.
fn hands(index: &Index, own: Option<&Shop>) -> Result<Vec<Table>, Failure> {
    let readings = in_order(index, own, STUDY)?;
    let Ok(study) = GaugeStudy::of(&readings) else { return Ok(Vec::new()) };
    let components = study.components(study.may_be_pooled());
    let sentence = format!(
        "One hand that reads again scatters by {} {unit}, hands differ by {} {unit} (standard deviations). The dots: how far each \
         reading lies from the mean of its piece.",
        vacuum(components.repeatability),
        vacuum(components.operators),
        unit = vacuum_unit().symbol
    );
    Ok(vec![Table { lead: Some(sentence), ..readers(&study, &readings) }])
}

/// The charts of the rigs that were checked often enough for one.
fn rigs(index: &Index) -> Result<Vec<Table>, Failure> {
    let tables = over_time::drift(index, 50)?.tables.into_iter();
    Ok(tables
        .filter_map(|table| {
            let Some(Picture::Charts(charts)) = &table.picture else { return None };
            let n_signals: usize = charts.iter().map(|chart| chart.chart.signals.len()).sum();
            let sentence = match (n_signals, table.rows.len()) {
                (0, n_checks) if n_checks < over_time::PROVISIONAL => format!(
                    "Checks so far: {n_checks}. None stands out, and with so few a small drift does not show."
                ),
                (0, n_checks) => format!("Nothing out of the ordinary in the last {n_checks} checks."),
                (n, n_checks) => {
                    format!("Out of the ordinary {n} times in the last {n_checks} checks: look at the rig.")
                }
            };
            let is_charted = !charts.is_empty();
            is_charted.then(|| Table { lead: Some(sentence), notes: Vec::new(), ..table })
        })
        .collect())
}
