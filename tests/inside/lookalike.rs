//! Names that a reader can't tell apart, by the examples of Unicode's security mechanisms (UTS #39, section 4).

use crate::console::looks;

#[test]
fn names_of_other_alphabets_look_like_those_that_they_imitate() {
    // A digraph for two letters, one Cyrillic letter among Latin ones, and a word of Cyrillic letters only.
    for (one, other) in [
        ("ǉeto", "ljeto"),
        ("p\u{430}yp\u{430}l", "paypal"),
        ("\u{455}\u{441}\u{43e}\u{440}\u{435}", "scope"),
    ] {
        assert_ne!(one, other);
        assert_eq!(looks(one), looks(other));
    }
}

#[test]
fn capitals_blanks_and_hyphens_tell_nothing_apart() {
    for alike in ["Clutch Feed", "clutch-feed", "clutch  feed ", "clutch_feed", "clutch\u{2013}feed"] {
        assert_eq!(looks(alike), looks("clutch feed"), "{alike}");
    }
}

#[test]
fn what_is_meant_to_differ_differs() {
    for (one, other) in
        [("1-2 shift valve", "12 shift valve"), ("feed 1", "feed 2"), ("toys-\u{44f}-us", "toys-r-us")]
    {
        assert_ne!(looks(one), looks(other), "{one}");
    }
}
