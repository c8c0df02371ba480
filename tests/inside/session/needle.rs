//! A gauge that sends, beside a page.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;
use std::time::Duration;

use super::hands::{Browser, RUNNER, seen};
use crate::page::{Board, Sight};
use crate::quantity::{INCH_OF_MERCURY, Pressure, UNITS};
use crate::rig::Dial;
use crate::rig::gauge::{Gauge, GaugeError, Sample};
use crate::session::{Ended, Needle, Person};
use crate::tests::support::Shopfront;

/// A gauge whose needle stands, until something is wrong with it.
struct Standing {
    vacuum: Pressure,
    at_s: f64,
    is_out: Arc<AtomicBool>,
    trouble: fn() -> GaugeError,
}

impl Gauge for Standing {
    fn forget(&mut self) {}

    fn next(&mut self, _: Duration) -> Result<Option<Sample>, GaugeError> {
        if self.is_out.load(Ordering::Relaxed) {
            thread::sleep(Duration::from_millis(1));
            return Err((self.trouble)());
        }
        thread::sleep(Duration::from_millis(1));
        self.at_s += 0.25;
        Ok(Some(Sample { line: "22".to_owned(), vacuum_pa: self.vacuum, at_s: self.at_s }))
    }
}

#[test]
fn what_a_gauge_offered_is_not_taken_once_it_is_gone() {
    let gone = || GaugeError::Lost { why: "it was pulled out".to_owned() };
    is_withdrawn(gone, "it was pulled out); check its plug and its power, or type the reading.");
}

#[test]
fn what_a_gauge_offered_is_not_taken_once_it_is_silent_or_sends_what_cannot_be_read() {
    is_withdrawn(|| GaugeError::Silent { seconds: 5 }, "the gauge has sent nothing for 5 s;");
    is_withdrawn(
        || GaugeError::Babbling { line: "?!".to_owned() },
        "as \"?!\"; check its speed (baud) and format",
    );
    let wrong = || GaugeError::WrongUnit { found: "kPa", wanted: "inHg" };
    is_withdrawn(wrong, "the gauge sends kPa, but inHg is agreed;");
}

/// Has a gauge offer a value, and then be in trouble.
fn is_withdrawn(trouble: fn() -> GaugeError, told: &str) {
    let front = Shopfront::new("test(c);");
    let (board, is_out) = (Arc::<Board>::default(), Arc::<AtomicBool>::default());
    let vacuum = Pressure::constant(22.0 * INCH_OF_MERCURY);
    let gauge = Standing { vacuum, at_s: 0.0, is_out: Arc::clone(&is_out), trouble };
    let ended = thread::scope(|scope| {
        let page = Arc::clone(&board);
        scope.spawn(move || {
            let browser = Browser(&page);
            browser.types(&RUNNER);
            let offered = |sight: &Sight| sight.ask.as_ref().is_some_and(|ask| ask.enter.is_some());
            let sight = seen(&page, |sight| sight.circuit.is_some() && offered(sight));
            assert_eq!(sight.ask.unwrap().enter.as_deref(), Some("22 inHg"));
            let question = sight.question;
            is_out.store(true, Ordering::Relaxed);
            let sight = seen(&page, |sight| !offered(sight));
            assert_eq!((sight.question, sight.dial.unwrap().needle), (question, None), "the same is asked");
            let is_said =
                |text: &str| text.contains(told) && text.ends_with("What it offered is not taken any more.");
            seen(&page, |sight| sight.said.last().is_some_and(|said| is_said(&said.text)));
            browser.types(&[""]);
            let refused = |sight: &Sight| sight.ask.as_ref().and_then(|ask| ask.refusal.clone());
            let refused = refused(&seen(&page, |sight| refused(sight).is_some())).unwrap();
            assert_eq!(
                refused,
                "Since the gauge offered 22 inHg, it could not be read. Type what the dial shows."
            );
            browser.types(&["21.5", "25", "5"]);
        });
        let prompt = front.prompt(&[]).with_page(Arc::clone(&board)).unwrap();
        let needle = Needle::new(Box::new(gauge), Dial::USUAL.smallest_division());
        let person = Person::new(prompt, &UNITS[0]).looking_at(Dial::USUAL).with_needle(needle);
        front.walk_with(Box::new(person)).unwrap()
    });
    let Ended::Finished(record, _) = ended else { panic!("{ended:?} {}", front.shown()) };
    let taken = &record.circuits[0].readings[0].takes;
    assert_eq!(taken.len(), 1, "{taken:?}");
    assert!(front.flat().contains("What it offered is not taken any more."), "{}", front.shown());
}
