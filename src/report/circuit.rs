use super::meaning;
use crate::leak::{Estimate, Limits, OilState, Verdict};
use crate::quantity::{Unit, shown};
use crate::record::{CircuitRecord, ReadingRecord, Record, TakeRecord};

/// What a report says of a circuit.
#[derive(Debug, Clone, PartialEq)]
pub struct CircuitStory {
    /// Its name.
    pub name: String,
    /// Where the hose was.
    pub port: Option<String>,
    /// What was found.
    pub finding: Finding,
    /// Its limits, standard readings; none where they are to be found.
    pub limits: Option<Limits>,
    /// Its readings that count, in order.
    pub readings: Vec<ReadingStory>,
    /// Why it was tested, where there was a reason of its own, as it stands behind "tested".
    pub because: Option<String>,
    /// What it was in an earlier record.
    pub earlier: Option<Earlier>,
    /// What was decided about it.
    pub decided: Option<String>,
    /// Why it was not tested, or not to the end.
    pub left: Option<String>,
    /// What the readings mean, in plain words; nothing for a circuit that holds.
    pub meaning: Vec<String>,
}

/// What was found about a circuit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Finding {
    /// It was tested.
    Tested(Verdict),
    /// It was not.
    NotTested,
}

impl Finding {
    /// Returns the word for it.
    pub fn word(self) -> &'static str {
        match self {
            Finding::Tested(Verdict::Holds) => "holds",
            Finding::Tested(Verdict::Worn) => "worn",
            Finding::Tested(Verdict::Leaks) => "leaks",
            Finding::Tested(Verdict::Retest) => "retest",
            Finding::Tested(Verdict::Unjudged) => "not judged",
            Finding::NotTested => "not tested",
        }
    }
}

/// One reading of a circuit.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadingStory {
    /// What tells it from the circuit's others.
    pub label: Option<String>,
    /// The standard reading with its 95 % interval, in Pa.
    pub standard: Estimate,
    /// What was read, as it was typed, take by take.
    pub takes: String,
}

/// What a circuit was before.
#[derive(Debug, Clone, PartialEq)]
pub struct Earlier {
    /// What was found then.
    pub finding: Finding,
    /// The standard reading then, with its 95 % interval, in Pa.
    pub standard: Option<Estimate>,
    /// What was decided about it then.
    pub decided: Option<String>,
}

impl CircuitStory {
    pub(super) fn of(
        circuit: &CircuitRecord,
        record: &Record,
        before: Option<&Record>,
        unit: &Unit,
    ) -> CircuitStory {
        let name = &circuit.circuit.name;
        let planned = record.plan.as_ref().and_then(|plan| plan.circuits.iter().find(|p| p.circuit == *name));
        let earlier = before.and_then(|before| before.circuits.iter().find(|c| c.circuit.name == *name));
        let decided = |record: &Record| {
            let decision = record.decisions.iter().find(|decision| decision.circuit == *name);
            decision.map(|decision| decision.decided.clone())
        };
        let is_again = record.plan.as_ref().is_some_and(|plan| plan.after.is_some());
        let because = if is_again { "again, since it was found" } else { "because of" };
        CircuitStory {
            name: name.clone(),
            port: circuit.circuit.port.clone(),
            finding: finding(circuit),
            limits: circuit.circuit.limits,
            readings: counting(circuit).map(reading).collect(),
            because: planned
                .filter(|planned| !planned.because.is_empty())
                .map(|planned| format!("{because}: {}", planned.because.join(", "))),
            earlier: earlier.filter(|_| circuit.verdict.is_some()).map(|earlier| Earlier {
                finding: finding(earlier),
                standard: governing(earlier).map(|reading| reading.meaning.standard_reading_pa),
                decided: before.and_then(decided),
            }),
            decided: decided(record),
            left: circuit.left.clone(),
            meaning: means(circuit, record.procedure.oil.as_ref(), unit),
        }
    }
}

fn finding(circuit: &CircuitRecord) -> Finding {
    circuit.verdict.map_or(Finding::NotTested, Finding::Tested)
}

fn counting(circuit: &CircuitRecord) -> impl Iterator<Item = &ReadingRecord> {
    circuit.readings.iter().filter(|reading| !reading.trial)
}

/// Returns the reading that the verdict rests on: the lowest of those that have it.
fn governing(circuit: &CircuitRecord) -> Option<&ReadingRecord> {
    let standard = |reading: &&ReadingRecord| reading.meaning.standard_reading_pa.value;
    counting(circuit)
        .filter(|reading| Some(reading.verdict()) == circuit.verdict)
        .min_by(|one, other| standard(one).total_cmp(&standard(other)))
}

fn reading(reading: &ReadingRecord) -> ReadingStory {
    ReadingStory {
        label: reading.label.clone(),
        standard: reading.meaning.standard_reading_pa,
        takes: takes(&reading.takes),
    }
}

/// Writes takes as they were typed; the unit stands once where it is the same for all and was not typed.
fn takes(takes: &[TakeRecord]) -> String {
    let is_bare = |take: &TakeRecord| take.entry.entered.ends_with(|c: char| c.is_ascii_digit());
    let unit = takes.first().map(|take| take.entry.unit.clone()).unwrap_or_default();
    let once = takes.iter().all(|take| is_bare(take) && take.entry.unit == unit);
    let told: Vec<_> = takes
        .iter()
        .map(|take| {
            let own_unit =
                if is_bare(take) && !once { format!(" {}", take.entry.unit) } else { String::new() };
            let aside = if take.counts { "" } else { " (set aside)" };
            format!("{}{own_unit}{aside}", take.entry.entered)
        })
        .collect();
    if once { format!("{} {unit}", told.join(", ")) } else { told.join(", ") }
}

/// Says what the reading that a verdict rests on means.
fn means(circuit: &CircuitRecord, oil: Option<&OilState>, unit: &Unit) -> Vec<String> {
    let Some(reading) = governing(circuit).filter(|_| circuit.verdict != Some(Verdict::Holds)) else {
        return Vec::new();
    };
    let which = reading.label.as_ref().map(|label| format!("Reading \"{label}\": ")).unwrap_or_default();
    let sure = |share: f64| match shown(share * 100.0, 0).as_str() {
        "100" => "over 99 %".to_owned(),
        percent => format!("{percent} %"),
    };
    let (Some(limits), Some(judgement)) = (&circuit.circuit.limits, &reading.judgement) else {
        return vec!["It has no limits yet, so it was read and not judged.".to_owned()];
    };
    let (holds, leaks) = (limits.holds().in_unit(unit), limits.leaks().in_unit(unit));
    let verdict = match judgement.verdict {
        Verdict::Holds | Verdict::Unjudged => return Vec::new(),
        Verdict::Worn => format!(
            "It leaks more than a sound circuit (below {holds}) and less than one to be condemned (above {leaks}); \
             {} sure.",
            sure(judgement.worn)
        ),
        Verdict::Leaks => {
            format!(
                "It leaks more than it may (standard reading below {leaks}); {} sure.",
                sure(judgement.leaks)
            )
        }
        Verdict::Retest => format!(
            "The readings do not decide: {} that it holds, {} that it is worn, {} that it leaks. {}",
            sure(judgement.holds),
            sure(judgement.worn),
            sure(judgement.leaks),
            judgement.advice.map(|advice| advice.to_string()).unwrap_or_default()
        ),
    };
    let mut sentences = vec![format!("{which}{verdict}")];
    sentences.extend(circuit.circuit.means.clone());
    sentences.extend(meaning::sentences(&reading.meaning, oil));
    if !circuit.circuit.symptoms.is_empty() {
        sentences.push(format!("A leak here can cause: {}.", circuit.circuit.symptoms.join(", ")));
    }
    sentences
}
