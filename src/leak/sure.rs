use super::{Bench, Context, Limits, Verdict, assess, judge};
use crate::quantity::{INCH_OF_MERCURY, Pressure};

/// Readings of a circuit that leave no doubt, in inHg to a tenth; none where no reading does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Sure {
    /// From here up it holds, or is too tight.
    pub(crate) above: Option<f64>,
    /// From here to there it is worn, or right.
    pub(crate) between: Option<(f64, f64)>,
    /// From here down it leaks, or is too open.
    pub(crate) below: Option<f64>,
}

impl Sure {
    /// Returns where readings on a bench leave no doubt between limits, of what is taken to be so: the verdict of one
    /// take that also stands when it was seated and read again.
    pub(crate) fn of(limits: &Limits, bench: &Bench, context: &Context, confidence: f64) -> Sure {
        let takes = |tenth: &u32, n: usize| {
            let reading = Pressure::from_si(f64::from(*tenth) / 10.0 * INCH_OF_MERCURY)?;
            let assessment = assess(&vec![reading; n], bench, context).ok()?;
            Some(judge(&assessment, limits, confidence).verdict)
        };
        let is = |tenth: &u32, verdict: Verdict| {
            takes(tenth, 1) == Some(verdict) && takes(tenth, 3) == Some(verdict)
        };
        let [at_lower, at_middle, at_upper] = limits.verdicts();
        let deepest = bench.calibration.plugged().si() / INCH_OF_MERCURY;
        let tenths: Vec<u32> = (1..=300).take_while(|tenth| f64::from(*tenth) / 10.0 <= deepest).collect();
        let n_below = tenths.partition_point(|tenth| is(tenth, at_lower));
        let above = tenths.partition_point(|tenth| !is(tenth, at_upper)).max(n_below);
        let mut between = tenths[n_below..above].iter().filter(|tenth| is(tenth, at_middle));
        let in_hg = |tenth: &u32| f64::from(*tenth) / 10.0;
        Sure {
            above: tenths.get(above).map(in_hg),
            between: between.next().map(|first| (in_hg(first), in_hg(between.next_back().unwrap_or(first)))),
            below: tenths[..n_below].last().map(in_hg),
        }
    }
}
