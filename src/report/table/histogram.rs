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

/// How many readings of a bar leak, lie between the limits, and hold by the limits; all hold where there are none.
pub(in crate::report) type Zones = [u64; 3];

/// Marks of the zones in a bar of text.
const MARKS: [char; 3] = ['x', '-', '='];

/// Width of a bar, 1 inHg in Pa. Bars are centred on whole inches of mercury, where readings like to be.
const WIDTH: f64 = INCH_OF_MERCURY;
/// Bars of the whole scale.
pub(in crate::report) const N_BARS: usize = 31;

impl Histogram {
    /// Returns how many readings are nearest to each inch of mercury of the scale, by the side of the limits they lie on.
    pub(in crate::report) fn bars(&self) -> [Zones; N_BARS] {
        let mut bars = [Zones::default(); N_BARS];
        for (from, n) in &self.bins {
            let at = ((from / WIDTH).max(0.0) + 0.5 + 1e-6) as usize;
            bars[at.min(N_BARS - 1)][self.zone(*from)] += n;
        }
        bars
    }

    /// Draws the histogram as lines of text, an inch of mercury each, from the first to the last that has readings.
    pub(super) fn lines(&self, width: usize, unit: &Unit) -> Vec<String> {
        let bars = self.bars();
        let all = bars.map(|zones| zones.iter().sum::<u64>());
        let most = all.iter().copied().max().unwrap_or(0).max(1);
        let first = all.iter().position(|n| *n > 0).unwrap_or(0);
        let last = all.iter().rposition(|n| *n > 0).unwrap_or(0);
        let mut lines: Vec<String> = (first..=last)
            .map(|at| {
                let [from, to] = edges(at).map(|edge| shown(unit.from_si(edge), 1));
                let bar = self.bar(&bars[at], width as f64 / most as f64);
                let n = all[at];
                format!("{from:>6} to {to:>4} {}  {bar} {n}", unit.symbol)
            })
            .collect();
        if self.limits.is_some() {
            lines.push("  x at or below leaks, - between the limits, = at or above holds".to_owned());
        }
        lines
    }

    /// Draws a bar in the marks of its zones, at least one for each zone that has readings.
    fn bar(&self, zones: &Zones, scale: f64) -> String {
        let marks = if self.limits.is_some() { MARKS } else { ['#'; 3] };
        let part = |(n, mark): (&u64, char)| {
            let length = if *n > 0 { ((*n as f64 * scale).round() as usize).max(1) } else { 0 };
            mark.to_string().repeat(length)
        };
        zones.iter().zip(marks).map(part).collect()
    }

    /// The zone in which a step of readings begins.
    fn zone(&self, from: f64) -> usize {
        // A reading at a limit begins its step there, but for the last bit.
        let at = from + 1e-6 * WIDTH;
        match &self.limits {
            Some(limits) if at <= limits.leaks().si() + 2e-6 * WIDTH => 0,
            Some(limits) if at < limits.holds().si() => 1,
            _ => 2,
        }
    }
}

/// Returns where a bar begins and ends, in Pa.
pub(in crate::report) fn edges(at: usize) -> [f64; 2] {
    let middle = at as f64 * WIDTH;
    [(middle - WIDTH / 2.0).max(0.0), middle + WIDTH / 2.0]
}
