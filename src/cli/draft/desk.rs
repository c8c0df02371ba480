use super::book::Book;
use crate::disk::LogError;
use crate::draft::NOT_KNOWN;
use crate::procedure::Aside;
use crate::session::{Enter, Plain, Prompt, Said, Saying, Stopped, yes_no};

/// Where a draft's questions are asked: from the start on each time, with every answer that stands in the
/// book given from there, and the first that is missing asked for. So to go back is to take an answer back
/// and to ask from the start.
pub(super) struct DraftDesk {
    prompt: Prompt,
    pub(super) book: Book,
    /// The questions answered so far, in order.
    walked: Vec<String>,
    /// What was told since the last question that is not on the screen yet, each behind its marker.
    unsaid: Vec<(String, String)>,
    /// The place that the questions stand at, and how it is shown.
    place: (String, String),
    place_shown: String,
    /// The circuits so far, the one that is asked about last.
    circuits: Vec<Named>,
    is_warned: bool,
}

/// A circuit by its name, and the place of its questions.
struct Named {
    name: String,
    place: String,
    /// What there is to say of it; none while it is asked about.
    told: Option<String>,
}

/// Why the questions did not go on.
#[derive(Debug)]
pub(super) enum Turn {
    /// Answers were taken back: ask from the start.
    Anew,
    /// Nothing more is answered now.
    Stopped(Stopped),
}

impl From<Stopped> for Turn {
    fn from(stopped: Stopped) -> Turn {
        Turn::Stopped(stopped)
    }
}

/// What may be typed at any question, and what it does.
const WORDS: [(&str, &str); 9] = [
    ("help", "or ?: this list, and what is wanted here"),
    ("progress", "what is answered so far"),
    (
        "back",
        "go to the question before; back 3 goes three back. What was answered stands in brackets; Enter takes it",
    ),
    ("again", "ask the last question again and keep the rest; again 3 asks the third last"),
    ("again NAME", "ask everything about that circuit again, and keep the rest"),
    ("park", "or Ctrl-C: stop here and keep everything; go on with draft --resume"),
    // Words of a session, which are no answers here either.
    ("jot", ""),
    ("photo", ""),
    ("cannot", ""),
];

impl DraftDesk {
    pub(super) fn new(prompt: Prompt, book: Book) -> DraftDesk {
        DraftDesk {
            prompt,
            book,
            walked: Vec::new(),
            unsaid: Vec::new(),
            place: Default::default(),
            place_shown: String::new(),
            circuits: Vec::new(),
            is_warned: false,
        }
    }

    pub(super) fn begin(&mut self) {
        self.walked.clear();
        self.unsaid.clear();
        self.circuits.clear();
        self.place = Default::default();
    }

    /// Says what the next questions are about.
    pub(super) fn at(&mut self, place: impl Into<String>, shown: impl Into<String>) {
        self.place = (place.into(), shown.into());
    }

    /// Says that the next questions are about a part of what those before were about.
    pub(super) fn within(&mut self, part: &str) {
        let (place, shown) = &self.place;
        self.place = (format!("{place}/{part}"), format!("{shown}, {part}"));
    }

    /// Says that the questions here are about a circuit of this name.
    pub(super) fn begun(&mut self, name: &str) {
        self.circuits.push(Named { name: name.to_owned(), place: self.place.0.clone(), told: None });
    }

    /// Says that the last circuit is answered to its end.
    pub(super) fn done(&mut self, told: String) {
        if let Some(circuit) = self.circuits.last_mut() {
            circuit.told = Some(told);
        }
    }

    /// Returns whether something is answered to a question of another place.
    pub(super) fn is_answered(&self, place: &str, id: &str) -> bool {
        self.book.standing(&format!("{place}/{id}")).is_some_and(|line| !line.is_empty())
    }

    /// Tells something with the next question.
    pub(super) fn tell(&mut self, text: impl Into<String>) {
        self.item("  ", text);
    }

    /// Tells something behind a marker with the next question.
    pub(super) fn item(&mut self, marker: impl Into<String>, text: impl Into<String>) {
        self.unsaid.push((marker.into(), text.into()));
    }

    /// Asks a question until its answer can be read; returns none where Enter takes what stands. The id tells it from
    /// the others of its place.
    pub(super) fn ask<T>(
        &mut self,
        id: &str,
        question: Plain<'_>,
        read: impl Fn(&str) -> Result<T, String>,
    ) -> Result<Option<T>, Turn> {
        let key = format!("{}/{id}", self.place.0);
        let read = |line: &str| match (line, question.enter) {
            ("", Enter::Refused(why)) => Err(why.to_owned()),
            ("", _) => Ok(None),
            _ => read(line).map(Some),
        };
        if let Some(line) = self.book.standing(&key) {
            match read(line) {
                Ok(answer) => {
                    self.walked.push(key);
                    self.unsaid.clear();
                    return Ok(answer);
                }
                // It fitted what was answered before it, and does no more.
                Err(why) => {
                    let told = format!("{}: {line} no longer fits. {why}", question.words);
                    self.unsaid.push(("  ".to_owned(), told));
                    let taken_back = self.book.take_back(vec![key.clone()]);
                    self.warn(taken_back);
                }
            }
        }
        self.flush();
        let before = self.book.last(&key).filter(|line| !line.is_empty() && read(line).is_ok());
        let before = before.map(str::to_owned);
        let enter = before.as_deref().map_or(question.enter, Enter::TakesAgain);
        let (answer, line) = loop {
            let asked = Plain { enter, ..question };
            let said = self.prompt.ask_plainly(&asked, &WORDS, |line| {
                let is_usual =
                    matches!(question.enter, Enter::Takes(usual) if line.eq_ignore_ascii_case(usual));
                let line = if is_usual { "" } else { line };
                read(line).map(|answer| (answer, line.to_owned()))
            })?;
            match said {
                Said::Answer(answered) => break answered,
                Said::Enter => {
                    let line = before.clone().unwrap_or_default();
                    match read(&line) {
                        Ok(answer) => break (answer, line),
                        Err(why) => self.say(&why),
                    }
                }
                Said::Word(saying) => self.meant(saying)?,
            }
        };
        let kept = self.book.answer(&key, &line);
        self.warn(kept);
        self.walked.push(key);
        Ok(answer)
    }

    /// Asks what may be left open, which is said by what Enter takes, or by `not known` or `none`.
    pub(super) fn ask_open<T>(
        &mut self,
        id: &str,
        question: Plain<'_>,
        read: impl Fn(&str) -> Result<T, String>,
    ) -> Result<Option<T>, Turn> {
        let is_open = |text: &str| [NOT_KNOWN, "none"].iter().any(|word| text.eq_ignore_ascii_case(word));
        let read = |text: &str| if is_open(text) { Ok(None) } else { read(text).map(Some) };
        Ok(self.ask(id, question, read)?.flatten())
    }

    pub(super) fn yes(&mut self, id: &str, words: &str, now: bool, help: &str) -> Result<bool, Turn> {
        let enter = Enter::Takes(if now { "yes" } else { "no" });
        Ok(self.ask(id, Plain { words, enter, help }, yes_no)?.unwrap_or(now))
    }

    /// Shows what was told since the last question, under what it is about where that is new.
    fn flush(&mut self) {
        let screen = &mut self.prompt.screen;
        if self.place.0 != self.place_shown {
            screen.line("");
            if !self.place.1.is_empty() {
                screen.say(&self.place.1);
            }
            self.place_shown.clone_from(&self.place.0);
        }
        for (marker, text) in self.unsaid.drain(..) {
            screen.item(&marker, &text);
        }
    }

    fn say(&mut self, text: &str) {
        self.prompt.screen.paragraph(2, text);
    }

    /// Does what was said in place of an answer.
    fn meant(&mut self, saying: Saying) -> Result<(), Turn> {
        match saying {
            Saying::Progress => self.progress(),
            Saying::Aside(Aside::Back(steps)) => {
                let from = self.walked.len().saturating_sub(steps);
                return self.anew(self.walked[from..].to_vec());
            }
            Saying::Aside(Aside::Again(steps)) => {
                let at = self.walked.len().checked_sub(steps);
                return self.anew(at.map(|at| self.walked[at].clone()).into_iter().collect());
            }
            Saying::Aside(Aside::Jot(_)) => self.say(
                "A draft has no record to put a note into: write it into the procedure, as a comment. A text that begins \
                 with this word goes in double quotes.",
            ),
            Saying::Photo(_) => self.say(
                "A draft has no session to put a photo into; guide takes them. A text that begins with this word goes in \
                 double quotes.",
            ),
            Saying::Cannot(_) | Saying::NotFitted(_) => self.say(
                "What can't be answered can be left out: Enter alone. A text that begins with this word goes in double \
                 quotes.",
            ),
            Saying::AgainOf(name) => return self.circuit_again(&name),
            Saying::Incomplete(how) => self.say(how),
            Saying::Aside(_) | Saying::Answer(_) | Saying::More | Saying::Help => {}
        }
        Ok(())
    }

    /// Takes answers back and asks from the start; says so where there are none.
    fn anew(&mut self, questions: Vec<String>) -> Result<(), Turn> {
        if questions.is_empty() {
            self.say("There is no answer so far back.");
            return Ok(());
        }
        let taken_back = self.book.take_back(questions);
        self.warn(taken_back);
        Err(Turn::Anew)
    }

    fn circuit_again(&mut self, name: &str) -> Result<(), Turn> {
        let known = self.circuits.iter().find(|circuit| circuit.name.to_lowercase() == name.to_lowercase());
        let Some(circuit) = known else {
            self.say(
                "No circuit of that name is begun yet; progress lists them. A text that begins with this word goes in \
                 double quotes.",
            );
            return Ok(());
        };
        let start = format!("{}/", circuit.place);
        let about = self.walked.iter().filter(|question| question.starts_with(&start)).cloned().collect();
        self.anew(about)
    }

    fn progress(&mut self) {
        if self.circuits.is_empty() {
            self.say("No circuit is begun yet.");
        }
        for (n, circuit) in self.circuits.iter().enumerate() {
            let told = circuit.told.as_deref().unwrap_or("being asked about");
            self.prompt.screen.item(&format!("{:>4}  ", n + 1), &format!("{}: {told}", circuit.name));
        }
    }

    /// Says, the first time, that an answer could not be kept.
    fn warn(&mut self, kept: Result<(), LogError>) {
        if let Err(error) = kept
            && !std::mem::replace(&mut self.is_warned, true)
        {
            self.say(&format!(
                "The answers can't be kept: {error}. Go on to the end, where the procedure is written; whoever stops now \
                 loses what was answered since."
            ));
        }
    }
}
