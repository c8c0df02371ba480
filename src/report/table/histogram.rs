use crate::leak::Limits;
use crate::quantity::{INCH_OF_MERCURY, Unit, shown};

/// How readings spread over the scale of 0 to 30 inHg.
#[derive(Debug, Clone, PartialEq)]
pub struct Histogram {
    /// How many readings lie in each step: where it begins, in Pa, and their number.
    pub bins: Vec<(f64, u64)>,
    /// The limits to draw.
    pub limits: Option<Limits>,
}

/// Width of a bar, 1 inHg in Pa. Bars are centred on whole inches of mercury, where readings like to be.
const WIDTH: f64 = INCH_OF_MERCURY;
/// Bars of the whole scale.
pub(in crate::report) const N_BARS: usize = 31;

impl Histogram {
    /// Returns how many readings are nearest to each inch of mercury of the scale.
    pub(in crate::report) fn bars(&self) -> [u64; N_BARS] {
        let mut bars = [0; N_BARS];
        for (from, n) in &self.bins {
            let at = ((from / WIDTH).max(0.0) + 0.5 + 1e-6) as usize;
            bars[at.min(N_BARS - 1)] += n;
        }
        bars
    }

    /// Draws the histogram as lines of text, an inch of mercury each, from the first to the last that has readings.
    pub(super) fn lines(&self, width: usize, unit: &Unit) -> Vec<String> {
        let bars = self.bars();
        let most = bars.iter().copied().max().unwrap_or(0).max(1);
        let first = bars.iter().position(|n| *n > 0).unwrap_or(0);
        let last = bars.iter().rposition(|n| *n > 0).unwrap_or(0);
        let decimals = usize::from(unit.from_si(WIDTH).fract() != 0.0);
        (first..=last)
            .map(|at| {
                let middle = at as f64 * WIDTH;
                let n = bars[at];
                let length = (width as f64 * n as f64 / most as f64).round() as usize;
                let bar = "#".repeat(if n > 0 { length.max(1) } else { 0 });
                let edge = format!("{:>6} {}", shown(unit.from_si(middle), decimals), unit.symbol);
                format!("{edge} {} {bar} {n}", self.zone(middle)).trim_end().to_owned()
            })
            .collect()
    }

    /// The mark of the zone that the middle of a bar lies in.
    fn zone(&self, middle: f64) -> char {
        match &self.limits {
            Some(limits) if middle <= limits.leaks().si() => 'x',
            Some(limits) if middle < limits.holds().si() => '-',
            Some(_) => '=',
            None => ' ',
        }
    }
}
