//! The rig's parts: suited to what is demanded or not, and which change of them ends a calibration.

use crate::quantity::{INCH, Length, Pressure, VolumeFlow};
use crate::rig::coaching::CalibrationGoal;
use crate::rig::*;
use crate::tests::support::{Table, in_hg, inhg, near};
use serde_json::{Value, json};

fn psi(number: f64) -> Pressure {
    Pressure::constant(number * 6894.757)
}

fn inches(number: f64) -> Length {
    Length::constant(number * INCH)
}

fn demand_at(barometer: f64) -> Demand {
    let goal = CalibrationGoal::usual(Pressure::constant(barometer)).expect("an air pressure");
    Demand { goal, line_pressure: None }
}

fn demand() -> Demand {
    demand_at(101_325.0)
}

/// A rig of which everything is known and nothing is wrong.
fn sound() -> Profile {
    let mut profile = Profile::new(Dial::USUAL, Orifice::STANDARD);
    profile.pump.speed_m3_s = Some(VolumeFlow::constant(1.4e-3));
    profile.pump.ultimate_pa = Some(Pressure::constant(100.0));
    profile.gauged = Some(Gauged { go_passes: true, no_go_passes: false });
    profile.hose.description = Some("clear hose, 6 mm, 1.2 m".to_owned());
    profile.hose.vacuum_rating_pa = Some(inhg(29.0));
    profile.hose.pressure_rating_pa = Some(psi(400.0));
    profile.hose.stands_oil = Some(true);
    profile
}

fn concerns(change: impl Fn(&mut Profile)) -> Vec<PartConcern> {
    let mut profile = sound();
    change(&mut profile);
    profile.concerns(&demand())
}

#[test]
fn a_sound_rig_raises_no_concern() {
    assert_eq!(concerns(|_| {}), []);
}

#[test]
fn of_a_new_rig_everything_is_asked_and_nothing_is_grave() {
    let asked = Profile::new(Dial::USUAL, Orifice::STANDARD).concerns(&demand());
    assert_eq!(asked.len(), 4, "{asked:?}");
    assert!(asked.iter().all(|concern| !concern.is_grave()));
    assert!(asked.contains(&PartConcern::OilNotAsked));
    assert!(asked.contains(&PartConcern::Pump(PumpCheck::Unknown)));
    assert!(asked.iter().all(|concern| concern.to_string().ends_with(['.', '?'])));
}

#[test]
fn a_dial_is_checked_for_range_marks_and_grade() {
    let dial = |grade, span, division| {
        concerns(|profile| profile.dial = Dial::new(grade, inhg(span), inhg(division)).expect("a dial"))
    };
    assert!(matches!(dial(Grade::AsmeB, 20.0, 0.5)[..], [PartConcern::DialTooShort { .. }]));
    assert!(matches!(dial(Grade::AsmeB, 30.0, 2.0)[..], [PartConcern::DivisionsTooWide { .. }]));
    assert_eq!(dial(Grade::AsmeB, 30.0, 1.0), []);
    // ASME B40.100 grade D: 5 % of 30 inHg is 1.5 inHg, beside 5 inHg through the orifice.
    assert!(matches!(dial(Grade::AsmeD, 30.0, 0.5)[..], [PartConcern::GradeTooCoarse { .. }]));
}

#[test]
fn a_hose_is_checked_for_vacuum() {
    let collapses = concerns(|profile| profile.hose.vacuum_rating_pa = Some(inhg(20.0)));
    assert!(matches!(collapses[..], [PartConcern::HoseCollapses { .. }]) && collapses[0].is_grave());
    let unknown = concerns(|profile| profile.hose.vacuum_rating_pa = None);
    assert!(matches!(unknown[..], [PartConcern::VacuumRatingUnknown { .. }]));
    // At 1,524 m the plugged target is 20.8 inHg only.
    let mut profile = sound();
    profile.hose.vacuum_rating_pa = Some(inhg(21.0));
    assert_eq!(profile.concerns(&demand_at(84_311.0)), []);
}

#[test]
fn a_hose_that_carries_line_pressure_is_compared_with_it() {
    let with = |rating: Option<f64>, carries: bool| {
        let mut profile = sound();
        profile.hose.carries_line_pressure = carries;
        profile.hose.pressure_rating_pa = rating.map(psi);
        profile.concerns(&Demand { line_pressure: Some(psi(250.0)), ..demand() })
    };
    assert!(matches!(with(Some(200.0), true)[..], [PartConcern::HoseBursts { .. }]));
    assert!(matches!(with(None, true)[..], [PartConcern::PressureRatingUnknown { .. }]));
    assert!(with(Some(200.0), true)[0].is_grave() && with(None, true)[0].is_grave());
    let enough = with(Some(400.0), true);
    assert!(matches!(enough[..], [PartConcern::HoseCarriesLinePressure { .. }]), "a caution remains");
    assert!(
        !enough[0].is_grave()
            && enough[0].to_string().contains("400 psi")
            && enough[0].to_string().contains("250 psi")
    );
    assert_eq!(with(None, false), [], "another hose is used for pressure");
}

#[test]
fn the_gravest_concern_comes_first() {
    let both = concerns(|profile| {
        profile.hose.stands_oil = Some(false);
        profile.gauged = Some(Gauged { go_passes: true, no_go_passes: true });
    });
    assert!(both[0].is_grave() && !both[1].is_grave(), "{both:?}");
}

#[test]
fn the_drill_table_is_the_printed_one() {
    // ANSI/ASME B94.11M; the file's header says where it was read.
    let table = Table::read("10_drill_sizes.csv");
    assert_eq!(table.rows().count(), DRILLS.len());
    for row in table.rows() {
        let drill = Drill::by_name(row.text("size")).expect("a drill of the table");
        assert_eq!(drill.inches, row.number("inch"), "{}", drill.name);
        near(drill.diameter().si() * 1e3, row.number("mm"), 1e-6);
    }
    assert!(DRILLS.windows(2).all(|two| two[0].inches < two[1].inches));
    assert_eq!(Drill::by_name("#65").expect("a drill").inches, 0.035);
}

#[test]
fn the_shanks_for_an_orifice_are_its_own_drill_and_the_next() {
    let shanks = |bore: f64| GoNoGo::of(inches(bore)).map(|pair| (pair.go.name, pair.no_go.name));
    assert_eq!(shanks(0.035), Some(("65", "64")));
    assert_eq!(shanks(0.0313), Some(("1/32", "67")), "a bore rounded as people write it");
    assert_eq!(shanks(0.031), Some(("68", "67")), "1/32 in is too near to tell");
    assert_eq!(shanks(0.9 / 25.4), Some(("65", "64")));
    assert_eq!(shanks(0.010), None);
    assert_eq!(shanks(0.2), None);
}

#[test]
fn what_the_shanks_did_says_how_the_hole_is_off() {
    let size = |go_passes, no_go_passes| Gauged { go_passes, no_go_passes }.size();
    assert_eq!(size(true, false), Size::Right);
    assert_eq!(size(false, false), Size::TooSmall);
    assert_eq!(size(true, true), Size::TooLarge);
}

#[test]
fn a_change_of_part_ends_the_calibration_and_says_so() {
    let ended = |changes: &[fn(&mut Profile)]| {
        let mut now = sound();
        changes.iter().for_each(|change| change(&mut now));
        Invalidation::between(&sound(), &now, &Calibration::standard())
    };
    fn gauge(profile: &mut Profile) {
        profile.dial = Dial::new(Grade::AsmeA, inhg(30.0), inhg(0.5)).expect("a dial");
    }
    fn orifice(profile: &mut Profile) {
        profile.orifice = Orifice::new(inches(0.036), OrificeKind::Plug).expect("an orifice");
    }
    type Change = fn(&mut Profile);
    let cases: [(&str, Change, Option<CalibratedPart>); 7] = [
        ("nothing", |_| {}, None),
        ("the gauge", gauge, Some(CalibratedPart::Gauge)),
        ("the orifice", orifice, Some(CalibratedPart::Orifice)),
        (
            "the hose",
            |now| now.hose.description = Some("another hose".to_owned()),
            Some(CalibratedPart::Hose),
        ),
        ("an answer, which is no change of part", |now| now.hose.stands_oil = Some(false), None),
        ("a pump that is sonic too", |now| now.pump.speed_m3_s = Some(VolumeFlow::constant(2e-3)), None),
        (
            "a pump that is not",
            |now| now.pump.speed_m3_s = Some(VolumeFlow::constant(2e-4)),
            Some(CalibratedPart::Pump),
        ),
    ];
    for (name, change, part) in cases {
        let parts = ended(&[change]).map(|ended| ended.parts);
        assert_eq!(parts, part.map(|part| vec![part]), "{name}");
    }
    let text = ended(&[gauge, orifice]).expect("two changes").to_string();
    assert!(text.contains("The gauge and the orifice have been described anew"), "{text}");
    assert!(text.contains("Calibrate before"), "{text}");
}

#[test]
fn learning_about_a_part_is_no_change_of_it() {
    let mut then = sound();
    then.hose.vacuum_rating_pa = None;
    then.hose.description = None;
    then.pump.speed_m3_s = None;
    assert_eq!(Invalidation::between(&then, &sound(), &Calibration::standard()), None);
}

fn validator() -> jsonschema::Validator {
    let schema: Value =
        serde_json::from_str(include_str!(concat!(env!("CARGO_MANIFEST_DIR"), "/schemas/rig.schema.json")))
            .expect("JSON");
    jsonschema::draft202012::new(&schema).expect("a schema")
}

#[test]
fn a_profile_fits_its_schema_and_comes_back_whole() {
    let measured = Profile {
        gauge_check: Some(check([5.0, 10.0, 15.0, 20.0, 25.0].map(|at| [at, at - 0.1, at + 0.1]))),
        repeatability: Some(Repeatability { deviation: inhg(0.1), readings: 20 }),
        ..sound()
    };
    for profile in [sound(), measured, Profile::new(Dial::USUAL, Orifice::STANDARD)] {
        let document = serde_json::to_value(&profile).expect("plain data");
        assert!(validator().is_valid(&document), "{document}");
        assert_eq!(serde_json::from_value::<Profile>(document).expect("what was written"), profile);
    }
}

#[test]
fn schema_and_program_refuse_the_same_documents() {
    type Break<'a> = (&'a str, &'a dyn Fn(&mut Value));
    let breaks: [Break<'_>; 10] = [
        ("another format", &|document| document["format"] = json!("spoolproof/rig/2")),
        ("no dial", &|document| {
            document.as_object_mut().expect("an object").remove("dial");
        }),
        ("an unknown grade", &|document| document["dial"]["grade"] = json!("asme_z")),
        ("an unknown key", &|document| document["colour"] = json!("blue")),
        ("an unknown key of the hose", &|document| document["hose"]["lenght_m"] = json!(1.2)),
        ("text for a number", &|document| document["hose"]["vacuum_rating_pa"] = json!("29 inHg")),
        ("a rating of nothing", &|document| document["hose"]["pressure_rating_pa"] = json!(0)),
        ("a pump that moves nothing", &|document| document["pump"]["speed_m3_s"] = json!(0)),
        ("less than no pressure", &|document| document["pump"]["ultimate_pa"] = json!(-1)),
        ("half a test of the bore", &|document| {
            document["gauged"].as_object_mut().expect("an object").remove("no_go_passes");
        }),
    ];
    for (name, break_it) in breaks {
        let mut document = serde_json::to_value(sound()).expect("plain data");
        break_it(&mut document);
        assert!(!validator().is_valid(&document), "the schema takes {name}");
        assert!(serde_json::from_value::<Profile>(document).is_err(), "the program takes {name}");
    }
}

/// A check at five points in inHg: the better gauge, this one rising and falling.
fn check(points: [[f64; 3]; 5]) -> GaugeCheck {
    let point = |[reference, rising, falling]: [f64; 3]| CheckPoint {
        reference: inhg(reference),
        rising: inhg(rising),
        falling: inhg(falling),
    };
    GaugeCheck { reference_limit: inhg(0.05), points: points.map(point).to_vec() }
}

#[test]
fn a_check_of_the_gauge_leaves_a_line_what_it_leaves_and_the_hysteresis() {
    // 0.1 too much everywhere and 1 % on top, 0.1 between rising and falling; one point lies 0.06 off that line. By
    // hand: least squares give an offset of 0.1 - 0.012 = 0.088 less what the slope takes, so within 0.02 of 0.1.
    let shown = |at: f64, off: f64| [at, at * 1.01 + 0.05 + off, at * 1.01 + 0.15 + off];
    let found =
        check([shown(5.0, 0.0), shown(10.0, 0.0), shown(15.0, -0.06), shown(20.0, 0.0), shown(25.0, 0.0)]);
    let found = *found.of(Dial::USUAL).expect("a check").checked().expect("what it found");
    // The middle point moves the offset by a fifth of 0.06 and the slope not at all, and four fifths are left of it.
    near(in_hg(found.offset_pa), 0.1 - 0.012, 1e-9);
    near(found.gain, 0.01, 1e-9);
    near(in_hg(found.hysteresis_pa), 0.1, 1e-9);
    // With the better gauge's 0.05 and an eighth of a division of 0.5.
    near(in_hg(found.shape_pa), 0.048 + 0.05 + 0.0625, 1e-9);
}

#[test]
fn a_check_that_says_nothing_of_the_gauge_is_refused_with_what_to_do() {
    let even = |at: f64| [at, at, at];
    let refused = |check: GaugeCheck| check.of(Dial::USUAL).expect_err("no check").to_string();
    let mut few = check([5.0, 10.0, 15.0, 20.0, 25.0].map(even));
    few.points.pop();
    assert!(refused(few).contains("5 points at least"));
    assert!(refused(check([8.0, 10.0, 15.0, 20.0, 25.0].map(even))).contains("a quarter of the scale"));
    assert!(refused(check([5.0, 10.0, 15.0, 20.0, 21.0].map(even))).contains("three quarters"));
    let broken = check([even(5.0), even(10.0), [15.0, 18.5, 18.5], even(20.0), even(25.0)]);
    assert!(refused(broken).contains("repaired"));
    let mut no_better = check([5.0, 10.0, 15.0, 20.0, 25.0].map(even));
    no_better.reference_limit = inhg(0.6);
    assert!(refused(no_better).contains("take a better one"));
}

#[test]
fn a_check_goes_with_the_barometer() {
    let calibration = Calibration::standard();
    let check = |condition, reading, barometer| {
        DriftCheck::of(&calibration, condition, inhg(reading), Pressure::constant(barometer), inhg(0.25))
    };
    assert!(check(Condition::Plugged, 25.2, 101_325.0).is_good());
    assert!(check(Condition::Plugged, 25.25, 101_325.0).is_good(), "on the edge is within");
    assert!(!check(Condition::Plugged, 25.3, 101_325.0).is_good());
    assert!(!check(Condition::Through, 4.7, 101_325.0).is_good());
    // A front comes through: the air is 2 % lighter, and so is what an untouched rig shows.
    assert!(check(Condition::Plugged, 24.5, 0.98 * 101_325.0).is_good());
    assert!(!check(Condition::Plugged, 25.0, 0.98 * 101_325.0).is_good());
    let bad = check(Condition::Through, 5.5, 101_325.0);
    near(in_hg(bad.drift()), 0.5, 1e-9);
    assert!(bad.to_string().contains("taken again"), "{bad}");
}

#[test]
fn a_check_is_due_after_readings_or_time() {
    let interval = CheckInterval { readings: 10, seconds: 1800.0 };
    assert!(!interval.is_due(9, 1700.0));
    assert!(interval.is_due(10, 0.0));
    assert!(interval.is_due(0, 1800.0));
}
