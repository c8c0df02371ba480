//! Drafts: whatever is answered, what is written is a procedure without errors, and no file is ever written over.

use crate::draft::{
    Draft, DraftCircuit, DraftItem, DraftLimits, Feature, FeatureSteps, Original, SecondLand, Tested,
    cleaned, file_name, provenance,
};
use crate::leak::{Baseline, Land, Limits, Promise};
use crate::procedure::is_plain_name;
use crate::proofread::proofread;
use crate::quantity::{Length, UNITS, Unit};
use crate::record::Repair;
use crate::tests::support::{compiled, inhg, source};

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

fn items(text: &str) -> Vec<DraftItem> {
    let given = Limits::new(inhg(20.0), inhg(15.0)).unwrap();
    let good: Vec<_> = [22.5, 21.8, 22.1, 22.9].map(inhg).to_vec();
    let baseline = Baseline::of(&good, Promise::USUAL).unwrap();
    let limits = [
        DraftLimits::TO_BE_FOUND,
        DraftLimits::Known { limits: given, unit: &UNITS[0], note: Vec::new() },
        DraftLimits::Known { limits: given, unit: Unit::by_word("kPa").unwrap(), note: Vec::new() },
        DraftLimits::Known {
            limits: baseline.limits.unwrap(),
            unit: &UNITS[0],
            note: provenance(&baseline, &good),
        },
    ];
    let land = Land::new(Length::constant(0.0127), Length::constant(0.0076), 0.0).unwrap();
    let mut items = Vec::new();
    for (n, feature) in Feature::all().iter().enumerate() {
        for limits in [&limits[0], &limits[1 + n % 3]] {
            let circuit = DraftCircuit {
                feature,
                port: Some(format!("{text} {}", items.len())),
                neighbour: Some(format!("{text}2")),
                second: SecondLand {
                    port: Some(format!("{text}2")),
                    limits: Some((given, Unit::by_word("kPa").unwrap())),
                    land: Some((land, Unit::by_word("mm").unwrap())),
                },
                set_up: format!("{} {text}", feature.set_up(Some(text))),
                limits: limits.clone(),
                land: Some((land, Unit::by_word("inch").unwrap())),
                symptoms: vec![text.to_owned(), "late upshift".to_owned()],
                repairs: vec![Repair { does: text.to_owned(), parts: Some(48.5), hours: None }],
            };
            let tested = match feature.steps {
                FeatureSteps::Coil => Tested::Coil(circuit.is_judged().then_some((4.6, 5.6))),
                _ => Tested::Circuit(Box::new(circuit)),
            };
            let name = format!("{} {}", cleaned(text), items.len());
            items.push(DraftItem { section: Some(format!("section {text}")), name, tested });
        }
    }
    items
}

#[test]
fn every_kind_of_circuit_with_any_text_is_proofread_without_errors() {
    for text in AWKWARD {
        let draft = Draft {
            unit: Some(text.to_string()),
            title: format!("{text}, lower body"),
            replacement: Some(850.5),
            items: items(text),
            ..Draft::default()
        };
        let written = draft.text("draft.rhai");
        let report = proofread(source(&written));
        assert!(report.is_sound(), "{text}: {}\n{written}", report.text());
        // Nothing but limits that are to be found is left to be said.
        for finding in &report.faults {
            assert!(finding.fault.message.contains("are to be found"), "{text}: {}", report.text());
        }
        // A coil that is not judged is measured all the same.
        assert_eq!(report.faults.len(), Feature::all().len() - 1);
        assert_eq!(report.tried.statements, report.tried.reached);
    }
}

#[test]
fn what_was_answered_stands_in_the_procedure_as_it_was_meant() {
    for text in AWKWARD {
        let (unit, title) = (Some(text.to_string()), text.to_string());
        let draft = Draft { unit, title, items: items(text), ..Draft::default() };
        let program = compiled(&draft.text(""));
        assert_eq!(program.title.unit, Some(cleaned(text)));
        assert_eq!(program.title.version, "1.0.0");
        let found = &program.outline().unwrap().circuits;
        let meant = draft.items.iter().filter_map(|item| Some((&item.name, item.tested.circuit()?)));
        assert_eq!(found.len(), meant.clone().count());
        for (found, (name, meant)) in found.iter().zip(meant) {
            assert_eq!(&found.name, name);
            assert_eq!(found.port, meant.port.as_deref().map(cleaned));
            assert_eq!(found.symptoms, [cleaned(text), "late upshift".to_owned()]);
            assert_eq!(found.repairs[0].does, cleaned(text));
            assert_eq!(found.repairs[0].parts, Some(48.5));
            assert_eq!(found.limits.is_some(), meant.is_judged());
            assert!((found.land.as_ref().unwrap().diameter().si() - 0.0127).abs() < 1e-12);
            if let (Some(found), DraftLimits::Known { limits: meant, .. }) = (&found.limits, &meant.limits) {
                // Kilopascals are written to a millionth.
                assert!((found.upper().si() - meant.upper().si()).abs() < 1e-3);
            }
        }

        // And a copy that changes nothing says the same, behind a head of its own.
        let original = Original::of(&program).unwrap();
        let (unit, title) = (program.title.unit.clone(), program.title.title.clone());
        let copy = Draft { unit, title, original, ..Draft::default() };
        let behind_head = |text: &str| text.split_once("\n\n").unwrap().1.to_owned();
        assert!(copy.original.is_some());
        assert_eq!(behind_head(&copy.text("")), behind_head(&draft.text("")));
    }
}

#[test]
fn circuits_are_called_after_their_names_in_the_script_and_each_otherwise() {
    let item = |name: &str| {
        let section = None;
        DraftItem { section, name: name.to_owned(), tested: Tested::Coil(Some((4.6, 5.6))) }
    };
    let names = [
        "Clutch feed",
        "clutch-feed",
        "1-2 accumulator",
        "lube",
        "ask yes",
        "34",
        "Größe A",
        "late (3A)!",
        "lube coil",
    ];
    let items = names.map(item).to_vec();
    let (unit, title) = (Some("Merle M2".to_owned()), "Merle M2".to_owned());
    let draft = Draft { unit, title, items, ..Draft::default() };
    let written = draft.text("draft.rhai");
    let called = written.lines().filter_map(|line| line.strip_prefix("let ")?.split(' ').next());
    let expected = [
        "clutch_feed",
        "clutch_feed_1",
        "accumulator_1_2",
        "lube_coil",
        "ask_yes_coil",
        "coil_1",
        "coil_2",
        "late_3a",
        "lube_coil_1",
    ];
    assert_eq!(called.collect::<Vec<_>>(), expected, "{written}");
    assert!(proofread(source(&written)).is_sound(), "{written}");
}

#[test]
fn names_of_files_are_plain_whatever_the_unit_is_called() {
    for text in AWKWARD {
        assert!(is_plain_name(&file_name(&format!("{text}, {text}"))), "{text}");
    }
    assert_eq!(file_name("Merle M2, lower body"), "merle-m2-lower-body");
    assert_eq!(file_name("クラッチ"), "new-procedure");
    assert_eq!(file_name("NUL"), "new-procedure");
    assert!(file_name(&"very long ".repeat(30)).len() <= 40);
}
