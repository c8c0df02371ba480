use jiff::Timestamp;

use super::photo::PhotoStory;
use super::port_picture::PortPicture;
use crate::air::BarometerSource;
use crate::leak::Verdict;
use crate::practice::{debrief, point_name, summed};
use crate::quantity::{Entry, Unit, shown, so_many};
use crate::record::{
    Answer, BarometerRecord, CalibrationRecord, CheckRecord, Mode, PointMark, Question, Record, Wants, What,
    provenance,
};
use crate::rig::OrificeKind;
use crate::tell::{self, CircuitStory};

const DEFERRAL: &str = "The unit's service information, local codes and the judgement of a licensed technician go \
                            before anything in this report. It says what was read on one bench at the times given; it is \
                            advice, never a guarantee.";

const OF_EXERCISE: &str = "Nothing here was measured, and it says nothing of any real unit: there, service information, local \
                           codes and the judgement of a licensed technician go first. A standard reading is what a rig set \
                           to 25 and 5 inHg through a 0.035 in hole shows at sea level; limits are standard readings.";

/// Says under a report what it is not.
pub(super) fn closing(is_rehearsal: bool) -> &'static str {
    if is_rehearsal { OF_EXERCISE } else { DEFERRAL }
}

pub(super) const REHEARSAL: &str = "REHEARSAL or exercise on a simulated rig: nothing was measured.";

/// A record told in words, for any renderer. Texts are as they were written, so a renderer cleans and escapes them.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Story {
    pub(crate) title: String,
    /// Whether nothing was measured.
    pub(crate) is_rehearsal: bool,
    /// Why the record is not to be relied on, or not the last word; whoever has it in hand says so.
    pub(crate) warnings: Vec<String>,
    /// Who, when and what, each with its label.
    pub(crate) facts: Facts,
    /// The outcome in a sentence or two.
    pub(crate) headline: String,
    /// The circuits that were read, in the order described.
    pub(crate) circuits: Vec<CircuitStory>,
    /// What there is to say besides, in order; none of them is empty.
    pub(crate) sections: Vec<Section>,
    /// The pictures of the unit, with the ports that were read on them.
    pub(crate) pictures: Vec<PortPicture>,
    /// What was photographed.
    pub(crate) photos: Vec<PhotoStory>,
    /// How the record can be checked.
    pub(crate) proof: String,
    /// The unit that vacuums are shown in.
    pub(crate) unit: &'static Unit,
}

/// Texts, each with its label.
pub(crate) type Facts = Vec<(String, String)>;

#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Section {
    pub(crate) title: &'static str,
    pub(crate) body: SectionBody,
}

#[derive(Debug, Clone, PartialEq)]
pub(crate) enum SectionBody {
    Texts(Vec<String>),
    Facts(Facts),
}

impl Story {
    /// Tells a record, beside the earlier one that it builds on where that is at hand, with vacuums in a unit.
    pub(crate) fn of(record: &Record, before: Option<&Record>, unit: &'static Unit) -> Story {
        let circuits = tell::circuits(record, before, unit);
        let without_cause = tell::complaints_without_cause(record);
        let headline = [headline(&circuits)].into_iter().chain(without_cause).collect::<Vec<_>>().join(" ");
        let (circuits, unread): (Vec<_>, Vec<_>) =
            circuits.into_iter().partition(|circuit| !circuit.readings.is_empty());
        let because = |verdict: Option<Verdict>| -> Vec<String> {
            let unread = unread.iter().filter(|circuit| circuit.verdict == verdict);
            let by_reason = tell::by_reason(unread);
            by_reason.iter().map(|(reason, names)| format!("{reason}: {}", names.join("; "))).collect()
        };
        let decided =
            record.decisions.iter().map(|decision| format!("{}: {}", decision.circuit, decision.decided));
        let account = (!record.decisions.is_empty()).then(|| tell::account(record));
        let (truth, grade) = exercise(record);
        let sections = [
            ("What was true", SectionBody::Facts(truth)),
            ("The grade", SectionBody::Facts(grade)),
            ("Not tested", SectionBody::Texts(because(None))),
            ("Not fitted", SectionBody::Texts(because(Some(Verdict::NotFitted)))),
            ("Findings", SectionBody::Texts(record.findings.iter().map(tell::finding).collect())),
            ("What was decided", SectionBody::Texts(decided.chain(account).collect())),
            ("Other checks", SectionBody::Facts(answers(record))),
            ("Notes", SectionBody::Texts(record.notes().map(|(_, text)| text.to_owned()).collect())),
            ("What the readings rest on", SectionBody::Facts(bench(record, unit))),
            ("Cautions that were read", SectionBody::Texts(cautions(record))),
        ];
        let is_told = |body: &SectionBody| match body {
            SectionBody::Texts(texts) => !texts.is_empty(),
            SectionBody::Facts(facts) => !facts.is_empty(),
        };
        let sections = sections.into_iter().filter(|(_, body)| is_told(body));
        Story {
            title: record.procedure.title.clone(),
            is_rehearsal: record.mode != Mode::Bench,
            warnings: Vec::new(),
            facts: facts(record, before),
            headline,
            circuits,
            sections: sections.map(|(title, body)| Section { title, body }).collect(),
            pictures: Vec::new(),
            photos: Vec::new(),
            proof: proof(record),
            unit,
        }
    }
}

/// Says which record it is and what can be shown of it.
fn proof(record: &Record) -> String {
    let (by, shows) = match &record.signer {
        Some(signer) => (signer.signer().to_string(), "and whether it is signed by that key"),
        None => ("nobody".to_owned(), "not who made it"),
    };
    format!(
        "Record {}, SHA-256 {}, made by spoolproof {}, signed by {by}. It holds the procedure and every answer, and spoolproof \
         records audit works all of it out again. That shows whether it hangs together, {shows}; that the answers are \
         true, nothing can show.",
        record.session,
        record.digest.as_deref().unwrap_or("none"),
        record.program
    )
}

/// Says of a record who, when and what, each with its label.
pub(crate) fn facts(record: &Record, before: Option<&Record>) -> Facts {
    let mut facts = vec![(
        "Procedure".to_owned(),
        format!(
            "{}, version {}, {}",
            record.procedure.id,
            record.procedure.version,
            provenance(record.procedure.origin, record.procedure.signer.as_ref())
        ),
    )];
    let mut say = |label: &str, text: Option<String>| {
        facts.extend(text.map(|text| (label.to_owned(), text)));
    };
    say("Job", record.job.clone());
    say("Unit", record.procedure.unit.clone());
    let complaints = record.plan.as_ref().filter(|plan| !plan.complaints.is_empty());
    say("Complaint", complaints.map(|plan| plan.complaints.join("; ")));
    let after = record.plan.as_ref().and_then(|plan| plan.after.as_ref());
    let amended = |session: &str| {
        let standing = before.filter(|before| before.session != session);
        standing.map(|before| format!(", as amended by {}", before.session)).unwrap_or_default()
    };
    say(
        "Tested again after",
        after.map(|earlier| format!("{}{}", earlier.session, amended(&earlier.session))),
    );
    say("Technician", record.tested_by());
    let minute = |at: Timestamp| record.minute(at);
    say("Read", read_at(record).map(|(first, last)| format!("{} to {}", minute(first), minute(last))));
    let finished = if record.amends.is_some() { "Amended" } else { "Finished" };
    say(finished, Some(minute(record.finished)));
    say(
        "Amends",
        record
            .amends
            .as_ref()
            .map(|amends| format!("{}: {} ({})", amends.earlier.session, amends.reason, amends.by)),
    );
    facts
}

/// Returns when the first and the last reading of a circuit was taken.
fn read_at(record: &Record) -> Option<(Timestamp, Timestamp)> {
    let readings = record.circuits.iter().flat_map(|circuit| &circuit.readings);
    let takes = readings.flat_map(|reading| &reading.takes);
    let at: Vec<_> = takes.filter_map(|take| Some(record.read_at(take.event)?.1)).collect();
    at.iter().min().copied().zip(at.iter().max().copied())
}

/// Names the day on which the circuits were read; of several the first and the last.
pub(super) fn days_read(record: &Record) -> String {
    let days = read_at(record).map(|(first, last)| [first, last].map(|at| record.day(at)));
    match days {
        Some([first, last]) if first != last => format!("{first} to {last}"),
        _ => record.day(last_read(record)),
    }
}

/// Writes a time of the day, with its day where the session goes over several.
fn hour(record: &Record, at: Timestamp) -> String {
    let first = record.journal.first().map(|event| record.day(event.at));
    let is_of_one_day =
        first.is_some_and(|first| record.journal.iter().all(|event| record.day(event.at) == first));
    if is_of_one_day { record.hour(at) } else { format!("{} on {}", record.hour(at), record.day(at)) }
}

/// Returns when the last reading was taken, or where there is none when the procedure came to its end.
fn last_read(record: &Record) -> Timestamp {
    read_at(record).map_or(record.finished, |(_, last)| last)
}

/// Says in a sentence or two what came out, and of each circuit what was decided, where something was.
fn headline(circuits: &[CircuitStory]) -> String {
    let named = |verdict: Verdict| {
        let names: Vec<_> = circuits
            .iter()
            .filter(|circuit| circuit.verdict == Some(verdict))
            .map(|CircuitStory { name, decided, .. }| match decided {
                Some(decided) => format!("{name} (decided: {decided})"),
                None => name.clone(),
            })
            .collect();
        names.join("; ")
    };
    let count = |is_meant: fn(Option<Verdict>) -> bool| {
        circuits.iter().filter(|circuit| is_meant(circuit.verdict)).count()
    };
    let (n_left, n_sound) =
        (count(|verdict| verdict.is_none()), count(|it| it.is_some_and(Verdict::is_sound)));
    let n_unjudged = count(|verdict| verdict == Some(Verdict::Unjudged));
    let n_judged =
        circuits.len() - n_left - n_unjudged - count(|verdict| verdict == Some(Verdict::NotFitted));
    let has_window = circuits.iter().any(CircuitStory::has_window);
    let hold = match (has_window, n_sound) {
        (true, 1) => "reads as sound",
        (true, _) => "read as sound",
        (false, 1) => "holds",
        (false, _) => "hold",
    };
    let mut text = match (n_judged, n_left) {
        (0, _) if n_unjudged > 0 => "No circuit was judged.".to_owned(),
        (0, _) => "No circuit was tested.".to_owned(),
        (n, 0) => format!("{n_sound} of {} {hold}.", so_many(n, "circuit")),
        (n, left) => format!("{n_sound} of {} {hold}; {left} not tested.", so_many(n, "tested circuit")),
    };
    for (verdict, words) in [
        (Verdict::Leaks, "Leaking"),
        (Verdict::Open, "Too open"),
        (Verdict::Tight, "Too tight"),
        (Verdict::Worn, "Worn"),
        (Verdict::Retest, "Not decided, to be read again"),
        (Verdict::Unjudged, "Read and not judged, for want of limits"),
        (Verdict::NotFitted, "Not fitted to this unit"),
    ] {
        let names = named(verdict);
        if !names.is_empty() {
            text += &format!(" {words}: {names}.");
        }
    }
    text
}

/// Tells of an attempt at an exercise what was true, and what it is worth; nothing of another record.
fn exercise(record: &Record) -> (Facts, Facts) {
    let Some(grade) = &record.grade else { return (Facts::new(), Facts::new()) };
    let truth = debrief(record).into_iter().map(|(heading, lines)| (heading, lines.join(" "))).collect();
    let mark = |mark: &PointMark| {
        let (got, of) = (shown(mark.share * mark.weight, 1), shown(mark.weight, 1));
        (point_name(mark.point).to_owned(), format!("{got} of {of}: {}.", mark.because))
    };
    let marks = grade.points.iter().map(mark);
    (truth, marks.chain([("together".to_owned(), summed(grade))]).collect())
}

/// Returns what was asked besides readings.
fn answers(record: &Record) -> Facts {
    let answered = record.answers.iter().filter_map(|n| record.answered(*n));
    answered.map(|(question, answer)| (question.words.clone(), tell::answer_text(answer))).collect()
}

fn cautions(record: &Record) -> Vec<String> {
    record
        .answers_in_order()
        .filter_map(|event| match &event.what {
            What::Answered { question, .. } if question.wants == Wants::Acknowledgement => {
                Some(question.words.clone())
            }
            _ => None,
        })
        .collect()
}

/// Says what the readings rest on, each with its label.
fn bench(record: &Record, unit: &Unit) -> Facts {
    let mut facts: Facts = record
        .calibrations
        .iter()
        .enumerate()
        .map(|(index, calibration)| {
            let number =
                if record.calibrations.len() > 1 { format!(" {}", index + 1) } else { String::new() };
            (format!("Calibration{number}"), calibrated(record, calibration, unit))
        })
        .collect();
    if !record.calibrations.is_empty() {
        facts.push(("Drift".to_owned(), drift(record, unit)));
        facts.extend(taken_back(record, unit).map(|read| ("Taken back after a drift".to_owned(), read)));
    }
    let (orifice, dial) = (record.rig.orifice, record.rig.dial);
    let stock = match orifice.kind() {
        OrificeKind::Plug => "thick stock",
        OrificeKind::Plate => "thin sheet",
    };
    let kind = format!("a {} (drilled through {stock})", tell::orifice_kind(orifice.kind()));
    let assumed = if record.rig_is_assumed { "; assumed, as nobody had described the rig" } else { "" };
    facts.push(("Test orifice".to_owned(), format!("{}, {kind}{assumed}", orifice.diameter())));
    facts.push((
        "Gauge".to_owned(),
        format!(
            "grade {}, 0 to {}, marks every {}{assumed}",
            dial.grade(),
            dial.span().in_unit(unit),
            dial.smallest_division().in_unit(unit)
        ),
    ));
    // A plate or two readings of a gauge say no more of a pump than this.
    let pump = record.rig.pump.map(|pump| {
        let litres = shown(pump.speed.si() * 60_000.0, 0);
        format!("about {litres} l/min, down to about {} absolute", pump.ultimate)
    });
    facts.push(("Pump".to_owned(), pump.unwrap_or_else(|| "its figures are not known".to_owned())));
    facts.extend(record.barometer.as_ref().map(|entered| ("Barometer".to_owned(), barometer(entered, unit))));
    if let Some(air) = &record.air {
        let from = if air.is_assumed() { "assumed" } else { "read in the room" };
        let celsius = shown(air.temperature().si() - 273.15, 1);
        facts.push(("Temperature".to_owned(), format!("{celsius} °C at the bench, {from}")));
    }
    facts.push((
        "Certainty".to_owned(),
        format!(
            "a verdict is given where it is at least {} probable; intervals are 95 %",
            tell::percent(record.confidence, 1)
        ),
    ));
    facts
}

fn barometer(BarometerRecord { barometer, entered, .. }: &BarometerRecord, unit: &Unit) -> String {
    let from = match barometer.source() {
        BarometerSource::Station { .. } => "read in the room",
        BarometerSource::AltimeterSetting { .. } => "from a weather report and the elevation",
        BarometerSource::Elevation { .. } => "from the elevation alone",
        BarometerSource::Standard => "assumed",
    };
    format!("{} at the bench, {from} (entered: {entered})", barometer.station().in_unit(unit))
}

fn calibrated(record: &Record, calibration: &CalibrationRecord, unit: &Unit) -> String {
    let number = |si: f64| shown(unit.from_si(si), unit.decimals);
    let settled = calibration.readings.last().and_then(|n| record.read_at(*n));
    let at = settled.map(|(_, at)| format!(", at {}", hour(record, at)));
    format!(
        "{} {symbol} plugged, {} {symbol} through the orifice (marks at this barometer: {} and {}){}",
        number(calibration.plugged_pa),
        number(calibration.through_pa),
        number(calibration.target_plugged_pa),
        number(calibration.target_through_pa),
        at.unwrap_or_default(),
        symbol = unit.symbol,
    )
}

/// Says of each drift what had been read of circuits and did not count any more.
fn taken_back(record: &Record, unit: &Unit) -> impl Iterator<Item = String> {
    let read = |n: &u64| match record.answered(*n)? {
        (Question { circuit: Some(circuit), .. }, Answer::Quantity { entry, .. }) => {
            Some(format!("{circuit}: {} {}", shown(unit.from_si(entry.si), unit.decimals), unit.symbol))
        }
        _ => None,
    };
    record.journal.iter().filter_map(move |event| match &event.what {
        What::Drifted { answers, .. } => {
            let read: Vec<_> = answers.iter().filter_map(read).collect();
            (!read.is_empty()).then(|| read.join("; "))
        }
        _ => None,
    })
}

/// Says how the looks at the rig came out, in the order of the clock, and what was done about drift.
fn drift(record: &Record, unit: &Unit) -> String {
    let number = |entry: &Entry| shown(unit.from_si(entry.si), unit.decimals);
    let looked = |check: &CheckRecord, outcome: String| {
        let (plugged, _) = record.read_at(check.plugged)?;
        let (through, at) = record.read_at(check.through)?;
        let hour = hour(record, at);
        let said =
            format!("{} and {} {} at {hour}, {outcome}", number(plugged), number(through), unit.symbol);
        Some((check.through, said))
    };
    let good = record.checks.iter().filter_map(|check| looked(check, "good".to_owned()));
    let drifted = record.drifts().filter_map(|(check, circuits)| {
        let then = match circuits {
            [] => "drifted, so it was set again".to_owned(),
            circuits => format!("drifted, so these were tested again: {}", circuits.join(", ")),
        };
        looked(&check, then)
    });
    let off = record.looks_again();
    let off =
        off.iter().filter_map(|look| looked(look, "off at this look, so it was looked at again".to_owned()));
    let mut looks: Vec<_> = good.chain(drifted).chain(off).collect();
    looks.sort_by_key(|(n, _)| *n);
    let looks: Vec<_> = looks.into_iter().map(|(_, said)| said).collect();
    let unchecked = record.checks.is_empty().then(|| "not checked after the readings that count".to_owned());
    let checked = (!looks.is_empty()).then(|| format!("checked: {}", looks.join("; ")));
    checked.into_iter().chain(unchecked).collect::<Vec<_>>().join("; ")
}
