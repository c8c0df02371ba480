use super::book::Book;
use super::question::{Enter, Question};
use super::so_far::SoFar;
use crate::cli::asker::{Asker, Stopped};
use crate::procedure::Aside;
use crate::session::{LogError, Saying, read_saying};

/// Where a draft's questions are asked: from the start on each time, with every answer that stands in the book given from
/// there, and the first that is missing asked for. So to go back is to take an answer back and to ask from the start.
pub(super) struct Desk<'a> {
    asker: Asker<'a>,
    book: Book,
    /// The questions answered so far, in order.
    walked: Vec<String>,
    /// What was told since the last question that is not on the screen yet.
    unsaid: Vec<Told>,
    /// The place that the questions stand at, and how it is shown.
    place: (String, String),
    place_shown: String,
    /// The circuits so far, the one that is asked about last.
    circuits: SoFar,
    is_warned: bool,
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

enum Told {
    Paragraph(String),
    Item(String, String),
}

/// What may be typed at any question, and what it does.
const WORDS: [(&str, &str); 6] = [
    ("help", "or ?: this list, and what is wanted here"),
    ("progress", "what is answered so far"),
    (
        "back",
        "go to the question before; back 3 goes three back. What was answered stands in brackets; Enter takes it",
    ),
    ("again", "ask the last question again and keep the rest; again 3 asks the third last"),
    ("again NAME", "ask everything about that circuit again, and keep the rest"),
    ("park", "or Ctrl-C: stop here and keep everything; go on with draft --resume"),
];

/// The longest text that is shown in brackets.
const SHORT: usize = 40;

impl<'a> Desk<'a> {
    /// Puts the questions of a book in front of somebody.
    pub(super) fn new(asker: Asker<'a>, book: Book) -> Desk<'a> {
        Desk {
            asker,
            book,
            walked: Vec::new(),
            unsaid: Vec::new(),
            place: Default::default(),
            place_shown: String::new(),
            circuits: SoFar::default(),
            is_warned: false,
        }
    }

    /// Returns the book.
    pub(super) fn into_book(self) -> Book {
        self.book
    }

    /// Begins from the start.
    pub(super) fn begin(&mut self) {
        self.walked.clear();
        self.unsaid.clear();
        self.circuits = SoFar::default();
        self.place = Default::default();
    }

    /// Says what the next questions are about.
    pub(super) fn at(&mut self, place: impl Into<String>, shown: impl Into<String>) {
        self.place = (place.into(), shown.into());
    }

    /// Says that the questions here are about a circuit of this name.
    pub(super) fn begun(&mut self, name: &str) {
        self.circuits.begun(name, &self.place.0);
    }

    /// Says that the circuit is answered to its end.
    pub(super) fn done(&mut self, told: String) {
        self.circuits.done(told);
    }

    /// Returns whether something is answered to a question of another place.
    pub(super) fn is_answered(&self, place: &str, id: &str) -> bool {
        self.book.standing(&format!("{place}/{id}")).is_some_and(|line| !line.is_empty())
    }

    /// Tells something with the next question.
    pub(super) fn tell(&mut self, text: impl Into<String>) {
        self.unsaid.push(Told::Paragraph(text.into()));
    }

    /// Tells something behind a marker with the next question.
    pub(super) fn item(&mut self, marker: impl Into<String>, text: impl Into<String>) {
        self.unsaid.push(Told::Item(marker.into(), text.into()));
    }

    /// Asks a question until its answer can be read; returns none where Enter takes what stands.
    pub(super) fn ask<T>(
        &mut self,
        question: &Question<'_>,
        read: impl Fn(&str) -> Result<T, String>,
    ) -> Result<Option<T>, Turn> {
        let key = format!("{}/{}", self.place.0, question.id);
        let read = |line: &str| match (line, question.enter) {
            ("", Enter::Takes(_)) => Ok(None),
            ("", Enter::Refused(why)) => Err(why.to_owned()),
            (line, _) => read(line).map(Some),
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
                    let line = line.to_owned();
                    self.tell(format!("{}: {line} no longer fits. {why}", question.words));
                    let taken_back = self.book.take_back(vec![key.clone()]);
                    self.warn(taken_back);
                }
            }
        }
        self.flush();
        let offer = self.book.last(&key).filter(|line| !line.is_empty() && read(line).is_ok());
        let offer = offer.map(str::to_owned);
        let (prompt, brackets) = self.prompt(question, offer.as_deref());
        loop {
            let typed = self.asker.line(&prompt)?;
            let line = match read_saying(&typed) {
                Saying::Answer(line) => match self.circuit_again(&line)? {
                    true => continue,
                    // In a list, quotes keep together what has a comma.
                    false if line.contains([',', ';']) => typed.trim().to_owned(),
                    false => line,
                },
                other => {
                    self.meant(other, question)?;
                    continue;
                }
            };
            let is_enter =
                line.is_empty() || brackets.as_ref().is_some_and(|shown| line.eq_ignore_ascii_case(shown));
            let line = match (is_enter, &offer, question.enter) {
                (true, Some(offer), _) => offer.clone(),
                (true, None, _) => String::new(),
                (_, _, Enter::Takes(usual)) if line.eq_ignore_ascii_case(usual) => String::new(),
                _ => line,
            };
            match read(&line) {
                Ok(answer) => {
                    let kept = self.book.answer(&key, &line);
                    self.warn(kept);
                    self.walked.push(key);
                    return Ok(answer);
                }
                Err(why) => self.asker.screen.paragraph(2, &why),
            }
        }
    }

    /// Asks for yes or no.
    pub(super) fn yes(&mut self, id: &str, words: &str, now: bool, help: &str) -> Result<bool, Turn> {
        let enter = Enter::Takes(if now { "yes" } else { "no" });
        let answer = self.ask(&Question { id, words, enter, help }, crate::cli::asker::yes_no)?;
        Ok(answer.unwrap_or(now))
    }

    /// Shows what was told since the last question, under what it is about where that is new.
    fn flush(&mut self) {
        let screen = &mut *self.asker.screen;
        if self.place.0 != self.place_shown {
            screen.line("");
            if !self.place.1.is_empty() {
                screen.paragraph(0, &self.place.1);
            }
            self.place_shown.clone_from(&self.place.0);
        }
        for told in self.unsaid.drain(..) {
            match told {
                Told::Paragraph(text) => screen.paragraph(2, &text),
                Told::Item(marker, text) => screen.item(&marker, &text),
            }
        }
    }

    /// Returns the prompt of a question, and what stands in its brackets.
    fn prompt(&mut self, question: &Question<'_>, offer: Option<&str>) -> (String, Option<String>) {
        let words = question.words;
        let (now, said, shown) = match (offer, question.enter) {
            (Some(offer), _) => (offer, "Answered before", "as before"),
            (None, Enter::Takes(usual)) => (usual, "Now", "as it is"),
            (None, Enter::Refused(_)) => return (format!("{words}: "), None),
        };
        let brackets = if now.chars().count() > SHORT {
            self.asker.screen.paragraph(2, &format!("{said}: {now}"));
            shown
        } else {
            now
        };
        (format!("{words} [{brackets}]: "), Some(brackets.to_owned()))
    }

    /// Does what was said in place of an answer.
    fn meant(&mut self, saying: Saying, question: &Question<'_>) -> Result<(), Turn> {
        let told = match saying {
            Saying::Help => {
                self.help(question);
                return Ok(());
            }
            Saying::Progress => {
                self.progress();
                return Ok(());
            }
            Saying::Aside(Aside::Back(steps)) => {
                let from = self.walked.len().saturating_sub(steps);
                return self.anew(self.walked[from..].to_vec());
            }
            Saying::Aside(Aside::Again(steps)) => {
                let at = self.walked.len().checked_sub(steps);
                return self.anew(at.map(|at| self.walked[at].clone()).into_iter().collect());
            }
            Saying::Aside(Aside::Jot(_)) => {
                "A draft has no record to put a note into: write it into the procedure, as a \
                                             comment. A text that begins with this word goes in double quotes."
            }
            Saying::Aside(_) => return Err(Stopped::Left.into()),
            Saying::Cannot(_) => {
                "What can't be answered can be left out: Enter alone. A text that begins with this \
                                  word goes in double quotes."
            }
            Saying::Incomplete(how) => how,
            Saying::Answer(_) => return Ok(()),
        };
        self.asker.screen.paragraph(2, told);
        Ok(())
    }

    /// Takes answers back and asks from the start; says so where there are none.
    fn anew(&mut self, questions: Vec<String>) -> Result<(), Turn> {
        if questions.is_empty() {
            self.asker.screen.paragraph(2, "There is no answer so far back.");
            return Ok(());
        }
        let taken_back = self.book.take_back(questions);
        self.warn(taken_back);
        Err(Turn::Anew)
    }

    /// Takes back what was answered about a circuit where that is wanted; returns whether it was, and nothing was answered.
    fn circuit_again(&mut self, line: &str) -> Result<bool, Turn> {
        let Some((_, name)) = line.split_once(' ').filter(|(word, _)| word.eq_ignore_ascii_case("again"))
        else {
            return Ok(false);
        };
        let Some(place) = self.circuits.place(name.trim()) else {
            let text = "No circuit of that name is begun yet; progress lists them. A text that begins with this word \
                        goes in double quotes.";
            self.asker.screen.paragraph(2, text);
            return Ok(true);
        };
        let start = format!("{place}/");
        let about = self.walked.iter().filter(|question| question.starts_with(&start)).cloned().collect();
        self.anew(about).map(|()| true)
    }

    fn help(&mut self, question: &Question<'_>) {
        let screen = &mut *self.asker.screen;
        screen.paragraph(2, question.help);
        if let Enter::Takes(_) = question.enter {
            screen.paragraph(2, "Enter alone takes what stands in brackets.");
        }
        screen.paragraph(2, "At any question you may also type:");
        for (word, does) in WORDS {
            screen.item(&format!("  {word:<10} "), does);
        }
        screen.paragraph(2, "A text that is one of these words goes in double quotes.");
    }

    fn progress(&mut self) {
        let screen = &mut *self.asker.screen;
        if self.circuits.is_empty() {
            screen.paragraph(2, "No circuit is begun yet.");
        }
        for (n, told) in self.circuits.told().enumerate() {
            screen.item(&format!("{:>4}  ", n + 1), &told);
        }
    }

    /// Says, the first time, that an answer could not be kept.
    fn warn(&mut self, kept: Result<(), LogError>) {
        if let Err(error) = kept
            && !std::mem::replace(&mut self.is_warned, true)
        {
            let told = format!(
                "The answers can't be kept: {error}. Go on to the end, where the procedure is written; whoever stops now \
                 loses what was answered since."
            );
            self.asker.screen.paragraph(2, &told);
        }
    }
}
