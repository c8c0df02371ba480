//! The record as a contract: the schema and what the program reads and writes are one, samples good and bad say so,
//! and nothing that breaks it is ever put in place.

use std::collections::BTreeSet;
use std::path::Path;
use std::sync::LazyLock;

use crate::record::{
    Event, RECORD_SCHEMA, Record, StoreError, digest, digest_of_text, document, read, store, validate,
};
use crate::session::{Auditor, SessionError, is_valid_journal};
use crate::share::OwnKey;
use crate::tests::support::{BODY, BODY_LINES, Schema, Shopfront, each_value, files, varied_records};
use serde_json::{Value, json};

static SCHEMA: LazyLock<Schema> = LazyLock::new(|| Schema(serde_json::from_str(RECORD_SCHEMA).unwrap()));

/// Records of every kind of session, as they are stored.
static RECORDS: LazyLock<Vec<(Record, Value)>> = LazyLock::new(|| {
    let stored = |record: Record| {
        let value = serde_json::from_str(&document(&record).unwrap()).unwrap();
        (record, value)
    };
    let mut records = varied_records();
    let own = OwnKey::from_secret("North Bench", [7; 32]).unwrap();
    let sealed = serde_json::from_str(&document(&records[0]).unwrap()).unwrap();
    records.push(own.sign_record(sealed).unwrap());
    records.into_iter().map(stored).collect()
});

/// The keywords of JSON Schema 2020-12 that the schema uses; a misspelt one would be passed over in silence.
const KEYWORDS: &str = "
    $defs $id $ref $schema additionalProperties allOf const description else enum exclusiveMaximum
    exclusiveMinimum format if items maxItems maxLength maxProperties maximum minItems minLength
    minProperties minimum oneOf pattern properties required then title type
";

/// Nobody can enter that nothing is known of the barometer; a session asks until something is.
const NEVER_ENTERED: &str = "/$defs/Barometer/allOf/3/then/properties/kind";

fn json_of(path: &Path) -> Value {
    serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap()
}

/// Applies a JSON Patch of the three operations that the samples use (RFC 6902, section 4).
fn patched(document: &Value, patch: &Value) -> Value {
    let mut document = document.clone();
    for operation in patch.as_array().unwrap() {
        let path = operation["path"].as_str().unwrap();
        let (parent, name) = path.rsplit_once('/').unwrap();
        let parent = document.pointer_mut(parent).unwrap_or_else(|| panic!("the sample has no {path}"));
        match (operation["op"].as_str().unwrap(), parent) {
            ("add", Value::Array(items)) if name == "-" => items.push(operation["value"].clone()),
            ("add", Value::Object(fields)) => {
                assert!(fields.insert(name.to_owned(), operation["value"].clone()).is_none())
            }
            ("remove", Value::Object(fields)) => {
                assert!(fields.remove(name).is_some(), "the sample has no {path}")
            }
            ("replace", _) => {
                let old = document.pointer_mut(path).unwrap_or_else(|| panic!("the sample has no {path}"));
                assert_ne!(*old, operation["value"], "{path} is replaced by itself");
                *old = operation["value"].clone();
            }
            (other, _) => panic!("{other} at {path}"),
        }
    }
    document
}

#[test]
fn every_good_sample_is_read_and_in_order() {
    let samples = files("tests/records/valid", "json");
    assert!(!samples.is_empty());
    for path in samples.iter().chain(&files("examples", "json")) {
        let value = json_of(path);
        if value["format"].as_str().is_some_and(|format| format.starts_with("spoolproof/record/")) {
            assert_eq!(validate(&value), Ok(()), "{}", path.display());
            let record = read(path).unwrap();
            let text = std::fs::read_to_string(path).unwrap();
            assert!(document(&record).unwrap() == text, "{}", path.display());
            let audit = Auditor::default().audit(&std::fs::read(path).unwrap());
            assert_eq!(audit.faults, [], "{}", path.display());
        }
    }
}

#[test]
fn every_bad_sample_is_refused_where_it_is_bad() {
    let good = json_of(&Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/records/valid/merle.json"));
    let samples = files("tests/records/invalid", "json");
    assert!(samples.len() >= 60, "{} bad samples", samples.len());
    for path in samples {
        let patch = json_of(&path);
        let Err(breaches) = validate(&patched(&good, &patch)) else {
            panic!("{} is accepted", path.display())
        };
        // A field that is missing, too much or of another kind is its parent's fault.
        let at = patch[0]["path"].as_str().unwrap().trim_end_matches("/-");
        let fits = |breach: &String| {
            let place = breach.split(": ").next().unwrap_or_default();
            at.starts_with(place.trim_end_matches('/')) || place.starts_with(at)
        };
        assert!(breaches.iter().any(fits), "{}: {breaches:?}", path.display());
        assert!(breaches.len() <= 3, "{} breaks more than one rule: {breaches:?}", path.display());
    }
}

#[test]
fn the_schema_uses_known_keywords_only_and_leaves_no_object_open() {
    let mut n_objects = 0;
    SCHEMA.each_place(|place, value| {
        let Some(fields) = value.as_object() else { return };
        let is_schema = !place.ends_with("/const");
        for keyword in fields.keys().filter(|_| is_schema) {
            assert!(KEYWORDS.split_whitespace().any(|known| known == keyword), "{keyword} at {place}");
        }
        if fields.contains_key("properties") {
            n_objects += 1;
            let is_closed = fields.get("additionalProperties") == Some(&Value::Bool(false));
            // Where the kind says which fields there are, each kind is closed.
            assert!(is_closed || fields.contains_key("allOf"), "{place} is open");
        }
    });
    assert!(n_objects > 60, "{n_objects} objects");
}

#[test]
fn every_property_of_the_schema_is_written_and_every_field_written_is_in_the_schema() {
    let mut seen = BTreeSet::new();
    for (_, value) in RECORDS.iter() {
        assert_eq!(validate(value), Ok(()));
        SCHEMA.visit(value, &mut seen);
    }
    let unseen: Vec<_> = SCHEMA.properties().difference(&seen).cloned().collect();
    assert_eq!(unseen, [NEVER_ENTERED]);
}

#[test]
fn what_is_written_is_read_back_the_same_and_is_what_its_procedure_and_answers_come_to() {
    let mut auditor = Auditor::default();
    for (record, value) in RECORDS.iter() {
        let back: Record = serde_json::from_value(value.clone()).unwrap();
        let text = document(record).unwrap();
        assert!(document(&back).unwrap() == text);
        let audit = auditor.audit(text.as_bytes());
        assert_eq!(audit.faults, []);
        assert_eq!(audit.record.unwrap(), back);
        assert_eq!(back.digest.as_deref(), Some(digest(&back).unwrap().as_str()));
    }
}

/// Fields of the good sample that stand in a document only where there is something to say.
const OFTEN_ABSENT: [&str; 3] = ["own", "is_window", "not_fitted"];

#[test]
fn what_the_schema_refuses_the_program_refuses_to_read() {
    let good = json_of(&Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/records/valid/merle.json"));
    let is_read = |value: &Value| serde_json::from_value::<Record>(value.clone()).is_ok();
    let mut places = Vec::new();
    each_value(&good, "", &mut |place, value| places.extend(value.is_object().then(|| place.to_owned())));
    assert!(places.len() > 100, "{} objects", places.len());
    // A validation of the whole document takes its time; every third object is as good.
    for place in places.iter().step_by(3) {
        let object = |value: &mut Value| value.pointer_mut(place).unwrap().as_object_mut().unwrap().clone();
        let mut with_more = good.clone();
        with_more.pointer_mut(place).unwrap()["unheard_of"] = json!(1);
        // Serde passes over more fields beside a kind that has none of its own; the audit holds all to the schema.
        let is_bare_kind = object(&mut with_more).len() == 2;
        assert!(validate(&with_more).is_err(), "one field more at {place}");
        assert!(is_bare_kind || !is_read(&with_more), "one field more at {place}");
        let mut spoiled = good.clone();
        for name in object(&mut spoiled).keys() {
            let mut retyped = good.clone();
            retyped.pointer_mut(place).unwrap()[name] = json!({ "unheard_of": [] });
            assert!(validate(&retyped).is_err() && !is_read(&retyped), "{name} of another kind at {place}");
            if OFTEN_ABSENT.contains(&name.as_str()) {
                continue;
            }
            let removed = patched(&good, &json!([{ "op": "remove", "path": format!("{place}/{name}") }]));
            // What may be left out where there is none of it, the program does without as well.
            assert!(validate(&removed).is_err() || is_read(&removed), "no {name} at {place}");
        }
    }
}

#[test]
fn every_value_that_the_schema_lists_is_known_to_the_program() {
    let lists = |at: &str| SCHEMA.0.pointer(at).unwrap()["enum"].as_array().unwrap().clone();
    let good = json_of(&Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/records/valid/merle.json"));
    for (listed, place) in [
        ("/$defs/Mode", "/mode"),
        ("/$defs/OrificeKind", "/rig/orifice/kind"),
        ("/$defs/Grade", "/rig/dial/grade"),
        ("/$defs/Judgement/properties/verdict", "/circuits/0/readings/0/judgement/verdict"),
        ("/$defs/Verdict", "/circuits/0/verdict"),
        ("/$defs/ErrorSource", "/circuits/0/readings/0/judgement/advice/improve"),
        ("/$defs/Condition", "/journal/6/wants/reading/rig/read"),
    ] {
        let mut document = good.clone();
        if place.ends_with("/improve") {
            let judgement = document.pointer_mut(place.trim_end_matches("/advice/improve")).unwrap();
            judgement["advice"] = json!({ "improve": "" });
        }
        for value in lists(listed) {
            *document.pointer_mut(place).unwrap() = value.clone();
            assert!(serde_json::from_value::<Record>(document.clone()).is_ok(), "{value} at {place}");
        }
        *document.pointer_mut(place).unwrap() = json!("unheard of");
        assert!(serde_json::from_value::<Record>(document.clone()).is_err(), "anything at {place}");
    }
}

#[test]
fn the_digest_is_that_of_the_text_before_its_line() {
    // SHA-256 of the first two lines by an independent program (sha256sum of GNU coreutils).
    let of_two_lines = "258d97188c1e1b71d2c4210444fd72c3cf58a6d7d799180006273b33f2d1d054";
    let text = "{\n  \"a\": 1,\n  \"digest\": null\n}\n";
    assert_eq!(digest_of_text(text.as_bytes()), of_two_lines);
    let signed = text.replace("null", "\"any\",\n  \"signature\": \"any\"");
    assert_eq!(digest_of_text(signed.as_bytes()), of_two_lines, "it counts neither itself nor a signature");
    assert_ne!(digest_of_text(text.replace('1', "2").as_bytes()), of_two_lines);
}

#[cfg(target_os = "linux")]
#[test]
fn what_comes_with_the_system_finds_the_digest_of_a_record() {
    let sample = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/records/valid/merle.json");
    // As the README has it (GNU sed and coreutils).
    let line = format!("sed '/^  \"digest\"/,$d' {sample} | sha256sum");
    let ran = std::process::Command::new("sh").args(["-c", &line]).output().unwrap();
    let found = String::from_utf8(ran.stdout).unwrap();
    let record = read(Path::new(sample)).unwrap();
    assert_eq!(found.split(' ').next(), record.digest.as_deref());
}

#[test]
fn a_record_that_breaks_the_schema_is_not_put_in_place() {
    let (record, _) = &RECORDS[0];
    let broken = Record { session: String::new(), ..record.clone() };
    assert!(matches!(document(&broken), Err(StoreError::Invalid(breaches)) if breaches.len() == 1));

    let mut front = Shopfront::new(BODY);
    front.unusual = |opening| opening.program = String::new();
    let error = front.walk_with(Box::new(front.usual(&BODY_LINES))).unwrap_err();
    assert!(matches!(&error, SessionError::Store(StoreError::Invalid(_), _)), "{error}");
    assert_eq!(std::fs::read_dir(front.shop.records()).unwrap().count(), 0);
    assert!(front.journal_path().exists(), "the answers are still there");
}

#[test]
fn a_record_is_put_in_place_whole_and_once() {
    let front = Shopfront::new(BODY);
    front.walk(&["park"]);
    let session = front.journal_path().parent().unwrap().file_name().unwrap().to_str().unwrap().to_owned();
    let path = store(&front.shop, &session, "{}\n").unwrap();
    assert_eq!(path, front.record_path());
    store(&front.shop, &session, "{}\n").expect("the same again is no error");
    let error = store(&front.shop, &session, "{ }\n").unwrap_err();
    assert!(matches!(error, StoreError::Exists(_)), "{error}");
    assert_eq!(std::fs::read_to_string(&path).unwrap(), "{}\n");
    let left: Vec<_> =
        std::fs::read_dir(front.shop.records()).unwrap().map(|entry| entry.unwrap().path()).collect();
    assert_eq!(left, std::slice::from_ref(&path), "nothing else stays in the folder");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let mode = std::fs::metadata(&path).unwrap().permissions().mode();
        assert_eq!(mode & 0o444, 0o444, "the shop reads it, not only its writer");
    }
}

/// An audit holds to the schema only what of a journal its walk doesn't ask itself. Each field of a journal is spoiled
/// once in the ways that break rules of the schema's: a record in which the audit finds no fault keeps to it whole.
#[test]
fn what_an_audit_finds_no_fault_in_keeps_to_the_schema() {
    let mut auditor = Auditor::default();
    let (mut n_read, mut tried, mut missed) = (0, BTreeSet::new(), BTreeSet::new());
    for (record, _) in RECORDS.iter() {
        let journal = serde_json::to_value(&record.journal).unwrap();
        let mut places = Vec::new();
        each_value(&journal, "", &mut |place, value| {
            let event = &journal[place.split('/').nth(1).and_then(|n| n.parse().ok()).unwrap_or(0_usize)];
            let kind = event["wants"].as_object().map(|wants| wants.keys().collect::<Vec<_>>());
            let field: String = place.chars().filter(|c| !c.is_ascii_digit()).collect();
            if !place.contains("/texts/") && tried.insert(format!("{kind:?} {field}")) {
                places.push((place.to_owned(), value.clone()));
            }
        });
        for (place, value) in places {
            let spoiled: &[Value] = match value {
                Value::String(_) => &[json!(""), json!("?")],
                Value::Number(_) => &[json!(0), json!(-1), json!(1e12)],
                Value::Bool(is) => &[json!(!is)],
                Value::Array(_) => &[json!([])],
                _ => continue,
            };
            for spoiled in spoiled {
                let mut journal = journal.clone();
                *journal.pointer_mut(&place).unwrap() = spoiled.clone();
                let Ok(events) = serde_json::from_value::<Vec<Event>>(journal) else { continue };
                n_read += 1;
                let mut faults = Vec::new();
                let Some(again) = auditor.again(events, &mut faults) else { continue };
                let document = Record { digest: Some("0".repeat(64)), ..again };
                if faults.is_empty()
                    && is_valid_journal(&document.journal)
                    && let Err(breaches) = validate(&serde_json::to_value(document).unwrap())
                {
                    missed.insert(breaches.join("; "));
                }
            }
        }
    }
    assert!(n_read > 200, "{n_read} spoiled journals were read");
    assert!(missed.is_empty(), "{missed:#?}");
}
