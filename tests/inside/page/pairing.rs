use std::time::{Duration, Instant};

use crate::page::{CodeTried, PagePairing};

fn paired(pairing: &mut PagePairing, code: &str, now: Instant) -> String {
    match pairing.try_code(code, now).unwrap() {
        CodeTried::Paired(cookie) => cookie,
        other => panic!("{code}: {other:?}"),
    }
}

#[test]
fn a_code_lets_one_browser_in_and_is_another_then() {
    let now = Instant::now();
    let mut pairing = PagePairing::new().unwrap();
    let code = pairing.code();
    assert!(code.len() == 9 && code.find('-') == Some(4), "{code}");
    let cookie = paired(&mut pairing, &code, now);
    assert!(cookie.len() == 64 && pairing.knows(&cookie));
    assert_ne!(pairing.code(), code);
    assert_eq!(pairing.try_code(&code, now).unwrap(), CodeTried::Wrong);
    for stranger in ["", &cookie[1..], &cookie.to_uppercase(), &"0".repeat(64)] {
        assert!(!pairing.knows(stranger), "{stranger}");
    }
}

#[test]
fn a_code_is_read_as_people_type_it() {
    let now = Instant::now();
    let mut pairing = PagePairing::new().unwrap();
    for _ in 0..8 {
        let code = pairing.code();
        let typed =
            format!(" {} ", code.to_lowercase().replace('-', " ").replace('0', "o").replace('1', "l"));
        paired(&mut pairing, &typed, now);
    }
}

#[test]
fn five_wrong_codes_make_another_and_each_time_none_is_taken_for_longer() {
    let mut now = Instant::now();
    let mut pairing = PagePairing::new().unwrap();
    for minutes in [1, 2, 4, 8, 16, 32, 60, 60] {
        let code = pairing.code();
        for _ in 0..4 {
            assert_eq!(pairing.try_code("XXXX-XXXX", now).unwrap(), CodeTried::Wrong);
        }
        let shut = Duration::from_secs(60 * minutes);
        assert_eq!(pairing.try_code("", now).unwrap(), CodeTried::Renewed(shut));
        assert_ne!(pairing.code(), code);
        // Not even the right one.
        now += shut / 2;
        let right = pairing.code();
        assert_eq!(pairing.try_code(&right, now).unwrap(), CodeTried::Shut(shut / 2));
        now += shut / 2;
    }
    let right = pairing.code();
    paired(&mut pairing, &right, now);
    for _ in 0..4 {
        assert_eq!(pairing.try_code("0", now).unwrap(), CodeTried::Wrong);
    }
    assert_eq!(pairing.try_code("0", now).unwrap(), CodeTried::Renewed(Duration::from_secs(60)));
}

#[test]
fn the_seventeenth_browser_takes_the_place_of_the_first() {
    let now = Instant::now();
    let mut pairing = PagePairing::new().unwrap();
    let mut cookies = Vec::new();
    for _ in 0..17 {
        let code = pairing.code();
        cookies.push(paired(&mut pairing, &code, now));
    }
    assert!(!pairing.knows(&cookies[0]));
    assert!(cookies[1..].iter().all(|cookie| pairing.knows(cookie)));
}
