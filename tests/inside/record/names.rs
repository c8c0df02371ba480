//! Names of sessions: unique without a central office, in the order of their sessions, and found by
//! what is typed of them.

use std::collections::HashSet;

use jiff::civil::{DateTime, date};

use crate::record::{Shop, is_meant_by, letters};
use tempfile::tempdir;

fn at(millisecond: i32) -> DateTime {
    date(2026, 11, 27).at(9, 31, 22, millisecond * 1_000_000)
}

/// The name of a session that begins on a bench of its own.
fn alone(on_the_wall: DateTime, chance: u32) -> String {
    let folder = tempdir().unwrap();
    Shop::open(folder.path()).unwrap().new_session(on_the_wall, || Ok(chance)).unwrap()
}

#[test]
fn letters_are_those_of_the_published_alphabet() {
    // Douglas Crockford, Base 32; values as the documentation of base32_crockford (hex.pm) and of
    // crockford (gem) prints them.
    for (number, n_letters, written) in [(1_000_000_000, 6, "XSNJG0"), (1234, 3, "16J")] {
        assert_eq!(letters(number, n_letters), written.to_ascii_lowercase());
    }
}

#[test]
fn twelve_that_start_together_on_twelve_benches_have_twelve_names() {
    let mut chance = 0x1234_5678_u32;
    let names: HashSet<String> = (0..12)
        .map(|_| {
            // Numerical Recipes, "quick and dirty generators".
            chance = chance.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            alone(at(500), chance >> 8)
        })
        .collect();
    assert_eq!(names.len(), 12, "{names:?}");
}

#[test]
fn names_stand_in_the_order_of_their_sessions_within_a_second_too() {
    let times = [at(0), at(4), at(500), at(999), date(2026, 11, 27).at(9, 31, 23, 0)];
    let names: Vec<String> =
        times.into_iter().zip([!0, 0, !0, 0, !0]).map(|(time, chance)| alone(time, chance)).collect();
    assert!(names.is_sorted(), "{names:?}");
    assert!(names[0].starts_with("20261127-093122-00"), "{names:?}");
}

#[test]
fn a_name_that_the_shop_has_or_had_is_not_given_again() {
    let folder = tempdir().unwrap();
    let shop = Shop::open(folder.path()).unwrap();
    let mut drawn = [7, 7, 8, 7, 8, 9, 9, 8, 7, 10].into_iter();
    let names: Vec<String> =
        (0..4).map(|_| shop.new_session(at(0), || Ok(drawn.next().unwrap())).unwrap()).collect();
    shop.discard(&names[0]).unwrap();
    std::fs::remove_dir(shop.session(&names[1])).unwrap();
    std::fs::write(shop.record(&names[1]), "{}").unwrap();
    let mut drawn = [7, 8, 9, 10, 11].into_iter();
    let next = shop.new_session(at(0), || Ok(drawn.next().unwrap())).unwrap();
    assert!(!names.contains(&next), "{next} of {names:?}");
    assert_eq!(names.iter().collect::<HashSet<_>>().len(), 4, "{names:?}");
}

#[test]
fn a_session_is_meant_by_a_beginning_of_its_name_and_by_the_letters_at_its_end() {
    let is_meant = |typed| is_meant_by("20261127-093122-k7q0m1", typed);
    for typed in [
        "20261127-093122-k7q0m1",
        "20261127",
        "2026",
        "k7q0m1",
        "k7q0",
        "K7Q0M1",
        "k7qom1",
        "K7QOMI",
        "k7q0ml",
    ] {
        assert!(is_meant(typed), "{typed}");
    }
    for typed in ["", "202", "k7q", "0931", "7q0m1", "2027", "k7q0m2"] {
        assert!(!is_meant(typed), "{typed}");
    }
}
