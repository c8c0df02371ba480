//! Drafts that start from a procedure: all of it is copied as it is written, and only what it is called is put in anew.

use crate::draft::{Draft, Original};
use crate::procedure::{Program, SHIPPED, Source};
use crate::proofread::proofread;
use crate::tests::support::{Home, Ran, keyed};

/// Copies a procedure for another unit, or under another title only; none where that can't be put in.
fn copied(source: Source, unit: Option<&str>) -> Option<String> {
    let original = Original::of(&Program::compile(source).unwrap()).unwrap()?;
    let (unit, title) = (unit.map(str::to_owned), "Copied".to_owned());
    Some(Draft { unit, title, original: Some(original), ..Draft::default() }.text("new.rhai"))
}

fn drafted(home: &Home, arguments: &[&str], lines: &[&str]) -> Ran {
    home.run(&[&["draft"], arguments].concat(), &crate::tests::support::lines(lines)).exits(0)
}

/// A procedure by hand, with much that no dialogue asks for.
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
    // ten Merle M2.
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
fn a_copy_is_the_procedure_to_the_letter_but_for_what_it_is_called() {
    let home = Home::with("by-hand.rhai", BY_HAND);
    let ran = drafted(&home, &["--from", "by-hand.rhai"], &["Merle M3", "Merle M3, lower body", ""]);
    ran.says("by-hand 1.2.0 stays as it is and is copied whole").says("no errors, 3 warnings");
    let expected = BY_HAND
        .replace("\"The Merle M2 in short\"", "\"Merle M3, lower body\"")
        .replace("unit: \"Merle M2\"", "unit: \"Merle M3\"")
        .replace("1.2.0", "1.0.0")
        .replace("hose of the Merle M2", "hose of the Merle M3")
        .replace("the Merle M2's port", "the Merle M3's port");
    let written = home.read("merle-m3-lower-body.rhai");
    let (head, body) = written.split_once("\n\n").unwrap();
    assert_eq!(body, expected);
    assert!(head.contains("Copied from by-hand 1.2.0, which is for another unit, Merle M2."), "{head}");
    // What a comment says of the old unit stays said of it.
    assert!(body.contains("// ten Merle M2."), "{body}");
    assert_eq!(home.read("by-hand.rhai"), BY_HAND, "the file started from is never changed");
}

#[test]
fn circuits_are_added_behind_and_each_name_stands_once() {
    let home = Home::with("by-hand.rhai", BY_HAND);
    let head = ["", "Merle M2, all"];
    let circuit = ["Converter", "clutch feed", "", "7", "3A", "", "67,5 kPa", "50", "", "", "", ""];
    let from = ["--from", "by-hand.rhai", "-o", "new.rhai"];
    let ran = drafted(&home, &from, &[&head[..], &circuit].concat());
    ran.says("a circuit of that name is there already").says("Written: new.rhai, 4 circuits.");
    let written = home.read("new.rhai");
    assert!(written.contains("which is for the same unit.") && written.contains("hose of the Merle M2"));
    let added = written.split_once("pushed(t); });\n").unwrap().1;
    assert!(added.starts_with("\nlet clutch_feed = circuit(#{\n    name: \"clutch feed\","), "{added}");
    assert!(added.contains("holds: 67.5.kPa"), "{added}");

    // A draft's own head names its file, so a copy of one has its own.
    let again = ["Merle M3", "", "line boost", "", "", "", "", "", "", "", "", "", ""];
    drafted(
        &home,
        &["-o", "first.rhai"],
        &["Merle M2", "", "", "feed", "", "", "", "", "", "", "", "", "", ""],
    );
    drafted(&home, &["--from", "first.rhai", "-o", "second.rhai"], &again);
    let written = home.read("second.rhai");
    assert!(!written.contains("first.rhai") && written.contains("spoolproof proofread second.rhai"));
    assert!(written.contains("Copied from first 1.0.0") && written.contains("title: \"Merle M3\""));
    assert!(written.contains("let feed_circuit =") && written.contains("let line_boost ="), "{written}");
}

#[test]
fn what_is_added_stands_before_the_section_that_closes_the_procedure() {
    let home = Home::new();
    let lines = keyed("Merle M3 | | line boost | | 1 | 1C | | 20 | 15 | | | | none");
    let ran = drafted(&home, &["--from", "osier-o7-rear", "-o", "new.rhai"], &lines);
    ran.says("What is new stands before \"Before you close it\".").says("13 circuits");
    let written = home.read("new.rhai");
    let stands = |text: &str| written.find(text).unwrap_or_else(|| panic!("no {text} in {written}"));
    assert!(stands("\"selector valve\"") < stands("\"line boost\""));
    assert!(stands("test(line_boost, |t| {") < stands("closing(\"Before you close it\")"));
    assert!(written.contains("    }\n});\n\nclosing(\"Before you close it\");"), "{written}");

    // A comment goes with what it stands above.
    let text = "procedure(#{ title: \"A job\", version: \"1.0.0\" });\ncaution(\"The hose sucks.\");\n\
                fn tried(name) { test(circuit(#{ name: name, holds: 20.inHg, leaks: 15.inHg })); }\n\
                section(\"Valves\");\ntried(\"valve\");\n\n\
                // The end.\n// Of it.\nclosing(\"Paper\");\nready(\"Sign it.\");\nsection(\"Tools\");\n";
    home.write("job.rhai", text);
    drafted(
        &home,
        &["--from", "job.rhai", "-o", "more.rhai"],
        &keyed("A job | late | | | | | | | | | | none"),
    );
    let written = home.read("more.rhai");
    let (before, behind) = written.split_once("test(late_circuit);\n").unwrap();
    assert!(before.contains("tried(\"valve\");\n\nlet late_circuit ="), "{written}");
    assert_eq!(
        behind,
        "\n// The end.\n// Of it.\nclosing(\"Paper\");\nready(\"Sign it.\");\nsection(\"Tools\");\n"
    );
}

#[test]
fn a_draft_that_started_from_a_procedure_goes_on_with_it() {
    let home = Home::with("by-hand.rhai", BY_HAND);
    let left = home.run(&["draft", "--from", "by-hand.rhai", "-o", "new.rhai"], "Merle M3\n").exits(3);
    left.complains("draft --resume");
    drafted(&home, &["--resume"], &["back", "Merle M4", "", ""]);
    let written = home.read("new.rhai");
    assert!(written.contains("title: \"The Merle M4 in short\", unit: \"Merle M4\""), "{written}");
}

#[test]
fn every_shipped_procedure_can_be_started_from() {
    for shipped in SHIPPED {
        let program = Program::compile(shipped.source().unwrap()).unwrap();
        let new = program.title.unit.as_ref().map(|_| "Merle \"M2\" \\ 4");
        let written = copied(shipped.source().unwrap(), new).unwrap();
        let report = proofread(shipped.source().unwrap().reworded(&written, None).unwrap());
        assert!(report.is_sound(), "{}: {}\n{written}", shipped.id, report.text());
        if let Some(unit) = &program.title.unit {
            let code = written.lines().filter(|line| !line.trim_start().starts_with("//"));
            for line in code {
                assert!(!line.contains(unit.as_str()), "{unit} is still named in {line}");
            }
        }
    }
}

#[test]
fn what_a_procedure_imports_comes_with_it() {
    let home = Home::new();
    let text =
        "import \"steps\" as steps;\nprocedure(#{ title: \"A job\", version: \"2.0.0\" });\nsteps::wash();\n";
    std::fs::create_dir(home.path("old")).unwrap();
    home.write("old/job.rhai", text);
    home.write("old/steps.rhai", "fn wash() { ready(\"Wash the body.\"); }\n");
    drafted(&home, &["--from", "old/job.rhai", "-o", "job.rhai"], &["Another job", ""]);
    assert_eq!(home.read("steps.rhai"), home.read("old/steps.rhai"));
    assert!(home.read("job.rhai").contains("title: \"Another job\", version: \"1.0.0\""));
    home.write("steps.rhai", "fn wash() { ready(\"Leave it.\"); }\n");
    let ran = home.run(&["draft", "--from", "old/job.rhai", "-o", "third.rhai"], "Third\n\n").exits(2);
    ran.complains("steps.rhai is there with other content");
    assert!(!home.path("third.rhai").exists());
}

#[test]
fn a_procedure_whose_keys_are_written_otherwise_is_left_to_an_editor() {
    let text = "procedure(#{ title: \"A job\", \"version\": \"1.0.0\" });\nready(\"Wash it.\");\n";
    let home = Home::with("job.rhai", text);
    home.refuses(1, &["draft", "--from", "job.rhai"], "copy the file, and change them in an editor");
}
