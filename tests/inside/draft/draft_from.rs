//! Drafts that start from a procedure: what comes over comes as it is written, and what does not is said before anything
//! is written.

use crate::tests::support::scripted;

use crate::draft::{Draft, DraftCircuit, DraftLimits, Earlier, Feature, cleaned, provenance};
use crate::leak::{Baseline, Land, Limits, Promise};
use crate::procedure::{Program, SHIPPED, Source};
use crate::proofread::proofread;
use crate::quantity::{INCH_OF_MERCURY, Length, Pressure, UNITS, Unit};
use crate::record::Repair;
use proptest::collection::vec;
use proptest::option;
use proptest::prelude::{
    Just, ProptestConfig, Strategy, any, prop_assert, prop_assert_eq, prop_oneof, proptest,
};
use proptest::sample::{select, subsequence};
use scripted::{Home, Ran};

fn source(text: &str) -> Source {
    Source::from_files("earlier", [("earlier.rhai".to_owned(), text.as_bytes().to_vec())]).unwrap()
}

fn earlier(text: &str) -> Earlier {
    Earlier::of(&Program::compile(source(text)).unwrap()).unwrap()
}

/// Returns a draft that keeps all, under another unit's name or the same.
fn kept(earlier: &Earlier, unit: &str) -> Draft {
    Draft {
        unit: unit.to_owned(),
        circuits: earlier.circuits_for(unit),
        cautions: earlier.cautions_for(unit),
        ..earlier.draft.clone()
    }
}

/// Returns a procedure without the comments that it begins with: they name its file and where it started from.
fn without_head(text: &str) -> &str {
    text.split_once("\n\n").unwrap().1
}

/// What is typed for a text, with everything that a script's text has to escape.
fn typed() -> impl Strategy<Value = String> {
    prop_oneof![
        select(vec![
            "feed \"3A\"",
            "C:\\valves\\",
            "\\",
            "// no comment",
            "#{ } ( ] |t| {",
            "Größe ½",
            "クラッチ",
            "t.read();"
        ])
        .prop_map(str::to_owned),
        "[a-z0-9\"\\\\(){}#/'-]{1,12}( [a-z0-9,.]{1,12}){0,4}".prop_map(|text| cleaned(&text)),
    ]
}

fn limits() -> impl Strategy<Value = DraftLimits> {
    let known = (select(vec!["inHg", "kPa", "mmHg"]), 1..240_u32, 1..240_u32).prop_map(|(unit, a, b)| {
        let unit = Unit::by_word(unit).unwrap();
        let tenths = |tenths: u32| {
            let inhg = f64::from(tenths) / 10.0 * INCH_OF_MERCURY;
            Pressure::constant(unit.to_si((unit.from_si(inhg) * 100.0).round() / 100.0))
        };
        let limits = Limits::new(tenths(a.max(b)), tenths(a.min(b))).unwrap();
        DraftLimits::Known { limits, unit, note: Vec::new() }
    });
    let proposed = vec(215..235_u32, 3..20).prop_map(|readings| {
        let readings: Vec<_> = readings
            .iter()
            .map(|tenths| Pressure::constant(f64::from(*tenths) / 10.0 * INCH_OF_MERCURY))
            .collect();
        let baseline = Baseline::of(&readings, Promise::USUAL).unwrap();
        let note = provenance(&baseline);
        baseline.limits.map_or(DraftLimits::ToBeFound, |limits| DraftLimits::Known {
            limits,
            unit: &UNITS[0],
            note,
        })
    });
    prop_oneof![Just(DraftLimits::ToBeFound), known, proposed]
}

fn circuit() -> impl Strategy<Value = DraftCircuit> {
    let land = option::of((select(vec!["mm", "inch", "thou"]), 100..1500_u32, 50..900_u32));
    let figures = || option::of((0..99_999_u32).prop_map(|cents| f64::from(cents) / 100.0));
    let repairs = vec((typed(), figures(), figures()), 0..3);
    let parts =
        (select(Feature::ALL.to_vec()), option::of(typed()), option::of(option::of(typed())), limits());
    (parts, land, subsequence(vec!["late upshift", "flare 2-3", "creeps"], 0..3), repairs).prop_map(
        |((feature, port, set_up, limits), land, symptoms, repairs)| {
            let usual = feature.set_up(port.as_deref());
            let mut circuit = DraftCircuit {
                set_up: set_up.unwrap_or(Some(usual)),
                port,
                limits,
                symptoms: symptoms.into_iter().map(str::to_owned).collect(),
                repairs: repairs
                    .into_iter()
                    .map(|(does, parts, hours)| Repair { does, parts, hours })
                    .collect(),
                ..DraftCircuit::new(String::new(), feature)
            };
            if let Some((unit, diameter, length)) = land {
                let unit = Unit::by_word(unit).unwrap();
                let length_of = |hundredths: u32| {
                    let metres = f64::from(hundredths) * 1e-5;
                    Length::constant(unit.to_si((unit.from_si(metres) * 1e4).round() / 1e4))
                };
                circuit.land = Some(Land::new(length_of(diameter), length_of(length), 0.0).unwrap());
                circuit.land_unit = unit;
            }
            circuit
        },
    )
}

fn draft() -> impl Strategy<Value = Draft> {
    let figure = option::of((0..9_999_999_u32).prop_map(|cents| f64::from(cents) / 100.0));
    (typed(), option::of(typed()), figure, vec((typed(), circuit()), 1..7), any::<bool>()).prop_map(
        |(unit, part, replacement, circuits, is_parted)| {
            let numbered = circuits.into_iter().enumerate().map(|(n, (name, circuit))| {
                let section = part
                    .as_ref()
                    .map(|part| if is_parted { format!("{part} {}", n / 2) } else { part.clone() });
                DraftCircuit { section, name: format!("{name} {n}"), ..circuit }
            });
            let circuits = numbered.collect();
            Draft { unit, part, replacement, circuits, ..Draft::default() }
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn whatever_draft_writes_comes_over_to_the_letter(draft in draft()) {
        let first = draft.text("first.rhai");
        let earlier = earlier(&first);
        prop_assert_eq!(&earlier.left_out, &Vec::new());
        let second = kept(&earlier, &draft.unit).text("second.rhai");
        prop_assert_eq!(without_head(&first), without_head(&second));
        // And under another unit's name it is a procedure without errors.
        let other = kept(&earlier, "Merle \"M3\" \\ 4").text("third.rhai");
        let report = proofread(source(&other));
        prop_assert!(report.is_sound(), "{}\n{}", report.text(), other);
    }
}

fn drafted(home: &Home, arguments: &[&str], lines: &[&str]) -> Ran {
    let input: String = lines.iter().map(|line| format!("{line}\n")).collect();
    home.run(&[&["draft"], arguments].concat(), &input).exits(0)
}

fn file(home: &Home, name: &str) -> String {
    std::fs::read_to_string(home.path(name)).unwrap()
}

/// A procedure by hand: own steps that stand for themselves, oil, complaints, and much that a draft has no place for.
const BY_HAND: &str = r#"// Written by hand.
procedure(#{
    title: "The Merle M2 in short", unit: "Merle M2", version: "1.2.0",
    symptoms: ["shudder"],
    oil: #{ pressure: 150.psi, temperature: 93.celsius, viscosity_40: 34.cSt, viscosity_100: 7.4.cSt },
    replacement: 900,
});
caution("The hose of the Merle M2 holds on to what closes it.");
ready("Wash the body.");
fn pushed(t) {
    t.ready("Push the valve over.");
    let over = t.read("over");
    if !over.holds { t.finding("The far land is worn."); }
}
let converter = circuit(#{
    name: "converter",
    // From the shop's own notes,
    // ten units.
    holds: 67.5.kPa, leaks: 50.kPa,
    symptoms: ["shudder"],
    land: #{ diameter: 0.55.inch, length: 0.3.inch, eccentricity: 1 },
});
test(converter, |t| {
    let open = t.read();
    if !open.holds {
        t.ready("Hold a pad over the Merle M2's port 4C.");
        if t.trial("with 4C blocked").holds { t.finding("It comes across."); }
    }
});
if !ask_yes("Is it the early body?") {
    let late = circuit(#{ name: "late feed", holds: 20.inHg, leaks: 15.inHg });
    test(late);
}
let switching = circuit(#{ name: "switching", holds: 19.inHg, leaks: 15.inHg });
test(switching, |t| { t.read("at rest"); pushed(t); });
"#;

#[test]
fn steps_that_stand_for_themselves_come_over_with_branches_trials_and_findings() {
    let earlier = earlier(BY_HAND);
    let text = kept(&earlier, "Merle M2").text("new.rhai");
    for wanted in [
        "    if !open.holds {\n        t.ready(\"Hold a pad over the Merle M2's port 4C.\");\n        if t.trial(",
        "    // From the shop's own notes,\n    // ten units.\n    holds: 67.5.kPa,\n    leaks: 50.kPa,",
        "diameter: 0.55.inch, length: 0.3.inch, eccentricity: 1 }",
        "oil: #{ pressure: 150.psi, temperature: 93.celsius, viscosity_40: 34.cSt, viscosity_100: 7.4.cSt },",
        "symptoms: [\"shudder\"],",
        "replacement: 900,",
        "caution(\"The hose of the Merle M2 holds on to what closes it.\");",
        "t.read(\"at rest\");\n    t.ready(\"Push the valve over.\");\n    t.read(\"over\");",
        "which is for the same unit",
    ] {
        assert!(text.contains(wanted), "no {wanted} in\n{text}");
    }
    assert!(!text.contains("another unit"), "{text}");
    let other = kept(&earlier, "Merle M3").text("new.rhai");
    assert!(
        other.contains("are another\n// unit's: check each.") && other.contains("Merle M3's port 4C"),
        "{other}"
    );
    assert!(other.contains("Taken over with its limits from Merle M2:"), "{other}");
    assert!(proofread(source(&other)).is_sound());
}

#[test]
fn what_does_not_come_over_is_said_line_by_line_before_the_first_question() {
    let home = Home::new();
    home.write("by-hand.rhai", BY_HAND);
    let ran = drafted(&home, &["--from", "by-hand.rhai", "-o", "new.rhai"], &["", "", "", "", "", ""]);
    let (before, _) = ran.out.split_once("Unit, as in").unwrap();
    let before = before.split_whitespace().collect::<Vec<_>>().join(" ");
    for wanted in [
        "its title, \"The Merle M2 in short\"",
        "its version, 1.2.0",
        "line 9: ready(\"Wash the body.\");",
        "line 13: if !over.holds { t.finding(\"The far land is worn.\"); }",
        "line 30: if !ask_yes(\"Is it the early body?\") {",
        "line 32: test(late);",
        "line 1: // Written by hand.",
        "the test of switching: it comes with the steps that are taken where all is sound",
    ] {
        assert!(before.contains(wanted), "no {wanted} in {before}");
    }
    for carried in ["4C", "late feed\"", "converter", "line 11", "line 12", "line 8"] {
        assert!(!before.contains(carried), "{carried} in {before}");
    }
    assert_eq!(file(&home, "by-hand.rhai"), BY_HAND, "the file started from is never changed");
}

#[test]
fn circuits_of_another_procedure_are_kept_changed_or_left_out() {
    let home = Home::new();
    let answers = [
        "Merle M2",
        "lower body",
        "", //
        "clutch feed",
        "3",
        "3A",
        "",
        "67,5 kPa",
        "",
        "12,7 mm",
        "7.6",
        "late upshift",
        "new seals",
        "48",
        "0.6", //
        "line boost",
        "",
        "",
        "",
        "",
        "",
        "",
        "",
        "", //
        "",
    ];
    drafted(&home, &["-o", "first.rhai"], &answers);
    let changed = [
        "Merle M3",
        "",
        "", //
        "change",
        "apply feed",
        "1",
        "4B",
        "",
        "19",
        "",
        "",
        "",
        "",
        "",
        "",
        "",      //
        "leave", //
        "",
    ];
    drafted(&home, &["--from", "first.rhai", "-o", "second.rhai"], &changed);
    let written = file(&home, "second.rhai");
    for wanted in [
        "Merle M3, lower body",
        "apply feed",
        "Valve and spring in place and oiled, retainer fitted. Seat the \"\n        + \"plate over port 4B.",
        "t.read(\"inboard\")",
        "holds: 19.inHg",
        "leaks: 13.inHg",
        "diameter: 12.7.mm",
        "late upshift",
        "does: \"new seals\", parts: 48, hours: 0.6",
        "first 1.0.0",
    ] {
        assert!(written.contains(wanted), "{wanted} is not in\n{written}");
    }
    assert!(!written.contains("line boost") && !written.contains("Merle M2"), "{written}");
    let kept = drafted(&home, &["--from", "first.rhai", "-o", "third.rhai"], &["", "", "", "", "", ""]);
    kept.says("All of first 1.0.0 can be carried over");
    assert_eq!(without_head(&file(&home, "first.rhai")), without_head(&file(&home, "third.rhai")));
}

#[test]
fn a_draft_that_started_from_a_procedure_goes_on_with_it() {
    let home = Home::new();
    home.write("by-hand.rhai", BY_HAND);
    let left = home.run(&["draft", "--from", "by-hand.rhai", "-o", "new.rhai"], "\n\n\nleave\n").exits(3);
    left.complains("draft --resume");
    drafted(&home, &["--resume"], &["back", "keep", "", "back 2", "leave", "", ""]);
    let written = file(&home, "new.rhai");
    assert!(written.contains("\"switching\"") && !written.contains("\"converter\""), "{written}");
}

#[test]
fn limits_that_were_put_into_a_draft_by_hand_come_over_as_known() {
    let draft = Draft {
        unit: "Merle M2".to_owned(),
        circuits: vec![DraftCircuit::new("feed".to_owned(), Feature::Feed)],
        ..Draft::default()
    };
    let by_hand = draft
        .text("first.rhai")
        .replace("// holds: 20.inHg", "holds: 20.5.inHg")
        .replace("// leaks: 15.inHg", "leaks: 16.inHg")
        .replace("    limits: \"to be found\",\n", "");
    let written = kept(&earlier(&by_hand), "Merle M2").text("second.rhai");
    assert!(written.contains("holds: 20.5.inHg") && !written.contains("To be found"), "{written}");
}

#[test]
fn what_a_draft_took_over_comes_over_again_to_the_letter() {
    let shipped = SHIPPED.iter().map(|shipped| shipped.source().unwrap());
    for source in shipped.chain([source(BY_HAND)]) {
        let first = Earlier::of(&Program::compile(source).unwrap()).unwrap();
        for unit in ["Merle M2", "Merle M3"] {
            let first = kept(&first, unit);
            if first.circuits.is_empty() {
                continue;
            }
            let written = first.text("first.rhai");
            let again = earlier(&written);
            assert_eq!(again.left_out, [], "{written}");
            assert_eq!(without_head(&kept(&again, unit).text("second.rhai")), without_head(&written));
        }
    }
}

/// A draft that changes nothing of a circuit but its port.
#[test]
fn a_circuit_that_moves_to_another_port_says_so_in_its_set_up_and_steps() {
    let home = Home::new();
    home.write(
        "old.rhai",
        "procedure(#{ title: \"Merle M2\", unit: \"Merle M2\", version: \"1.0.0\" });\n\
         caution(\"The hose holds on to what closes it: keep fingers away.\");\n\
         let feed = circuit(#{ name: \"feed\", port: \"3A\", set_up: \"Plate over port 3A, 3A oiled.\", \
         holds: 20.inHg, leaks: 15.inHg, symptoms: [\"late upshift\"] });\n\
         test(feed, |t| {\n    t.ready(\"Hold a pad beside port 3A.\");\n    t.read();\n});\n",
    );
    let arguments = ["--from", "old.rhai", "-o", "new.rhai"];
    let ran =
        drafted(&home, &arguments, &["", "", "", "change", "", "", "4C", "", "", "", "", "", "", "none"]);
    let ran = ran.says("Its texts say port 4C now, where they said port 3A");
    ran.says("They also name 3A by itself");
    let made = file(&home, "new.rhai");
    assert!(made.contains("port: \"4C\"") && made.contains("Plate over port 4C, 3A oiled."), "{made}");
    assert!(made.contains("Hold a pad beside port 4C."), "{made}");
}
