use clap::Args;

use super::answer::{AnswerSheet, ChosenUnit, known_as, vacuum_cell, vacuum_unit};
use crate::cli::status::Failure;
use crate::history::{GoodUnit, Index};
use crate::leak::{Baseline, HoldsRule, Promise, Verdict};
use crate::quantity::shown;
use crate::report::{Cell, Table, baseline_advice, ranked};

#[derive(Debug, Args)]
pub(super) struct BaselineArguments {
    /// The circuit; every circuit of the unit where none is named
    circuit: Option<String>,
    /// A session whose unit was good; once for each
    #[arg(long, value_name = "SESSION")]
    good: Vec<String>,
    /// Every unit in the records was good
    #[arg(long, conflicts_with = "good")]
    all_good: bool,
    /// The share of good units that shall hold, in percent
    #[arg(long, value_name = "PERCENT", default_value_t = 95.0)]
    share: f64,
    /// How sure that shall be, in percent
    #[arg(long, value_name = "PERCENT", default_value_t = 95.0)]
    confidence: f64,
    #[command(flatten)]
    unit: ChosenUnit,
}

const HEADS: [&str; 9] =
    ["circuit", "units", "mean", "deviation", "holds is", "holds", "leaks", "holds now", "more"];

impl BaselineArguments {
    pub(super) fn answer(self, index: &Index) -> Result<AnswerSheet, Failure> {
        let promise = Promise::new(self.share / 100.0, self.confidence / 100.0).map_err(Failure::wrong)?;
        let (units, only) = self.unit.units_with(index, self.circuit.as_deref())?;
        if self.good.is_empty() && !self.all_good {
            return Err(Failure::wrong(
                "which units were good? Name each with --good SESSION (records list names them), or say --all-good where \
                 every one in the records was",
            ));
        }
        let sessions = self.sessions(index, &units)?;
        let mut tables = Vec::new();
        for unit in units {
            let circuits = match &only {
                Some(circuit) => vec![circuit.clone()],
                None => index.circuits(&unit)?,
            };
            let mut proposals = Proposals::of(&unit);
            for circuit in circuits {
                proposals.add(index, &unit, circuit, sessions.as_deref(), promise)?;
            }
            if sessions.is_none() || !proposals.are_none() {
                tables.push(proposals.told());
            }
        }
        if let Some(last) = tables.last_mut() {
            last.note("Each session counts as a unit: of one that several have read, name a single session with --good.");
        }
        Ok(AnswerSheet { title: "Limits from good units".to_owned(), tables })
    }

    /// Returns the sessions that were named; none where all are meant.
    fn sessions(&self, index: &Index, units: &[String]) -> Result<Option<Vec<String>>, Failure> {
        if self.all_good {
            return Ok(None);
        }
        let mut known = Vec::new();
        for unit in units {
            known.extend(index.sessions(unit)?);
        }
        let named = self.good.iter().map(|named| known_as(named, &known, "session"));
        named.collect::<Result<_, _>>().map(Some)
    }
}

/// What is proposed for the circuits of a unit.
struct Proposals {
    table: Table,
    made: Vec<(String, Baseline)>,
    /// The circuits of which too few were read.
    scarce: Vec<String>,
    odd_ones: Vec<String>,
    /// How many readings are of units that were tested again.
    n_again: usize,
    /// How many were judged worn or leaking.
    n_failed: usize,
}

impl Proposals {
    fn of(unit: &str) -> Proposals {
        let table = Table::new(format!("{unit}: limits from good units, in inHg"), &HEADS);
        let (made, scarce, odd_ones) = (Vec::new(), Vec::new(), Vec::new());
        Proposals { table, made, scarce, odd_ones, n_again: 0, n_failed: 0 }
    }

    fn add(
        &mut self,
        index: &Index,
        unit: &str,
        circuit: String,
        sessions: Option<&[String]>,
        promise: Promise,
    ) -> Result<(), Failure> {
        let now = index.latest_limits(unit, &circuit)?;
        if now.is_some_and(|limits| limits.is_window()) {
            let told = "it is to be open, and limits are proposed for what is to hold.";
            self.table.note(format!("{circuit}: {told}"));
            return Ok(());
        }
        let good = index.good_units(unit, &circuit, sessions)?;
        self.n_again += good.iter().filter(|unit| unit.is_again).count();
        let is_failed = |unit: &&GoodUnit| unit.verdict.is_some_and(Verdict::is_amiss);
        self.n_failed += good.iter().filter(is_failed).count();
        let readings: Vec<_> = good.iter().map(|unit| unit.standard).collect();
        match Baseline::of(&readings, promise) {
            Ok(proposal) => {
                if let (Some(_), Some(odd)) = (&proposal.without_odd, least(&good)) {
                    self.odd_ones.push(format!("{circuit} in {}", odd.session));
                }
                self.table.row(cells(&circuit, &proposal, now.map(|limits| limits.upper().si())));
                self.made.push((circuit, proposal));
            }
            Err(_) if readings.len() < 2 => self.scarce.push(circuit),
            Err(error) => self.table.note(format!("{circuit}: {error}")),
        }
        Ok(())
    }

    fn are_none(&self) -> bool {
        self.made.is_empty() && self.table.notes.is_empty() && self.scarce.is_empty()
    }

    /// Returns the table, with what there is to say of it.
    fn told(mut self) -> Table {
        note(&mut self.table, &self.made, &self.scarce);
        if !self.odd_ones.is_empty() {
            self.table.note(format!(
                "Further below the others than chance puts one in 19 of 20 times (Grubbs, 5 %): {}. Were these units good, and \
                 read well? Leave out those that were not.",
                self.odd_ones.join(", ")
            ));
        }
        if self.n_failed > 0 {
            self.table.note(format!(
                "{} of these readings were judged worn or leaking when they were taken: are the units good?",
                self.n_failed
            ));
        }
        if self.n_again > 0 {
            self.table.note(format!(
                "{} of these readings are of units that were tested again, as after a repair: they count as they read last.",
                self.n_again
            ));
        }
        self.table
    }
}

/// Returns the unit that read least.
fn least(good: &[GoodUnit]) -> Option<&GoodUnit> {
    good.iter().min_by(|one, other| one.standard.si().total_cmp(&other.standard.si()))
}

/// Says what the proposed limit is.
fn rule(rule: HoldsRule) -> String {
    match rule {
        HoldsRule::Factor(factor) => format!("mean - {} deviations", shown(factor, 3)),
        HoldsRule::Rank(rank) => format!("the {}", ranked(rank)),
        HoldsRule::Lower(_) => "in doubt".to_owned(),
    }
}

fn cells(circuit: &str, proposal: &Baseline, now: Option<f64>) -> Vec<Cell> {
    vec![
        Cell::from(circuit),
        Cell::count(proposal.summary.n),
        vacuum_cell(proposal.summary.mean),
        vacuum_cell(proposal.deviation),
        Cell::from(rule(proposal.rule)),
        vacuum_cell(proposal.limits.map(|limits| limits.upper().si())),
        vacuum_cell(proposal.limits.map(|limits| limits.lower().si())),
        vacuum_cell(now),
        Cell::count(proposal.more()),
    ]
}

/// Says what the figures are worth: of one circuit everything, of many what they have in common.
fn note(table: &mut Table, proposals: &[(String, Baseline)], scarce: &[String]) {
    if !scarce.is_empty() {
        table.note(format!("Fewer than two good units with a reading: {}.", scarce.join(", ")));
    }
    match proposals {
        [] => {}
        [(_, proposal)] => {
            for sentence in baseline_advice(proposal, vacuum_unit()) {
                table.note(sentence);
            }
        }
        [(_, first), ..] => {
            let percent = |share: f64| shown(share * 100.0, 1);
            let (confidence, share) = (percent(first.promise.confidence()), percent(first.promise.share()));
            table.note(format!(
                "With {confidence} % confidence {share} % of good units read holds or higher (ISO 16269-6): the mean less so many \
                 deviations where the readings may be of a bell, else one of the least readings, whatever their distribution. More: \
                 how many good units are still missing."
            ));
            if proposals.iter().any(|(_, proposal)| proposal.more() > 0) {
                table.note(format!(
                    "Provisional where more says that units are missing: with few of them holds lies low. \
                     {} good units are enough to come within one deviation of what very many would say.",
                    first.needed
                ));
            }
            let doubtful: Vec<_> = proposals
                .iter()
                .filter(|(_, proposal)| matches!(proposal.rule, HoldsRule::Lower(_)))
                .map(|(circuit, _)| circuit.as_str())
                .collect();
            if !doubtful.is_empty() {
                table.note(format!(
                    "In doubt, since they do not spread like a bell (Anderson and Darling, 5 %): {}. Holds is the lower of the \
                     least reading and what a bell would give, and nothing is promised of it before there are {} good units.",
                    doubtful.join(", "),
                    first.needed_for_least
                ));
            }
            table.note(
                "Good units say nothing of where a circuit fails: leaks is a rule, twice the leak that holds allows, and at \
                 least 3 inHg below it.",
            );
        }
    }
}
