//! The audit of a record: nothing that was changed passes, and where it can be known the changed field is named.

use std::cell::RefCell;
use std::sync::LazyLock;

use serde_json::Value;

use crate::record::{Record, digest_of_text, document};
use crate::session::{Audit, Auditor, RecordFault, RecordRemark};
use crate::tests::support::sample;

static SAMPLE: LazyLock<Vec<u8>> = LazyLock::new(|| std::fs::read(&sample().records()[0]).unwrap());

fn audit(bytes: &[u8]) -> Audit {
    thread_local! { static AUDITOR: RefCell<Auditor> = RefCell::default() }
    AUDITOR.with_borrow_mut(|auditor| auditor.audit(bytes))
}

fn replaced(from: &str, to: &str) -> Audit {
    let text = String::from_utf8(SAMPLE.clone()).unwrap();
    assert!(text.contains(from), "the sample has no {from}");
    audit(text.replacen(from, to, 1).as_bytes())
}

fn fields(audit: &Audit) -> Vec<&str> {
    audit.faults.iter().filter_map(RecordFault::field).collect()
}

#[test]
fn a_record_as_stored_is_in_order() {
    let audit = audit(&SAMPLE);
    assert!(audit.is_in_order(), "{:?}", audit.faults);
    assert!(audit.journal_stands);
}

/// Every byte is changed once, in turn to a neighbour, a digit, a space and what is not UTF-8.
#[test]
fn every_change_of_a_single_byte_is_noticed() {
    let changed = |at: usize| {
        let mut bytes = SAMPLE.clone();
        bytes[at] = match at % 4 {
            0 => bytes[at] ^ 1,
            1 if bytes[at] != b'7' => b'7',
            2 if bytes[at] != b' ' => b' ',
            3 => bytes[at] ^ 0x80,
            _ => bytes[at].wrapping_add(1),
        };
        bytes
    };
    let missed_among = |from: usize| -> Vec<usize> {
        (from..SAMPLE.len()).step_by(2).filter(|at| audit(&changed(*at)).is_in_order()).collect()
    };
    let missed = std::thread::scope(|scope| {
        let odd = scope.spawn(|| missed_among(1));
        [missed_among(0), odd.join().unwrap()].concat()
    });
    assert!(SAMPLE.len() > 4_000);
    assert!(missed.is_empty(), "{missed:?}");
}

#[test]
fn a_byte_added_or_taken_away_is_noticed() {
    for at in (0..SAMPLE.len()).step_by(97) {
        let mut added = SAMPLE.clone();
        added.insert(at, b' ');
        assert!(!audit(&added).is_in_order(), "a space added at {at}");
        let mut taken = SAMPLE.clone();
        taken.remove(at);
        assert!(!audit(&taken).is_in_order(), "byte {at} taken away");
    }
}

#[test]
fn an_altered_result_is_named_and_the_journal_stands() {
    let audit = replaced("\"verdict\":\"holds\"", "\"verdict\":\"leaks\"");
    assert!(audit.journal_stands);
    assert_eq!(fields(&audit), ["/digest", "/circuits/0/verdict"]);
    let RecordFault::Differs { stated, found, .. } = &audit.faults[1] else { panic!("{:?}", audit.faults) };
    assert_eq!((stated, found), (&Value::from("leaks"), &Value::from("holds")));
}

/// Whoever works at the bench thinks in inches of mercury; a program finds the pointer and SI.
#[test]
fn an_altered_limit_is_told_to_people_in_their_unit_and_to_programs_in_si() {
    let mut record: Record = serde_json::from_slice(&SAMPLE).unwrap();
    record.circuits[0].readings[0].limits_here.as_mut().unwrap().lower_pa = 33_863.89;
    let audit = audit(document(&record).unwrap().as_bytes());
    let [fault] = &audit.faults[..] else { panic!("{:?}", audit.faults) };
    let told = fault.told();
    let begin =
        "circuit \"feed\", reading 1: limits on this bench, lower is stated as 10.00 inHg; the procedure";
    assert!(told.starts_with(begin) && told.ends_with(" inHg"), "{told}");
    let text = fault.to_string();
    let begin = "/circuits/0/readings/0/limits_here/lower_pa is stated as 33863.89; the procedure";
    assert!(text.starts_with(begin) && !text.contains("inHg"), "{text}");
}

#[test]
fn an_altered_reading_no_longer_gives_what_is_stated() {
    let audit = replaced("\"entry\":\"22 inHg\"", "\"entry\":\"22.5 inHg\"");
    assert!(!audit.journal_stands);
    let fields = fields(&audit);
    for changed in ["/digest", "/circuits/0/readings/0/meaning/reading_pa"] {
        assert!(fields.contains(&changed), "{changed}: {fields:?}");
    }
    let told = audit.first_told().expect("a first difference");
    let first = "Look first at circuit \"feed\", reading 1.";
    assert_eq!(
        told,
        format!("The digest does not fit the content: one of them is not as it was stored. {first}")
    );
}

#[test]
fn a_value_that_is_not_what_was_typed_is_named() {
    let audit = replaced("\"station_pa\":", "\"station_pa\":1");
    assert!(fields(&audit).contains(&"/barometer/station_pa"));
    let answer = |inhg: &str| format!("{{\"barometer\":{{\"entered\":\"{inhg} inHg\"");
    let audit = replaced(&answer("29.92"), &answer("29.52"));
    let is_of_entry = |fault: &RecordFault| matches!(fault, RecordFault::Entered { entered, .. } if entered == "29.52 inHg");
    assert!(audit.faults.iter().any(is_of_entry), "{:?}", audit.faults);
}

#[test]
fn a_forged_digest_does_not_hide_an_altered_result() {
    let mut record: Record = serde_json::from_slice(&SAMPLE).unwrap();
    record.circuits[0].readings[0].meaning.as_mut().unwrap().hole_m.value *= 0.5;
    let forged = document(&record).unwrap();
    assert_eq!(fields(&audit(forged.as_bytes())), ["/circuits/0/readings/0/meaning/hole_m/value"]);
}

/// As the README's line finds it: whoever writes a figure otherwise and takes the digest of that text has a digest that
/// fits, and the audit names what is wrong.
#[test]
fn a_digest_of_the_text_as_it_stands_fits_whatever_is_wrong_with_the_text() {
    let text = String::from_utf8(SAMPLE.clone()).unwrap().replacen(
        "\"confidence\": 0.95",
        "\"confidence\": 0.950",
        1,
    );
    let stated = serde_json::from_str::<Record>(&text).unwrap().digest.unwrap();
    let text = text.replace(&stated, &digest_of_text(text.as_bytes()));
    let faults = audit(text.as_bytes()).faults;
    assert!(
        !faults.is_empty() && !faults.iter().any(|fault| matches!(fault, RecordFault::Digest { .. })),
        "{faults:?}"
    );
}

#[test]
fn white_space_and_another_spelling_of_the_same_number_are_noticed() {
    for (from, to) in [
        ("\"technician\": \"Ana\"", "\"technician\":  \"Ana\""),
        ("\"confidence\": 0.95", "\"confidence\": 0.950"),
    ] {
        assert_eq!(replaced(from, to).faults, [RecordFault::Form]);
    }
}

#[test]
fn what_is_no_json_is_said_with_its_place() {
    let audit = replaced("\"technician\": \"Ana\"", "\"technician\" \"Ana\"");
    let [RecordFault::NotJson(why)] = &audit.faults[..] else { panic!("{:?}", audit.faults) };
    assert!(why.contains("line 7 column 16"), "{why}");
}

#[test]
fn a_record_under_another_name_is_noticed() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("other.json");
    std::fs::write(&path, &*SAMPLE).unwrap();
    let audit = Auditor::default().audit_file(&path).unwrap();
    assert!(audit.is_in_order());
    assert!(matches!(&audit.remarks[..], [RecordRemark::Name { file, .. }] if file == "other"));
}
