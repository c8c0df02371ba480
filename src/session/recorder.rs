use jiff::Timestamp;

use super::Journal;
use super::scribe::Scribe;
use crate::disk::LogError;
use crate::picture::Picture;
use crate::procedure::{Aside, Desk, Duty, Place, Shown, check_words};
use crate::record::{
    Answer, Asker, Event, HoseOn, Opening, Question, Record, Shop, Spot, TakesOutcome, Told, Wants, What,
};
use crate::rig::{Calibration, CheckInterval, Condition};

/// When the rig is looked at again (common practice, no source).
pub(crate) const CHECKS: CheckInterval = CheckInterval { readings: 12, seconds: 30.0 * 60.0 };

/// The desk between a walk and whoever answers live: it answers from the journal what was answered before, passes on
/// the rest, and has each new answer on the disk before the script sees it.
pub(crate) struct Recorder {
    pub(super) journal: Journal,
    live: Box<dyn Desk>,
    now: fn() -> Timestamp,
    /// What the walk under way comes to.
    pub(super) scribe: Scribe,
    /// The events that answered it.
    pub(super) walk: Vec<u64>,
    /// Those of them that were asked in another way.
    pub(super) reworded: Vec<u64>,
    /// The answers in the order in which a technician gave them: those of earlier walks by a plan come first.
    pub(super) answered: Vec<u64>,
    is_live: bool,
    /// The circuit of the last question that was answered live in this walk.
    live_circuit: Option<String>,
    /// Whether the journal answered the last question.
    is_kept: bool,
    unsaid: Vec<Told>,
    /// Whether answers of an earlier run stand in the journal, until whoever goes on has been told what led here.
    goes_on: bool,
    /// What the last reading that is not the last of its circuit came to.
    open_reading: Option<OpenReading>,
    pub(super) is_stranded: bool,
    /// Whether the rig is looked at before the next circuit, however soon that is.
    is_rig_doubted: bool,
    /// Where photos are kept; none where a session that is over is walked again.
    photos: Option<Shop>,
    /// Drifts after which this walk has calibrated the rig again, by the number of their events.
    recalibrated: Vec<u64>,
}

/// A reading of which more is wanted, and what it comes to so far.
struct OpenReading {
    circuit: String,
    spot: Spot,
    calibration: Calibration,
    outcome: TakesOutcome,
}

impl Recorder {
    /// Puts a journal in front of a live desk; `now` is the only clock of a session.
    pub(crate) fn new(journal: Journal, live: Box<dyn Desk>, now: fn() -> Timestamp) -> Recorder {
        let goes_on = journal.standing().next().is_some();
        Recorder {
            goes_on,
            open_reading: None,
            journal,
            live,
            now,
            scribe: Scribe::default(),
            walk: Vec::new(),
            reworded: Vec::new(),
            answered: Vec::new(),
            is_live: false,
            live_circuit: None,
            is_kept: false,
            unsaid: Vec::new(),
            is_stranded: false,
            is_rig_doubted: false,
            photos: None,
            recalibrated: Vec::new(),
        }
    }

    /// Keeps photos in a shop's folder.
    pub(crate) fn keeping_photos_in(self, shop: Shop) -> Recorder {
        Recorder { photos: Some(shop), ..self }
    }

    /// Has the rig looked at before the next circuit, where somebody else may have turned its valves.
    pub(crate) fn doubting_rig(self, is_rig_doubted: bool) -> Recorder {
        Recorder { is_rig_doubted, ..self }
    }

    /// Begins anew, with the first walk of a session.
    pub(crate) fn begin(&mut self) {
        self.answered.clear();
        self.begin_walk();
    }

    /// Begins a walk; what the journal holds is not shown again.
    pub(crate) fn begin_walk(&mut self) {
        self.scribe = Scribe::default();
        self.walk.clear();
        self.reworded.clear();
        self.unsaid.clear();
        self.open_reading = None;
        self.recalibrated.clear();
        self.is_live = false;
        self.live_circuit = None;
        self.is_kept = false;
    }

    /// Makes the record of the walk that came to its end.
    pub(super) fn record(&mut self, opening: &Opening) -> Record {
        std::mem::take(&mut self.scribe).record(opening, self.journal.take())
    }

    /// Appends an event that is no answer.
    pub(crate) fn log(&mut self, what: What) -> Result<u64, LogError> {
        self.journal.append((self.now)(), what)
    }

    /// Takes back the last answers, at least one, and none from before a drift: what led to that was looked at twice.
    pub(crate) fn back(&mut self, steps: usize) -> Result<(), LogError> {
        if self.answered.is_empty() {
            self.live.show(&Shown::NothingBefore);
            return Ok(());
        }
        let is_drift = |event: &&Event| matches!(event.what, What::Drifted { .. });
        let drift = self.journal.events().iter().rev().find(is_drift).map_or(0, |event| event.n);
        let from = self.answered.len().saturating_sub(steps.max(1));
        let first = self.answered.iter().position(|n| *n > drift).unwrap_or(self.answered.len());
        if drift > 0 && from < first {
            self.live.show(&Shown::NoFurtherBack);
        }
        let from = from.max(first);
        self.retract(self.answered[from..].to_vec())
    }

    /// Takes back one answer, this many before the question; those after it stay. A step of a calibration
    /// takes the later ones with it, which followed from it.
    pub(crate) fn again(&mut self, steps: usize) -> Result<(), LogError> {
        let Some(at) = self.answered.len().checked_sub(steps.max(1)) else {
            self.live.show(&Shown::NothingBefore);
            return Ok(());
        };
        let mut answers = vec![self.answered[at]];
        if self.is_of_rig(answers[0]) {
            answers.extend(self.answered[at + 1..].iter().take_while(|n| self.is_of_rig(**n)));
        }
        self.retract(answers)
    }

    /// Takes back all that was read of circuits since the rig was last known to be good, what was done and waited for on the
    /// way to it, since the hose has been off, and the check that found it drifted. With a plan all circuits are tested again: a record follows the script's order, so that a reading from before the new calibration could stand behind it.
    pub(crate) fn drifted(&mut self) -> Result<(), LogError> {
        let suspect = if self.has_plan() { &self.answered[..] } else { self.since_good_rig() };
        let is_look = |n: u64| matches!(self.hose_on(n), Some(HoseOn::Check(_)));
        let is_reading = |n: u64| is_look(n) || self.is_read_at_circuit(n);
        let mut circuits: Vec<String> = Vec::new();
        for n in suspect.iter().filter(|n| is_reading(**n)) {
            if let Some(Question { circuit: Some(circuit), .. }) = self.question(*n)
                && !circuits.contains(circuit)
            {
                circuits.push(circuit.clone());
            }
        }
        // What was committed to on such a reading is as good as that.
        let leads_to_one = |n: u64| match self.question(n) {
            Some(Question { circuit: Some(circuit), wants, asker, .. }) => {
                let is_step = matches!(wants, Wants::Ready | Wants::Wait { .. });
                (is_step || *asker == Asker::Runner) && circuits.contains(circuit)
            }
            _ => false,
        };
        let answers = suspect.iter().copied().filter(|n| is_reading(*n) || leads_to_one(*n)).collect();
        self.log(What::Drifted { answers, circuits }).map(drop)
    }

    /// Passes on what was told since the last question. A section waits until something of it `follows`, and where another
    /// or the end does, it is left out.
    pub(crate) fn flush(&mut self, follows: bool) {
        let is_section = |told: &Told| matches!(told, Told::Section { .. });
        let unsaid = std::mem::take(&mut self.unsaid);
        for (index, told) in unsaid.iter().enumerate() {
            let next = unsaid.iter().skip(index + 1).find(|next| is_section(next) || next.is_seen());
            match next {
                Some(next) if is_section(told) && is_section(next) => {}
                None if is_section(told) && !follows => self.unsaid.push(told.clone()),
                _ => self.live.tell(told),
            }
        }
    }

    /// Says what was done and read at a circuit in whose middle somebody goes on: nothing else says how the unit is set up.
    fn say_what_led_to(&mut self, question: &Question) {
        if question.circuit.is_none() {
            return;
        }
        for event in self.walk.iter().filter_map(|n| self.journal.event(*n)) {
            if let What::Answered { question: asked, answer } = &event.what
                && asked.circuit == question.circuit
            {
                self.live.show(&Shown::Kept { question: asked, answer });
            }
        }
        if let Some(OpenReading { circuit, spot, calibration, outcome }) = &self.open_reading
            && Some(circuit) == question.circuit.as_ref()
        {
            self.live.show(&Shown::Judged { circuit, spot, calibration, outcome, more: true });
        }
    }

    fn retract(&mut self, answers: Vec<u64>) -> Result<(), LogError> {
        if answers.is_empty() { Ok(()) } else { self.log(What::Retracted { answers }).map(drop) }
    }

    fn question(&self, n: u64) -> Option<&Question> {
        match &self.journal.event(n)?.what {
            What::Answered { question, .. } => Some(question),
            _ => None,
        }
    }

    fn hose_on(&self, n: u64) -> Option<&HoseOn> {
        match &self.question(n)?.wants {
            Wants::Reading { on, .. } => Some(on),
            _ => None,
        }
    }

    fn has_plan(&self) -> bool {
        let opening = self.journal.events().first().map(|event| &event.what);
        matches!(opening, Some(What::Opened { opening }) if opening.plan.is_some())
    }

    fn is_of_rig(&self, n: u64) -> bool {
        matches!(self.hose_on(n), Some(HoseOn::Rig(_)))
    }

    /// Returns whether an answer is what a gauge showed at a circuit. That a circuit is not fitted, or cannot be read, hangs on
    /// no rig.
    fn is_read_at_circuit(&self, n: u64) -> bool {
        matches!(self.hose_on(n), Some(HoseOn::Circuit { .. }))
            && !matches!(
                self.journal.event(n).map(|event| &event.what),
                Some(What::Answered { answer: Answer::NotFitted(_) | Answer::Unable(_), .. })
            )
    }

    /// Returns the answers since the last calibration or good check, a check under way included.
    fn since_good_rig(&self) -> &[u64] {
        let is_check = |n: &u64| matches!(self.hose_on(*n), Some(HoseOn::Check(_)));
        let under_way = self.answered.iter().rev().take_while(|n| is_check(n)).count();
        let before = self.answered.len() - under_way;
        let good = self.answered[..before].iter().rposition(|n| is_check(n) || self.is_of_rig(*n));
        &self.answered[good.map_or(0, |at| at + 1)..]
    }

    /// Returns whether a check is due: every so many readings or minutes, and before the end where there is anything to
    /// cover. Where readings of the circuit stand in the journal, that has decided it already.
    fn is_check_due(&self, before: Option<&str>) -> bool {
        let is_decided = || {
            let is_reading = |question: &Question| matches!(question.wants, Wants::Reading { .. });
            before.is_some_and(|circuit| {
                let is_of = |question: &Question| question.circuit.as_deref() == Some(circuit);
                self.journal.standing().any(|(_, question, _)| is_of(question) && is_reading(question))
            })
        };
        let since = self.since_good_rig();
        let n_readings = since.iter().filter(|n| self.is_read_at_circuit(**n)).count();
        let n_readings = u32::try_from(n_readings).unwrap_or(u32::MAX);
        if n_readings == 0 {
            return false;
        }
        let first = since.first().and_then(|n| self.journal.event(*n));
        // What time decided while a session went on stands in its journal.
        let seconds = match first.filter(|_| !self.journal.is_finished()) {
            Some(event) => (self.now)().duration_since(event.at).as_secs_f64(),
            None => 0.0,
        };
        let is_due = before.is_none() || self.is_rig_doubted || CHECKS.is_due(n_readings, seconds);
        is_due && !is_decided()
    }

    fn take(&mut self, question: &Question, answer: Answer) -> Result<Answer, Aside> {
        let what = What::Answered { question: question.clone(), answer: answer.clone() };
        if matches!(question.wants, Wants::Reading { on: HoseOn::Rig(_) | HoseOn::Check(_), .. }) {
            self.is_rig_doubted = false;
        }
        let n = self.log(what).map_err(|error| {
            self.is_stranded = true;
            Aside::Lost(error.to_string())
        })?;
        self.note(question, n);
        self.live_circuit.clone_from(&question.circuit);
        self.is_kept = false;
        Ok(answer)
    }

    /// Has a photo on the disk before the journal names it. One that the disk does not take is said to be lost, and the
    /// session goes on.
    fn photograph(
        &mut self,
        question: &Question,
        picture: &Picture,
        words: Option<String>,
    ) -> Result<(), Aside> {
        let Some(shop) = &self.photos else { return Ok(()) };
        let (photo, _unnamed) = match shop.keep_photo(picture, words) {
            Ok(kept) => kept,
            Err(error) => {
                self.live.show(&Shown::PhotoLost(&error.to_string()));
                return Ok(());
            }
        };
        let circuit = about(question);
        self.log(What::Photographed { circuit: circuit.clone(), photo: photo.clone() })
            .map_err(|error| Aside::Lost(error.to_string()))?;
        self.live.show(&Shown::PhotoKept { circuit: circuit.as_deref(), photo: &photo });
        Ok(())
    }

    fn note(&mut self, question: &Question, n: u64) {
        if let Some(event) = self.journal.event(n) {
            self.scribe.asked(question, event);
            let is_as_asked = matches!(&event.what, What::Answered { question: asked, answer }
                if asked.asks_the_same(question) && question.read_again(answer).is_ok_and(|again| again.is_none_or(|again| again == *answer)));
            if !is_as_asked {
                self.reworded.push(n);
            }
        }
        self.walk.push(n);
        if !self.answered.contains(&n) {
            self.answered.push(n);
        }
    }
}

/// Returns the circuit that a question is about, to which a note or a photo belongs that is given there.
fn about(question: &Question) -> Option<String> {
    match &question.wants {
        Wants::Decision { of, .. } => Some(of.clone()),
        _ => question.circuit.clone(),
    }
}

/// Says that a session which is over has no answer to a question.
fn unanswered(question: &Question) -> String {
    let of = question.circuit.as_ref().map(|circuit| format!(" at \"{circuit}\"")).unwrap_or_default();
    format!("the procedure asks{of}: \"{}\"; the journal holds no answer to it that stands", question.words)
}

impl Desk for Recorder {
    fn tell(&mut self, told: &Told) {
        self.scribe.told(told);
        // What answers in the journal led to was said when they were given; by a plan they come behind live ones again.
        let is_old =
            matches!(told, Told::Found { circuit, .. } if self.is_kept && *circuit != self.live_circuit);
        if is_old {
            return;
        }
        self.unsaid.push(told.clone());
        // A section waits for what follows in it: what a plan leaves out shows nothing.
        if self.is_live && told.is_seen() {
            self.flush(true);
        }
    }

    fn ask(&mut self, question: &Question, place: &Place) -> Result<Answer, Aside> {
        if let Some((n, answer)) =
            self.journal.kept(question).map(|(event, answer)| (event.n, answer.clone()))
        {
            self.note(question, n);
            self.is_kept = true;
            if self.is_live {
                self.live.show(&Shown::Kept { question, answer: &answer });
            } else {
                // Everything told up to here was seen when it was answered.
                self.unsaid.clear();
            }
            return Ok(answer);
        }
        if self.journal.is_finished() {
            return Err(Aside::Lost(unanswered(question)));
        }
        self.is_live = true;
        if std::mem::take(&mut self.goes_on) {
            self.say_what_led_to(question);
        }
        let is_the_runners = match &question.wants {
            Wants::Reading { on: HoseOn::Check(_), .. } | Wants::Decision { .. } => true,
            // What the procedure has in its middle belongs to its section; else the circuits do, for which the rig is set.
            Wants::Reading { on: HoseOn::Rig(_), .. } => {
                !self.journal.procedure().is_some_and(|procedure| procedure.sets_rig)
            }
            _ => false,
        };
        self.flush(!is_the_runners);
        loop {
            match self.live.ask(question, place) {
                Ok(answer) => return self.take(question, answer),
                Err(Aside::Jot(text)) => {
                    self.log(What::Jotted { circuit: about(question), text })
                        .map_err(|error| Aside::Lost(error.to_string()))?;
                    self.live.show(&Shown::Noted);
                }
                Err(Aside::Photo { picture, words }) => self.photograph(question, &picture, words)?,
                Err(Aside::TakenOver(technician)) => {
                    self.log(What::TakenOver { technician: technician.clone() })
                        .map_err(|error| Aside::Lost(error.to_string()))?;
                    self.live.show(&Shown::TakenOver(&technician));
                }
                Err(Aside::Did(doing)) => {
                    let on = match &question.wants {
                        Wants::Reading { on, .. } => Some(on.clone()),
                        _ => None,
                    };
                    self.log(What::Did { circuit: question.circuit.clone(), on, doing })
                        .map_err(|error| Aside::Lost(error.to_string()))?;
                }
                Err(aside) => return Err(aside),
            }
        }
    }

    fn duty(&mut self, before: Option<&str>) -> Duty {
        let drifted = self.journal.events().iter().find_map(|event| match &event.what {
            What::Drifted { circuits, .. }
                if !self.recalibrated.contains(&event.n)
                    && circuits.iter().any(|circuit| Some(circuit.as_str()) == before) =>
            {
                Some((event.n, circuits.clone()))
            }
            _ => None,
        });
        if let Some((n, circuits)) = drifted {
            self.recalibrated.push(n);
            // Who takes the session up before the rig is set again is told as well.
            if !self.journal.standing().any(|(at, ..)| at > n && self.is_of_rig(at)) {
                self.live.show(&Shown::Drifted(&circuits));
            }
            return Duty::Calibrate;
        }
        let is_check = |question: &Question| {
            matches!(question.wants, Wants::Reading { on: HoseOn::Check(Condition::Plugged), .. })
                && question.words == check_words(before, Condition::Plugged)
        };
        let was_checked = self.journal.standing().any(|(_, question, _)| is_check(question));
        if was_checked || self.is_check_due(before) { Duty::Check } else { Duty::None }
    }

    fn show(&mut self, shown: &Shown<'_>) {
        self.scribe.shown(shown);
        if let Shown::Judged { circuit, spot, calibration, outcome, more } = shown {
            let open = || OpenReading {
                circuit: (*circuit).to_owned(),
                spot: (*spot).clone(),
                calibration: **calibration,
                outcome: (*outcome).clone(),
            };
            self.open_reading = more.then(open);
        }
        if self.is_live {
            self.flush(false);
            self.live.show(shown);
        } else {
            self.live.recall(shown);
        }
    }
}
