//! Drafts: whatever is answered, what is written is a procedure without errors, and no file is ever written over.

use crate::draft::{
    Body, Draft, DraftCircuit, DraftLimits, Earlier, Feature, Origin, cleaned, file_name, listed, provenance,
};
use crate::leak::{Baseline, Land, Limits, Promise};
use crate::procedure::{Program, SHIPPED, Source, is_plain_name};
use crate::proofread::{Report, proofread};
use crate::quantity::{INCH_OF_MERCURY, Length, Pressure, UNITS, Unit};
use crate::record::Repair;

fn inhg(value: f64) -> Pressure {
    Pressure::constant(value * INCH_OF_MERCURY)
}

fn proofread_text(text: &str) -> Report {
    let files = [("draft.rhai".to_owned(), text.as_bytes().to_vec())];
    proofread(Source::from_files("draft", files).unwrap())
}

/// What people type, paste or have on the keyboard when the cat walks over it.
const AWKWARD: &[&str] = &[
    "feed \"3A\", 'left'",
    "C:\\valves\\new\\",
    "\\",
    "\"",
    "\\\"); calibrate(); //",
    "Schieber für Größe ½, 0,5 mm",
    "クラッチ",
    "“late” upshift – 2–3",
    "tab\tand\u{a0}blanks   ",
    "hid\u{200b}den\u{202e} and\u{1b}[2J",
    "*/ /* ${x} `y` #{ z }",
    "80 % & <b>",
];

fn circuits(text: &str) -> Vec<DraftCircuit> {
    let given = Limits::new(inhg(20.0), inhg(15.0)).unwrap();
    let good: Vec<_> = [22.5, 21.8, 22.1, 22.9].map(inhg).to_vec();
    let baseline = Baseline::of(&good, Promise::USUAL).unwrap();
    let limits = [
        DraftLimits::ToBeFound,
        DraftLimits::Known { limits: given, unit: &UNITS[0], note: Vec::new() },
        DraftLimits::Known { limits: given, unit: Unit::by_word("kPa").unwrap(), note: Vec::new() },
        DraftLimits::Known { limits: baseline.limits.unwrap(), unit: &UNITS[0], note: provenance(&baseline) },
    ];
    let mut circuits = Vec::new();
    for feature in Feature::ALL {
        for limits in &limits {
            let name = format!("{} {}", cleaned(text), circuits.len());
            circuits.push(DraftCircuit {
                section: Some(format!("section {text}")),
                port: Some(text.to_owned()),
                set_up: Some(format!("{} {text}", feature.set_up(Some(text)))),
                limits: limits.clone(),
                land: Land::new(Length::constant(0.0127), Length::constant(0.0076), 0.25).ok(),
                land_unit: Unit::by_word("inch").unwrap(),
                symptoms: vec![text.to_owned(), "late upshift".to_owned()],
                repairs: vec![Repair { does: text.to_owned(), parts: Some(48.5), hours: None }],
                ..DraftCircuit::new(name, feature)
            });
        }
    }
    circuits
}

#[test]
fn every_kind_of_circuit_with_any_text_is_proofread_without_errors() {
    for text in AWKWARD {
        let draft = Draft {
            unit: text.to_string(),
            part: Some("lower body".to_owned()),
            origin: Some(Origin { named: format!("{text} 1.0.0"), unit: Some(text.to_string()) }),
            cautions: vec!["The hose holds on to what closes it.".to_owned(), text.to_string()],
            replacement: Some(850.5),
            circuits: circuits(text),
            ..Draft::default()
        };
        let written = draft.text("draft.rhai");
        let report = proofread_text(&written);
        assert!(report.is_sound(), "{text}: {}\n{written}", report.text());
        // Nothing but limits that are to be found is left to be said.
        for finding in &report.faults {
            assert!(finding.fault.message.contains("are to be found"), "{text}: {}", report.text());
        }
        assert_eq!(report.faults.len(), Feature::ALL.len());
        assert_eq!(report.tried.statements, report.tried.statements_reached);
    }
}

#[test]
fn what_was_answered_stands_in_the_procedure_as_it_was_meant() {
    for text in AWKWARD {
        let draft = Draft { unit: text.to_string(), circuits: circuits(text), ..Draft::default() };
        let source = Source::from_files("draft", [("draft.rhai".to_owned(), draft.text("").into_bytes())]);
        let program = Program::compile(source.unwrap()).unwrap();
        let earlier = Earlier::of(&program).unwrap();
        assert_eq!(earlier.draft.unit, cleaned(text));
        assert_eq!(earlier.title.version, "1.0.0");
        let found = earlier.circuits_for(&cleaned(text));
        for (found, meant) in found.iter().zip(&draft.circuits) {
            assert_eq!(found.name, meant.name);
            assert_eq!(found.port.as_deref(), Some(cleaned(text).as_str()));
            assert_eq!(found.symptoms, [cleaned(text), "late upshift".to_owned()]);
            assert_eq!(found.repairs[0].does, cleaned(text));
            assert_eq!(found.repairs[0].parts, Some(48.5));
            assert_eq!(found.is_judged(), meant.is_judged());
            let land = found.land.as_ref().unwrap();
            assert!((land.diameter().si() - 0.0127).abs() < 1e-12 && land.eccentricity() == 0.25);
            if let (
                DraftLimits::Known { limits: found, unit, .. },
                DraftLimits::Known { limits: meant, unit: as_meant, .. },
            ) = (&found.limits, &meant.limits)
            {
                // Kilopascals are written to a millionth.
                assert!((found.holds().si() - meant.holds().si()).abs() < 1e-3);
                assert_eq!(unit, as_meant);
            }
        }
        assert_eq!(found.len(), draft.circuits.len());
    }
}

#[test]
fn every_shipped_procedure_can_be_started_from() {
    for shipped in SHIPPED {
        let program = Program::compile(shipped.source().unwrap()).unwrap();
        let earlier = Earlier::of(&program).unwrap();
        let (title, circuits) = (&earlier.title, earlier.circuits_for("Merle M2"));
        if circuits.is_empty() {
            // A bench job tests no circuit of a unit.
            assert!(title.unit.is_none(), "{}", shipped.id);
            continue;
        }
        let cautions = earlier.cautions_for("Merle M2");
        let draft = Draft { unit: "Merle M2".to_owned(), cautions, circuits, ..earlier.draft.clone() };
        let written = draft.text("draft.rhai");
        let report = proofread_text(&written);
        assert!(report.is_sound(), "{}: {}\n{written}", shipped.id, report.text());
        if let Some(unit) = &title.unit {
            assert!(!written.contains(unit.as_str()), "{} is still named in\n{written}", unit);
        }
        let readings = |circuit: &DraftCircuit| match &circuit.body {
            Body::Taken(steps) => steps.len(),
            Body::AsWritten(lines) => lines.matches(".read(").count(),
            Body::Of(_) => 1,
        };
        assert!(draft.circuits.iter().all(|circuit| readings(circuit) > 0), "{}", shipped.id);
    }
}

#[test]
fn names_of_files_are_plain_whatever_the_unit_is_called() {
    for text in AWKWARD {
        assert!(is_plain_name(&file_name(text, Some(text))), "{text}");
    }
    assert_eq!(file_name("Merle M2", Some("lower body")), "merle-m2-lower-body");
    assert_eq!(file_name("クラッチ", None), "new-procedure");
    assert_eq!(file_name("NUL", None), "new-procedure");
    assert!(file_name(&"very long ".repeat(30), None).len() <= 40);
}

#[test]
fn lists_are_parted_at_commas_and_name_each_thing_once() {
    assert_eq!(listed("late upshift, flare 2-3; Late  Upshift,, \u{200b},"), ["late upshift", "flare 2-3"]);
}
