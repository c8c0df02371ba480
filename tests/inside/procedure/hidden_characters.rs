//! No character that moves a cursor, recolours a screen or reorders a line gets out of a procedure, wherever it stands.

use crate::procedure::{Program, Source};

/// Every text that reaches a screen, a report or a log, each written `TEXT`.
const PLACES: &str = r#"
procedure(#{ title: TEXT, unit: "U", version: "1.0.0" });
procedure(#{ title: "T", unit: TEXT, version: "1.0.0" });
procedure(#{ title: "T", unit: "U", version: TEXT });
procedure(#{ title: "T", unit: "U", version: "1.0.0", symptoms: [TEXT] });
section(TEXT);
say(TEXT);
caution(TEXT);
ready(TEXT);
wait(5.seconds, TEXT);
finding(TEXT);
ask_yes(TEXT);
ask_text(TEXT);
ask_choice(TEXT, ["a", "b"]);
ask_choice("Which?", ["a", TEXT]);
ask_number(TEXT, #{ unit: "mm" });
ask_number("How far?", #{ unit: TEXT });
throw TEXT;
test(circuit(#{ name: TEXT, holds: 20.inHg, leaks: 15.inHg }));
test(circuit(#{ name: "d", port: TEXT, holds: 20.inHg, leaks: 15.inHg }));
test(circuit(#{ name: "d", set_up: TEXT, holds: 20.inHg, leaks: 15.inHg }));
test(circuit(#{ name: "d", means: TEXT, holds: 20.inHg, leaks: 15.inHg }));
test(circuit(#{ name: "d", symptoms: ["a", TEXT], holds: 20.inHg, leaks: 15.inHg }));
test(circuit(#{ name: "d", repairs: [#{ does: TEXT }], holds: 20.inHg, leaks: 15.inHg }));
test(circuit(#{ name: "d", TEXT: 5, holds: 20.inHg, leaks: 15.inHg }));
test(c, |t| { t.read(TEXT); });
test(c, |t| { t.read(); t.trial(TEXT); });
test(c, |t| { t.read(); t.say(TEXT); });
test(c, |t| { t.read(); t.caution(TEXT); });
test(c, |t| { t.read(); t.ready(TEXT); });
test(c, |t| { t.read(); t.finding(TEXT); });
test(c, |t| { t.read(); t.ask_yes(TEXT); });
"#;

/// Controls of ECMA-48 (both sets of C0 and C1, and delete), every character with the property Bidi_Control (Unicode
/// Standard Annex 9, section 2), the line separators, and characters without width.
const CHARACTERS: &str = "\u{0}\u{7}\u{8}\t\r\u{b}\u{c}\u{1b}\u{7f}\u{85}\u{90}\u{9b}\u{9d}\u{61c}\u{200e}\u{200f}\u{202a}\
    \u{202b}\u{202c}\u{202d}\u{202e}\u{2066}\u{2067}\u{2068}\u{2069}\u{2028}\u{2029}\u{200b}\u{2060}\
    \u{feff}\u{ad}\u{e0041}";

/// Returns what is said of a procedure, or nothing where it is in order.
fn said_of(text: &str) -> Option<String> {
    let source = match Source::from_files("x", [("x.rhai".to_owned(), text.as_bytes().to_vec())]) {
        Ok(source) => source,
        Err(fault) => return Some(fault.message),
    };
    match Program::compile(source) {
        Err(faults) => Some(faults.iter().map(|fault| fault.message.clone()).collect()),
        Ok(program) => program.outline().err().map(|fault| fault.message),
    }
}

fn script(place: &str, text: &str) -> String {
    let title = "procedure(#{ title: \"T\", unit: \"U\", version: \"1.0.0\" });\n";
    let title = if place.starts_with("procedure") { "" } else { title };
    let circuit = "let c = circuit(#{ name: \"c\", holds: 20.inHg, leaks: 15.inHg });\n";
    let circuit = if place.starts_with("test(c,") { circuit } else { "" };
    format!("{title}{circuit}{}\n", place.replace("TEXT", text))
}

/// Places that take no text but certain ones, so that any other is refused for that already.
fn is_particular(place: &str) -> bool {
    ["version: TEXT", "throw", "TEXT: 5", "unit: TEXT });"].iter().any(|part| place.contains(part))
        && !place.starts_with("procedure(#{ title: \"T\", unit: TEXT")
}

#[test]
fn no_hidden_character_passes_in_any_text_however_it_is_written() {
    for place in PLACES.lines().skip(1) {
        for character in CHARACTERS.chars() {
            let number = u32::from(character);
            let escaped = if number > 0xffff {
                format!("\"a\\U{number:08x}b\"")
            } else {
                format!("\"a\\u{number:04x}b\"")
            };
            let mut written = vec![escaped.clone()];
            if ['\u{1b}', '\u{202e}'].contains(&character) {
                written.extend([format!("\"a{character}b\""), format!("(\"a\" + {escaped})")]);
            }
            for text in written {
                let said = said_of(&script(place, &text));
                let said = said.unwrap_or_else(|| panic!("{place} takes {text:?}"));
                let is_told = said.contains(&format!("hidden character U+{number:04X}"));
                assert!(is_told || is_particular(place), "{place} {text:?}: {said}");
            }
        }
    }
}

#[test]
fn the_same_texts_without_hidden_characters_pass() {
    for place in PLACES.lines().skip(1).filter(|place| !is_particular(place)) {
        assert_eq!(said_of(&script(place, "\"a b\"")), None, "{place}");
    }
}
