use super::f_above;

/// One line of an analysis of variance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Source {
    /// Sum of squares.
    pub squares: f64,
    /// Degrees of freedom.
    pub freedom: usize,
}

impl Source {
    /// Returns the mean square; 0 without freedom.
    pub fn mean_square(&self) -> f64 {
        if self.freedom == 0 { 0.0 } else { self.squares / self.freedom as f64 }
    }

    /// Returns the ratio of this mean square to another's, and how probable one as large is by chance.
    pub fn against(&self, other: &Source) -> (f64, f64) {
        let ratio = if self.squares == 0.0 { 0.0 } else { self.mean_square() / other.mean_square() };
        (ratio, f_above(ratio, self.freedom as f64, other.freedom as f64))
    }

    /// Returns both together.
    pub fn with(&self, other: &Source) -> Source {
        Source { squares: self.squares + other.squares, freedom: self.freedom + other.freedom }
    }
}

/// The analysis of variance of a crossed gauge study: who read what, several times each.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GaugeTable {
    /// The parts.
    pub parts: Source,
    /// The operators.
    pub operators: Source,
    /// That operators differ on some parts more than on others.
    pub interaction: Source,
    /// Repetition by the same operator on the same part.
    pub repetition: Source,
}

impl GaugeTable {
    /// Returns interaction and repetition as one: the error where operators and parts do not interact.
    pub fn pooled_error(&self) -> Source {
        self.interaction.with(&self.repetition)
    }

    /// Returns the sum of all.
    pub fn total(&self) -> Source {
        self.parts.with(&self.operators).with(&self.pooled_error())
    }
}
