//! What a walk does at a circuit: it is described, its test begins, is read in takes, and ends.

use std::sync::Arc;

use super::wording::{RESEAT, reading_words};
use super::{Fault, Halt, LastTake, Shown, Walk};
use crate::leak::{TestEnd, Verdict};
use crate::record::{Answer, Circuit, HoseOn, Next, Spot, Takes, TakesOutcome, Told, Wants};

pub(crate) const MOST_CIRCUITS: usize = 500;

impl Walk {
    pub(crate) fn describe(&mut self, circuit: Arc<Circuit>) -> Result<(), Halt> {
        if self.circuits.iter().any(|(known, _)| known.name == circuit.name) {
            return Err(Fault::of(format!("there is a circuit \"{}\" already", circuit.name))
                .help("give it another name")
                .into());
        }
        if self.circuits.len() == MOST_CIRCUITS {
            return Err(Fault::of(format!("more than {MOST_CIRCUITS} circuits in one procedure")).into());
        }
        self.tell(Told::Described { circuit: Arc::clone(&circuit) })?;
        self.circuits.push((circuit, None));
        if self.planned.is_none() {
            self.place.n_circuits = self.place.n_circuits.max(self.circuits.len());
        }
        Ok(())
    }

    /// Takes note that the unit does not have a circuit, in place of its test.
    pub(crate) fn not_fitted(&mut self, name: &str, why: &str) -> Result<(), Halt> {
        if self.come_to(name)?.is_none() {
            return Ok(());
        }
        self.conclude(
            name,
            Some(Verdict::NotFitted),
            Told::NotFitted { circuit: name.to_owned(), why: why.to_owned() },
        )
    }

    /// Comes to the test of a circuit, once; gives the circuit where it is walked at all.
    fn come_to(&mut self, name: &str) -> Result<Option<Arc<Circuit>>, Halt> {
        if let Some(open) = self.under_test() {
            return Err(Fault::of(format!("the test of \"{open}\" has not ended"))
                .help("test one circuit at a time")
                .into());
        }
        if self.is_closed {
            return Err(Fault::of(format!("the test of \"{name}\" stands behind closing(...)"))
                .help("put closing(...) behind the last test: the rig is looked at there for the last time")
                .into());
        }
        let Some((circuit, ended)) = self.circuits.iter_mut().find(|(circuit, _)| circuit.name == name)
        else {
            return Err(Fault::of(format!("there is no circuit \"{name}\"")).into());
        };
        if ended.is_some() {
            return Err(Fault::of(format!("\"{name}\" has been tested already"))
                .help("test each circuit once")
                .into());
        }
        *ended = Some(None);
        if let Some((planned, n)) = &self.planned
            && !planned.iter().take(*n).any(|planned| planned == name)
        {
            if let Some(trail) = &self.trail {
                trail.passed(name);
            }
            self.desk.tell(&Told::Passed { circuit: name.to_owned() });
            return Ok(None);
        }
        Ok(Some(Arc::clone(circuit)))
    }

    /// Begins the test of a circuit; returns whether it is walked at all.
    pub(crate) fn begin_test(&mut self, name: &str) -> Result<bool, Halt> {
        let Some(circuit) = self.come_to(name)? else { return Ok(false) };
        // What a procedure warns of before its tests is read before a hand is on the rig.
        if self.bench.calibration().is_none() {
            self.calibrate()?;
        }
        self.keep_rig(Some(name))?;
        self.judged.clear();
        self.labels.clear();
        self.unfinished = None;
        self.end = TestEnd::Whole;
        self.set_up.clone_from(&circuit.set_up);
        self.place.begin(circuit, &self.bench);
        self.tell(Told::Began { circuit: name.to_owned() })?;
        Ok(true)
    }

    pub(crate) fn end_test(&mut self) -> Result<(), Halt> {
        let commit = self.runner.and_then(|runner| runner.commit).filter(|_| self.end == TestEnd::Whole);
        if let (Some(commit), Some(circuit)) = (commit, self.place.circuit.clone()) {
            commit(self, &circuit, &self.labels.clone())?;
        }
        let Some(circuit) = self.place.circuit.take() else { return Ok(()) };
        self.judged.extend(self.unfinished.take());
        if self.judged.is_empty() && self.end == TestEnd::Whole {
            return Err(Fault::of(format!(
                "the test of \"{}\" ended without a reading that counts",
                circuit.name
            ))
            .help("end it with read")
            .into());
        }
        let verdict = Verdict::concluded(&self.judged, self.end);
        let n_readings = self.judged.len();
        self.desk.show(&Shown::Concluded { circuit: &circuit.name, verdict, n_readings });
        self.conclude(&circuit.name, verdict, Told::Ended { circuit: circuit.name.clone() })
    }

    fn conclude(&mut self, name: &str, verdict: Option<Verdict>, told: Told) -> Result<(), Halt> {
        if let Some((_, ended)) = self.circuits.iter_mut().find(|(known, _)| known.name == name) {
            *ended = Some(verdict);
        }
        self.tell(told)?;
        match &self.planned {
            // Tested on an earlier walk, and counted there.
            Some((planned, n)) if planned.iter().take(n - 1).any(|earlier| *earlier == name) => Ok(()),
            planned => {
                self.place.n_tested += 1;
                let is_far_enough = planned.as_ref().is_some_and(|(planned, n)| *n < planned.len());
                if is_far_enough { Err(Halt::FarEnough) } else { Ok(()) }
            }
        }
    }

    /// Takes a reading of the circuit under test; where it condemns, seats the plate again and reads again first.
    /// A trial is read once and left out of the circuit's verdict. What the reading does not have to itself is its
    /// circuit's; its own set-up comes on top of that.
    pub(crate) fn read(
        &mut self,
        label: Option<&str>,
        trial: bool,
        own: &Spot,
        set_up: Option<&str>,
    ) -> Result<TakesOutcome, Halt> {
        let (Some(circuit), Some(calibration)) =
            (self.place.circuit.clone(), self.bench.calibration().copied())
        else {
            return Err(Fault::of("read and trial belong inside test(circuit, |t| { ... })").into());
        };
        let has_set_up = self.set_up.is_some();
        let spot = circuit.spot(own);
        // A tight circuit reads as the plugged hose did, and no look at the needle is like another.
        let uncertain = self.bench.bench().map_or(0.0, |bench| bench.repeatability_limit().si());
        if let Some(label) = label.filter(|label| !trial && !self.labels.iter().any(|known| known == label)) {
            self.labels.push(label.to_owned());
        }
        // Where a verdict is committed to, nothing may give it away, asking once more included.
        let mut takes = Takes::new(trial || self.runner.is_some_and(|runner| runner.commit.is_some()));
        self.place.take = 0;
        loop {
            self.place.take += 1;
            let to_do = if self.place.take == 1 { set_up } else { Some(RESEAT) };
            let words = reading_words(to_do, label, has_set_up);
            let wants = Wants::Reading {
                on: HoseOn::Circuit { label: label.map(str::to_owned), trial, own: own.clone() },
                deepest_pa: calibration.plugged().si() + uncertain,
                unit: self.vacuum_unit.symbol.to_owned(),
            };
            if let Answer::Quantity { entry, .. } = self.ask(&words, wants)? {
                takes.add(&entry).map_err(|error| Fault::of(error.to_string()))?;
            }
            let outcome = takes.outcome(&self.bench, &spot).map_err(|error| Fault::of(error.to_string()))?;
            let last = |(reading, _): &_| LastTake { reading: *reading, label: label.map(str::to_owned) };
            self.place.last = outcome.takes.last().map(last);
            let next = takes.next(&outcome);
            let more = next != Next::Enough;
            self.desk.show(&Shown::Judged {
                circuit: &circuit.name,
                spot: &spot,
                calibration: &calibration,
                outcome: &outcome,
                more,
            });
            match next {
                Next::Enough => {
                    self.unfinished = None;
                    if !trial {
                        self.count(&circuit, &outcome);
                    }
                    return Ok(outcome);
                }
                Next::Reseat => self.unfinished = Some(outcome.verdict().unfinished()),
            }
        }
    }
    fn count(&mut self, circuit: &Circuit, outcome: &TakesOutcome) {
        self.judged.push(outcome.verdict());
        if outcome.is_sure_amiss {
            self.unsound.push(circuit.name.clone());
        }
    }
}
