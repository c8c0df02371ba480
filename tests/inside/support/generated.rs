//! Records by the thousand: one rehearsed session, with other readings, people and dates.

use std::cell::{Cell, RefCell};
use std::collections::HashMap;
use std::path::Path;
use std::rc::Rc;

use jiff::Timestamp;

use super::{Answering, compiled, opening, runner_line};
use crate::procedure::Program;
use crate::quantity::UNITS;
use crate::record::{
    Amendment, EarlierRecord, HoseOn, Opening, Plan, Planned, Prices, Question, Record, Shop, Wants, document,
};
use crate::rig::simulated::Chance;
use crate::session::{Changes, Journal, Session};

/// Circuits of a generated unit.
pub(crate) const N_CIRCUITS: usize = 12;

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

/// Makes a record, by walking an invented unit.
pub(crate) fn generated(wanted: &Wanted) -> Record {
    let program = program(&wanted.unit);
    let planned = |n| Planned { circuit: format!("circuit {n}"), because: vec!["leaks".to_owned()] };
    let reason = || ("misread".to_owned(), wanted.technician.clone());
    let opening = Opening {
        plan: wanted.after.clone().map(|after| Plan {
            complaints: Vec::new(),
            meant: Vec::new(),
            after: Some(after),
            seed: None,
            circuits: (1..=N_CIRCUITS).map(planned).collect(),
        }),
        prices: Prices {
            currency: Some("EUR".to_owned()),
            labour_per_hour: Some(90.0),
            replacement: Some(700.0),
            repairs: Vec::new(),
        },
        amends: wanted.amends.clone().map(|earlier| {
            let (reason, by) = reason();
            Amendment { earlier, reason, by }
        }),
        ..opening(&session(wanted.number), &program)
    };
    let began: Timestamp = "2021-01-04T08:00:00Z".parse().unwrap();
    NOW.set(began.as_second() + 3600 * wanted.hours);
    let (technician, readings) = (wanted.technician.clone(), wanted.readings.clone());
    let desk = Answering(move |question: &Question| {
        let line = match (&question.wants, &question.circuit) {
            (Wants::Technician, _) => technician.clone(),
            (Wants::Decision { options, .. }, _) => options[0].clone(),
            (Wants::Reading { on: HoseOn::Circuit { .. }, .. }, Some(circuit)) => {
                let number: usize = circuit["circuit ".len()..].parse().unwrap();
                format!("{:.2}", readings[number - 1])
            }
            _ => runner_line(question).unwrap(),
        };
        Ok(question.read(&line).unwrap())
    });
    // Nothing is on the disk but the folder of the shop.
    let folder = tempfile::tempdir().unwrap();
    let shop = Shop::open(folder.path()).unwrap();
    let journal = Journal::of(Vec::new());
    let session = Session::new(shop, opening, Changes::default(), journal, Box::new(desk), now, &UNITS[0]);
    session.unwrap().to_its_end(&program).unwrap().unwrap()
}

thread_local! {
    static NOW: Cell<i64> = const { Cell::new(0) };
    static PROGRAMS: RefCell<HashMap<String, Rc<Program>>> = RefCell::default();
}

fn now() -> Timestamp {
    NOW.set(NOW.get() + 1);
    Timestamp::from_second(NOW.get()).unwrap()
}

/// The procedure of an invented unit.
fn program(unit: &str) -> Rc<Program> {
    let made = || {
        let mut script =
            format!("procedure(#{{ title: \"{unit}\", unit: \"{unit}\", version: \"1.0.0\" }});\n");
        for n in 1..=N_CIRCUITS {
            script += &format!(
                "let c{n} = circuit(#{{ name: \"circuit {n}\", port: \"{n}\", holds: 20.inHg, leaks: 15.inHg, \
                 symptoms: [\"late upshift\"], land: #{{ diameter: 12.7.mm, length: 7.6.mm }}, \
                 repairs: [#{{ does: \"ream and oversize valve\", parts: 48, hours: 0.6 }}] }});\ntest(c{n});\n"
            );
        }
        Rc::new(compiled(&script))
    };
    PROGRAMS.with_borrow_mut(|programs| Rc::clone(programs.entry(unit.to_owned()).or_insert_with(made)))
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
