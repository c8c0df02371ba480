use crate::picture::Picture;
use crate::practice::{Leaks, shipped, weight_rows};
use crate::procedure::{Aside, Desk, Place};
use crate::quantity::{INCH_OF_MERCURY, Length, Pressure, VolumeFlow};
use crate::record::{
    Amendment, Answer, Asker, EarlierRecord, HandedOut, HoseOn, Mode, Plan, Planned, Point, Prices, Question,
    Record, Repair, RigParts, Wants, Weight,
};
use crate::rehearse::Technician;
use crate::rig::gauge::Sample;
use crate::rig::simulated::{Settings, SimulatedRig};
use crate::rig::{
    BenchIdentity, Condition, Dial, DialErrors, Grade, Orifice, OrificeKind, Pump, Repeatability,
};
use crate::session::{Changes, Ended};
use crate::tests::practice::{Skill, attempt};

use serde_json::Value;

use super::shopfront::tick;
use super::{Script, Shopfront, inhg, png, question, runner_line, signer};

/// A script with one of everything that a procedure can say, ask and describe.
const EVERYTHING: &str = "
procedure(#{ title: \"Everything\", unit: \"Merle M2\", version: \"1.2.3\", replacement: 900,
    oil: #{ pressure: 150.psi, temperature: 93.celsius, delivery: 20.lpm, viscosity_40: 34.cSt, viscosity_100: 7.4.cSt } });
section(\"First\"); say(\"Said.\"); caution(\"Care.\"); ready(\"Ready.\"); wait(1.seconds, \"Wait.\");
if ask_yes(\"Yes?\") { finding(\"Found.\"); }
let choice = ask_choice(\"Which?\", [\"a\", \"b\"]);
let words = ask_text(\"Words?\");
let bore = ask_number(\"Bore?\", #{ unit: \"mm\", low: 12.mm, high: 13.mm });
let free = ask_number(\"Resistance?\", #{ unit: \"ohm\" });
let full = circuit(#{ name: \"full\", port: \"3A\", set_up: \"Set up.\", holds: 20.inHg, leaks: 15.inHg,
    symptoms: [\"late\"], means: \"It is late.\", land: #{ diameter: 12.7.mm, length: 7.6.mm, eccentricity: 0.5,
        lands: 2, measured: \"micrometer\", valve: \"steel\", bore: 21.5 },
    repairs: [#{ does: \"ream\", parts: 48, hours: 0.6 }, #{ does: \"polish\" }],
    picture: \"osier-o7-rear.png\", ports: #{ \"3A\": [412, 230] } });
test(full, |t| { t.trial(\"blocked\"); let r = t.read(\"in\"); if t.ask_yes(\"There?\") { t.finding(\"Found there.\"); } });
let bare = circuit(#{ name: \"bare\", holds: 20.inHg, leaks: 15.inHg });
test(bare);
let left = circuit(#{ name: \"left\", holds: 20.inHg, leaks: 15.inHg, seal: \"elastomer\" });
test(left);
let near = circuit(#{ name: \"near\", holds: 20.inHg, leaks: 19.9.inHg, kind: \"gap\" });
test(near);
let wide = circuit(#{ name: \"wide\", holds: 20.inHg, leaks: 15.inHg, land: #{ diameter: 1.5.mm, length: 5.mm },
    repairs: [#{ does: \"sleeve\", parts: 20, hours: 0.3 }] });
test(wide);
let open = circuit(#{ name: \"open\", limits: \"to be found\" });
test(open);
let apart = circuit(#{ name: \"apart\", holds: 20.inHg, leaks: 15.inHg });
test(apart, |t| {
    t.read(\"land\", #{ port: \"5B\", land: #{ diameter: 9.mm, length: 6.mm }, holds: 18.inHg, leaks: 12.inHg });
    t.read(\"lip\", #{ seal: \"lip\", kind: \"hole\" });
});
for way in [\"right\", \"wide open\", \"tight\"] { test(circuit(#{ name: way, between: [8.inHg, 12.inHg] })); }
not_fitted(circuit(#{ name: \"absent\", holds: 20.inHg, leaks: 15.inHg }), \"this variant has none\");
test(circuit(#{ name: \"missing\", holds: 20.inHg, leaks: 15.inHg }));
for tenth in 0..40 {
    test(circuit(#{ name: \"tenth \" + tenth, holds: 20.inHg, leaks: 15.inHg, land: #{ diameter: 8.mm, length: 4.mm } }));
}
";

/// Answers each question in its own way: the procedure's by their words and circuits, the rig's as a simulated one
/// shows, but for detours.
struct Varied {
    barometer: &'static str,
    station: Pressure,
    detours: Vec<&'static str>,
    technician: Technician,
    goes_back: bool,
}

impl Varied {
    fn boxed(front: &Shopfront, barometer: &'static str, detours: &[&'static str]) -> Box<dyn Desk> {
        let station = station(barometer);
        let technician = technician(front, station);
        Box::new(Varied { barometer, station, detours: detours.to_vec(), technician, goes_back: false })
    }

    /// Takes a detour that was asked for, once.
    fn detour(&mut self, name: &str) -> bool {
        let place = self.detours.iter().position(|detour| *detour == name);
        place.map(|place| self.detours.remove(place)).is_some()
    }

    fn line(&self, question: &Question) -> String {
        // What a standard reading is at this barometer.
        let standard = |inhg: f64| format!("{:.3} inHg", inhg * self.station.si() / 101_325.0);
        match (&question.wants, question.circuit.as_deref().unwrap_or_default()) {
            (Wants::Barometer, _) => self.barometer.to_owned(),
            (Wants::Decision { options, .. }, _) => options[0].clone(),
            (Wants::Yes, _) => "yes".to_owned(),
            (Wants::Choice { .. }, _) => "b".to_owned(),
            (Wants::Number { .. }, _) => "12 1/2".to_owned(),
            (Wants::Reading { on: HoseOn::Circuit { trial: true, .. }, .. }, _) => standard(14.0),
            (Wants::Reading { .. }, "full") => standard(22.0),
            (Wants::Reading { .. }, "bare") if question.words == "Reading" => standard(6.0),
            (Wants::Reading { .. }, "bare") => standard(10.0),
            (Wants::Reading { .. }, "near") => standard(19.95),
            (Wants::Reading { .. }, "wide") => standard(2.0),
            (Wants::Reading { .. }, "open" | "apart") => standard(21.0),
            (Wants::Reading { .. }, "right") => standard(10.0),
            (Wants::Reading { .. }, "wide open") => standard(4.0),
            (Wants::Reading { .. }, "tight") => standard(18.0),
            (Wants::Reading { .. }, circuit) if circuit.starts_with("tenth") => {
                standard(19.5 + 0.025 * circuit[6..].parse::<f64>().expect("a number"))
            }
            _ => runner_line(question).unwrap_or_else(|| "words".to_owned()),
        }
    }

    fn detours(&mut self, question: &Question) -> Option<Result<Answer, Aside>> {
        if std::mem::take(&mut self.goes_back) {
            return Some(Err(Aside::Back(1)));
        }
        let is_to_jot = question.words == "Which?" || question.circuit.as_deref() == Some("near");
        if is_to_jot && self.detour("jot") {
            return Some(Err(Aside::Jot("a note".to_owned())));
        }
        if question.words == "Bore?" && self.detour("photo") {
            let picture = Picture::of_photo(png(8, 6)).expect("a photo");
            return Some(Err(Aside::Photo { picture, words: Some("a land".to_owned()) }));
        }
        if question.words == "Words?" && self.detour("back") {
            return Some(Err(Aside::Back(2)));
        }
        if question.words == "Bore?" && self.detour("park") {
            return Some(Err(Aside::Park));
        }
        if question.has_stop() && self.detour("stop") {
            self.goes_back = true;
            return Some(Ok(question.read("24 stop").expect("a reading at a stop")));
        }
        let is_plugged =
            matches!(question.wants, Wants::Reading { on: HoseOn::Check(Condition::Plugged), .. });
        if is_plugged && (self.detour("drift") || self.detour("drift still")) {
            return Some(Ok(question.read("20").expect("a reading")));
        }
        None
    }
}

impl Desk for Varied {
    fn ask(&mut self, question: &Question, place: &Place) -> Result<Answer, Aside> {
        if let Some(reply) = self.detours(question) {
            return reply;
        }
        if question.has_stop() && self.detour("stuck") {
            return self.technician.ask(question, place).map(|answer| match answer {
                Answer::Quantity { entry, .. } => Answer::AtStop(entry),
                other => other,
            });
        }
        if question.circuit.as_deref() == Some("left") {
            return Ok(Answer::Unable("no plate".to_owned()));
        }
        if question.circuit.as_deref() == Some("missing") {
            return Ok(Answer::NotFitted("it is not there".to_owned()));
        }
        if matches!(question.wants, Wants::Reading { on: HoseOn::Rig(_) | HoseOn::Check(_), .. }) {
            return self.technician.ask(question, place);
        }
        let line = self.line(question);
        let answer = question.read(&line).unwrap_or_else(|refusal| panic!("{question:?}: {line}: {refusal}"));
        match answer {
            Answer::Quantity { entry, .. } if question.circuit.as_deref() == Some("full") => {
                let vacuum_pa = Pressure::from_si(entry.si).expect("a pressure");
                let samples = vec![Sample { line: "-22.0 inHg".to_owned(), vacuum_pa, at_s: 1.5 }];
                Ok(Answer::Quantity { entry, samples })
            }
            answer => Ok(answer),
        }
    }
}

fn technician(front: &Shopfront, barometer: Pressure) -> Technician {
    let rig = SimulatedRig::new(1, Settings { barometer, ..Settings::default() });
    Technician::new(front.person(&[]), rig, Leaks::drawn(1))
}

/// The station pressure that a line at the prompt means.
fn station(barometer: &str) -> Pressure {
    match question(Asker::Runner, "Barometer?", Wants::Barometer).read(barometer).expect("a barometer") {
        Answer::Barometer { barometer, .. } => barometer.station(),
        other => panic!("{other:?}"),
    }
}

fn finished(ended: Ended) -> Record {
    match ended {
        Ended::Finished(record, _) => *record,
        other => panic!("{other:?}"),
    }
}

fn whole(script: &str) -> Shopfront {
    Shopfront::of(Script::whole(script).compile().expect("a sound script"))
}

/// Records that between them have something of every kind in them.
pub(crate) fn varied_records() -> Vec<Record> {
    vec![
        parked_and_drifted(),
        with_figures("5280 ft"),
        with_figures("30.11 inHg at 5577 ft"),
        amended(),
        rehearsed(),
        planned(),
        practised(),
    ]
}

/// An attempt at an exercise with one of everything, by somebody who makes mistakes.
fn practised() -> Record {
    let mut prepared = shipped().pop().expect("an exercise");
    let defect = &mut prepared.exercise.defects[0];
    (defect.circuit, defect.reading) = (Some("lock-up control".to_owned()), Some("inboard stop".to_owned()));
    prepared.exercise.complaint = Some("it gets too hot".to_owned());
    prepared.exercise.meant = vec!["overheats on the road".to_owned()];
    prepared.exercise.is_set = true;
    // Every point has a weight, and two of them count.
    let point = |row: &Vec<(&str, Value)>| serde_json::from_value(row[0].1.clone()).expect("a point");
    let weight = |point: Point| match point {
        Point::Found => 3.0,
        Point::Readings => 1.0,
        _ => 0.0,
    };
    let weighed = |point: Point| Weight { point, weight: weight(point) };
    prepared.exercise.weights = weight_rows().iter().map(point).map(weighed).collect();
    let by = signer("Hill School", 7).signer();
    prepared.exercise.handed_out = Some(HandedOut { by, attempts: Some(2), is_held_back: true });
    attempt(&prepared, Skill { eye: 0.3, ..Skill::PERFECT }, 1).0
}

fn parked_and_drifted() -> Record {
    let mut front = whole(EVERYTHING);
    let desk = Varied::boxed(&front, "29.92 inHg", &["stop", "jot", "photo", "back", "park"]);
    let ended = front.walk_with(desk).expect("a session");
    assert!(matches!(ended, Ended::Parked), "{ended:?}");
    let orifice = Orifice::new(Length::constant(0.9e-3), OrificeKind::Plate).expect("an orifice");
    let weak = Pump { speed: VolumeFlow::constant(2.5e-4), ultimate: Pressure::constant(2e3) };
    let found =
        DialErrors { offset_pa: inhg(0.05), gain: 0.002, shape_pa: inhg(0.05), hysteresis_pa: inhg(0.05) };
    // So coarse that repeats would settle what stays open.
    let repeatability = Some(Repeatability { deviation: inhg(0.4), readings: 20 });
    let dial = RigParts::USUAL.dial.with_errors(found);
    let rig = RigParts { orifice, dial, pump: Some(weak), repeatability };
    front.program =
        Script::whole(&format!("{EVERYTHING}// Changed since.\n")).compile().expect("a sound script");
    let changes = Changes {
        procedure: Some(front.changed()),
        rig: Some(rig),
        was_rig_used: true,
        technician: Some("Bo".to_owned()),
    };
    finished(
        front
            .walk_changed(
                changes,
                tick,
                Varied::boxed(&front, "29.92 inHg", &["drift", "drift still", "jot"]),
            )
            .expect("a session"),
    )
}

fn with_figures(barometer: &'static str) -> Record {
    let mut front = whole(EVERYTHING);
    front.unusual = |opening| {
        let inhg = |number: f64| Pressure::constant(number * INCH_OF_MERCURY);
        opening.job = Some("order 4711".to_owned());
        opening.bench =
            Some(BenchIdentity { name: Some("North wall".to_owned()), id: "k7q4m2xv9d".to_owned() });
        opening.minutes_ahead = -420;
        opening.rig.dial = Dial::new(Grade::Asme4A, inhg(30.0), inhg(0.05)).expect("a dial");
        opening.prices = Prices {
            currency: Some("crowns".to_owned()),
            labour_per_hour: Some(60.0),
            replacement: Some(900.0),
            repairs: vec![Repair { does: "ream".to_owned(), parts: Some(40.0), hours: None }],
        };
    };
    finished(front.walk_with(Varied::boxed(&front, barometer, &["stuck"])).expect("a session"))
}

fn earlier() -> EarlierRecord {
    EarlierRecord { session: "20251231-080000-test".to_owned(), digest: "0f".repeat(32) }
}

fn amended() -> Record {
    let mut front = whole(EVERYTHING);
    front.unusual = |opening| {
        let reason = "the bore was misread".to_owned();
        opening.amends = Some(Amendment { earlier: earlier(), reason, by: "Bo".to_owned() });
    };
    finished(front.walk_with(Varied::boxed(&front, "101325 Pa", &[])).expect("a session"))
}

fn planned() -> Record {
    let mut front = whole(EVERYTHING);
    front.unusual = |opening| {
        let planned =
            |circuit: &str| Planned { circuit: circuit.to_owned(), because: vec!["late".to_owned()] };
        opening.rig_is_assumed = true;
        opening.plan = Some(Plan {
            complaints: vec!["it is late".to_owned()],
            meant: vec!["late upshift".to_owned()],
            after: Some(earlier()),
            seed: Some(7),
            circuits: vec![planned("bare"), planned("full")],
        });
    };
    finished(front.walk_with(Varied::boxed(&front, "101325 Pa", &[])).expect("a session"))
}

/// A rehearsal of a bench job, which sets its rig at a place of its own and proves all of it.
fn rehearsed() -> Record {
    let shipped = crate::procedure::SHIPPED.iter().find(|shipped| shipped.id == "rig-commissioning");
    let source = shipped.expect("the bench job").source().expect("its text");
    let mut front = Shopfront::of(crate::procedure::Program::compile(source).expect("a sound script"));
    front.unusual = |opening| opening.mode = Mode::Rehearsal;
    finished(front.walk_with(Box::new(technician(&front, station("101325 Pa")))).expect("a session"))
}
