use std::collections::BTreeMap;

use thiserror::Error;

use super::f_above;
use super::fitting::{Adjusted, Cells};
use super::summary::{mean, squares, sum};

#[derive(Debug, Clone, PartialEq)]
pub(crate) struct StudyReading {
    pub part: String,
    pub operator: String,
    pub value: f64,
}

/// Why readings are no gauge study.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub(crate) enum StudyError {
    #[error("a study needs at least two circuits")]
    FewParts,
    #[error("a study needs at least two technicians")]
    FewOperators,
    #[error("in a study somebody must read a circuit twice; nobody has")]
    NoRepetition,
    #[error(
        "the technicians have so few circuits in common that how they differ can't be told from how the circuits do; let \
         everybody read the same circuits, or leave out who has not"
    )]
    Apart,
    #[error("a reading of the study is not a number")]
    NotFinite,
}

/// A gauge study: operators have read parts, most of them several times. Parts and operators are in their order.
///
/// Where every operator has read every part equally often, this is the analysis of variance of AIAG, Measurement
/// Systems Analysis, 4th edition (2010), chapter III section B. Where readings are missing, parts and operators are
/// each adjusted for the other and expected squares are worked out from the numbers of readings: the fitting of
/// constants (Henderson 1953, method 3; Searle, Casella and McCulloch, Variance Components, 1992; from memory).
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct GaugeStudy {
    pub parts: Vec<String>,
    pub operators: Vec<String>,
    /// The fewest and the most readings of a part by an operator.
    pub n_trials: (usize, usize),
    pub readers: Vec<OperatorHabit>,
    pub table: GaugeTable,
}

/// How one operator of a study reads, in the unit of the readings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct OperatorHabit {
    /// How much higher the operator reads than all do in the mean, on the same parts.
    pub above: f64,
    /// Standard deviation of readings of one part, pooled over the parts: the operator's own repeatability. Not a
    /// number where the operator has read none twice.
    pub scatter: f64,
    /// The degrees of freedom of that.
    pub freedom: usize,
}

/// Standard deviations by where they come from, in the unit of the readings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Components {
    /// Whether the interaction was pooled into the repetition.
    pub is_pooled: bool,
    /// Repeatability: the same operator on the same part.
    pub repeatability: f64,
    /// Reproducibility without the interaction: operators differ.
    pub operators: f64,
    /// Interaction: operators differ on some parts.
    pub interaction: f64,
    pub parts: f64,
}

impl Components {
    /// Returns repeatability and reproducibility together.
    pub(crate) fn gauge(&self) -> f64 {
        (self.repeatability.powi(2) + self.operators.powi(2) + self.interaction.powi(2)).sqrt()
    }

    pub(crate) fn total(&self) -> f64 {
        (self.gauge().powi(2) + self.parts.powi(2)).sqrt()
    }

    pub(crate) fn gauge_share(&self) -> f64 {
        if self.total() == 0.0 { 0.0 } else { self.gauge() / self.total() }
    }

    /// Returns how many kinds of part the readings can tell apart: 1.41 times the parts' deviation over the gauge's,
    /// rounded down; at least 1, and none where the gauge scatters nothing.
    pub(crate) fn distinct_categories(&self) -> Option<usize> {
        let ratio = 1.41 * self.parts / self.gauge();
        ratio.is_finite().then_some((ratio as usize).max(1))
    }
}

impl GaugeStudy {
    /// Analyses readings.
    ///
    /// # Errors
    /// Where they are not of at least two operators and two parts that hang together, some of them read twice.
    pub(crate) fn of(observations: &[StudyReading]) -> Result<GaugeStudy, StudyError> {
        let mut read: BTreeMap<(&str, &str), Vec<f64>> = BTreeMap::new();
        for observation in observations {
            if !observation.value.is_finite() {
                return Err(StudyError::NotFinite);
            }
            read.entry((&observation.part, &observation.operator)).or_default().push(observation.value);
        }
        let (parts, operators) =
            (in_order(observations, |o| &o.part), in_order(observations, |o| &o.operator));
        if parts.len() < 2 {
            return Err(StudyError::FewParts);
        }
        if operators.len() < 2 {
            return Err(StudyError::FewOperators);
        }
        let cell = |part: &String, operator: &String| {
            read.get(&(part.as_str(), operator.as_str())).cloned().unwrap_or_default()
        };
        let cells: Cells = parts
            .iter()
            .map(|part| operators.iter().map(|operator| cell(part, operator)).collect())
            .collect();
        let (table, effects) = GaugeTable::of(&cells).ok_or(StudyError::Apart)?;
        if table.repetition.freedom == 0 {
            return Err(StudyError::NoRepetition);
        }
        let habit = |(at, above): (usize, f64)| {
            let own = || cells.iter().map(|row| &row[at]).filter(|values| !values.is_empty());
            let freedom: usize = own().map(|values| values.len() - 1).sum();
            let squares = sum(own().map(|values| squares(values, mean(values))));
            OperatorHabit { above, scatter: (squares / freedom as f64).sqrt(), freedom }
        };
        let readers = effects.into_iter().enumerate().map(habit).collect();
        let trials = || cells.iter().flatten().map(Vec::len);
        let n_trials = (trials().min().unwrap_or(0), trials().max().unwrap_or(0));
        Ok(GaugeStudy { parts, operators, n_trials, readers, table })
    }

    /// Returns the deviations with the interaction pooled into the repetition, or on its own.
    pub(crate) fn components(&self, is_pooled: bool) -> Components {
        self.table.components(is_pooled)
    }

    /// Returns whether the interaction is as large as chance makes it in more than one case of four, so that it may be
    /// pooled (common practice; the manual's own table takes 5 %).
    pub(crate) fn may_be_pooled(&self) -> bool {
        self.table.interaction.against(&self.table.repetition).1 > 0.25
    }
}

fn in_order(observations: &[StudyReading], name: impl Fn(&StudyReading) -> &String) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for observation in observations {
        if !names.contains(name(observation)) {
            names.push(name(observation).clone());
        }
    }
    names
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct VarianceLine {
    pub squares: f64,
    pub freedom: usize,
}

impl VarianceLine {
    /// Returns the mean square; 0 without freedom.
    pub(crate) fn mean_square(&self) -> f64 {
        if self.freedom == 0 { 0.0 } else { self.squares / self.freedom as f64 }
    }

    /// Returns the ratio of this mean square to another's, and how probable one as large is by chance.
    pub(crate) fn against(&self, other: &VarianceLine) -> (f64, f64) {
        let ratio = if self.squares == 0.0 { 0.0 } else { self.mean_square() / other.mean_square() };
        (ratio, f_above(ratio, self.freedom as f64, other.freedom as f64))
    }

    pub(crate) fn with(&self, other: &VarianceLine) -> VarianceLine {
        VarianceLine { squares: self.squares + other.squares, freedom: self.freedom + other.freedom }
    }
}

/// The analysis of variance of a gauge study: who read what, several times each.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct GaugeTable {
    /// That parts differ, adjusted for who read them.
    pub parts: VarianceLine,
    /// That operators differ, adjusted for what they read.
    pub operators: VarianceLine,
    /// That operators differ on some parts more than on others.
    pub interaction: VarianceLine,
    pub repetition: VarianceLine,
    /// All readings about their mean. The lines above add up to it where nothing is missing.
    pub total: VarianceLine,
    /// How often the expected squares of parts, operators and interaction hold the variance of what they are named by,
    /// and those of parts and operators the variance of the interaction besides.
    weights: Weights,
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct Weights {
    parts: f64,
    operators: f64,
    interaction: f64,
    interaction_in_parts: f64,
    interaction_in_operators: f64,
}

impl GaugeTable {
    /// Analyses readings of parts, each by operators; with how much higher each operator reads than all do. None where
    /// parts and operators fall into groups that have nothing in common.
    pub(crate) fn of(cells: &Cells) -> Option<(GaugeTable, Vec<f64>)> {
        let turned: Cells =
            (0..cells[0].len()).map(|at| cells.iter().map(|row| row[at].clone()).collect()).collect();
        let operators = Adjusted::of(cells)?;
        let parts = Adjusted::of(&turned)?;
        let read = || cells.iter().flatten().filter(|values| !values.is_empty());
        let all: Vec<f64> = read().flatten().copied().collect();
        let within = sum(read().map(|values| squares(values, mean(values))));
        let grand = mean(&all);
        let of_parts = sum(cells.iter().filter_map(|row| {
            let values = row.concat();
            (!values.is_empty()).then(|| values.len() as f64 * (mean(&values) - grand).powi(2))
        }));
        let total = squares(&all, grand);
        let (n_cells, n_parts, n_operators) = (read().count(), cells.len(), turned.len());
        let line = |squares: f64, freedom| VarianceLine { squares, freedom };
        let table = GaugeTable {
            parts: line(parts.squares, n_parts - 1),
            operators: line(operators.squares, n_operators - 1),
            interaction: line(
                (total - within - of_parts - operators.squares).max(0.0),
                (n_cells + 1).checked_sub(n_parts + n_operators)?,
            ),
            repetition: line(within, all.len() - n_cells),
            total: line(total, all.len() - 1),
            weights: Weights {
                parts: parts.own,
                operators: operators.own,
                interaction: all.len() as f64 - operators.cells_in_others - operators.cells_in_own,
                interaction_in_parts: parts.cells_in_own,
                interaction_in_operators: operators.cells_in_own,
            },
        };
        Some((table, operators.effects))
    }

    /// Returns the deviations with the interaction pooled into the repetition, or on its own.
    ///
    /// A component that comes out negative is 0.
    pub(crate) fn components(&self, is_pooled: bool) -> Components {
        let GaugeTable { parts, operators, interaction, repetition, weights, .. } = self;
        let error = if is_pooled { self.pooled_error() } else { *repetition }.mean_square();
        let left = |line: &VarianceLine| line.squares - line.freedom as f64 * error;
        let crossed = if is_pooled || weights.interaction <= 0.0 {
            0.0
        } else {
            left(interaction) / weights.interaction
        };
        let deviation = |line: &VarianceLine, crossed_in: f64, own: f64| {
            ((left(line) - crossed_in * crossed) / own).max(0.0).sqrt()
        };
        Components {
            is_pooled,
            repeatability: error.sqrt(),
            operators: deviation(operators, weights.interaction_in_operators, weights.operators),
            interaction: crossed.max(0.0).sqrt(),
            parts: deviation(parts, weights.interaction_in_parts, weights.parts),
        }
    }

    /// Returns the degrees of freedom of the repeatability, and those that the variance of the whole gauge is worth
    /// (Satterthwaite 1946).
    pub(crate) fn freedom(&self, is_pooled: bool) -> (f64, f64) {
        let GaugeTable { operators, interaction, repetition, weights, .. } = self;
        let error = if is_pooled { self.pooled_error() } else { *repetition };
        let of_operators = operators.freedom as f64 / weights.operators;
        let of_interaction = if is_pooled || weights.interaction <= 0.0 {
            0.0
        } else {
            (1.0 - weights.interaction_in_operators / weights.operators) * interaction.freedom as f64
                / weights.interaction
        };
        // The gauge's variance is these mean squares, each so many times.
        let parts = [
            (operators, of_operators),
            (interaction, of_interaction),
            (&error, 1.0 - of_operators - of_interaction),
        ];
        let terms = || parts.iter().map(|(line, weight)| (line, weight * line.mean_square()));
        let whole: f64 = terms().map(|(_, term)| term).sum();
        let spread: f64 = terms()
            .filter(|(line, _)| line.freedom > 0)
            .map(|(line, term)| term * term / line.freedom as f64)
            .sum();
        (error.freedom as f64, whole * whole / spread)
    }

    /// Returns interaction and repetition as one: the error where operators and parts do not interact.
    pub(crate) fn pooled_error(&self) -> VarianceLine {
        self.interaction.with(&self.repetition)
    }
}
