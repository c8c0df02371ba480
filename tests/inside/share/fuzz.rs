//! Anything at all as a pack or a procedure: no panic, nothing taken that was not signed, nothing that runs
//! without end.
//!
//! `SPOOLPROOF_FUZZ=1000000 cargo test --release --lib share::fuzz` makes it a million inputs each.

use proptest::prelude::*;
use serde_json::Value;

use crate::procedure::Program;
use crate::share::{Pack, parse_strict};
use crate::tests::support::{fuzz, pieces, procedure, sign, signer, small_pack, source};

#[test]
fn any_bytes_are_read_strictly_or_refused() {
    let json =
        "[\\[\\]{}:,\" 0-9eE.+-]{0,40}|(null|true|false|\"a\"|\"\\\\u00[0-9a-f]{2}\"|[\\[{:,\\]}]){0,30}";
    fuzz(
        1_500,
        move || prop_oneof![json.prop_map(String::into_bytes), any::<Vec<u8>>()],
        |bytes| {
            if let Ok(document) = parse_strict(&bytes) {
                // What is taken, every reader takes for the same.
                prop_assert_eq!(serde_json::from_slice::<Value>(&bytes).unwrap(), document);
            }
            let _ = Pack::read(&bytes);
            Ok(())
        },
    );
}

/// Edits of a text: at a place, so many bytes are taken out and these put in.
fn edits() -> impl Strategy<Value = Vec<(usize, usize, Vec<u8>)>> {
    let piece = prop_oneof![
        3 => any::<Vec<u8>>().prop_map(|mut bytes| { bytes.truncate(3); bytes }),
        1 => "[\\[\\]{}:,\" 0-9a-f]{0,6}".prop_map(String::into_bytes),
    ];
    prop::collection::vec((any::<usize>(), 0_usize..4, piece), 1..4)
}

#[test]
fn a_pack_that_was_edited_anyhow_is_refused_or_says_the_same() {
    let pack = small_pack();
    let text = pack.document().unwrap().into_bytes();
    fuzz(1_500, edits, move |edits| {
        let mut bytes = text.clone();
        for (at, n, piece) in edits {
            let at = at % (bytes.len() + 1);
            let end = (at + n).min(bytes.len());
            bytes.splice(at..end, piece);
        }
        // Blanks between its parts may differ.
        if let Ok(read) = Pack::read(&bytes) {
            prop_assert_eq!(read, pack.clone());
        }
        Ok(())
    });
}

/// Values that stand in for any part of a pack.
fn values() -> impl Strategy<Value = Value> {
    prop_oneof![
        Just(Value::Null),
        any::<bool>().prop_map(Value::from),
        any::<i32>().prop_map(Value::from),
        any::<String>().prop_map(Value::from),
        "[a-z0-9_./\\\\-]{0,12}(\\.rhai)?".prop_map(Value::from),
        Just(serde_json::json!([])),
        Just(serde_json::json!({ "name": "x.rhai", "sha256": "0".repeat(64), "lines": ["1"] })),
    ]
}

#[test]
fn a_pack_that_somebody_signs_with_anything_in_it_is_refused_or_in_order() {
    let document: Value = serde_json::from_str(&small_pack().document().unwrap()).unwrap();
    let own = signer("North Bench", 1);
    let places = "/format /id /title /unit /version /files \
                  /files/0 /files/0/name /files/0/sha256 /files/0/lines /files/0/lines/0";
    let places: Vec<_> = places.split(' ').collect();
    let n_places = places.len();
    fuzz(
        1_500,
        move || (0..n_places, values()),
        move |(place, value)| {
            let mut tampered = document.clone();
            *tampered.pointer_mut(places[place]).unwrap() = value;
            let signed = sign(tampered.clone(), &own);
            if let Ok(pack) = Pack::read(&serde_json::to_vec(&signed).unwrap()) {
                prop_assert!(pack.contents().all(|file| !file.name.contains(['/', '\\'])));
                if tampered != document {
                    let is_harmless = pack.program().is_ok_and(|_| places[place] == "/files/0/lines");
                    prop_assert!(!is_harmless, "{tampered}");
                }
            }
            Ok(())
        },
    );
}

/// Compiles a procedure and walks it; a panic inside is caught there, and told as a fault of the program.
fn compile_and_walk(text: &str) -> Result<(), TestCaseError> {
    const FAULT: &str = "a fault of the program itself";
    match Program::compile(source(text)) {
        Err(faults) => {
            prop_assert!(faults.iter().all(|fault| !fault.message.contains(FAULT)), "{text}");
        }
        Ok(program) => {
            let fault = program.outline().err();
            prop_assert!(fault.is_none_or(|fault| !fault.message.contains(FAULT)), "{text}");
        }
    }
    Ok(())
}

#[test]
fn any_pieces_of_a_script_are_compiled_or_refused() {
    fuzz(1_500, pieces, |text| compile_and_walk(&text));
}

#[test]
fn any_procedure_runs_to_an_end() {
    fuzz(1_500, procedure, |text| compile_and_walk(&text));
}
