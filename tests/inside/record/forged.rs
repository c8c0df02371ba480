//! Forgeries with new seals over them: each is caught, or is one of those that only a signature shows.

use serde_json::{Value, json};

use crate::record::{Event, Mode, Plan, Planned, Record, document, sha256};
use crate::session::{Audit, Auditor, RecordFault, RecordRemark};
use crate::share::OwnKey;
use crate::tests::support::{Script, Shopfront};

const SCRIPT: &str = "
procedure(#{ title: \"Merle M2, feed\", unit: \"Merle M2\", version: \"1.0.0\", replacement: 900 });
caution(\"Suction holds skin.\");
let feed = circuit(#{ name: \"feed\", holds: 20.inHg, leaks: 15.inHg, symptoms: [\"late upshift\"],
    repairs: [#{ does: \"ream\", parts: 48, hours: 0.6 }] });
test(feed);
if ask_yes(\"Any noise?\") { finding(\"It hisses.\"); }
";

fn record() -> Record {
    let mut front = Shopfront::of(Script::whole(SCRIPT).compile().unwrap());
    front.unusual = |opening| opening.procedure.signer = None;
    front.finish(&["ok", "9", "", "9", "yes"])
}

/// Audits a record in which somebody changed something and made a new digest.
fn forged(change: impl FnOnce(&mut Value)) -> Audit {
    let mut value = serde_json::to_value(record()).unwrap();
    change(&mut value);
    audit(&serde_json::from_value(value).unwrap())
}

fn audit(record: &Record) -> Audit {
    Auditor::default().audit(document(record).unwrap().as_bytes())
}

#[track_caller]
fn caught(audit: &Audit, at: &str) {
    let is_there = audit.faults.iter().any(|fault| fault.field().is_some_and(|field| field.starts_with(at)));
    assert!(is_there, "{at}: {:?}", audit.faults);
}

#[track_caller]
fn says(audit: &Audit, words: &str) {
    assert!(audit.faults.iter().any(|fault| fault.to_string().contains(words)), "{:?}", audit.faults);
}

fn place_of(events: &[Value], words: &str) -> usize {
    events.iter().position(|event| event["asked"] == words).unwrap()
}

/// Numbers the events anew, and the walk after them.
fn without_event(value: &mut Value, words: &str) {
    let events = value["journal"].as_array_mut().unwrap();
    events.remove(place_of(events, words));
    for (index, event) in events.iter_mut().enumerate() {
        event["n"] = json!(index + 1);
    }
    let n = events.len() as u64;
    let walk: Vec<u64> = (2..n).collect();
    events.last_mut().unwrap()["finished"] = json!(walk);
}

#[test]
fn halved_limits_are_caught() {
    caught(
        &forged(|record| {
            for limit in record["circuits"][0]["circuit"]["limits"].as_object_mut().unwrap().values_mut() {
                if let Some(pa) = limit.as_f64() {
                    *limit = json!(pa / 2.0);
                }
            }
        }),
        "/circuits/0/circuit/limits",
    );
}

#[test]
fn an_invented_finding_is_caught() {
    let found = json!({ "text": "The body must be replaced, 900 dollars." });
    caught(&forged(|record| record["findings"].as_array_mut().unwrap().push(found)), "/findings");
}

#[test]
fn a_kinder_verdict_and_a_dearer_repair_are_caught() {
    caught(&forged(|record| record["circuits"][0]["verdict"] = json!("holds")), "/circuits/0/verdict");
    caught(&forged(|record| record["account"]["parts"] = json!(4800.0)), "/account/parts");
}

#[test]
fn a_dropped_caution_is_caught() {
    let audit = forged(|record| without_event(record, "Suction holds skin."));
    says(
        &audit,
        "the procedure asks: \"Suction holds skin.\"; the journal holds no answer to it that stands",
    );
}

/// Makes the record of a journal in which the event of a caution stands behind those of the first look at the rig.
fn read_late() -> Record {
    let mut value = serde_json::to_value(record()).unwrap();
    let events = value["journal"].as_array_mut().unwrap();
    let caution = place_of(events, "Suction holds skin.");
    let set = place_of(events, "Fit the test orifice to the hose end. Turn no valve.");
    assert!(caution < set, "the caution comes first");
    events[caution..=set].rotate_left(1);
    for (index, event) in events.iter_mut().enumerate() {
        event["n"] = json!(index + 1);
    }
    let [caution, set] = [caution + 1, set + 1];
    let walk = events.last_mut().unwrap()["finished"].as_array_mut().unwrap();
    // The walk still asks for the caution first.
    let moved = |n: usize| if n == caution { set } else { n - usize::from((caution..=set).contains(&n)) };
    walk.iter_mut().for_each(|n| *n = json!(moved(usize::try_from(n.as_u64().unwrap()).unwrap())));
    let journal: Vec<Event> = serde_json::from_value(value["journal"].take()).unwrap();
    Auditor::default().again(journal, &mut Vec::new()).unwrap()
}

#[test]
fn a_caution_that_was_read_after_the_rig_was_set_is_caught() {
    let audit = audit(&read_late());
    let [RecordFault::Caution { n, done }] = audit.faults[..] else { panic!("{:?}", audit.faults) };
    assert_eq!((n, done), (7, 6));
}

#[test]
fn a_dropped_look_at_the_rig_is_caught() {
    let words = record().journal.iter().rev().find_map(|event| match &event.what {
        crate::record::What::Answered { question, .. } if question.words.starts_with("Before the end") => {
            Some(question.words.clone())
        }
        _ => None,
    });
    says(&forged(|record| without_event(record, &words.unwrap())), "the procedure asks: \"Before the end");
}

#[test]
fn another_procedure_under_the_text_of_this_one_is_caught() {
    let everywhere = |change: fn(&mut Value)| {
        forged(move |record| {
            change(&mut record["procedure"]);
            change(&mut record["journal"][0]["opened"]["procedure"]);
        })
    };
    caught(&everywhere(|procedure| procedure["version"] = json!("2.0.0")), "/procedure/version");
    caught(&everywhere(|procedure| procedure["unit"] = json!("Osier O7")), "/procedure/unit");
    let in_the_journal = forged(|record| {
        record["journal"][0]["opened"]["procedure"]["version"] = json!("2.0.0");
    });
    says(&in_the_journal, "the journal says otherwise of its name");
    says(
        &everywhere(|procedure| procedure["files"][0]["sha256"] = json!("0f".repeat(32))),
        "its text is missing or altered",
    );
}

#[test]
fn a_circuit_that_is_left_out_of_a_complaints_plan_is_caught() {
    let mut front = Shopfront::of(Script::whole(SCRIPT).compile().unwrap());
    front.unusual = |opening| {
        let because = vec!["late upshift".to_owned()];
        let circuits = vec![Planned { circuit: "feed".to_owned(), because: because.clone() }];
        opening.plan =
            Some(Plan { complaints: because, meant: Vec::new(), after: None, seed: None, circuits });
    };
    let record = front.finish(&["ok", "9", "", "9", "yes"]);
    assert_eq!(audit(&record).faults, []);
    let mut forged = serde_json::to_value(&record).unwrap();
    for place in ["/plan/circuits/0/circuit", "/journal/0/opened/plan/circuits/0/circuit"] {
        *forged.pointer_mut(place).unwrap() = json!("other");
    }
    // No circuit is tested, so the noise is asked after at once.
    assert!(!audit(&serde_json::from_value(forged).unwrap()).is_in_order());
}

#[test]
fn a_text_that_is_missing_or_altered_is_caught() {
    let text = |record: &mut Value, text: &str| {
        record["journal"][0]["opened"]["texts"] = json!([text]);
    };
    says(&forged(|record| text(record, "other")), "its text is missing or altered");
    says(
        &forged(|record| text(record, &SCRIPT.replace("20.inHg", "10.inHg"))),
        "its text is missing or altered",
    );
}

/// What a shop wrote itself it can write again: only who vouches for a record can say which is true.
#[test]
fn what_fits_together_only_a_signature_shows() {
    let own = OwnKey::from_secret("North Bench", [7; 32]).unwrap();
    let signed = own.sign_record(sealed(&record())).unwrap();
    let audited = audit(&signed);
    assert_eq!(audited.faults, []);
    assert_eq!(audited.signer, Some(own.signer()));

    let technician = |record: &mut Value| {
        let text = serde_json::to_string(record).unwrap().replace("\"Ada\"", "\"Bo\"");
        *record = serde_json::from_str(&text).unwrap();
    };
    let year = |record: &mut Value| {
        let text = serde_json::to_string(record).unwrap().replace("\"2026-", "\"2019-");
        *record = serde_json::from_str(&text).unwrap();
    };
    let reading = |record: &mut Value| {
        let text = serde_json::to_string(record).unwrap();
        let text = text.replace("\"9 inHg\"", "\"9.0 inHg\"");
        *record = serde_json::from_str(&text).unwrap();
    };
    let other_text = |record: &mut Value| {
        let script = SCRIPT.replace("Suction holds skin.", "Suction holds hair.");
        let (new, old) = (sha256(script.as_bytes()), sha256(SCRIPT.as_bytes()));
        record["journal"][0]["opened"]["texts"] = json!([script]);
        let text = serde_json::to_string(record).unwrap().replace(&old, &new);
        *record = serde_json::from_str(&text.replace("Suction holds skin.", "Suction holds hair.")).unwrap();
    };
    let changes: [&dyn Fn(&mut Value); 4] = [&technician, &year, &reading, &other_text];
    for change in changes {
        let unsigned = forged(change);
        assert_eq!((unsigned.faults, unsigned.signer), (vec![], None));
        let mut value = serde_json::to_value(&signed).unwrap();
        change(&mut value);
        let forged = audit(&serde_json::from_value(value).unwrap());
        assert_eq!(forged.faults, [RecordFault::Signature("North Bench".to_owned())]);
        assert_eq!(forged.signer, None);
    }
}

fn sealed(record: &Record) -> Record {
    serde_json::from_str(&document(record).unwrap()).unwrap()
}

#[test]
fn a_signature_over_another_digest_than_the_contents_does_not_fit() {
    let own = OwnKey::from_secret("North Bench", [7; 32]).unwrap();
    let text = document(&own.sign_record(sealed(&record())).unwrap()).unwrap();
    let audit = Auditor::default().audit(text.replace("\"Ada\"", "\"Bo\"").as_bytes());
    assert_eq!(audit.signer, None);
    assert!(audit.faults.contains(&RecordFault::Signature("North Bench".to_owned())), "{:?}", audit.faults);
}

#[test]
fn a_signature_in_another_name_or_by_another_key_does_not_fit() {
    let own = OwnKey::from_secret("North Bench", [7; 32]).unwrap();
    let signed = own.sign_record(sealed(&record())).unwrap();
    let mut renamed = signed.clone();
    renamed.signer.as_mut().unwrap().name = "South Bench".to_owned();
    let mut by_other = signed.clone();
    by_other.signer = Some(OwnKey::from_secret("North Bench", [8; 32]).unwrap().signer());
    let bare = Record { signature: None, ..signed };
    for record in [renamed, by_other, bare] {
        assert!(matches!(&audit(&record).faults[..], [RecordFault::Signature(_)]));
    }
}

#[test]
fn among_many_records_it_is_told_of_the_one_whose_signature_does_not_fit() {
    let own = OwnKey::from_secret("North Bench", [7; 32]).unwrap();
    let signed = own.sign_record(sealed(&record())).unwrap();
    let mut renamed = signed.clone();
    renamed.signer.as_mut().unwrap().name = "South Bench".to_owned();
    let folder = tempfile::tempdir().unwrap();
    let paths: Vec<_> = (0..9).map(|n| folder.path().join(format!("{n}.json"))).collect();
    let audits = |other: Option<&Record>| {
        for (n, path) in paths.iter().enumerate() {
            let record = other.filter(|_| n == 5).unwrap_or(&signed);
            std::fs::write(path, document(record).unwrap()).unwrap();
        }
        let signer = |audit: Audit| audit.signer.filter(|_| audit.faults.is_empty());
        Auditor::default().audit_files(&paths, |_, audit| signer(audit.unwrap()))
    };
    assert_eq!(audits(None), vec![Some(own.signer()); 9]);
    let found = audits(Some(&renamed));
    let unsigned: Vec<usize> = (0..9).filter(|n| found[*n].is_none()).collect();
    assert_eq!(unsigned, [5]);
}

#[test]
fn times_that_run_backwards_are_remarked() {
    let audit = forged(|record| record["journal"][3]["at"] = json!("2019-01-01T08:00:00Z"));
    assert_eq!(audit.remarks, [RecordRemark::Backwards { n: 4 }]);
}

#[test]
fn of_a_record_of_another_version_nothing_is_called_forged() {
    let audit = forged(|record| {
        record["program"] = json!("0.0.1");
        record["journal"][0]["opened"]["program"] = json!("0.0.1");
        record["circuits"][0]["readings"][0]["meaning"]["hole_m"]["value"] = json!(1e-4);
    });
    assert_eq!(audit.other_version.as_deref(), Some("0.0.1"));
    assert!(audit.is_of_other_version() && !audit.is_in_order());
    // What no version explains stays a fault.
    let audit = forged(|record| {
        record["program"] = json!("0.0.1");
        record["journal"][0]["opened"]["program"] = json!("0.0.1");
        record["journal"][2]["n"] = json!(7);
    });
    assert!(!audit.is_of_other_version() && !audit.is_in_order());
}

#[test]
fn a_shipped_name_over_another_text_is_caught() {
    let audit = forged(|record| {
        for place in ["/procedure/origin", "/journal/0/opened/procedure/origin"] {
            *record.pointer_mut(place).unwrap() = json!("shipped");
        }
    });
    says(&audit, "said to be shipped with this program");
    assert_eq!(record().mode, Mode::Bench);
}
