use std::cmp::Ordering;

use crate::leak::{Context, LeakKind, Limits, Sure, Verdict, assess, expect_hole, judge};
use crate::procedure::{Aspect, Compared, Mood, Place, VERDICTS_ASKED};
use crate::quantity::{Dimension, INCH, INCH_OF_MERCURY, Length, Pressure, Quantity, UNITS, Unit};
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
    /// A reading that gets this verdict.
    Read(Verdict),
    /// At or beside something that the script compares, by its place among these.
    Value(usize),
    Cannot,
}

/// A kind of answer to one question: how it would be typed, and what the script sees of it.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Possible {
    pub(super) kind: AnswerKind,
    pub(super) typed: String,
    pub(super) verdict: Option<Verdict>,
    /// On which side of its limits a number lies.
    side: Ordering,
    /// Whether it ends the test, so that the script sees nothing of it.
    pub(super) ends_test: bool,
}

/// What a script sees where it looks at an answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Glimpse {
    Is(bool),
    Kind(AnswerKind),
}

/// What is looked at when an answer is given, since nothing more is asked of it.
pub(super) const GIVEN: &str = "given";
/// Whether something was left out.
pub(super) const LEFT: &str = "left";

impl Possible {
    pub(super) fn plain(kind: AnswerKind, typed: impl Into<String>) -> Possible {
        Possible { kind, typed: typed.into(), verdict: None, side: Ordering::Equal, ends_test: false }
    }

    fn read(kind: AnswerKind, typed: String, verdict: Verdict) -> Possible {
        Possible { verdict: Some(verdict), ..Possible::plain(kind, typed) }
    }

    /// Returns whether another is of the same kind and looks alike.
    pub(super) fn is_like(&self, other: &Possible) -> bool {
        (self.kind, self.verdict, self.side) == (other.kind, other.verdict, other.side)
    }

    /// Returns what the script sees of it where it asks for a property; nothing of what ends the test.
    pub(super) fn outcome(&self, property: &str) -> Option<Glimpse> {
        let is_taken = self.kind != AnswerKind::Cannot;
        if self.ends_test && property != LEFT {
            return None;
        }
        if let Some((_, asked)) = VERDICTS_ASKED.iter().find(|(name, _)| *name == property) {
            return Some(Glimpse::Is(self.verdict == Some(*asked)));
        }
        Some(Glimpse::Is(match property {
            LEFT => !is_taken,
            "taken" => is_taken,
            "within" => is_taken && self.side.is_eq(),
            "low" => is_taken && self.side.is_lt(),
            "high" => is_taken && self.side.is_gt(),
            "verdict" => return Some(Glimpse::Kind(self.verdict.map_or(self.kind, AnswerKind::Read))),
            _ => return Some(Glimpse::Kind(self.kind)),
        }))
    }
}

/// Returns what of an answer a script looks at by a property.
pub(super) fn aspect(property: &str) -> Aspect {
    match property {
        LEFT => Aspect::Leaving,
        "standard" | "hole" | "value" => Aspect::Figure,
        _ => Aspect::Verdict,
    }
}

/// More values than these are not tried.
const MOST_VALUES: usize = 24;
/// How far beside a value is tried, as a share of it: less than anybody reads off, and as far as a rig
/// may lie off its points.
const BESIDE: [f64; 5] = [0.0, -1e-4, 1e-4, -0.04, 0.04];

/// What the script compares: answers at and beside it may lead apart.
#[derive(Debug, Default)]
pub(super) struct Values {
    quantities: Vec<Quantity>,
    texts: Vec<String>,
}

impl Values {
    /// Takes in something compared, unless it is an answer that was given; returns whether it is new.
    pub(super) fn learn(&mut self, compared: Compared, is_answer: impl Fn(f64) -> bool) -> bool {
        match compared {
            Compared::Quantity(quantity) => {
                let is_known = |known: &Quantity| {
                    known.dimension() == quantity.dimension()
                        && (known.si() - quantity.si()).abs() <= 4e-4 * quantity.si().abs()
                };
                let of_its_kind =
                    self.quantities.iter().filter(|known| known.dimension() == quantity.dimension()).count();
                let is_new = of_its_kind < MOST_VALUES
                    && !is_answer(quantity.si())
                    && !self.quantities.iter().any(is_known);
                if is_new {
                    self.quantities.push(quantity);
                }
                is_new
            }
            Compared::Text(text) => {
                let is_new = self.texts.len() < MOST_VALUES
                    && !text.trim().is_empty()
                    && text != CANNOT
                    && !self.texts.contains(&text);
                if is_new {
                    self.texts.push(text);
                }
                is_new
            }
        }
    }

    /// Returns values at and beside those of a dimension, in SI, each with its kind.
    fn beside(&self, dimension: Dimension) -> impl Iterator<Item = (AnswerKind, f64)> {
        let of_its_kind = self.quantities.iter().enumerate();
        let of_its_kind = of_its_kind.filter(move |(_, quantity)| quantity.dimension() == dimension);
        of_its_kind.flat_map(move |(n, quantity)| {
            let size = quantity.si().abs().max(1e-9);
            let beside = move |share: f64| match dimension {
                // Things are counted one by one.
                Dimension::Count => quantity.si() + share.signum() * f64::from(u8::from(share != 0.0)),
                _ => share.mul_add(size, quantity.si()),
            };
            BESIDE
                .into_iter()
                .map(beside)
                .enumerate()
                .map(move |(side, si)| (AnswerKind::Value(BESIDE.len() * n + side), si))
        })
    }
}

fn in_unit(si: f64, unit: &Unit) -> String {
    let number = unit.from_si(si);
    // Seven figures: as many as tell the value from those beside it, and none that only conversion brings.
    let scale = 10_f64.powi(6 - number.abs().max(1e-12).log10().floor() as i32);
    format!("{} {}", (number * scale).round() / scale, unit.symbol)
}

/// Why an answer can't be given.
pub(super) const CANNOT: &str = "proofread";

/// Returns every kind of answer that a question may get; the plainest first. At and beside the values that the script
/// compares only where it compares figures of this answer.
pub(super) fn kinds(
    question: &Question,
    place: &Place,
    ladder: &mut Ladder,
    values: Option<&Values>,
) -> Vec<Possible> {
    let typed = |mood: Mood| mood.typed(question, place);
    let plain = |kind, mood: Mood| Possible::plain(kind, typed(mood));
    let mut kinds = match &question.wants {
        Wants::Yes => vec![plain(AnswerKind::Yes, Mood::Sound), plain(AnswerKind::No, Mood::Leaking)],
        Wants::Choice { options } | Wants::Decision { options, .. } => {
            (0..options.len()).map(|n| Possible::plain(AnswerKind::Pick(n), (n + 1).to_string())).collect()
        }
        Wants::Text => {
            let texts = values.into_iter().flat_map(|values| values.texts.iter().enumerate());
            let texts = texts.map(|(n, text)| Possible::plain(AnswerKind::Value(n), text.clone()));
            std::iter::once(Possible::plain(AnswerKind::Done, CANNOT)).chain(texts).collect()
        }
        Wants::Number { low, high, .. } => {
            let mut numbers = vec![plain(AnswerKind::Within, Mood::Sound)];
            let low_one = Possible { side: Ordering::Less, ..plain(AnswerKind::Low, Mood::Worn) };
            let high_one = Possible { side: Ordering::Greater, ..plain(AnswerKind::High, Mood::Leaking) };
            numbers.extend(low.map(|_| low_one));
            numbers.extend(high.map(|_| high_one));
            if let (Some(values), Some(unit)) = (values, question.unit()) {
                numbers.extend(values.beside(unit.dimension).map(|(kind, si)| {
                    let side = match (low, high) {
                        (Some(low), _) if si < *low => Ordering::Less,
                        (_, Some(high)) if si > *high => Ordering::Greater,
                        _ => Ordering::Equal,
                    };
                    Possible { side, ..Possible::plain(kind, in_unit(si, unit)) }
                }));
            }
            numbers
        }
        Wants::Barometer => {
            let values = values.into_iter().flat_map(|values| values.beside(Dimension::Pressure));
            let values = values.map(|(kind, si)| Possible::plain(kind, in_unit(si, &UNITS[0])));
            std::iter::once(plain(AnswerKind::Done, Mood::Sound)).chain(values).collect()
        }
        Wants::Reading { .. } if place.circuit.is_some() => {
            ladder.readings(place.spot(question).limits.as_ref(), values)
        }
        Wants::Reading { .. } => Vec::new(),
        _ => vec![plain(AnswerKind::Done, Mood::Sound)],
    };
    // A value may lie where no answer can.
    kinds.retain(|possible| {
        !matches!(possible.kind, AnswerKind::Value(_)) || question.read(&possible.typed).is_ok()
    });
    let reason = Answer::Unable(CANNOT.to_owned());
    if question.accepts(&reason).is_ok() {
        let cannot = Possible::plain(AnswerKind::Cannot, format!("cannot {CANNOT}"));
        kinds.push(Possible { ends_test: question.circuit.is_some(), ..cannot });
    }
    kinds
}

/// Readings of a gauge, on a rig that stands on both its points, that get each verdict between some limits.
pub(super) struct Ladder {
    bench: BenchState,
    known: Vec<(Option<Limits>, Vec<Possible>)>,
}

impl Ladder {
    /// Makes the ladder of a rig that is set, of the usual one at 101 325 Pa where there is none.
    pub(super) fn on(bench: Option<BenchState>) -> Ladder {
        Ladder { bench: bench.unwrap_or_else(|| BenchState::exact(None)), known: Vec::new() }
    }

    /// Returns the bore of the hole, in inches, that reads so, in inHg.
    pub(super) fn hole(&self, reading: f64) -> Option<f64> {
        let reading = Pressure::from_si(reading * INCH_OF_MERCURY)?;
        // The bore is the same whatever the leak is, and soonest worked out for a hole.
        let context = Context { kind: Some(LeakKind::Hole), ..Context::default() };
        let assessment = assess(&[reading], self.bench.bench()?, &context).ok()?;
        Some(assessment.hole_m.value / INCH)
    }

    /// Returns the reading, in inHg, that a hole with this bore in inches shows.
    fn reading_of(&self, hole: f64) -> Option<f64> {
        let reading = expect_hole(Length::from_si(hole * INCH)?, self.bench.bench()?).ok()?;
        Some(reading.value / INCH_OF_MERCURY)
    }

    /// Returns a reading for each verdict that can be reached between these limits, `holds` first; one reading where
    /// there are none, since no verdict can follow from it. Then readings at and beside the values.
    pub(super) fn readings(&mut self, limits: Option<&Limits>, values: Option<&Values>) -> Vec<Possible> {
        let known = self.known.iter().find(|(known, _)| known.as_ref() == limits);
        let mut readings = known.map(|(_, readings)| readings.clone()).unwrap_or_else(|| {
            let readings = match limits {
                Some(limits) => self.judged(limits),
                None => {
                    let kind = AnswerKind::Read(Verdict::Unjudged);
                    vec![Possible::read(kind, "20 inHg".to_owned(), Verdict::Unjudged)]
                }
            };
            self.known.push((limits.copied(), readings.clone()));
            readings
        });
        let values = values.into_iter().flat_map(|values| {
            let standards = values.beside(Dimension::Pressure).map(|(kind, si)| (kind, si / INCH_OF_MERCURY));
            let holes = values.beside(Dimension::Length);
            standards.chain(holes.filter_map(|(kind, si)| Some((kind, self.reading_of(si / INCH)?))))
        });
        readings.extend(values.filter(|(_, reading)| (0.01..=25.0).contains(reading)).map(
            |(kind, reading)| {
                let reading = (reading * 1e5).round() / 1e5;
                let verdict = limits.map_or(Verdict::Unjudged, |limits| self.series(reading, limits));
                Possible::read(kind, format!("{reading} inHg"), verdict)
            },
        ));
        readings
    }

    fn judged(&self, limits: &Limits) -> Vec<Possible> {
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
            let reading =
                tries.find(|reading| self.verdict(*reading, limits, &Context::default()) == Some(verdict))?;
            Some(Possible::read(AnswerKind::Read(verdict), format!("{reading} inHg"), verdict))
        });
        found.collect()
    }

    /// Returns where readings leave no doubt, of what is taken to be so.
    pub(super) fn sure(&self, limits: &Limits, context: &Context) -> Option<Sure> {
        Some(Sure::of(limits, self.bench.bench()?, context, self.bench.confidence()))
    }

    pub(super) fn bench(&self) -> &BenchState {
        &self.bench
    }

    /// Returns how much two takes of the same may differ, in inHg.
    pub(super) fn repeatability_limit(&self) -> f64 {
        self.bench.bench().map_or(0.0, |bench| bench.repeatability_limit().si() / INCH_OF_MERCURY)
    }

    /// Returns the verdict on a reading in inHg, taken as often as it takes to stand.
    fn verdict(&self, reading: f64, limits: &Limits, context: &Context) -> Option<Verdict> {
        // One take decides a sound circuit; another verdict must also stand when it has been seated and read again.
        let takes = |n| self.takes(reading, n, limits, context);
        let (first, last) = (takes(1)?, takes(3)?);
        (first == last).then_some(first)
    }

    /// Returns the verdict that a series of takes ends with, all of this reading.
    fn series(&self, reading: f64, limits: &Limits) -> Verdict {
        let after = |n| self.takes(reading, n, limits, &Context::default()).unwrap_or(Verdict::Retest);
        match (after(1), after(2)) {
            (first, _) if first.is_sound() => first,
            (_, second) if second != Verdict::Retest => second,
            _ => after(3),
        }
    }

    fn takes(&self, reading: f64, n: usize, limits: &Limits, context: &Context) -> Option<Verdict> {
        let reading = Pressure::from_si(reading * INCH_OF_MERCURY)?;
        let readings = vec![reading; n];
        let assessment = assess(&readings, self.bench.bench()?, context).ok()?;
        Some(judge(&assessment, limits, self.bench.confidence()).verdict)
    }
}
