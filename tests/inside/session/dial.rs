//! The dial of the page: what is marked on it while a reading is asked for.

use std::sync::Arc;
use std::thread;

use super::hands::{Browser, RUNNER, seen};
use crate::page::{AskKind, Board, Sight};
use crate::quantity::UNITS;
use crate::rig::Dial;
use crate::session::{Ended, Person};
use crate::tests::support::Shopfront;

/// What the page shows when a question of these words is asked, after lines that were typed there; the
/// session is parked then.
fn shown_at(front: &Shopfront, on_page: &[&str], words: &str) -> Sight {
    shown_to(|person| person, front, on_page, words)
}

/// The same of a person who is made another.
fn shown_to(other: fn(Person) -> Person, front: &Shopfront, on_page: &[&str], words: &str) -> Sight {
    let board = Arc::<Board>::default();
    thread::scope(|scope| {
        let page = Arc::clone(&board);
        let looked = scope.spawn(move || {
            let browser = Browser(&page);
            browser.types(on_page);
            let is_asked = |sight: &Sight| {
                sight.question > 0 && sight.ask.as_ref().is_some_and(|ask| ask.words.contains(words))
            };
            let sight = seen(&page, is_asked);
            browser.types(&["park"]);
            sight
        });
        let prompt = front.prompt(&[]).with_page(Arc::clone(&board)).unwrap();
        let person = Person::new(prompt, &UNITS[0]).looking_at(Dial::USUAL).through(vec!["feed".to_owned()]);
        assert!(matches!(front.walk_with(Box::new(other(person))), Ok(Ended::Parked)));
        looked.join().unwrap()
    })
}

#[test]
fn a_reading_is_asked_for_with_its_limits_on_the_dial_and_what_one_look_is_sure_of() {
    let front =
        Shopfront::new("test(circuit(#{ name: \"feed\", port: \"3A\", holds: 20.inHg, leaks: 15.inHg }));");
    let sight = shown_at(&front, &RUNNER, "Reading");
    let (ask, dial, circuit) = (sight.ask.unwrap(), sight.dial.unwrap(), sight.circuit.unwrap());
    assert_eq!((ask.kind, ask.units[0].as_str()), (AskKind::Reading, "inHg"));
    assert_eq!((circuit.port.as_deref(), circuit.name.as_str()), (Some("3A"), "feed"));
    assert_eq!((dial.full_scale.round(), dial.needle, dial.last), (30.0, None, None));
    assert_eq!(sight.progress.next, None);
    // On the standard rig the dial shows standard readings.
    let tenth = |at: &f64| (at * 10.0).round() / 10.0;
    assert_eq!(dial.limits.iter().map(tenth).collect::<Vec<_>>(), [15.0, 20.0]);
    let verdicts: Vec<_> = dial.zones.iter().map(|zone| zone.verdict.as_deref()).collect();
    assert_eq!(verdicts, [Some("leaks"), None, Some("worn"), None, Some("holds")]);
    // They lie side by side, and where they part is what the circuit's line calls sure.
    assert!(dial.zones.windows(2).all(|pair| pair[0].to == pair[1].from), "{:?}", dial.zones);
    let (leaks, holds) = (tenth(&dial.zones[0].to), tenth(&dial.zones[4].from));
    assert_eq!(circuit.limits, format!("Good: 20 inHg up (sure: {holds}), leaks: 15 down (sure: {leaks})."));
    assert!((13.0..15.0).contains(&leaks) && (20.1..22.0).contains(&holds), "{leaks} {holds}");
}

#[test]
fn what_no_look_is_sure_of_is_on_no_part_of_the_dial() {
    let front = Shopfront::new("test(circuit(#{ name: \"vent\", between: [9.8.inHg, 10.inHg] }));");
    let zones = shown_at(&front, &RUNNER, "Reading").dial.unwrap().zones;
    let verdicts: Vec<_> = zones.iter().map(|zone| zone.verdict.as_deref()).collect();
    assert_eq!(verdicts, [Some("too open"), None, Some("too tight")]);
}

#[test]
fn the_dial_marks_what_was_read_last_of_the_circuit_as_long_as_that_stands() {
    let front = Shopfront::new(
        "test(circuit(#{ name: \"feed\", holds: 20.inHg, leaks: 15.inHg }), |t| { t.read(\"inboard\"); t.read(\"outboard\"); });
         test(circuit(#{ name: \"vent\", holds: 20.inHg, leaks: 15.inHg }));",
    );
    let last = |typed: &[&str], words: &str| {
        front.begin_anew();
        let last = shown_at(&front, &[&RUNNER, typed].concat(), words).dial.unwrap().last;
        last.map(|last| (last.at.round(), last.label))
    };
    let inboard = Some((22.0, Some("inboard".to_owned())));
    assert_eq!(last(&[], "inboard"), None);
    assert_eq!(last(&["12"], "wipe both faces"), Some((12.0, Some("inboard".to_owned()))));
    assert_eq!(last(&["22"], "outboard"), inboard);
    assert_eq!(last(&["22", "back"], "inboard"), None, "it was taken back");
    assert_eq!(last(&["22", "23", "back"], "outboard"), inboard);
    assert_eq!(last(&["22", "23"], "Reading"), None, "of another circuit nothing was read");
    assert_eq!(last(&["22", "23", "21"], "recheck"), None, "the rig is no circuit");
}

#[test]
fn who_is_told_no_verdict_sees_what_they_read_and_not_what_it_comes_to() {
    let front = Shopfront::new("test(circuit(#{ name: \"feed\", holds: 20.inHg, leaks: 15.inHg }));");
    let blind = |person: Person| person.blind(true);
    let dial = shown_to(blind, &front, &[&RUNNER[..], &["12"]].concat(), "wipe both faces").dial.unwrap();
    assert_eq!((dial.zones.len(), dial.limits.len()), (0, 0));
    assert_eq!(dial.last.map(|last| last.at.round()), Some(12.0));
}
