use super::kind::Kind;
use crate::leak::{Limits, Verdict, assess, judge};
use crate::quantity::{INCH, INCH_OF_MERCURY, Pressure};
use crate::record::BenchState;

/// Rungs of a fine ladder, each half an inch of mercury above the one before.
const RUNGS: usize = 49;

/// A reading for each kind of answer.
type Readings = Vec<(Kind, String)>;

/// Readings of the usual gauge, on a rig that stands on both its points, that get each verdict between some limits.
pub(super) struct Ladder {
    bench: BenchState,
    is_fine: bool,
    known: Vec<(Option<Limits>, Readings)>,
}

/// Readings of a circuit that leave no doubt, in inHg to a tenth; none where no reading does.
pub(super) struct Bounds {
    /// From here up it holds.
    pub(super) holds: Option<f64>,
    /// From here to there it is worn.
    pub(super) worn: Option<(f64, f64)>,
    /// From here down it leaks.
    pub(super) leaks: Option<f64>,
}

impl Ladder {
    /// Makes one; a fine one has rungs all over the scale too, for scripts that look at more than the verdict.
    pub(super) fn new(is_fine: bool) -> Ladder {
        Ladder { bench: BenchState::exact(None), is_fine, known: Vec::new() }
    }

    /// Returns whether the script looks at more than the verdict.
    pub(super) fn is_fine(&self) -> bool {
        self.is_fine
    }

    /// Returns the bore of the hole, in inches, that reads so, in inHg.
    pub(super) fn hole(&self, reading: f64) -> Option<f64> {
        let reading = Pressure::from_si(reading * INCH_OF_MERCURY)?;
        let assessment = assess(&[reading], self.bench.bench()?, &self.bench.context(None)).ok()?;
        Some(assessment.hole_m.value / INCH)
    }

    /// Returns a reading for each verdict that can be reached between these limits, `holds` first; one reading where
    /// there are none, since no verdict can follow from it.
    pub(super) fn readings(&mut self, limits: Option<&Limits>) -> Readings {
        if let Some((_, readings)) = self.known.iter().find(|(known, _)| known.as_ref() == limits) {
            return readings.clone();
        }
        let mut readings = match limits {
            Some(limits) => self.judged(limits),
            None => vec![(Kind::Unjudged, "20 inHg".to_owned())],
        };
        if self.is_fine {
            readings
                .extend((1..=RUNGS).map(|rung| (Kind::Rung(rung), format!("{} inHg", rung as f64 / 2.0))));
        }
        self.known.push((limits.copied(), readings.clone()));
        readings
    }

    fn judged(&self, limits: &Limits) -> Readings {
        let in_hg = |pressure: Pressure| pressure.si() / INCH_OF_MERCURY;
        let (holds, leaks) = (in_hg(limits.holds()), in_hg(limits.leaks()));
        let tries = [
            (Verdict::Holds, vec![f64::midpoint(holds, 25.0), holds.mul_add(0.25, 18.75), 24.9]),
            (Verdict::Worn, vec![f64::midpoint(holds, leaks)]),
            (Verdict::Leaks, vec![leaks * 0.8, leaks * 0.5, leaks * 0.25]),
            (Verdict::Retest, vec![holds, leaks]),
        ];
        tries
            .into_iter()
            .filter_map(|(verdict, tries)| {
                let tries = tries.into_iter().map(|reading| (reading * 100.0).round() / 100.0);
                let reading =
                    tries.into_iter().find(|reading| self.verdict(*reading, limits) == Some(verdict))?;
                Some((Kind::of(verdict), format!("{reading} inHg")))
            })
            .collect()
    }

    /// Returns where readings leave no doubt.
    pub(super) fn bounds(&self, limits: &Limits) -> Bounds {
        let tenths = (1..=250).map(|tenth| f64::from(tenth) / 10.0);
        let judged: Vec<_> = tenths.map(|reading| (reading, self.verdict(reading, limits))).collect();
        let with = |verdict| {
            judged.iter().filter(move |(_, judged)| *judged == Some(verdict)).map(|(reading, _)| *reading)
        };
        Bounds {
            holds: with(Verdict::Holds).next(),
            worn: with(Verdict::Worn).next().zip(with(Verdict::Worn).next_back()),
            leaks: with(Verdict::Leaks).next_back(),
        }
    }

    /// Returns the verdict on a reading in inHg, taken as often as it takes to stand.
    fn verdict(&self, reading: f64, limits: &Limits) -> Option<Verdict> {
        let bench = self.bench.bench()?;
        let reading = Pressure::from_si(reading * INCH_OF_MERCURY)?;
        let once = [reading];
        let often = [reading; 3];
        let judged = |readings: &[Pressure]| {
            let assessment = assess(readings, bench, &self.bench.context(None)).ok()?;
            Some(judge(&assessment, limits, self.bench.confidence()).verdict)
        };
        // One take decides a sound circuit; another verdict must also stand when it has been seated and read again.
        let (first, last) = (judged(&once)?, judged(&often)?);
        (first == last).then_some(first)
    }
}
