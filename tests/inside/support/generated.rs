//! Records by the thousand: one rehearsed session, with other readings, people and dates.

use std::path::Path;

use crate::quantity::{Entry, UNITS};
use crate::record::{
    Answer, Asker, Circuit, EarlierRecord, Event, HoseOn, Mode, Plan, Planned, Question, Record, Step, Told,
    Wants, What, document, fold, options,
};
use crate::rig::simulated::Chance;
use crate::tests::support::Home;
use jiff::{SignedDuration, Timestamp};

/// Circuits of a generated unit.
pub(crate) const N_CIRCUITS: usize = 12;

/// The events of one session with every circuit sound, to be varied.
pub(crate) struct Template(Vec<Event>);

/// What a generated record is like.
#[derive(Debug, Clone)]
pub(crate) struct Wanted {
    pub(crate) number: usize,
    pub(crate) unit: String,
    pub(crate) technician: String,
    /// Hours since the first record.
    pub(crate) hours: i64,
    /// Standard readings of the circuits in inHg.
    pub(crate) readings: Vec<f64>,
    /// The record whose failed circuits it tests again.
    pub(crate) after: Option<EarlierRecord>,
    /// The record that it amends.
    pub(crate) amends: Option<EarlierRecord>,
}

impl Template {
    /// Walks an invented unit on the simulated rig.
    pub(crate) fn new() -> Template {
        let mut script =
            "procedure(#{ title: \"Merle M2\", unit: \"Merle M2\", version: \"1.0.0\" });\n".to_owned();
        let mut arguments = ["rehearse", "merle-m2.rhai", "--seed", "1"].map(str::to_owned).to_vec();
        for n in 1..=N_CIRCUITS {
            script += &format!(
                "let c{n} = circuit(#{{ name: \"circuit {n}\", port: \"{n}\", holds: 20.inHg, leaks: 15.inHg, \
                 symptoms: [\"late upshift\"], land: #{{ diameter: 12.7.mm, length: 7.6.mm }}, \
                 repairs: [#{{ does: \"ream and oversize valve\", parts: 48, hours: 0.6 }}] }});\ntest(c{n});\n"
            );
            arguments.extend(["--leak".to_owned(), format!("circuit {n}=0.006in")]);
        }
        let home = Home::with("merle-m2.rhai", &script);
        home.done(&arguments);
        let record: Record = serde_json::from_value(home.rehearsal()).unwrap();
        Template(record.journal)
    }

    /// Makes a record.
    pub(crate) fn record(&self, wanted: &Wanted) -> Record {
        let mut events = self.0.clone();
        let began: Timestamp = "2021-01-04T08:00:00Z".parse().unwrap();
        let later = SignedDuration::from_hours(wanted.hours);
        let shift = began.duration_since(events[0].at) + later;
        let mut readings = wanted.readings.iter();
        let mut circuits: Vec<Circuit> = Vec::new();
        for event in &mut events {
            event.at = event.at.checked_add(shift).unwrap();
            match &mut event.what {
                What::Opened { opening } => {
                    opening.session = session(wanted.number);
                    opening.mode = Mode::Bench;
                    opening.procedure.unit = Some(wanted.unit.clone());
                    opening.prices.currency = Some("EUR".to_owned());
                    opening.prices.labour_per_hour = Some(90.0);
                    opening.prices.replacement = Some(700.0);
                    if let Some(after) = &wanted.after {
                        let planned = |n| Planned {
                            circuit: format!("circuit {n}"),
                            because: vec!["leaks".to_owned()],
                        };
                        opening.plan = Some(Plan {
                            complaints: Vec::new(),
                            after: Some(after.clone()),
                            circuits: (1..=N_CIRCUITS).map(planned).collect(),
                        });
                    }
                    opening.amends = wanted.amends.clone().map(|earlier| crate::record::Amendment {
                        earlier,
                        reason: "misread".to_owned(),
                        by: wanted.technician.clone(),
                    });
                }
                What::Answered { question, answer } => match (&question.wants, answer) {
                    (Wants::Technician, answer) => *answer = Answer::Text { text: wanted.technician.clone() },
                    (Wants::Reading { on: HoseOn::Circuit { .. }, .. }, Answer::Quantity { entry, .. }) => {
                        let reading = readings.next().unwrap();
                        *entry = Entry::parse(&format!("{reading:.2}"), &UNITS[0]).unwrap();
                    }
                    _ => {}
                },
                What::Finished { walk } => {
                    circuits.extend(walk.iter().filter_map(|step| match step {
                        Step::Told { told: Told::Described { circuit } } => Some((**circuit).clone()),
                        _ => None,
                    }));
                }
                _ => {}
            }
        }
        decide(&mut events, &circuits, &wanted.readings);
        fold(&events).unwrap()
    }
}

/// Adds the decision to repair every circuit that reads low.
fn decide(events: &mut Vec<Event>, circuits: &[Circuit], readings: &[f64]) {
    let mut finished = events.pop().unwrap();
    let mut decisions = Vec::new();
    for (circuit, _) in circuits.iter().zip(readings).filter(|(_, reading)| **reading < 19.0) {
        let n = events.len() as u64 + 1;
        let question = Question {
            asker: Asker::Runner,
            circuit: None,
            words: format!("{} does not hold. What do you decide?", circuit.name),
            occurrence: 1,
            wants: Wants::Decision { of: circuit.name.clone(), options: options(circuit) },
        };
        let answer = Answer::Choice { chosen: options(circuit)[0].clone() };
        events.push(Event { n, at: finished.at, what: What::Answered { question, answer } });
        decisions.push(Step::Asked { n });
    }
    finished.n = events.len() as u64 + 1;
    if let What::Finished { walk } = &mut finished.what {
        walk.extend(decisions);
    }
    events.push(finished);
}

/// The name of a generated session.
pub(crate) fn session(number: usize) -> String {
    format!("20210104-080000-merle-m2-{number:07}")
}

/// Draws what a record is like: one in ten follows an earlier one after repairs.
pub(crate) fn drawn(number: usize, n_units: usize) -> Wanted {
    let mut chance = Chance::new(number as u64 + 1);
    let mut whole = |n: f64| chance.between(0.0, n).floor() as usize;
    let unit = whole(n_units as f64);
    let technician = ["Ana", "Bo", "Chidi", "Dara", "Eik"][whole(5.0)].to_owned();
    let follows = number > 0 && number % 10 == 9;
    let after = follows.then(|| EarlierRecord { session: session(number - 9), digest: "0".repeat(64) });
    let unit = if follows { drawn(number - 9, n_units).unit } else { format!("Merle M{}", unit + 1) };
    let mut chance = Chance::new(number as u64 + 0x5eed);
    let readings = (0..N_CIRCUITS).map(|circuit| {
        let centre = if follows { 22.5 } else { 22.0 - 0.4 * circuit as f64 };
        let low = if !follows && chance.between(0.0, 1.0) < 0.15 { chance.between(4.0, 12.0) } else { 0.0 };
        let scatter = chance.between(-1.0, 1.0) + chance.between(-1.0, 1.0);
        ((centre + scatter - low).clamp(1.0, 24.5) * 8.0).round() / 8.0
    });
    let readings = readings.collect();
    Wanted { number, unit, technician, hours: 2 * number as i64, readings, after, amends: None }
}

/// Writes a record where the shop keeps them and returns its digest.
pub(crate) fn store(folder: &Path, record: &Record) -> String {
    let text = document(record).unwrap();
    std::fs::write(folder.join(format!("{}.json", record.session)), &text).unwrap();
    let stored: Record = serde_json::from_str(&text).unwrap();
    stored.digest.unwrap()
}
