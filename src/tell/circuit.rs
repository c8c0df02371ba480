use super::meaning::meaning;
use super::words::{odd_take, sure};
use crate::leak::{Estimate, Limits, OilState, Verdict};
use crate::quantity::Unit;
use crate::record::{Circuit, CircuitRecord, ReadingRecord, Record, TakeRecord};

/// What is told of a circuit. Texts are as they were written, so whoever shows them cleans and escapes them.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct CircuitStory {
    pub(crate) name: String,
    /// Where the hose was.
    pub(crate) port: Option<String>,
    /// None where it was not tested.
    pub(crate) verdict: Option<Verdict>,
    /// The standard reading that the verdict rests on, in Pa; none where no two takes agree.
    pub(crate) deciding: Option<Estimate>,
    /// Its limits, standard readings; none where they are to be found. A reading may have its own.
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
    /// Where the hose was, if not on the circuit's port.
    pub(crate) port: Option<String>,
    /// What it is judged by; none where that is to be found.
    pub(crate) limits: Option<Limits>,
    /// Whether it has these limits to itself.
    pub(crate) is_apart: bool,
    /// The standard reading with its 95 % interval, in Pa; none where no two takes agree.
    pub(crate) standard: Option<Estimate>,
    /// What was read, as it was typed, take by take.
    pub(crate) takes: String,
}

/// Tells the circuits of a record in the order described, beside an earlier one that it builds on,
/// with vacuums in a unit.
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

/// What is said of takes of which no two agree, in place of a figure.
pub(crate) const TAKES_DIFFER: &str = "no two takes agree, so none counts";

impl ReadingStory {
    /// Says which reading it is, as it stands before what was read.
    pub(crate) fn place(&self) -> String {
        let port = self.port.as_ref().map(|port| format!("port {port}"));
        let place: Vec<_> = self.label.iter().cloned().chain(port).collect();
        if place.is_empty() { String::new() } else { format!("{}: ", place.join(", ")) }
    }
}

impl CircuitStory {
    /// Says what was read where no two takes agree, so that there is no figure.
    pub(crate) fn differing(&self) -> Option<String> {
        let differing = self.readings.iter().filter(|reading| reading.standard.is_none());
        let read: Vec<_> = differing.map(|reading| format!("{}{}", reading.place(), reading.takes)).collect();
        (!read.is_empty()).then(|| format!("read {}; {TAKES_DIFFER}", read.join("; ")))
    }

    /// Returns whether each reading has limits of its own.
    pub(crate) fn is_all_apart(&self) -> bool {
        !self.readings.is_empty() && self.readings.iter().all(|reading| reading.is_apart)
    }

    /// Returns whether something here is to be open.
    pub(crate) fn has_window(&self) -> bool {
        self.readings.iter().any(|reading| reading.limits.is_some_and(|limits| limits.is_window()))
    }

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
            deciding: deciding(circuit).and_then(standard),
            limits: circuit.circuit.limits,
            readings: circuit
                .counting()
                .map(|reading| ReadingStory {
                    label: reading.label.clone(),
                    port: reading.own.port.clone().filter(|port| Some(port) != circuit.circuit.port.as_ref()),
                    limits: circuit.spot(reading).limits,
                    is_apart: circuit.spot(reading).limits != circuit.circuit.limits,
                    standard: standard(reading),
                    takes: format!("{}{}", takes(record, &reading.takes), taken_by(record, &reading.takes)),
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

fn standard(reading: &ReadingRecord) -> Option<Estimate> {
    Some(reading.meaning.as_ref()?.standard_reading_pa)
}

/// Returns the reading that the verdict rests on: of those that have it the lowest, or the highest where that is too
/// tight, and before them one of which no two takes agree; where none has, as its test was left before the plate was
/// seated again, the last one.
fn deciding(circuit: &CircuitRecord) -> Option<&ReadingRecord> {
    let badness = |reading: &ReadingRecord| match (standard(reading), reading.verdict()) {
        (None, _) => f64::NEG_INFINITY,
        (Some(standard), Verdict::Tight) => -standard.value,
        (Some(standard), _) => standard.value,
    };
    circuit
        .counting()
        .filter(|reading| Some(reading.verdict()) == circuit.verdict)
        .min_by(|one, other| badness(one).total_cmp(&badness(other)))
        .or_else(|| circuit.counting().last().filter(|_| circuit.verdict == Some(Verdict::Retest)))
}

/// Names who took a reading, where several tested.
fn taken_by(record: &Record, takes: &[TakeRecord]) -> String {
    let by = takes.last().and_then(|take| record.technician_at(take.event));
    by.filter(|_| record.technicians().len() > 1).map(|by| format!(", by {by}")).unwrap_or_default()
}

/// Writes takes as they were typed; the unit stands once where it is the same for all.
fn takes(record: &Record, takes: &[TakeRecord]) -> String {
    let entries: Vec<_> =
        takes.iter().filter_map(|take| record.read_at(take.event)).map(|(entry, _)| entry).collect();
    let unit = entries.first().map_or("", |entry| entry.unit.symbol);
    let once = entries.iter().all(|entry| entry.unit.symbol == unit);
    let told: Vec<_> =
        entries.iter().map(|entry| if once { entry.number() } else { &entry.entered }).collect();
    let all = if once { format!("{} {unit}", told.join(", ")) } else { told.join(", ") };
    let odd = takes.iter().position(|take| take.set_aside).and_then(|nth| told.get(nth));
    odd.map_or(all.clone(), |odd| format!("{all} (set aside: {})", odd_take(odd).trim_end_matches('.')))
}

/// Says what a fault of a circuit can do as what it is: the procedure's word, and nothing that was found on this unit.
pub(crate) fn in_general(circuit: &Circuit) -> Option<String> {
    let is_window = circuit.limits.as_ref().is_some_and(Limits::is_window);
    let what = if is_window { "a wrong passage" } else { "a leak" };
    circuit
        .means
        .as_ref()
        .map(|means| format!("What {what} here can do, as the procedure has it: \"{means}\""))
}

/// Says what the reading that a verdict rests on means.
fn means(circuit: &CircuitRecord, oil: Option<&OilState>, unit: &Unit) -> Vec<String> {
    let is_sound = circuit.verdict.is_some_and(Verdict::is_sound);
    let Some(reading) = deciding(circuit).filter(|_| !is_sound) else {
        return Vec::new();
    };
    let which = reading.label.as_ref().map(|label| format!("Reading \"{label}\": ")).unwrap_or_default();
    let (Some(limits), Some(judgement)) = (&circuit.spot(reading).limits, &reading.judgement) else {
        return vec!["It has no limits yet, so it was read and not judged.".to_owned()];
    };
    if circuit.verdict != Some(judgement.verdict) {
        return vec![format!(
            "{which}It was left before the plate was seated and read again, so it decides nothing: test the circuit again."
        )];
    }
    let Some(read) = &reading.meaning else {
        let advice = judgement.advice.map(|advice| advice.to_string());
        let told = advice.map(|advice| format!("{which}{advice}"));
        return told.into_iter().chain(in_general(&circuit.circuit)).collect();
    };
    let (lower, upper) = (limits.lower().in_unit(unit), limits.upper().in_unit(unit));
    let [below, between, above] = [judgement.below, judgement.between, judgement.above].map(sure);
    let advice = || judgement.advice.map(|advice| advice.to_string()).unwrap_or_default();
    let verdict = match judgement.verdict {
        Verdict::Holds | Verdict::Right | Verdict::Unjudged | Verdict::NotFitted => return Vec::new(),
        Verdict::Worn => format!(
            "It leaks more than a sound circuit (below {upper}) and less than one to be condemned (above {lower}); \
             {between} sure."
        ),
        Verdict::Leaks => {
            format!("It leaks more than it may (standard reading below {lower}); {below} sure.")
        }
        Verdict::Open => {
            format!("It passes more than it may (standard reading below {lower}); {below} sure.")
        }
        Verdict::Tight => {
            format!("It passes less than it must (standard reading above {upper}); {above} sure.")
        }
        Verdict::Retest if limits.is_window() => format!(
            "The readings do not decide: {between} that it is right, {below} that it is too open, {above} that it is too \
             tight. {}",
            advice()
        ),
        Verdict::Retest => format!(
            "The readings do not decide: {above} that it holds, {between} that it is worn, {below} that it leaks. {}",
            advice()
        ),
    };
    let mut sentences = vec![format!("{which}{verdict}")];
    sentences.extend(in_general(&circuit.circuit));
    // What is to pass is not lost.
    let spot = circuit.spot(reading);
    let oil = oil.filter(|_| !limits.is_window()).copied();
    sentences.extend(meaning(read, &spot.context(oil), spot.seal));
    if !circuit.circuit.symptoms.is_empty() {
        let what = if limits.is_window() { "This" } else { "A leak here" };
        sentences.push(format!("{what} can cause: {}.", circuit.circuit.symptoms.join(", ")));
    }
    sentences
}
