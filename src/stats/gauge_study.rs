use std::collections::BTreeMap;

use thiserror::Error;

use super::f_above;
use super::summary::{mean, squares, sum};

#[derive(Debug, Clone, PartialEq)]
pub(crate) struct StudyReading {
    pub part: String,
    pub operator: String,
    pub value: f64,
}

/// Why readings are no crossed gauge study.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub(crate) enum StudyError {
    #[error("a study needs at least two circuits")]
    FewParts,
    #[error("a study needs at least two technicians")]
    FewOperators,
    #[error("a study needs every technician to read every circuit at least twice")]
    NoRepetition,
    #[error(
        "{operator} has read \"{part}\" {found} times, where every technician must read every circuit \
         {wanted} times; read what is missing, or leave out a technician or a circuit"
    )]
    Unbalanced { operator: String, part: String, found: usize, wanted: usize },
    #[error("a reading of the study is not a number")]
    NotFinite,
}

/// A crossed gauge study: every operator has read every part equally often. Parts and operators are in their order.
///
/// AIAG, Measurement Systems Analysis, 4th edition (2010), chapter III section B, analysis of variance method.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct GaugeStudy {
    pub parts: Vec<String>,
    pub operators: Vec<String>,
    /// How often each has read each.
    pub n_trials: usize,
    pub readers: Vec<OperatorHabit>,
    pub table: GaugeTable,
}

/// How one operator of a study reads, in the unit of the readings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct OperatorHabit {
    /// How much higher the mean of the operator's readings is than that of all.
    pub above: f64,
    /// Standard deviation of readings of one part, pooled over the parts: the operator's own repeatability.
    pub scatter: f64,
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
    /// Where they are not of at least two operators who have read at least two parts equally often, twice or more.
    pub(crate) fn of(observations: &[StudyReading]) -> Result<GaugeStudy, StudyError> {
        let mut cells: BTreeMap<(&str, &str), Vec<f64>> = BTreeMap::new();
        for observation in observations {
            if !observation.value.is_finite() {
                return Err(StudyError::NotFinite);
            }
            cells.entry((&observation.part, &observation.operator)).or_default().push(observation.value);
        }
        let (parts, operators) =
            (in_order(observations, |o| &o.part), in_order(observations, |o| &o.operator));
        if parts.len() < 2 {
            return Err(StudyError::FewParts);
        }
        if operators.len() < 2 {
            return Err(StudyError::FewOperators);
        }
        let n_trials = cells.values().map(Vec::len).max().unwrap_or(0);
        if n_trials < 2 {
            return Err(StudyError::NoRepetition);
        }
        for part in &parts {
            for operator in &operators {
                let found = read(&cells, part, operator).len();
                if found != n_trials {
                    return Err(StudyError::Unbalanced {
                        operator: operator.clone(),
                        part: part.clone(),
                        found,
                        wanted: n_trials,
                    });
                }
            }
        }
        let grid: Vec<Vec<&[f64]>> = parts
            .iter()
            .map(|part| operators.iter().map(|operator| read(&cells, part, operator)).collect())
            .collect();
        let within = sum(cells.values().map(|values| squares(values, mean(values))));
        let (table, readers) = analysed(&grid, within, n_trials);
        Ok(GaugeStudy { parts, operators, n_trials, readers, table })
    }

    /// Returns the deviations with the interaction pooled into the repetition, or on its own.
    ///
    /// A component that comes out negative is 0.
    pub(crate) fn components(&self, is_pooled: bool) -> Components {
        let GaugeTable { parts, operators, interaction, repetition } = &self.table;
        let (n_parts, n_operators) = (self.parts.len() as f64, self.operators.len() as f64);
        let n_trials = self.n_trials as f64;
        let error = if is_pooled { self.table.pooled_error() } else { *repetition };
        let above = if is_pooled { error } else { *interaction };
        let deviation = |mean_square: f64, floor: f64, n: f64| ((mean_square - floor) / n).max(0.0).sqrt();
        Components {
            is_pooled,
            repeatability: error.mean_square().sqrt(),
            operators: deviation(operators.mean_square(), above.mean_square(), n_parts * n_trials),
            interaction: if is_pooled {
                0.0
            } else {
                deviation(interaction.mean_square(), repetition.mean_square(), n_trials)
            },
            parts: deviation(parts.mean_square(), above.mean_square(), n_operators * n_trials),
        }
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

fn read<'a>(
    cells: &'a BTreeMap<(&'a str, &'a str), Vec<f64>>,
    part: &'a str,
    operator: &'a str,
) -> &'a [f64] {
    cells.get(&(part, operator)).map_or(&[], Vec::as_slice)
}

/// Analyses the readings of each part by each operator; `within` is the sum of squares about their means.
fn analysed(grid: &[Vec<&[f64]>], within: f64, n_trials: usize) -> (GaugeTable, Vec<OperatorHabit>) {
    let means: Vec<Vec<f64>> =
        grid.iter().map(|row| row.iter().map(|values| mean(values)).collect()).collect();
    let (n_parts, n_operators) = (grid.len(), grid[0].len());
    let part_means: Vec<f64> = means.iter().map(|row| mean(row)).collect();
    let column = |at: usize| means.iter().map(|row| row[at]).collect::<Vec<_>>();
    // Balanced: the mean of an operator's readings is that of the means of the parts.
    let operator_means: Vec<f64> = (0..n_operators).map(|at| mean(&column(at))).collect();
    let of_all = mean(&operator_means);
    let habit = |(at, own): (usize, &f64)| {
        let squares: f64 = grid.iter().map(|row| squares(row[at], mean(row[at]))).sum();
        let freedom = (n_parts * (n_trials - 1)) as f64;
        OperatorHabit { above: own - of_all, scatter: (squares / freedom).sqrt() }
    };
    let readers = operator_means.iter().enumerate().map(habit).collect();
    let grand = mean(&part_means);
    let weight = |n: usize| (n * n_trials) as f64;
    let residuals = means.iter().zip(&part_means).flat_map(|(row, part)| {
        row.iter().zip(&operator_means).map(move |(cell, operator)| (cell - part - operator + grand).powi(2))
    });
    let table = GaugeTable {
        parts: VarianceLine {
            squares: weight(n_operators) * squares(&part_means, grand),
            freedom: n_parts - 1,
        },
        operators: VarianceLine {
            squares: weight(n_parts) * squares(&operator_means, grand),
            freedom: n_operators - 1,
        },
        interaction: VarianceLine {
            squares: n_trials as f64 * sum(residuals),
            freedom: (n_parts - 1) * (n_operators - 1),
        },
        repetition: VarianceLine { squares: within, freedom: n_parts * n_operators * (n_trials - 1) },
    };
    (table, readers)
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

/// The analysis of variance of a crossed gauge study: who read what, several times each.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct GaugeTable {
    pub parts: VarianceLine,
    pub operators: VarianceLine,
    /// That operators differ on some parts more than on others.
    pub interaction: VarianceLine,
    pub repetition: VarianceLine,
}

impl GaugeTable {
    /// Returns interaction and repetition as one: the error where operators and parts do not interact.
    pub(crate) fn pooled_error(&self) -> VarianceLine {
        self.interaction.with(&self.repetition)
    }

    pub(crate) fn total(&self) -> VarianceLine {
        self.parts.with(&self.operators).with(&self.pooled_error())
    }
}
