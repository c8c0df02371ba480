use jiff::Timestamp;

use super::Journal;
use super::scribe::Scribe;
use crate::disk::LogError;
use crate::picture::Picture;
use crate::procedure::{Aside, Desk, Duty, Place, Shown};
use crate::record::{
    Answer, Event, HoseOn, Opening, Question, Record, Shop, Spot, TakesOutcome, Told, Wants, What,
};
use crate::rig::Calibration;

/// The desk between a walk and whoever answers live: it answers from the journal what was answered before, passes on
/// the rest, and has each new answer on the disk before the script sees it.
pub(crate) struct Recorder {
    pub(super) journal: Journal,
    pub(super) live: Box<dyn Desk>,
    pub(super) now: fn() -> Timestamp,
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
    /// Whether somebody asked for the answers that are taken back, and is to be told which they were.
    is_called_back: bool,
    /// Whether they stand there until whoever goes on has been reminded of the cautions among them.
    is_to_be_reminded: bool,
    /// What the last reading that is not the last of its circuit came to.
    open_reading: Option<OpenReading>,
    pub(super) is_stranded: bool,
    /// Whether the rig is looked at before the next circuit, however soon that is.
    pub(super) is_rig_doubted: bool,
    /// Where photos are kept; none where a session that is over is walked again.
    photos: Option<Shop>,
    /// The circuit that was begun again last, since it was left in its middle.
    pub(super) begun_again: Option<String>,
    /// Drifts after which this walk has calibrated the rig again, by the number of their events.
    pub(super) recalibrated: Vec<u64>,
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
            is_called_back: false,
            is_to_be_reminded: goes_on,
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
            begun_again: None,
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
        self.live.forget();
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
        let taken = self.answered[from.max(first)..].to_vec();
        let earliest = taken.first().and_then(|n| self.journal.event(*n)).map(|event| &event.what);
        if std::mem::take(&mut self.is_called_back)
            && let Some(What::Answered { question, answer }) = earliest
        {
            self.live.show(&Shown::TakenBack { n: taken.len(), question, answer });
            // Whoever is in the middle of a circuit again is told what stands of it, as one who goes on is.
            self.goes_on = true;
        }
        self.retract(taken)
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

    /// Passes on what was told since the last question. A section waits until something of it `follows`; where another or the
    /// end does, it is left out, and so is what it says where it says it of circuits that were passed over.
    pub(crate) fn flush(&mut self, follows: bool) {
        let is_section = |told: &Told| matches!(told, Told::Section { .. });
        let is_passed = |told: &Told| matches!(told, Told::Passed { .. });
        let is_of_section =
            |told: &Told| is_section(told) || is_passed(told) || matches!(told, Told::Said { .. });
        let unsaid = std::mem::take(&mut self.unsaid);
        let mut sections = unsaid.chunk_by(|_, next| !is_section(next)).peekable();
        while let Some(section) = sections.next() {
            let is_last = sections.peek().is_none();
            let is_filled = section.iter().any(|told| match told {
                Told::Said { .. } => !section.iter().any(is_passed),
                told => told.is_seen(),
            });
            if !section.first().is_some_and(is_section) || is_filled || is_last && follows {
                section.iter().for_each(|told| self.live.tell(told));
                continue;
            }
            for told in section {
                match is_of_section(told) {
                    true if is_last => self.unsaid.push(told.clone()),
                    true => {}
                    false => self.live.tell(told),
                }
            }
        }
    }

    /// Reminds whoever goes on of the cautions that the walk has come by, but for those of single circuits.
    fn remind(&mut self) {
        let mut cautions: Vec<&str> = Vec::new();
        for event in self.walk.iter().filter_map(|n| self.journal.event(*n)) {
            if let What::Answered { question, .. } = &event.what
                && question.circuit.is_none()
                && question.wants == Wants::Acknowledgement
                && !cautions.contains(&question.words.as_str())
            {
                cautions.push(&question.words);
            }
        }
        if !cautions.is_empty() {
            self.live.show(&Shown::Cautioned(&cautions));
        }
    }

    /// Says what was done and read at a circuit in whose middle somebody goes on: nothing else says
    /// how the unit is set up.
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

    pub(super) fn question(&self, n: u64) -> Option<&Question> {
        match &self.journal.event(n)?.what {
            What::Answered { question, .. } => Some(question),
            _ => None,
        }
    }

    fn take(&mut self, question: &Question, answer: Answer) -> Result<Answer, Aside> {
        let what = What::Answered { question: question.clone(), answer: answer.clone() };
        if question.reads_rig() {
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

    /// Keeps what was said beside a question, which is asked on; whatever else leaves the question is handed on.
    fn keep_beside(&mut self, question: &Question, aside: Aside) -> Result<(), Aside> {
        let lost = |error: LogError| Aside::Lost(error.to_string());
        match aside {
            Aside::Jot(text) => {
                self.log(What::Jotted { circuit: about(question), text }).map_err(lost)?;
                self.live.show(&Shown::Noted);
            }
            Aside::Photo { picture, words } => self.photograph(question, &picture, words)?,
            Aside::TakenOver(technician) => {
                self.log(What::TakenOver { technician: technician.clone() }).map_err(lost)?;
                self.live.show(&Shown::TakenOver(&technician));
            }
            Aside::Did(doing) => {
                let on = question.hose_on().cloned();
                self.log(What::Did { circuit: question.circuit.clone(), on, doing }).map_err(lost)?;
            }
            aside => {
                self.is_called_back = matches!(aside, Aside::Back(_));
                return Err(aside);
            }
        }
        Ok(())
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
            // That the answer fits is asked before it is taken or kept.
            let is_as_asked = matches!(&event.what, What::Answered { question: asked, .. } if asked.asks_the_same(question));
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
        // It waits for what follows: of a section that a plan leaves out nothing is shown.
        self.unsaid.push(told.clone());
    }

    fn ask(&mut self, question: &Question, place: &Place) -> Result<Answer, Aside> {
        if let Some((n, answer)) =
            self.journal.kept(question).map(|(event, answer)| (event.n, answer.clone()))
        {
            self.note(question, n);
            self.is_kept = true;
            if self.is_live {
                self.flush(false);
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
        if std::mem::take(&mut self.is_to_be_reminded) && !self.is_amendment() {
            self.remind();
        }
        if let (Some(circuit), Some(n)) = (&question.circuit, self.answers_since_begun(question)) {
            let last = self.answered.last().and_then(|n| self.question(*n));
            if last.is_some_and(|last| last.circuit == question.circuit) {
                self.live.show(&Shown::BegunAgain(circuit));
            }
            self.begun_again = Some(circuit.clone());
            return Err(Aside::Back(n));
        }
        if self.goes_on && !question.reads_rig() {
            self.goes_on = false;
            self.say_what_led_to(question);
        }
        let is_the_runners = match &question.wants {
            Wants::Reading { on: HoseOn::Check(_), .. } | Wants::Decision { .. } => true,
            // What the procedure has in its middle belongs to its section; else the circuits do, for
            // which the rig is set.
            Wants::Reading { on: HoseOn::Rig(_), .. } => {
                !self.journal.procedure().is_some_and(|procedure| procedure.sets_rig)
            }
            _ => false,
        };
        self.flush(!is_the_runners);
        loop {
            match self.live.ask(question, place) {
                Ok(answer) => return self.take(question, answer),
                Err(aside) => self.keep_beside(question, aside)?,
            }
        }
    }

    fn duty(&mut self, before: Option<&str>) -> Duty {
        self.rig_duty(before)
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
