//! The invented unit of `examples/`: its procedure is proofread clean, and a rehearsal goes through it.

use std::path::{Path, PathBuf};

use crate::procedure::{Program, Source};
use crate::proofread::proofread;
use crate::tests::support::{Home, keyed, lines};

fn procedure() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/wrenlow-w3-front-body.rhai")
}

#[test]
fn it_is_proofread_without_errors_and_only_what_nobody_knows_is_remarked_on() {
    let report = proofread(Source::from_path(&procedure()).unwrap());
    let [finding] = report.faults.as_slice() else { panic!("{}", report.text()) };
    assert!(finding.fault.message.contains("the limits of \"reverse checkball\" are to be found"));
    assert!(report.is_sound(), "{}", report.text());
    assert_eq!(report.tried.statements, report.tried.reached);
}

#[test]
fn it_is_what_a_draft_makes_of_these_answers() {
    let answers = keyed(
        "Wrenlow W3 | front body | | pressure regulator valve | | 1 | A1 | | 22.5 21.8 22.1 22.9 22.3 | yes | 0.55 in | 0.30 \
         | late engagement in drive | ream and fit an oversize valve | 52 | 50 min \
         | forward clutch feed | | 7 | C | | 20 | 15 | | slips in drive | renew the drum's sealing rings | 14 | 20 min \
         | 1-2 accumulator | | 8 | D | | 19 | 14 | | harsh 1-2 shift | new seals | | \
         | reverse checkball | | 9 | E | | | | slips in reverse | \
         | converter valve | | 3 | F | G | | 19 | 15 | | shudder | new valve | | | none | none",
    );
    let home = Home::new();
    home.run(&["draft", "-o", "wrenlow-w3-front-body.rhai"], &lines(&answers)).exits(0);
    let written = home.read("wrenlow-w3-front-body.rhai");
    assert_eq!(written, std::fs::read_to_string(procedure()).unwrap(), "{written}");
}

#[test]
fn it_says_what_the_page_beside_it_says() {
    let page = std::fs::read_to_string(procedure().with_file_name("wrenlow-w3.md")).unwrap();
    assert!(page.contains("invented"));
    let program = Program::compile(Source::from_path(&procedure()).unwrap()).unwrap();
    assert!(page.contains(program.title.unit.as_ref().unwrap()));
    let circuits = &program.outline().unwrap().circuits;
    assert_eq!(circuits.len(), 5);
    for circuit in circuits {
        let port = circuit.port.as_ref().unwrap();
        assert!(page.contains(&format!("ort {port}")), "port {port}");
        for symptom in &circuit.symptoms {
            // Someone who tells a complaint doesn't tell it in the same order of words.
            assert!(symptom.split(' ').all(|word| page.contains(word)), "{symptom}");
        }
    }
}

#[test]
fn a_rehearsal_goes_through_it_sound_and_leaking() {
    for leaks in [&[][..], &["--leak", "converter valve=0.030in", "--leak", "forward clutch feed=0.03in"]] {
        let procedure = procedure().to_string_lossy().into_owned();
        let text = Home::new().run(&[&["rehearse", &procedure], leaks].concat(), "").exits(0).out;
        assert!(text.contains("not judged"), "{text}");
        assert_eq!(text.contains("with port G blocked"), !leaks.is_empty(), "{text}");
    }
}
