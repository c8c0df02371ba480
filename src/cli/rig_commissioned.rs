//! What commissioning has found of a rig, taken into its description.

use super::status::Failure;
use crate::quantity::Pressure;
use crate::record::{Answer, Mode, Record, Shop, What, read};
use crate::rig::{BenchIdentity, Gauged, GoNoGo, Profile, Repeatability};
use crate::stats::Summary;

/// The shipped procedure that proves a bench.
const COMMISSIONING: &str = "rig-commissioning";

/// The beginning of the name of the circuit that it reads again and again.
const PROOF: &str = "proof orifice";

/// The beginnings of its questions whose answers show that the inlet valve is sonic.
const SONIC: [&str; 2] = ["What does that gauge show", "How far does the reading on the orifice fall"];

/// Reads the latest record of commissioning that counts for this bench: records of others may lie beside its own.
pub(super) fn latest(shop: &Shop, bench: Option<&BenchIdentity>) -> Result<Record, Failure> {
    let names = shop.record_names().map_err(|error| Failure::file(&shop.records(), &error))?;
    let of_bench = |name: &String| {
        let record = read(&shop.record(name)).ok()?;
        let of = record.opening().and_then(|opening| opening.bench.as_ref());
        let is_other = of.zip(bench).is_some_and(|(of, bench)| of.id != bench.id);
        let is_of_bench = record.mode == Mode::Bench && record.procedure.id == COMMISSIONING && !is_other;
        (is_of_bench && record.is_as_stored()).then_some(record)
    };
    names.iter().rev().find_map(of_bench).ok_or_else(|| {
        Failure::wrong(
            "this bench has no record of commissioning; make one, and give this again:\nspoolproof guide rig-commissioning",
        )
    })
}

/// Returns the rig with what the record has found of it, and that in sentences; what it has not
/// looked at stays as it is.
pub(super) fn found(record: &Record, mut profile: Profile) -> Result<(Profile, Vec<String>), Failure> {
    if record.rig.orifice != profile.orifice || record.rig.dial.grade() != profile.dial.grade() {
        return Err(Failure::wrong(format!(
            "{} was made with another gauge or orifice than is described now; commission the bench again",
            record.session
        )));
    }
    let mut told = Vec::new();
    if let Some(gauged) = shanks(record, &profile) {
        profile.gauged = Some(gauged);
        told.push("what the drill shanks did in the orifice".to_owned());
    }
    if let Some(repeatability) = repeated(record, &profile) {
        profile.repeatability = Some(repeatability);
        told.push(format!("how well it repeats, by {} looks at one hole", repeatability.readings));
    }
    if let Some(keeps_sonic) = sonic(record) {
        profile.pump.keeps_sonic = Some(keeps_sonic);
        let told_of = if keeps_sonic { "enough" } else { "too weak" };
        told.push(format!("that its pump is {told_of}"));
    }
    Ok((profile, told))
}

fn answers(record: &Record) -> impl Iterator<Item = (&str, &Answer)> {
    record.answers_in_order().filter_map(|event| match &event.what {
        What::Answered { question, answer } => Some((question.words.as_str(), answer)),
        _ => None,
    })
}

/// What the two shanks did that belong to the orifice; of a smaller one that did not go in, the larger is not asked.
fn shanks(record: &Record, profile: &Profile) -> Option<Gauged> {
    let GoNoGo { go, no_go } = GoNoGo::of(profile.orifice.diameter())?;
    let passes = |name: &str| {
        answers(record).find_map(|(words, answer)| match answer {
            Answer::Yes(yes) if words.contains(&format!("#{name} drill")) => Some(*yes),
            _ => None,
        })
    };
    let go_passes = passes(go.name)?;
    let no_go_passes = if go_passes { passes(no_go.name)? } else { false };
    Some(Gauged { go_passes, no_go_passes })
}

/// How looks at the same hole scatter; no less than the dial rounds, where all were the same.
fn repeated(record: &Record, profile: &Profile) -> Option<Repeatability> {
    let circuit = record.circuits.iter().find(|circuit| circuit.circuit.name.starts_with(PROOF))?;
    let takes = circuit.readings.iter().flat_map(|reading| &reading.takes);
    let looks: Vec<f64> =
        takes.filter_map(|take| record.read_at(take.event)?.0.quantity()).map(|look| look.si()).collect();
    let summary = Summary::of(&looks)?;
    let readings = u32::try_from(summary.n).ok().filter(|n| *n >= Repeatability::LEAST_READINGS)?;
    let least = profile.dial.resolution().si() / 3.0_f64.sqrt();
    Some(Repeatability { deviation: Pressure::from_si(summary.deviation?.max(least))?, readings })
}

/// Whether the pump keeps the inlet valve sonic; nothing where that was not looked at.
fn sonic(record: &Record) -> Option<bool> {
    let is_asked = |words: &str| SONIC.iter().any(|asked| words.starts_with(asked));
    answers(record).any(|(words, answer)| is_asked(words) && matches!(answer, Answer::Quantity { .. })).then(
        || !record.findings.iter().any(|finding| finding.text.contains("can't keep the inlet valve sonic")),
    )
}
