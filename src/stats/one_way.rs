use super::f_above;
use super::summary::{mean, squares, sum};

/// A one-way analysis of variance: whether groups differ by more than the scatter within them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OneWay {
    /// Sum of squares between the groups.
    pub between: f64,
    /// Its degrees of freedom.
    pub between_freedom: usize,
    /// Sum of squares within the groups.
    pub within: f64,
    /// Its degrees of freedom.
    pub within_freedom: usize,
}

impl OneWay {
    /// Returns the mean square between groups over that within; infinite where nothing scatters within.
    pub fn ratio(&self) -> f64 {
        let between = self.between / self.between_freedom as f64;
        let within = self.within / self.within_freedom as f64;
        if between == 0.0 { 0.0 } else { between / within }
    }

    /// Returns the probability of such a ratio, or a larger one, where the groups do not differ.
    pub fn probability(&self) -> f64 {
        f_above(self.ratio(), self.between_freedom as f64, self.within_freedom as f64)
    }
}

/// Analyses groups of values; none where there are fewer than two groups or no scatter within can be told.
pub fn one_way(groups: &[Vec<f64>]) -> Option<OneWay> {
    let groups: Vec<&Vec<f64>> = groups.iter().filter(|group| !group.is_empty()).collect();
    let all: Vec<f64> = groups.iter().flat_map(|group| group.iter().copied()).collect();
    if groups.len() < 2 || all.len() <= groups.len() || !all.iter().all(|value| value.is_finite()) {
        return None;
    }
    // Deviations from a common middle keep digits that large values would lose.
    let middle = mean(&all);
    let means: Vec<f64> = groups
        .iter()
        .map(|group| mean(&group.iter().map(|value| value - middle).collect::<Vec<_>>()))
        .collect();
    let weighted = groups.iter().zip(&means).map(|(group, mean)| group.len() as f64 * mean);
    let grand = sum(weighted) / all.len() as f64;
    let between =
        sum(groups.iter().zip(&means).map(|(group, m)| group.len() as f64 * (m - grand) * (m - grand)));
    let within = sum(groups
        .iter()
        .zip(&means)
        .map(|(group, mean)| squares(&group.iter().map(|value| value - middle).collect::<Vec<_>>(), *mean)));
    Some(OneWay {
        between,
        between_freedom: groups.len() - 1,
        within,
        within_freedom: all.len() - groups.len(),
    })
}
