//! Where a circuit of a job stands: by its last test, what was decided, and whether a repair was noted since.

use crate::leak::Verdict::{self, Holds, Leaks, NotFitted, Retest, Right, Tight, Unjudged, Worn};
use crate::record::{LEAVE_IT, REPLACE, Stage};

#[test]
fn what_is_to_be_done_follows_from_verdict_decision_and_repair() {
    let cases: [(Option<Verdict>, Option<&str>, bool, &str); 14] = [
        (None, None, false, "to be tested"),
        (Some(Holds), None, false, "done"),
        (Some(Right), None, true, "done"),
        (Some(Leaks), None, false, "to be decided"),
        (Some(Tight), None, false, "to be decided"),
        (Some(Leaks), Some("new seals"), false, "to be repaired"),
        (Some(Leaks), Some(REPLACE), false, "to be repaired"),
        (Some(Worn), Some(LEAVE_IT), false, "left as it is"),
        // What was done goes before what was decided.
        (Some(Worn), Some(LEAVE_IT), true, "to be tested again"),
        (Some(Leaks), None, true, "to be tested again"),
        (Some(Retest), None, false, "to be tested again"),
        (Some(Retest), Some("new seals"), false, "to be repaired"),
        (Some(Unjudged), None, false, "read, with no limits to judge by"),
        (Some(NotFitted), None, false, "not fitted"),
    ];
    for (verdict, decided, is_repaired, word) in cases {
        let stage = Stage::of(verdict, decided, is_repaired);
        assert_eq!(stage.word(), word, "{verdict:?} {decided:?} {is_repaired}");
        assert_eq!(stage.is_open(), word.starts_with("to be"), "{word}");
    }
}
