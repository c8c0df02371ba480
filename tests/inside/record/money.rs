//! What was decided is told as decided, and nothing is saved by leaving things as they are.

use crate::leak::Verdict;
use crate::record::{Account, DecisionRecord, Record};
use crate::tell;
use crate::tests::support::{Wanted, drawn, generated};

/// A unit whose circuit 5 leaks: a repair of 48 and 0.6 hours at 90 is decided, a replacement costs 700.
fn repaired() -> Record {
    let mut wanted = Wanted { unit: "Merle M1".to_owned(), ..drawn(0, 1) };
    wanted.readings = vec![22.0; 12];
    wanted.readings[4] = 12.0;
    generated(&wanted)
}

fn decided(circuit: &str, decided: &str) -> DecisionRecord {
    let offered = repaired().decisions[0].offered.clone();
    DecisionRecord { circuit: circuit.to_owned(), offered, decided: decided.to_owned() }
}

fn told(record: &mut Record, decisions: Vec<DecisionRecord>) -> String {
    record.account = Account::of(&decisions, &record.account.prices);
    record.decisions = decisions;
    tell::account(record)
}

#[test]
fn a_repair_saves_against_a_replacement_and_leaving_it_does_not() {
    let mut record = repaired();
    let repair = decided("circuit 5", "ream and oversize valve");
    let left = |circuit| decided(circuit, "leave it as it is");
    let text = told(&mut record, vec![repair.clone(), left("circuit 6")]);
    assert!(text.contains("together 102 EUR; 598 EUR less than a replacement"), "{text}");
    let text = told(&mut record, vec![left("circuit 5"), left("circuit 6")]);
    assert!(record.account.saved.is_none() && !text.contains("replacement"), "{text}");
    let text = told(&mut record, vec![repair, decided("circuit 6", "replace the body")]);
    assert!(record.account.saved.is_none() && !text.contains("than a replacement"), "{text}");
    assert!(
        text.contains("together 102 EUR. To replace the body was decided too, which is not in it: 700 EUR."),
        "{text}"
    );
}

#[test]
fn what_is_undecided_or_untested_is_said_beside_the_sum() {
    let mut record = repaired();
    let repair = || vec![decided("circuit 5", "ream and oversize valve")];
    assert!(!told(&mut record, repair()).contains("Not in it"));
    record.circuits[1].verdict = Some(Verdict::Leaks);
    record.circuits[2].verdict = Some(Verdict::Retest);
    record.circuits[7].verdict = None;
    let text = told(&mut record, repair());
    assert!(text.starts_with("What was decided: parts for 48 EUR"), "{text}");
    assert!(
        text.contains("Not in it: 2 circuits that are undecided and 1 circuit that is not tested."),
        "{text}"
    );
}

#[test]
fn where_nothing_but_a_replacement_was_decided_no_repair_of_nothing_is_told() {
    let mut record = repaired();
    let text = told(&mut record, vec![decided("circuit 5", "replace the body")]);
    assert!(text.starts_with("To replace the body was decided: "), "{text}");
    assert!(!text.contains("parts for 0"), "{text}");
    let text = told(&mut record, vec![decided("circuit 5", "leave it as it is")]);
    assert_eq!(text, "No repair was decided, so nothing is added up.");
}
