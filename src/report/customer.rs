//! The page for the customer: what was found, the worst first, what such a fault can do, what was done and what that
//! cost. It says no more than the records and the shop's notes do.

use std::collections::BTreeMap;

use super::photo::PhotoStory;
use super::story::{Facts, days_read};
use crate::leak::{Estimate, Limits, Verdict};
use crate::practice::Commitment;
use crate::quantity::{Unit, so_many};
use crate::record::{
    Answer, Asker, Circuit, CircuitRecord, DoneRepair, FindingRecord, JobNotes, LEAVE_IT, Mode, REPLACE,
    Record, ShopAddress, What,
};
use crate::tell::{self, CircuitStory};

/// What a customer is told of a job.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct CustomerPage {
    /// The shop's name and how it is reached.
    pub(super) shop: Vec<String>,
    pub(super) is_rehearsal: bool,
    pub(super) facts: Facts,
    /// What came out, in a sentence or two.
    pub(super) headline: String,
    /// What did not read as sound, the worst first.
    pub(super) troubles: Vec<Trouble>,
    /// What there is to say of the other circuits.
    pub(super) others: Vec<String>,
    pub(super) money: Vec<String>,
    /// What all that does not say.
    pub(super) limits: Vec<String>,
}

/// A circuit that did not read as sound, and what became of it.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Trouble {
    unit: String,
    circuit: String,
    /// The circuit's name, with its unit where there are several.
    pub(super) name: String,
    pub(super) found: Verdict,
    /// None where it was not tested again.
    pub(super) now: Option<Verdict>,
    /// What such a fault can do, by the procedure.
    pub(super) road: Option<String>,
    pub(super) done: Vec<String>,
    pub(super) picture: BeforeAfter,
    pub(super) photos: Vec<PhotoStory>,
    decided: Option<String>,
}

/// Standard readings of a circuit, in Pa, when it was found and when it was tested last.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct BeforeAfter {
    pub(super) before: Option<Estimate>,
    pub(super) after: Option<Estimate>,
    pub(super) limits: Option<Limits>,
}

/// A circuit over the tests of a job.
struct CircuitCourse<'a> {
    /// The first test of it that was neither sound nor without a judgement.
    found: Option<(&'a Circuit, CircuitStory)>,
    last: CircuitStory,
    n_tests_since: usize,
    decided: Option<String>,
    /// What a student said of it last, where it is an exercise.
    committed: Option<Commitment>,
}

impl CustomerPage {
    /// Tells what the records of a job, in the order of their tests, and the shop's notes say together.
    pub(super) fn of(records: &[&Record], notes: &JobNotes, shop: &ShopAddress, unit: &Unit) -> CustomerPage {
        let courses = courses(records, unit);
        let has_several = has_several_units(&courses);
        let mut troubles: Vec<Trouble> =
            courses.iter().filter_map(|(key, course)| trouble(*key, has_several, course, notes)).collect();
        troubles.sort_by(|one, other| badness(one).total_cmp(&badness(other)));
        CustomerPage {
            shop: shop.lines().map(str::to_owned).collect(),
            is_rehearsal: is_rehearsal(records),
            facts: facts(records, notes),
            headline: headline(records, &courses, &troubles),
            others: others(records, &courses, &troubles, notes),
            money: money(records, notes, &troubles),
            limits: limits(records, notes),
            troubles,
        }
    }
}

impl CustomerPage {
    /// Takes a photo of a record where it is of a circuit in trouble; returns whether it does.
    pub(super) fn takes(&mut self, record: &Record, photo: &PhotoStory) -> bool {
        let of = (tested_unit(record), photo.circuit.as_deref());
        let trouble = self.troubles.iter_mut().find(|it| (it.unit.as_str(), Some(it.circuit.as_str())) == of);
        trouble.map(|trouble| trouble.photos.push(photo.clone())).is_some()
    }

    /// Returns what is told behind the troubles, each list with its title; none of them is empty.
    pub(super) fn lists(&self) -> impl Iterator<Item = (&'static str, &[String])> {
        let lists = [
            ("Besides", self.others.as_slice()),
            ("What it costs", &self.money),
            ("What this does not say", &self.limits),
        ];
        lists.into_iter().filter(|(_, texts)| !texts.is_empty())
    }
}

/// Returns whether a rig among those of the records was simulated.
fn is_rehearsal(records: &[&Record]) -> bool {
    records.iter().any(|record| record.mode != Mode::Bench)
}

/// Returns the unit that was tested, or the procedure's title.
fn tested_unit(record: &Record) -> &str {
    record.procedure.unit.as_deref().unwrap_or(&record.procedure.title)
}

fn courses<'a>(records: &[&'a Record], unit: &Unit) -> Vec<((&'a str, &'a str), CircuitCourse<'a>)> {
    let mut places: BTreeMap<(&str, &str), usize> = BTreeMap::new();
    let mut courses: Vec<((&str, &str), CircuitCourse)> = Vec::new();
    for record in records {
        let of = tested_unit(record);
        let commitments = Commitment::all(record.answers_in_order());
        for (circuit, story) in record.circuits.iter().zip(tell::circuits(record, None, unit)) {
            let Some(verdict) = circuit.verdict else { continue };
            let is_found = verdict.is_amiss() || verdict == Verdict::Retest;
            let key = (of, circuit.circuit.name.as_str());
            let decided = story.decided.clone();
            let committed = commitments.iter().rfind(|said| said.circuit == circuit.circuit.name).cloned();
            let place = *places.entry(key).or_insert(courses.len());
            if place == courses.len() {
                let found = is_found.then(|| (&*circuit.circuit, story.clone()));
                courses
                    .push((key, CircuitCourse { found, last: story, n_tests_since: 0, decided, committed }));
                continue;
            }
            let course = &mut courses[place].1;
            match &course.found {
                Some(_) => course.n_tests_since += 1,
                None => course.found = is_found.then(|| (&*circuit.circuit, story.clone())),
            }
            course.decided = decided.or(course.decided.take());
            course.committed = committed.or(course.committed.take());
            course.last = story;
        }
    }
    courses
}

fn has_several_units(courses: &[((&str, &str), CircuitCourse<'_>)]) -> bool {
    courses.windows(2).any(|pair| pair[0].0.0 != pair[1].0.0)
}

fn trouble(
    (unit, name): (&str, &str),
    has_several: bool,
    course: &CircuitCourse<'_>,
    notes: &JobNotes,
) -> Option<Trouble> {
    let (circuit, story) = course.found.as_ref()?;
    let is_again = course.n_tests_since > 0;
    let noted: Vec<_> = notes
        .repairs_of(unit, name)
        .map(|(_, repair)| format!("Done: {}.", tell::done_repair(repair)))
        .collect();
    let done = match (noted.is_empty(), course.decided.as_deref()) {
        (false, _) => noted,
        (true, None) if course.committed.is_some() => {
            course.committed.iter().map(|said| format!("The student {}.", said.told())).collect()
        }
        (true, None) => vec!["What is to be done about it is not decided.".to_owned()],
        (true, Some(LEAVE_IT)) => vec!["It was decided to leave it as it is.".to_owned()],
        (true, Some(decided)) => vec![format!("Decided: {decided}. That it was done is not noted.")],
    };
    let symptoms = (!circuit.symptoms.is_empty())
        .then(|| format!("On the road it can show as: {}.", circuit.symptoms.join(", ")));
    let road: Vec<_> = tell::in_general(circuit).into_iter().chain(symptoms).collect();
    Some(Trouble {
        unit: unit.to_owned(),
        circuit: name.to_owned(),
        name: tell::titled(unit, name, has_several),
        found: story.verdict?,
        now: course.last.verdict.filter(|_| is_again),
        road: (!road.is_empty()).then(|| road.join(" ")),
        done,
        picture: BeforeAfter {
            before: story.deciding,
            after: course.last.deciding.filter(|_| is_again),
            limits: story.limits,
        },
        photos: Vec::new(),
        decided: course.decided.clone(),
    })
}

/// Orders troubles: what was condemned before what is worn before what was not decided, and by the reading among them.
fn badness(trouble: &Trouble) -> f64 {
    const APART: f64 = 1e9;
    let rank = match trouble.found {
        Verdict::Leaks | Verdict::Open | Verdict::Tight => 0.0,
        Verdict::Worn => 1.0,
        _ => 2.0,
    };
    rank * APART + trouble.picture.before.map_or(0.0, |standard| standard.value)
}

/// What a verdict is to somebody who does not know the test.
pub(super) fn plain_word(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Holds | Verdict::Right => "reads as sound",
        Verdict::Worn => "reads as worn",
        Verdict::Leaks => "reads as leaking",
        Verdict::Open => "reads as too open",
        Verdict::Tight => "reads as too tight",
        Verdict::Retest => "not decided",
        Verdict::Unjudged => "read, not judged",
        Verdict::NotFitted => "not fitted",
    }
}

/// What a verdict was, before something was done.
pub(super) fn plain_word_before(verdict: Verdict) -> String {
    plain_word(verdict).replacen("reads", "read", 1)
}

/// Returns each of several things once, in the order in which they come first.
fn unique<T: PartialEq>(items: impl IntoIterator<Item = T>) -> Vec<T> {
    let mut known = Vec::new();
    for item in items {
        if !known.contains(&item) {
            known.push(item);
        }
    }
    known
}

fn facts(records: &[&Record], notes: &JobNotes) -> Facts {
    let mut facts = Facts::new();
    let mut say = |label: &str, texts: Vec<String>| {
        let texts = unique(texts);
        if !texts.is_empty() {
            facts.push((label.to_owned(), texts.join("; ")));
        }
    };
    say("Job", records.iter().filter_map(|record| record.job.clone()).collect());
    say("Customer", notes.customer.iter().cloned().collect());
    say("Vehicle", notes.vehicle.iter().cloned().collect());
    say("Unit", records.iter().filter_map(|record| record.procedure.unit.clone()).collect());
    let complaints = records.iter().filter_map(|record| record.plan.as_ref());
    say("Complaint", complaints.flat_map(|plan| plan.complaints.iter().cloned()).collect());
    let tested = records.iter().map(|record| {
        let by = record.tested_by().iter().map(|name| format!(", by {name}")).collect::<String>();
        let is_again = record.plan.as_ref().is_some_and(|plan| plan.after.is_some());
        format!("{}{}{by}", if is_again { "again " } else { "" }, days_read(record))
    });
    say("Tested", tested.collect());
    facts
}

fn headline(
    records: &[&Record],
    courses: &[((&str, &str), CircuitCourse<'_>)],
    troubles: &[Trouble],
) -> String {
    let is_judged = |verdict: Verdict| verdict != Verdict::NotFitted && verdict != Verdict::Unjudged;
    let n = courses.iter().filter(|(_, course)| course.last.verdict.is_some_and(is_judged)).count();
    let mut said = match (n, troubles.len()) {
        (0, _) => "No circuit was judged.".to_owned(),
        (n, 0) => format!("{} tested, and each reads as sound.", so_many(n, "circuit")),
        (n, t) => {
            let of = |meant: &[Verdict], word: &str| {
                let n = troubles.iter().filter(|trouble| meant.contains(&trouble.found)).count();
                (n > 0).then(|| format!("{n} {word}"))
            };
            let kinds = [
                of(&[Verdict::Leaks], "as leaking"),
                of(&[Verdict::Open], "as too open"),
                of(&[Verdict::Tight], "as too tight"),
                of(&[Verdict::Worn], "as worn"),
                of(&[Verdict::Retest], "without a decision"),
            ];
            let kinds: Vec<_> = kinds.into_iter().flatten().collect();
            format!("{t} of {} tested did not read as sound: {}.", so_many(n, "circuit"), kinds.join(", "))
        }
    };
    let again: Vec<_> = troubles.iter().filter_map(|trouble| trouble.now).collect();
    let n_sound = again.iter().filter(|verdict| verdict.is_sound()).count();
    match (troubles.len(), again.len()) {
        (0, _) => {}
        (_, 0) => said += " No test after that is in this report.",
        (_, n_again) => said += &format!(" Tested again: {n_sound} of {n_again} read as sound."),
    }
    let without_cause = records.first().and_then(|record| tell::complaints_without_cause(record));
    without_cause.into_iter().for_each(|told| said += &format!(" {told}"));
    said
}

fn others(
    records: &[&Record],
    courses: &[((&str, &str), CircuitCourse<'_>)],
    troubles: &[Trouble],
    notes: &JobNotes,
) -> Vec<String> {
    let has_several = has_several_units(courses);
    let is_trouble = |(unit, name): (&str, &str)| {
        troubles.iter().any(|trouble| (trouble.unit.as_str(), trouble.circuit.as_str()) == (unit, name))
    };
    let titles = |keys: Vec<(&str, &str)>| -> Vec<String> {
        keys.into_iter().map(|(unit, name)| tell::titled(unit, name, has_several)).collect()
    };
    let named = |is_meant: fn(Verdict) -> bool| -> Vec<String> {
        let meant = courses.iter().filter(|(_, course)| course.last.verdict.is_some_and(is_meant));
        titles(meant.map(|(key, _)| *key).filter(|key| !is_trouble(*key)).collect())
    };
    let tested = |key: (&str, &str)| courses.iter().any(|(tested, _)| *tested == key);
    let all = records.iter().flat_map(|record| {
        record.circuits.iter().map(|circuit| (tested_unit(record), circuit.circuit.name.as_str()))
    });
    let untested = titles(unique(all.filter(|key| !tested(*key))));
    let listed = |what: &str, names: Vec<String>| {
        (!names.is_empty()).then(|| format!("{what}: {}.", names.join("; ")))
    };
    let is_told =
        |repair: &DoneRepair| troubles.iter().any(|trouble| repair.is_of(&trouble.unit, &trouble.circuit));
    let done = notes.repairs.iter().filter(|(_, repair)| !is_told(repair)).map(|(_, repair)| {
        format!("Also done: {}{}.", tell::repaired_at(repair, has_several), tell::done_repair(repair))
    });
    let told = [
        listed("Read as sound", named(Verdict::is_sound)),
        listed("Read without limits to judge by", named(|verdict| verdict == Verdict::Unjudged)),
        listed("Not fitted to this unit", named(|verdict| verdict == Verdict::NotFitted)),
        listed("Not tested", untested),
    ];
    let found = records.iter().enumerate().flat_map(|(index, record)| {
        let day = days_read(record);
        record.findings.iter().map(move |finding| {
            let is_gone = records[index + 1..].iter().any(|later| is_no_longer_found(finding, record, later));
            let gone = if is_gone { " When tested again, that was no longer so." } else { "" };
            format!("Found on {day}: {}{gone}", sentence(&tell::finding(finding)))
        })
    });
    let found = unique(found);
    found.into_iter().chain(done).chain(told.into_iter().flatten()).collect()
}

/// Returns whether a later record asked all that a finding of an earlier one can come from, and did not come to it.
fn is_no_longer_found(finding: &FindingRecord, earlier: &Record, later: &Record) -> bool {
    let is_of_unit = later.procedure.id == earlier.procedure.id;
    // A step that is done depends on answers, as one to find what was missing.
    let is_asked_again = match &finding.circuit {
        Some(name) => {
            // What is said of a circuit that is still amiss may hold though it is not said again.
            let is_sound = |circuit: &CircuitRecord| circuit.verdict.is_some_and(Verdict::is_sound);
            later.circuits.iter().any(|circuit| circuit.circuit.name == *name && is_sound(circuit))
        }
        None => asked_outside_circuits(earlier, |answer| *answer != Answer::Confirmed).all(|words| {
            asked_outside_circuits(later, |answer| !matches!(answer, Answer::Unable(_)))
                .any(|again| again == words)
        }),
    };
    is_of_unit && is_asked_again && !later.findings.contains(finding)
}

/// Returns the words of what the procedure asked outside its circuits and was answered in such a way.
fn asked_outside_circuits(record: &Record, is_meant: fn(&Answer) -> bool) -> impl Iterator<Item = &str> {
    record.answers_in_order().filter_map(move |event| match &event.what {
        What::Answered { question, answer }
            if question.circuit.is_none() && question.asker == Asker::Procedure && is_meant(answer) =>
        {
            Some(question.words.as_str())
        }
        _ => None,
    })
}

/// Ends what is told with a full stop.
fn sentence(told: &str) -> String {
    if told.ends_with(['.', '!', '?']) { told.to_owned() } else { format!("{told}.") }
}

/// Says what was done cost, as the shop noted it; else what was decided would, by the figures at hand.
fn money(records: &[&Record], notes: &JobNotes, troubles: &[Trouble]) -> Vec<String> {
    let repairs = || notes.repairs.iter().map(|(_, repair)| repair);
    let costs: Vec<f64> = repairs().filter_map(|repair| repair.cost).collect();
    let currency =
        repairs().find(|repair| repair.cost.is_some()).and_then(|repair| repair.currency.as_deref());
    let is_of_one_money =
        repairs().filter(|repair| repair.cost.is_some()).all(|it| it.currency.as_deref() == currency);
    if costs.is_empty() || !is_of_one_money {
        let decided = records.iter().filter(|record| !record.decisions.is_empty());
        return decided.map(|record| tell::account(record)).collect();
    }
    let total: f64 = costs.iter().sum();
    let mut said = vec![format!("What was done: {}, as the shop noted it.", tell::money(total, currency))];
    let unpriced: Vec<_> = repairs().filter(|it| it.cost.is_none()).map(|it| it.did.as_str()).collect();
    if !unpriced.is_empty() {
        said.push(format!("Not in it, as no cost is noted: {}.", unpriced.join(", ")));
    }
    let is_sound = |trouble: &Trouble| trouble.now.is_some_and(Verdict::is_sound);
    let is_left = |trouble: &Trouble| trouble.decided.as_deref() == Some(LEAVE_IT);
    let is_settled = |trouble: &Trouble| {
        is_sound(trouble) || is_left(trouble) || is_replaced_since(records, notes, &trouble.unit)
    };
    let open = troubles.iter().filter(|trouble| !is_settled(trouble));
    let is_paid = |trouble: &&Trouble| {
        notes.repairs_of(&trouble.unit, &trouble.circuit).any(|(_, repair)| repair.cost.is_some())
    };
    let (repaired, open): (Vec<_>, Vec<_>) = open.partition(is_paid);
    let [repaired, open] = [repaired, open]
        .map(|troubles| troubles.into_iter().map(|trouble| trouble.name.as_str()).collect::<Vec<_>>());
    if !open.is_empty() {
        said.push(format!("Not settled, so what they will cost is not in it: {}.", open.join(", ")));
    }
    if !repaired.is_empty() {
        said.push(format!(
            "Repaired, but no test in this report shows them sound since; what more they may take is not in it: {}.",
            repaired.join(", ")
        ));
    }
    let is_replaced = troubles.iter().any(|trouble| trouble.decided.as_deref() == Some(REPLACE));
    let prices = records.iter().map(|record| &record.account.prices).rev();
    let replacement =
        prices.filter(|prices| prices.currency.as_deref() == currency).find_map(|prices| prices.replacement);
    // What is not sound has not been had for that money.
    let is_whole = unpriced.is_empty() && !is_replaced && troubles.iter().all(is_sound);
    if let Some(replacement) = replacement.filter(|_| is_whole) {
        let saved = replacement - total;
        let than = if saved >= 0.0 { "less" } else { "more" };
        said.push(format!(
            "A replacement would be {} by the shop's figures, so that is {} {than}.",
            tell::money(replacement, currency),
            tell::money(saved.abs(), currency)
        ));
    }
    said
}

/// Returns whether it was noted after all tests of a unit that its body was replaced.
fn is_replaced_since(records: &[&Record], notes: &JobNotes, unit: &str) -> bool {
    notes.repairs.iter().any(|(at, repair)| {
        let is_of_unit = repair.unit.as_deref().is_none_or(|repaired| repaired == unit);
        let tests = || records.iter().filter(|record| tested_unit(record) == unit);
        repair.did == REPLACE && is_of_unit && tests().all(|record| record.finished < *at)
    })
}

fn limits(records: &[&Record], notes: &JobNotes) -> Vec<String> {
    let mut said = vec![match is_rehearsal(records) {
        true => "The rig was simulated: no part was tested, and nothing here is said of any vehicle.".to_owned(),
        false => "The readings were taken by this shop on its own bench, of the parts by themselves and not in the vehicle. \
                  \"Reads as leaking\" says what a gauge showed against the limits of the procedure. It does not say that a \
                  part is broken, nor that it is the cause of what is felt on the road."
            .to_owned(),
    }];
    if records.iter().any(|record| record.mode == Mode::Bench && record.rig_is_assumed) {
        said.push(
            "Nobody had described the rig: its test orifice and its gauge are assumed to be the usual ones, and every figure and \
             verdict here rests on that."
                .to_owned(),
        );
    }
    if !notes.repairs.is_empty() {
        said.push(
            "What was done and what it cost is as the shop noted it; no reading shows that.".to_owned(),
        );
    }
    if records.iter().any(|record| is_replaced_since(records, notes, tested_unit(record))) {
        said.push(
            "The body was replaced after the last test: what was read is of the one that was taken out, and the one that was put \
             in was not tested."
                .to_owned(),
        );
    }
    let signers = records.iter().filter_map(|record| Some(record.signer.as_ref()?.signer().to_string()));
    let n_signed = signers.clone().count();
    said.push(match n_signed {
        0 => "The records behind this page are not signed: who made them, they do not show.".to_owned(),
        n => format!(
            "Records behind this page: {}, signed: {n}, by {}. A signature shows that who holds that key made just that record \
             or took it on, and that nothing in it was changed since. That the gauge was read rightly, it does not show.",
            records.len(),
            unique(signers).join(" and ")
        ),
    });
    said
}
