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

/// A gauge whose needle stands, until it is pulled out.
struct Standing {
    vacuum: Pressure,
    at_s: f64,
    is_out: Arc<AtomicBool>,
}

impl Gauge for Standing {
    fn forget(&mut self) {}

    fn next(&mut self, _: Duration) -> Result<Option<Sample>, GaugeError> {
        if self.is_out.load(Ordering::Relaxed) {
            return Err(GaugeError::Lost { why: "it was pulled out".to_owned() });
        }
        thread::sleep(Duration::from_millis(1));
        self.at_s += 0.25;
        Ok(Some(Sample { line: "22".to_owned(), vacuum_pa: self.vacuum, at_s: self.at_s }))
    }
}

#[test]
fn what_a_gauge_offered_is_not_taken_once_it_is_gone() {
    let front = Shopfront::new("test(c);");
    let (board, is_out) = (Arc::<Board>::default(), Arc::<AtomicBool>::default());
    let vacuum = Pressure::constant(22.0 * INCH_OF_MERCURY);
    let gauge = Standing { vacuum, at_s: 0.0, is_out: Arc::clone(&is_out) };
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
            let why = "it was pulled out); check its plug and its power, or type the reading. What it offered is not taken";
            seen(&page, |sight| sight.said.last().is_some_and(|said| said.text.contains(why)));
            browser.types(&[""]);
            let refused = |sight: &Sight| sight.ask.as_ref().and_then(|ask| ask.refusal.clone());
            let refused = refused(&seen(&page, |sight| refused(sight).is_some())).unwrap();
            assert_eq!(refused, "The gauge is gone, and its 22 inHg with it. Type what the dial shows.");
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
