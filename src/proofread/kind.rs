use crate::leak::{Limits, Verdict, assess, judge};
use crate::procedure::{Mood, Place};
use crate::quantity::{INCH, INCH_OF_MERCURY, Pressure};
use crate::record::{Answer, BenchState, Question, Wants};

/// A kind of answer: all answers of one kind lead the same way, as far as a procedure can tell.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(super) enum AnswerKind {
    /// Confirmed, or free words.
    Done,
    Yes,
    No,
    /// One of the choices, by its place.
    Pick(usize),
    /// A number within its limits, or below or above them.
    Within,
    Low,
    High,
    Holds,
    Worn,
    Leaks,
    Right,
    Open,
    Tight,
    Retest,
    /// A reading of a circuit without limits.
    Unjudged,
    /// A reading at this rung of the scale.
    Rung(usize),
    Cannot,
}

impl AnswerKind {
    /// What readings that do not hold are, of a circuit with limits.
    pub(super) const NOT_SOUND: [AnswerKind; 3] = [AnswerKind::Worn, AnswerKind::Leaks, AnswerKind::Retest];

    /// Returns whether it is tried in every combination of two with answers near it: a script can tell it from other
    /// answers to the same question and goes on, and there are few of its like.
    pub(super) fn decides(self) -> bool {
        !matches!(self, AnswerKind::Done | AnswerKind::Cannot | AnswerKind::Rung(_))
    }

    pub(super) fn of(verdict: Verdict) -> AnswerKind {
        match verdict {
            Verdict::Holds => AnswerKind::Holds,
            Verdict::Worn => AnswerKind::Worn,
            Verdict::Leaks => AnswerKind::Leaks,
            Verdict::Right => AnswerKind::Right,
            Verdict::Open => AnswerKind::Open,
            Verdict::Tight => AnswerKind::Tight,
            Verdict::Retest => AnswerKind::Retest,
            Verdict::Unjudged | Verdict::NotFitted => AnswerKind::Unjudged,
        }
    }
}

/// Why an answer can't be given.
pub(super) const CANNOT: &str = "proofread";

/// Kinds of answers, each as it would be typed.
type Answers = Vec<(AnswerKind, String)>;

/// Returns every kind of answer that a question of a procedure's may get, each as it would be typed; the plainest first.
pub(super) fn kinds(question: &Question, place: &Place, ladder: &mut Ladder) -> Answers {
    let typed = |mood: Mood| mood.typed(question, place);
    let mut kinds = match &question.wants {
        Wants::Yes => vec![(AnswerKind::Yes, typed(Mood::Sound)), (AnswerKind::No, typed(Mood::Leaking))],
        Wants::Choice { options } | Wants::Decision { options, .. } => {
            (0..options.len()).map(|n| (AnswerKind::Pick(n), (n + 1).to_string())).collect()
        }
        Wants::Text => vec![(AnswerKind::Done, CANNOT.to_owned())],
        Wants::Number { low, high, .. } => {
            let mut numbers = vec![(AnswerKind::Within, typed(Mood::Sound))];
            numbers.extend(low.map(|_| (AnswerKind::Low, typed(Mood::Worn))));
            numbers.extend(high.map(|_| (AnswerKind::High, typed(Mood::Leaking))));
            numbers
        }
        Wants::Reading { .. } if place.circuit.is_some() => {
            ladder.readings(place.spot(question).limits.as_ref())
        }
        Wants::Reading { .. } => Vec::new(),
        _ => vec![(AnswerKind::Done, typed(Mood::Sound))],
    };
    let reason = Answer::Unable { reason: CANNOT.to_owned() };
    if question.accepts(&reason).is_ok() {
        kinds.push((AnswerKind::Cannot, format!("cannot {CANNOT}")));
    }
    kinds
}

/// Rungs of a fine ladder, each half an inch of mercury above the one before.
const RUNGS: usize = 49;

/// Readings of the usual gauge, on a rig that stands on both its points, that get each verdict between some limits.
pub(super) struct Ladder {
    bench: BenchState,
    /// Whether it has rungs all over the scale too, for scripts that look at more than the verdict.
    pub(super) is_fine: bool,
    known: Vec<(Option<Limits>, Answers)>,
}

/// Readings of a circuit that leave no doubt, in inHg to a tenth; none where no reading does.
pub(super) struct Bounds {
    /// From here up it holds, or is too tight.
    pub(super) above: Option<f64>,
    /// From here to there it is worn, or right.
    pub(super) between: Option<(f64, f64)>,
    /// From here down it leaks, or is too open.
    pub(super) below: Option<f64>,
}

impl Ladder {
    pub(super) fn new(is_fine: bool) -> Ladder {
        Ladder { bench: BenchState::exact(None), is_fine, known: Vec::new() }
    }

    /// Returns the bore of the hole, in inches, that reads so, in inHg.
    pub(super) fn hole(&self, reading: f64) -> Option<f64> {
        let reading = Pressure::from_si(reading * INCH_OF_MERCURY)?;
        let assessment = assess(&[reading], self.bench.bench()?, &self.bench.context(None)).ok()?;
        Some(assessment.hole_m.value / INCH)
    }

    /// Returns a reading for each verdict that can be reached by these limits, the sound one first; one reading where
    /// there are none, since no verdict can follow from it.
    pub(super) fn readings(&mut self, limits: Option<&Limits>) -> Answers {
        if let Some((_, readings)) = self.known.iter().find(|(known, _)| known.as_ref() == limits) {
            return readings.clone();
        }
        let mut readings = match limits {
            Some(limits) => self.judged(limits),
            None => vec![(AnswerKind::Unjudged, "20 inHg".to_owned())],
        };
        if self.is_fine {
            let rungs = 1..=RUNGS;
            readings.extend(rungs.map(|n| (AnswerKind::Rung(n), format!("{} inHg", n as f64 / 2.0))));
        }
        self.known.push((limits.copied(), readings.clone()));
        readings
    }

    fn judged(&self, limits: &Limits) -> Answers {
        let in_hg = |pressure: Pressure| pressure.si() / INCH_OF_MERCURY;
        let (upper, lower) = (in_hg(limits.upper()), in_hg(limits.lower()));
        let [at_lower, at_middle, at_upper] = limits.verdicts();
        let mut tries = [
            (at_upper, vec![f64::midpoint(upper, 25.0), upper.mul_add(0.25, 18.75), 24.9]),
            (at_middle, vec![f64::midpoint(upper, lower)]),
            (at_lower, vec![lower * 0.8, lower * 0.5, lower * 0.25]),
            (Verdict::Retest, vec![upper, lower]),
        ];
        tries.sort_by_key(|(verdict, _)| !verdict.is_sound());
        let found = tries.into_iter().filter_map(|(verdict, tries)| {
            let mut tries = tries.into_iter().map(|reading| (reading * 100.0).round() / 100.0);
            let reading = tries.find(|reading| self.verdict(*reading, limits) == Some(verdict))?;
            Some((AnswerKind::of(verdict), format!("{reading} inHg")))
        });
        found.collect()
    }

    /// Returns where readings leave no doubt.
    pub(super) fn bounds(&self, limits: &Limits) -> Bounds {
        let tenths = (1..=250).map(|tenth| f64::from(tenth) / 10.0);
        let judged: Vec<_> = tenths.map(|reading| (reading, self.verdict(reading, limits))).collect();
        let [at_lower, at_middle, at_upper] = limits.verdicts();
        let with = |verdict| {
            judged.iter().filter(move |(_, judged)| *judged == Some(verdict)).map(|(reading, _)| *reading)
        };
        Bounds {
            above: with(at_upper).next(),
            between: with(at_middle).next().zip(with(at_middle).next_back()),
            below: with(at_lower).next_back(),
        }
    }

    /// Returns the verdict on a reading in inHg, taken as often as it takes to stand.
    fn verdict(&self, reading: f64, limits: &Limits) -> Option<Verdict> {
        let bench = self.bench.bench()?;
        let reading = Pressure::from_si(reading * INCH_OF_MERCURY)?;
        let judged = |readings: &[Pressure]| {
            let assessment = assess(readings, bench, &self.bench.context(None)).ok()?;
            Some(judge(&assessment, limits, self.bench.confidence()).verdict)
        };
        // One take decides a sound circuit; another verdict must also stand when it has been seated and read again.
        let (first, last) = (judged(&[reading])?, judged(&[reading; 3])?);
        (first == last).then_some(first)
    }
}
