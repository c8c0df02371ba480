use jiff::Timestamp;

use super::{Journal, JournalError};
use crate::procedure::{Aside, Desk, Place, Shown};
use crate::record::{Answer, HoseOn, Question, Step, Told, Wants, What};

/// The desk between a walk and whoever answers live: it answers from the journal what was answered before, passes on
/// the rest, and has each new answer on the disk before the script sees it.
pub struct Recorder {
    journal: Journal,
    live: Box<dyn Desk>,
    now: fn() -> Timestamp,
    walk: Vec<Step>,
    answered: Vec<u64>,
    is_live: bool,
    unsaid: Vec<Told>,
}

impl Recorder {
    /// Puts a journal in front of a live desk; `now` is the only clock of a session.
    pub fn new(journal: Journal, live: Box<dyn Desk>, now: fn() -> Timestamp) -> Recorder {
        Recorder {
            journal,
            live,
            now,
            walk: Vec::new(),
            answered: Vec::new(),
            is_live: false,
            unsaid: Vec::new(),
        }
    }

    /// Begins a walk anew; what the journal holds is not shown again.
    pub fn begin_walk(&mut self) {
        self.walk.clear();
        self.answered.clear();
        self.unsaid.clear();
        self.is_live = false;
    }

    /// Appends an event that is no answer.
    ///
    /// # Errors
    /// Where the disk refuses.
    pub fn log(&mut self, what: What) -> Result<u64, JournalError> {
        self.journal.append((self.now)(), what)
    }

    /// Takes back the last answers of this walk, at least one; returns how many.
    ///
    /// # Errors
    /// Where the disk refuses.
    pub fn back(&mut self, steps: usize) -> Result<usize, JournalError> {
        let from = self.answered.len().saturating_sub(steps.max(1));
        self.retract(self.answered[from..].to_vec())
    }

    /// Takes back one answer, this many before the question; those after it stay. A plugged reading takes the one
    /// through the orifice with it: the two belong together.
    ///
    /// # Errors
    /// Where the disk refuses.
    pub fn again(&mut self, steps: usize) -> Result<usize, JournalError> {
        let Some(at) = self.answered.len().checked_sub(steps.max(1)) else { return Ok(0) };
        let mut answers = vec![self.answered[at]];
        if self.is_on(answers[0], &HoseOn::Plug) {
            answers.extend(self.answered[at + 1..].iter().find(|n| self.is_on(**n, &HoseOn::Orifice)));
        }
        self.retract(answers)
    }

    /// Returns the steps of the walk so far.
    pub fn walk(&self) -> &[Step] {
        &self.walk
    }

    /// Returns the journal.
    pub fn journal(&self) -> &Journal {
        &self.journal
    }

    /// Passes on what was told since the last question, at the end of a walk.
    pub fn flush(&mut self) {
        for told in self.unsaid.drain(..) {
            self.live.tell(&told);
        }
    }

    fn retract(&mut self, answers: Vec<u64>) -> Result<usize, JournalError> {
        let n = answers.len();
        if n > 0 {
            self.log(What::Retracted { answers })?;
        }
        Ok(n)
    }

    fn is_on(&self, n: u64, place: &HoseOn) -> bool {
        let event = usize::try_from(n).ok().and_then(|n| self.journal.events().get(n - 1));
        matches!(event.map(|event| &event.what),
            Some(What::Answered { question: Question { wants: Wants::Reading { on, .. }, .. }, .. }) if on == place)
    }

    /// Finds the answer that stands for a question; a kept answer that no longer fits is asked again.
    fn kept(&self, question: &Question) -> Option<(u64, Answer)> {
        let (n, _, answer) = self
            .journal
            .standing()
            .rev()
            .find(|(_, asked, answer)| asked.is_same(question) && question.accepts(answer).is_ok())?;
        Some((n, answer.clone()))
    }

    fn take(&mut self, question: &Question, answer: Answer) -> Result<Answer, Aside> {
        let what = What::Answered { question: question.clone(), answer: answer.clone() };
        let n = self.log(what).map_err(|error| Aside::Lost(error.to_string()))?;
        self.note(n);
        Ok(answer)
    }

    fn note(&mut self, n: u64) {
        self.walk.push(Step::Asked { n });
        self.answered.push(n);
    }
}

impl Desk for Recorder {
    fn tell(&mut self, told: &Told) {
        self.walk.push(Step::Told { told: told.clone() });
        self.unsaid.push(told.clone());
        if self.is_live {
            self.flush();
        }
    }

    fn ask(&mut self, question: &Question, place: &Place) -> Result<Answer, Aside> {
        if let Some((n, answer)) = self.kept(question) {
            self.note(n);
            if self.is_live {
                self.live.show(&Shown::Kept { question, answer: &answer });
            } else {
                // Everything told up to here was seen when it was answered.
                self.unsaid.clear();
            }
            return Ok(answer);
        }
        self.is_live = true;
        self.flush();
        loop {
            match self.live.ask(question, place) {
                Ok(answer) => return self.take(question, answer),
                Err(Aside::Jot(text)) => {
                    let circuit = question.circuit.clone();
                    self.log(What::Jotted { circuit, text })
                        .map_err(|error| Aside::Lost(error.to_string()))?;
                }
                Err(aside) => return Err(aside),
            }
        }
    }

    fn show(&mut self, shown: &Shown<'_>) {
        if self.is_live {
            self.live.show(shown);
        }
    }
}
