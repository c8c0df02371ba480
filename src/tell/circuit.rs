use super::meaning::meaning;
use super::words::percent;
use crate::leak::{Estimate, Limits, OilState, Verdict};
use crate::quantity::Unit;
use crate::record::{CircuitRecord, ReadingRecord, Record, TakeRecord};

/// What is told of a circuit. Texts are as they were written, so whoever shows them cleans and escapes them.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct CircuitStory {
    pub(crate) name: String,
    /// Where the hose was.
    pub(crate) port: Option<String>,
    /// None where it was not tested.
    pub(crate) verdict: Option<Verdict>,
    /// The standard reading that the verdict rests on, in Pa.
    pub(crate) deciding: Option<Estimate>,
    /// Its limits, standard readings; none where they are to be found.
    pub(crate) limits: Option<Limits>,
    /// Its readings that count, in order.
    pub(crate) readings: Vec<ReadingStory>,
    /// Why it was tested, where there was a reason of its own, as it stands behind "tested".
    pub(crate) because: Option<String>,
    /// What it was before, where it is tested again.
    pub(crate) before: Option<Box<CircuitStory>>,
    pub(crate) decided: Option<String>,
    /// Why it was not tested, or not to the end.
    pub(crate) left: Option<String>,
    /// What the readings mean, in plain words; nothing for a circuit that holds.
    pub(crate) meaning: Vec<String>,
}

#[derive(Debug, Clone, PartialEq)]
pub(crate) struct ReadingStory {
    /// What tells it from the circuit's others.
    pub(crate) label: Option<String>,
    /// The standard reading with its 95 % interval, in Pa.
    pub(crate) standard: Estimate,
    /// What was read, as it was typed, take by take.
    pub(crate) takes: String,
}

/// Tells the circuits of a record in the order described, beside an earlier one that it builds on, with vacuums in a unit.
pub(crate) fn circuits(record: &Record, before: Option<&Record>, unit: &Unit) -> Vec<CircuitStory> {
    record.circuits.iter().map(|circuit| CircuitStory::of(circuit, record, before, unit)).collect()
}

/// Names circuits that were not tested, together where they have one reason: with a plan most do.
pub(crate) fn by_reason<'a>(
    circuits: impl IntoIterator<Item = &'a CircuitStory>,
) -> Vec<(&'a str, Vec<&'a str>)> {
    let mut by_reason: Vec<(&str, Vec<&str>)> = Vec::new();
    for circuit in circuits {
        let reason = circuit.left.as_deref().unwrap_or("no reading was taken");
        match by_reason.iter_mut().find(|(known, _)| *known == reason) {
            Some((_, names)) => names.push(&circuit.name),
            None => by_reason.push((reason, vec![&circuit.name])),
        }
    }
    by_reason
}

impl CircuitStory {
    fn of(circuit: &CircuitRecord, record: &Record, before: Option<&Record>, unit: &Unit) -> CircuitStory {
        let name = &circuit.circuit.name;
        let planned = record.plan.as_ref().and_then(|plan| plan.circuits.iter().find(|p| p.circuit == *name));
        let earlier = before.and_then(|before| {
            let circuit = before.circuits.iter().find(|circuit| circuit.circuit.name == *name)?;
            Some(Box::new(CircuitStory::of(circuit, before, None, unit)))
        });
        let decision = record.decisions.iter().find(|decision| decision.circuit == *name);
        let is_again = record.plan.as_ref().is_some_and(|plan| plan.after.is_some());
        let because = if is_again { "again, since it was found" } else { "because of" };
        CircuitStory {
            name: name.clone(),
            port: circuit.circuit.port.clone(),
            verdict: circuit.verdict,
            deciding: deciding(circuit).map(standard),
            limits: circuit.circuit.limits,
            readings: counting(circuit)
                .map(|reading| ReadingStory {
                    label: reading.label.clone(),
                    standard: standard(reading),
                    takes: takes(&reading.takes),
                })
                .collect(),
            because: planned
                .filter(|planned| !planned.because.is_empty())
                .map(|planned| format!("{because}: {}", planned.because.join(", "))),
            before: earlier.filter(|_| circuit.verdict.is_some()),
            decided: decision.map(|decision| decision.decided.clone()),
            left: circuit.left.clone(),
            meaning: means(circuit, record.procedure.oil.as_ref(), unit),
        }
    }
}

fn counting(circuit: &CircuitRecord) -> impl Iterator<Item = &ReadingRecord> {
    circuit.readings.iter().filter(|reading| !reading.trial)
}

fn standard(reading: &ReadingRecord) -> Estimate {
    reading.meaning.standard_reading_pa
}

/// Returns the reading that the verdict rests on: the lowest of those that have it; where none has, as its test was left
/// before the plate was seated again, the last one.
fn deciding(circuit: &CircuitRecord) -> Option<&ReadingRecord> {
    counting(circuit)
        .filter(|reading| Some(reading.verdict()) == circuit.verdict)
        .min_by(|one, other| standard(one).value.total_cmp(&standard(other).value))
        .or_else(|| counting(circuit).last().filter(|_| circuit.verdict == Some(Verdict::Retest)))
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
    let Some(reading) = deciding(circuit).filter(|_| circuit.verdict != Some(Verdict::Holds)) else {
        return Vec::new();
    };
    let which = reading.label.as_ref().map(|label| format!("Reading \"{label}\": ")).unwrap_or_default();
    let sure = |share: f64| match percent(share, 0).as_str() {
        "100 %" => "over 99 %".to_owned(),
        percent => percent.to_owned(),
    };
    let (Some(limits), Some(judgement)) = (&circuit.circuit.limits, &reading.judgement) else {
        return vec!["It has no limits yet, so it was read and not judged.".to_owned()];
    };
    if circuit.verdict != Some(judgement.verdict) {
        return vec![format!(
            "{which}It was left before the plate was seated and read again, so it decides nothing: test the circuit again."
        )];
    }
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
    sentences.extend(meaning(&reading.meaning, oil));
    if !circuit.circuit.symptoms.is_empty() {
        sentences.push(format!("A leak here can cause: {}.", circuit.circuit.symptoms.join(", ")));
    }
    sentences
}
