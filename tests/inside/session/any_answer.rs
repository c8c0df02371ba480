//! Whatever answers are accepted at the prompt, no session is stuck with them: it comes to its end, and its record
//! holds to the schema and is in order.

use crate::air::{Barometer, BarometerSource};
use crate::procedure::{Aside, Desk, Place};
use crate::quantity::{Length, Pressure};
use crate::record::{Answer, HoseOn, Question, RigStep, Wants};
use crate::rig::{Condition, Dial, Grade, Orifice, OrificeKind};
use crate::session::Auditor;
use crate::session::Ended;
use crate::tests::support::{Script, Shopfront, runner_line};
use proptest::prelude::*;

/// A bench and what is read on it.
#[derive(Debug, Clone)]
struct Bench {
    barometer_pa: f64,
    /// How far the rig's points stand off their marks, as shares of them.
    off: (f64, f64),
    /// The readings, as shares of the plugged one.
    readings: Vec<f64>,
    /// Limits in inHg, and the land in mm.
    limits: (f64, f64),
    land: (f64, f64, f64),
    oil: (f64, f64),
}

fn bench() -> impl Strategy<Value = Bench> {
    let share = prop_oneof![
        4 => 0.0005..1.0_f64,
        1 => Just(1.0),
        1 => Just(1e-9),
        1 => 0.999..1.0_f64,
    ];
    let limits = (0.01..24.99_f64, 0.01..24.99_f64).prop_map(|(a, b)| (f64::max(a, b), f64::min(a, b)));
    (
        46e3..109e3_f64,
        (-0.004..0.004_f64, -0.004..0.004_f64),
        proptest::collection::vec(share, 9),
        limits,
        (1.0..200.0_f64, 0.1..200.0_f64, 0.0..=1.0_f64),
        (1.0..400.0_f64, -20.0..150.0_f64),
    )
        .prop_map(|(barometer_pa, off, readings, limits, land, oil)| Bench {
            barometer_pa,
            off,
            readings,
            limits,
            land,
            oil,
        })
}

impl Bench {
    fn script(&self) -> Script {
        let (holds, leaks) = self.limits;
        let above = holds.max(leaks + 0.001);
        let (diameter, length, eccentricity) = self.land;
        let (pressure, temperature) = self.oil;
        Script::whole(&format!(
            "procedure(#{{ title: \"Any\", version: \"1.0.0\", oil: #{{ pressure: {pressure}.psi, \
             temperature: ({temperature}).celsius, delivery: 20.lpm }} }});
             let a = circuit(#{{ name: \"a\", holds: {holds}.inHg, leaks: {leaks}.inHg, \
             land: #{{ diameter: {diameter}.mm, length: {length}.mm, eccentricity: {eccentricity} }} }});
             test(a, |t| {{ t.read(\"one\"); t.trial(\"two\"); \
             t.read(\"three\", #{{ port: \"3\", between: [{leaks}.inHg, {above}.inHg] }}); }});"
        ))
    }
}

/// Reads what the bench says, in Pa, to the last digit.
struct Reader {
    bench: Bench,
    n_read: usize,
}

impl Desk for Reader {
    fn ask(&mut self, question: &Question, _: &Place) -> Result<Answer, Aside> {
        let scale = self.bench.barometer_pa / 101_325.0;
        let point = |condition: Condition| match condition {
            Condition::Through => 5.0 * 3386.389 * scale * (1.0 + self.bench.off.1),
            Condition::Open => 0.0,
            _ => 25.0 * 3386.389 * scale * (1.0 + self.bench.off.0),
        };
        let line = match &question.wants {
            Wants::Barometer => format!("{} Pa", self.bench.barometer_pa),
            Wants::AirTemperature => "20 C".to_owned(),
            Wants::Reading { on: HoseOn::Rig(RigStep::Set(setting)), .. } => {
                format!("{} Pa", setting.set_to_pa.si())
            }
            Wants::Reading { on: HoseOn::Rig(step), .. } => format!("{} Pa", point(step.condition())),
            Wants::Reading { on: HoseOn::Check(condition), .. } => format!("{} Pa", point(*condition)),
            Wants::Reading { deepest_pa, .. } => {
                self.n_read += 1;
                format!("{} Pa", deepest_pa * self.bench.readings[self.n_read % self.bench.readings.len()])
            }
            _ => runner_line(question).unwrap(),
        };
        Ok(question.read(&line).unwrap_or_else(|refusal| panic!("{line}: {refusal}")))
    }
}

fn finishes(bench: &Bench, front: &Shopfront) {
    let reader = Reader { bench: bench.clone(), n_read: 0 };
    match front.walk_with(Box::new(reader)) {
        Ok(Ended::Finished(record, path)) => {
            let audit = Auditor::default().audit(&std::fs::read(path).unwrap());
            assert!(audit.is_in_order(), "{:?}", audit.faults);
            assert_eq!(record.circuits[0].readings.len(), 3);
        }
        Ok(other) => panic!("{other:?}"),
        Err(error) => panic!("{error}"),
    }
}

fn front(bench: &Bench) -> Shopfront {
    Shopfront::of(bench.script().compile().unwrap_or_else(|faults| panic!("{faults:?}")))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_reading_that_is_accepted_ends_in_a_record_that_is_in_order(bench in bench()) {
        finishes(&bench, &front(&bench));
    }

    #[test]
    fn so_it_does_on_a_rig_with_other_parts(bench in bench()) {
        let mut front = front(&bench);
        front.unusual = |opening| {
            let inhg = |number: f64| Pressure::constant(number * 3386.389);
            opening.rig.orifice = Orifice::new(Length::constant(1.2e-3), OrificeKind::Plate).unwrap();
            opening.rig.dial = Dial::new(Grade::AsmeD, inhg(30.0), inhg(1.0)).unwrap();
        };
        finishes(&bench, &front);
    }
}

/// Somebody whose rig shows anything that the prompt accepts, and who parks in the end.
struct Lost {
    shares: Vec<f64>,
    n_read: usize,
}

impl Desk for Lost {
    fn ask(&mut self, question: &Question, _: &Place) -> Result<Answer, Aside> {
        let line = match &question.wants {
            Wants::Barometer => "24.6 inHg".to_owned(),
            Wants::AirTemperature => String::new(),
            Wants::Reading { on, deepest_pa, .. } => {
                let Some(share) = self.shares.get(self.n_read) else { return Err(Aside::Park) };
                self.n_read += 1;
                let at_stop = if question.has_stop() && self.n_read.is_multiple_of(3) { " stop" } else { "" };
                let least = if matches!(on, HoseOn::Circuit { .. }) { 1.0 } else { 0.0 };
                format!("{} Pa{at_stop}", (deepest_pa * share).max(least))
            }
            _ => runner_line(question).unwrap(),
        };
        Ok(question.read(&line).unwrap_or_else(|refusal| panic!("{line}: {refusal}")))
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 32, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_rig_that_shows_anything_leaves_a_session_that_can_go_on(
        shares in proptest::collection::vec(prop_oneof![0.0..=1.0_f64, Just(0.0), Just(1.0), 0.8..0.9_f64], 1..40)
    ) {
        let front = Shopfront::of(Script::new("test(c);").compile().unwrap());
        for _ in 0..2 {
            let ended = front.walk_with(Box::new(Lost { shares: shares.clone(), n_read: 0 })).unwrap();
            match ended {
                Ended::Parked => {}
                // Now and then such a rig is set after all, and the circuit is read on it.
                Ended::Finished(..) => break,
                other => panic!("{other:?}"),
            }
        }
    }
}

#[test]
fn every_barometer_that_is_accepted_allows_a_calibration() {
    for pressure in [45_000.0, 45_001.0, 83_430.0, 101_325.0, 109_999.0, 110_000.0] {
        let source = BarometerSource::Station { pressure: Pressure::constant(pressure) };
        assert!(Barometer::new(source).is_ok(), "{pressure}");
        let bench = Bench {
            barometer_pa: pressure,
            off: (0.0, 0.0),
            readings: vec![0.9, 0.5],
            limits: (20.0, 15.0),
            land: (12.0, 7.0, 0.0),
            oil: (150.0, 90.0),
        };
        finishes(&bench, &front(&bench));
    }
}
