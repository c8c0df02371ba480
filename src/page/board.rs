use std::collections::BTreeMap;
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use super::{Ask, SaidKind, SaidSight, Sight, State};
use crate::console::{Heard, Listener};
use crate::picture::{Ground, Picture};

/// What terminal and page share: what is shown, and the line that was typed on the page.
///
/// The session shows and takes; the page's server waits for changes and hands lines in. A line names the
/// number under which something was asked, and there is one at a time: so an answer counts once, and on the
/// question it was given to.
#[derive(Default)]
pub(crate) struct Board {
    shared: Mutex<Shared>,
    changed: Condvar,
}

#[derive(Default)]
struct Shared {
    sight: Sight,
    /// Counts the changes of the sight.
    version: u64,
    /// The last number that something was asked under.
    last_question: u64,
    /// The line that was typed on the page for what is asked now.
    line: Option<PageLine>,
    /// What was taken last, where it came from the page and not from the terminal.
    taken: Option<PageLine>,
    /// What the terminal is to say.
    notices: Vec<String>,
    pictures: BTreeMap<String, (Picture, Arc<Ground>)>,
    /// How whoever sits in a read at the terminal is called back; none while nobody does.
    call_back: Option<fn()>,
}

/// A line that was typed on the page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct PageLine {
    /// The number that the sight showed to whoever typed it.
    pub question: u64,
    pub text: String,
    /// The photo that came with it.
    pub photo: Option<Picture>,
}

/// Why a line is not taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub(crate) enum NotTaken {
    /// What it was typed for is no longer asked, or has a line already.
    #[error("this was asked before, and is no longer: look at what is asked now")]
    Stale,
    /// It is longer than a line at the terminal may be, or is more than a line.
    #[error("this is more than one line")]
    NoLine,
}

/// The line that was taken last was typed at the terminal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct OfTerminal;

/// What a page shows, and how often that has changed.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct SightChange {
    pub version: u64,
    pub sight: Sight,
}

/// The longest line, in bytes; as at the terminal.
pub(crate) const LONGEST_LINE: usize = 16 * 1024;

/// So much of what was said is shown: all of a session, as far as a page can be sent it at each change.
const MOST_SAID: usize = 400;

/// What the session does.
impl Board {
    /// Changes what is shown.
    pub(crate) fn show(&self, change: impl FnOnce(&mut Sight)) {
        let mut shared = self.shared();
        let before = shared.sight.clone();
        change(&mut shared.sight);
        if shared.sight != before {
            self.wake(&mut shared);
        }
    }

    /// Puts something else in front of whoever answers, under a number of its own.
    pub(crate) fn pose(&self, change: impl FnOnce(&mut Sight)) {
        let mut shared = self.shared();
        shared.line = None;
        change(&mut shared.sight);
        shared.number();
        self.wake(&mut shared);
    }

    /// Gives what is asked now a number, unless it has one.
    pub(crate) fn ask(&self) {
        let mut shared = self.shared();
        if shared.sight.question == 0 {
            shared.number();
            self.wake(&mut shared);
        }
    }

    /// Changes how the question at hand is shown; it keeps its number.
    pub(crate) fn amend(&self, change: impl FnOnce(&mut Ask)) {
        self.show(|sight| {
            if let Some(ask) = &mut sight.ask {
                change(ask);
            }
        });
    }

    /// Moves the needle.
    pub(crate) fn needle(&self, at: Option<f64>) {
        self.show(|sight| {
            if let Some(dial) = &mut sight.dial {
                dial.needle = at;
            }
        });
    }

    /// Shows what was said.
    pub(crate) fn say(&self, kind: SaidKind, text: &str) {
        self.tell(kind, "", text);
    }

    /// Says why the last line is not taken.
    pub(crate) fn refuse(&self, why: &str) {
        self.amend(|ask| ask.refusal = Some(why.to_owned()));
        self.say(SaidKind::Refusal, why);
    }

    /// Asks back what the last line says, so that it is typed once more where it is right.
    pub(crate) fn doubt(&self, why: &str) {
        self.amend(|ask| ask.doubt = Some(why.to_owned()));
        self.say(SaidKind::Doubt, why);
    }

    /// Returns who hears what is said on the screen, and shows it.
    pub(crate) fn listener(self: &Arc<Board>) -> Listener {
        let board = Arc::clone(self);
        Arc::new(move |heard| {
            let (kind, mark, text) = match heard {
                Heard::Title(text) => (SaidKind::Title, "", text),
                Heard::Paragraph(text) => (SaidKind::Told, "", text),
                Heard::Item(mark, text) => (SaidKind::Verdict, mark, text),
                Heard::Result(text) => (SaidKind::Result, "", text),
            };
            board.tell(kind, mark, text);
        })
    }

    fn tell(&self, kind: SaidKind, mark: &str, text: &str) {
        let (mark, text) = (mark.to_owned(), text.to_owned());
        self.show(|sight| {
            let circuit = sight.circuit.as_ref().map(|circuit| circuit.name.clone());
            sight.said.push(SaidSight { kind, circuit, mark, text });
            let n_old = sight.said.len().saturating_sub(MOST_SAID);
            sight.said.drain(..n_old);
        });
    }

    /// Takes the line that was typed on the page, if there is one; from then on no other counts for what was asked.
    pub(crate) fn take(&self) -> Option<String> {
        let mut shared = self.shared();
        let line = shared.line.take()?;
        self.settle(&mut shared);
        let text = line.text.clone();
        shared.taken = Some(line);
        Some(text)
    }

    /// Takes note that the question was settled elsewhere. A line of the page that came too late is given back.
    pub(crate) fn settled(&self) -> Option<String> {
        let mut shared = self.shared();
        self.settle(&mut shared);
        shared.line.take().map(|line| line.text)
    }

    /// Gives up the photo that came with the line that was taken last; `Err` where that line is the terminal's.
    pub(crate) fn take_photo(&self) -> Result<Option<Picture>, OfTerminal> {
        self.shared().taken.as_mut().map(|line| line.photo.take()).ok_or(OfTerminal)
    }

    /// Waits for something that comes from the page, so long at most.
    pub(crate) fn wait(&self, at_most: Duration) {
        let shared = self.shared();
        drop(self.changed.wait_timeout_while(shared, at_most, |shared| !shared.has_something()));
    }

    /// Returns whether a line of the page waits to be taken.
    pub(crate) fn has_line(&self) -> bool {
        self.shared().line.is_some()
    }

    /// Returns whether a line of the page waits to be taken, or something that the terminal is to say.
    pub(crate) fn has_something(&self) -> bool {
        self.shared().has_something()
    }

    /// Has whoever sits in a read at the terminal called back, once, when something comes; at once where it has come.
    pub(crate) fn reading(&self, call_back: fn()) {
        let mut shared = self.shared();
        if shared.has_something() {
            call_back();
        } else {
            shared.call_back = Some(call_back);
        }
    }

    /// Calls nobody back from now on.
    pub(crate) fn not_reading(&self) {
        self.shared().call_back = None;
    }

    /// Takes what the terminal is to say.
    pub(crate) fn take_notices(&self) -> Vec<String> {
        std::mem::take(&mut self.shared().notices)
    }

    /// Asks nothing more; what was said since the last answer stays, and what is said from now on is what came out.
    pub(crate) fn close(&self, state: State) {
        self.show(|sight| {
            (sight.question, sight.ask, sight.circuit, sight.dial, sight.valves) =
                (0, None, None, None, None);
            (sight.progress.section, sight.progress.next) = (None, None);
            sight.pictures.clear();
            sight.state = state;
        });
    }

    /// Returns what rings and names are put on of a picture that it holds.
    pub(crate) fn ground(&self, name: &str) -> Option<Arc<Ground>> {
        self.shared().pictures.get(name).map(|(_, ground)| Arc::clone(ground))
    }

    pub(crate) fn hold_picture(&self, name: &str, picture: &Picture) {
        let held = (picture.clone(), Arc::new(Ground::of(picture)));
        self.shared().pictures.insert(name.to_owned(), held);
    }
}

/// What the page's server does.
impl Board {
    /// Returns what is shown now.
    pub(crate) fn now(&self) -> SightChange {
        self.shared().change()
    }

    /// Waits until something has changed since a version, so long at most. Version 0 is before every change.
    pub(crate) fn changed(&self, since: u64, at_most: Duration) -> Option<SightChange> {
        let shared = self.shared();
        let waited = self.changed.wait_timeout_while(shared, at_most, |shared| shared.version <= since);
        let (shared, _) = waited.unwrap_or_else(PoisonError::into_inner);
        (shared.version > since).then(|| shared.change())
    }

    /// Hands in a line that was typed on the page. It is not taken yet by that: the sight that follows
    /// shows what came of it.
    pub(crate) fn hand_in(&self, line: PageLine) -> Result<(), NotTaken> {
        let is_line = line.text.len() < LONGEST_LINE && !line.text.contains(['\n', '\r', '\0']);
        if !is_line {
            return Err(NotTaken::NoLine);
        }
        let mut shared = self.shared();
        if line.question == 0 || line.question != shared.sight.question || shared.line.is_some() {
            return Err(NotTaken::Stale);
        }
        shared.line = Some(line);
        self.call(&mut shared);
        Ok(())
    }

    /// Has the terminal say something, as that the pairing code is another now.
    pub(crate) fn notice(&self, text: String) {
        let mut shared = self.shared();
        shared.notices.push(text);
        self.call(&mut shared);
    }

    pub(crate) fn picture(&self, name: &str) -> Option<Picture> {
        self.shared().pictures.get(name).map(|(picture, _)| picture.clone())
    }
}

impl Board {
    fn shared(&self) -> MutexGuard<'_, Shared> {
        // What a thread that broke off has left is whole: each change is one assignment.
        self.shared.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn settle(&self, shared: &mut Shared) {
        shared.taken = None;
        shared.sight.question = 0;
        if let Some(ask) = &mut shared.sight.ask {
            (ask.refusal, ask.doubt) = (None, None);
        }
        self.wake(shared);
    }

    /// Calls whoever waits for what comes from the page.
    fn call(&self, shared: &mut Shared) {
        if let Some(call_back) = shared.call_back.take() {
            call_back();
        }
        self.changed.notify_all();
    }

    fn wake(&self, shared: &mut Shared) {
        shared.version += 1;
        self.changed.notify_all();
    }
}

impl Shared {
    fn number(&mut self) {
        self.last_question += 1;
        self.sight.question = self.last_question;
    }

    fn has_something(&self) -> bool {
        self.line.is_some() || !self.notices.is_empty()
    }

    fn change(&self) -> SightChange {
        SightChange { version: self.version, sight: self.sight.clone() }
    }
}
