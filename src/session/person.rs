use std::collections::BTreeMap;

use super::doubt::{AS_PLUGGED, Doubts, Grounds, HoseSince, plugged, reads_as_plugged};
use super::needle::{Needle, Offer};
use super::photo_file::Camera;
use super::saying::{ALSO, list_words};
use super::{Prompt, Reply, SAYINGS, Saying, Stopped, read_saying, screens};
use crate::console::Screen;
use crate::page::{CircuitSight, ProgressSight, Sight};
use crate::procedure::{Aside, Desk, Place, Shown};
use crate::quantity::{Length, Pressure, Unit};
use crate::record::{Answer, HoseOn, Prices, Question, Spot, TakesOutcome, Told, Wants};
use crate::rig::{Calibration, Dial};
use crate::tell;

/// A person at the prompt, or lines in their place.
pub(crate) struct Person {
    prompt: Prompt,
    vacuum_unit: &'static Unit,
    circuit_shown: Option<CircuitSight>,
    needle: Option<Needle>,
    /// The dial that is looked at, where a page draws it.
    dial: Option<Dial>,
    /// The circuits in the order in which they come.
    circuits: Vec<String>,
    doubts: Doubts,
    /// What the hose showed plugged, where the reading before was of that.
    plugged: Option<Pressure>,
    hose: HoseSince,
    /// The last circuit that was found to read as the plugged hose does.
    tight: Option<String>,
    /// Whether that is to be said behind the verdict that comes.
    says_tight: bool,
    /// The last readings that were judged, by their circuits, and the circuit of the very last.
    judged: BTreeMap<String, LastJudged>,
    judged_last: String,
    /// How high the shop lies, where that is known.
    elevation: Option<Length>,
    /// What things cost.
    prices: Prices,
    /// What the runner's first questions were answered with earlier the same day, by their kinds, in order.
    earlier: Vec<(&'static str, String)>,
    /// Whether that is taken for all of them.
    is_as_earlier: bool,
    /// Whether nothing is said of what a reading means.
    is_blind: bool,
    /// Whether there is something real to photograph.
    is_at_bench: bool,
}

/// What `more` tells of.
struct LastJudged {
    spot: Spot,
    calibration: Calibration,
    outcome: TakesOutcome,
}

impl Person {
    pub(crate) fn new(prompt: Prompt, vacuum_unit: &'static Unit) -> Person {
        Person {
            prompt,
            vacuum_unit,
            circuit_shown: None,
            needle: None,
            dial: None,
            circuits: Vec::new(),
            doubts: Doubts::default(),
            plugged: None,
            hose: HoseSince::default(),
            tight: None,
            says_tight: false,
            judged: BTreeMap::new(),
            judged_last: String::new(),
            elevation: None,
            prices: Prices::default(),
            earlier: Vec::new(),
            is_as_earlier: false,
            is_blind: false,
            is_at_bench: false,
        }
    }

    #[must_use]
    pub(crate) fn with_needle(mut self, needle: Needle) -> Person {
        self.needle = Some(needle);
        self
    }

    /// Takes the dial that is looked at, which a page draws.
    #[must_use]
    pub(crate) fn looking_at(self, dial: Dial) -> Person {
        Person { dial: Some(dial), ..self }
    }

    /// Takes the circuits in the order in which they come, of which a page names the next.
    #[must_use]
    pub(crate) fn through(self, circuits: Vec<String>) -> Person {
        Person { circuits, ..self }
    }

    /// Takes the shop's elevation, with which a barometer has to go.
    #[must_use]
    pub(crate) fn at_elevation(self, elevation: Option<Length>) -> Person {
        Person { elevation, ..self }
    }

    /// Takes what things cost, which is shown before anything is decided.
    #[must_use]
    pub(crate) fn with_prices(self, prices: Prices) -> Person {
        Person { prices, ..self }
    }

    /// Takes what the runner's first questions were answered with earlier the same day, by their kinds, in order: Enter
    /// alone takes that for the question at hand and those behind it.
    #[must_use]
    pub(crate) fn offered(self, earlier: Vec<(&'static str, String)>) -> Person {
        Person { earlier, ..self }
    }

    /// Says nothing of what readings mean, nor what the procedure concludes of them, before the end.
    #[must_use]
    pub(crate) fn blind(self, is_blind: bool) -> Person {
        Person { is_blind, ..self }
    }

    /// Takes photos, which only a session of something real can use.
    #[must_use]
    pub(crate) fn at_bench(self) -> Person {
        self.show_on_page(|sight| sight.takes_photos = true);
        Person { is_at_bench: true, ..self }
    }

    /// Returns what a question and those behind it were answered with earlier the same day.
    fn earlier(&self, question: &Question) -> &[(&'static str, String)] {
        let at = self.earlier.iter().position(|(kind, _)| *kind == question.wants.kind());
        at.map_or(&[], |at| &self.earlier[at..])
    }

    /// Shows a question, and the circuit that it is about where that is new.
    pub(crate) fn pose(&mut self, question: &Question, place: &Place) {
        if place.circuit.as_ref().map(|circuit| &circuit.name)
            != self.circuit_shown.as_ref().map(|it| &it.name)
        {
            let circuit = place.circuit.as_ref();
            self.circuit_shown =
                circuit.map(|circuit| screens::circuit_sight(circuit, place, self.vacuum_unit));
            if let Some(circuit) = &self.circuit_shown {
                screens::circuit(&mut self.prompt.screen, circuit, place);
            }
        }
        let earlier: Vec<&str> = self.earlier(question).iter().map(|(_, line)| line.as_str()).collect();
        let enter = screens::enter_takes(question, self.elevation, &earlier);
        let ask = screens::ask(question, place, &self.prices, enter);
        self.prompt.screen.unheard(|screen| screens::question(screen, &ask));
        let pictures = self.prompt.page().map(|page| screens::picture_sights(page, question, place));
        self.prompt.pose(ask, |sight| {
            sight.pictures = pictures.unwrap_or_default();
            sight.circuit.clone_from(&self.circuit_shown);
            sight.progress = ProgressSight {
                section: screens::section(question, place),
                tested: place.n_tested,
                of: place.n_circuits,
                next: self.next(place),
            };
            let dial = self.dial.as_ref();
            sight.dial = dial.and_then(|dial| screens::dial_sight(question, place, dial, self.is_blind));
        });
    }

    /// Returns which circuit comes next, as far as that is known.
    fn next(&self, place: &Place) -> Option<String> {
        let at = |here: &CircuitSight| self.circuits.iter().position(|name| *name == here.name);
        let next = match &self.circuit_shown {
            Some(here) => at(here)? + 1,
            None => place.n_tested,
        };
        self.circuits.get(next).cloned()
    }

    /// Changes what the page shows beside the question.
    pub(crate) fn show_on_page(&self, change: impl FnOnce(&mut Sight)) {
        if let Some(page) = self.prompt.page() {
            page.show(change);
        }
    }

    /// Shows an answer that nobody typed here, at its prompt.
    pub(crate) fn echo(&mut self, question: &Question, line: &str) {
        self.prompt.screen.line(&format!("{}{line}", screens::prompt(question)));
    }

    /// Asks a question that has been posed, at which `beside` may make something of a line that is no answer; an
    /// `offer` of a gauge is taken with Enter.
    fn answer_or(
        &mut self,
        question: &Question,
        place: &Place,
        offer: Option<Offer>,
        mut beside: impl FnMut(&mut Screen, &str) -> Option<Reply<Result<Answer, Aside>>>,
    ) -> Result<Answer, Aside> {
        let asked_of = place.decided.as_ref().map_or(&self.judged_last, |circuit| &circuit.name);
        let camera = self.is_at_bench.then(|| Camera { page: self.prompt.page().cloned() });
        let told = (self.judged.get_key_value(asked_of), self.vacuum_unit, camera.as_ref());
        let earlier = self.earlier(question).first().map(|(_, line)| line.clone());
        let matters = matters(question) || earlier.is_some();
        let of_shop = self.elevation.filter(|_| question.wants == Wants::Barometer).map(tell::elevation);
        let enter = earlier.clone().or(of_shop);
        let is_as_earlier = &mut self.is_as_earlier;
        let grounds = Grounds {
            bench: place.bench.as_ref(),
            hose: self.hose,
            elevation: self.elevation,
            plugged: self.plugged,
            barometer: place.barometer,
        };
        let page = self.prompt.page().cloned().filter(|_| matches!(question.wants, Wants::Reading { .. }));
        let heed = |screen: &mut Screen, line: &str| {
            let replied = match &offer {
                // What the gauge showed before somebody was told to look at the hose is not what it shows now.
                Some(offer) if line.is_empty() && self.doubts.unkept.is_none() => take_offer(question, offer),
                _ => {
                    if let Some(done) = beside(screen, line) {
                        return done;
                    }
                    *is_as_earlier = line.is_empty() && earlier.is_some();
                    let line = enter.as_deref().filter(|_| line.is_empty()).unwrap_or(line);
                    match reply(screen, question, line, place, told) {
                        Reply::Done(Ok(Answer::Unable(why))) => {
                            Reply::Done(Ok(Answer::Unable(self.doubts.with_unkept(question, why))))
                        }
                        replied => replied,
                    }
                }
            };
            let Reply::Done(Ok(answer)) = &replied else { return replied };
            let Some(asked_back) = self.doubts.of(question, answer, grounds) else { return replied };
            if let (Some(page), Some(_)) = (&page, &offer) {
                page.amend(|ask| ask.enter = None);
            }
            asked_back
        };
        let answer = Needle::seen_while(self.needle.as_mut(), page.as_deref(), question.unit(), || {
            self.prompt.ask(&screens::prompt(question), matters, heed)
        });
        let answer = answer.unwrap_or_else(|stopped| Err(stopped.into()));
        self.heed(question, &answer, place);
        answer
    }

    /// Takes note of what came of a question.
    fn heed(&mut self, question: &Question, answer: &Result<Answer, Aside>, place: &Place) {
        match answer {
            // A note is beside the question, which stays.
            Err(Aside::Jot(_) | Aside::Photo { .. } | Aside::TakenOver(_) | Aside::Did(_)) => return,
            Ok(answer) => {
                self.plugged = plugged(question, answer);
                self.heed_hose(question, answer, place);
                if let (Wants::Technician, Answer::Text(name)) = (&question.wants, answer) {
                    self.show_on_page(|sight| sight.heading.technician = Some(name.clone()));
                }
            }
            // Whoever goes back is doubted anew.
            Err(Aside::Back(_) | Aside::Again(_)) => self.doubts.begin_anew(),
            Err(Aside::Park | Aside::Lost(_)) => {
                if let Some(gave) = &self.doubts.unkept {
                    let told = format!(
                        "{gave}, which was asked for once more, is not kept: the question will come again."
                    );
                    self.hint(&told);
                }
            }
        }
        self.doubts.unkept = None;
    }

    /// Takes note of whether the hose has left plug and orifice. Of circuits that read as the plugged hose does, the first
    /// since a look at the rig is asked about; of the others it is said behind their verdicts, lest a tight unit be
    /// asked about at each of its ports.
    fn heed_hose(&mut self, question: &Question, answer: &Answer, place: &Place) {
        let Wants::Reading { on, .. } = &question.wants else { return };
        self.hose.heed(on, answer);
        if !matches!(on, HoseOn::Circuit { .. }) {
            self.tight = None;
        } else if reads_as_plugged(question, answer, place.bench.as_ref()) && self.tight != question.circuit {
            self.says_tight = self.hose.is_off_plug;
            self.hose.is_off_plug = true;
            self.tight.clone_from(&question.circuit);
        }
    }

    /// Asks a question that has been posed of somebody who may do things beside answering.
    pub(crate) fn answer_beside(
        &mut self,
        question: &Question,
        place: &Place,
        beside: impl FnMut(&mut Screen, &str) -> Option<Reply<Result<Answer, Aside>>>,
    ) -> Result<Answer, Aside> {
        self.answer_or(question, place, None, beside)
    }

    pub(crate) fn screen(&mut self) -> &mut Screen {
        &mut self.prompt.screen
    }

    pub(crate) fn hint(&mut self, text: &str) {
        self.prompt.screen.paragraph(screens::INDENT, text);
    }
}

impl Desk for Person {
    fn tell(&mut self, told: &Told) {
        if self.is_blind && matches!(told, Told::Found { .. }) {
            return;
        }
        screens::told(&mut self.prompt.screen, told);
    }

    fn ask(&mut self, question: &Question, place: &Place) -> Result<Answer, Aside> {
        let earlier = self.earlier(question).first().filter(|_| self.is_as_earlier);
        if let Some(answer) = earlier.and_then(|(_, line)| question.read(line).ok()) {
            self.show(&Shown::Kept { question, answer: &answer });
            return Ok(answer);
        }
        self.pose(question, place);
        if let Wants::Wait { seconds } = question.wants
            && self.prompt.wait(seconds, screens::seconds_left)?
        {
            return Ok(Answer::Confirmed);
        }
        let offer = match (&question.wants, question.unit(), &mut self.needle) {
            (Wants::Reading { .. }, Some(unit), Some(needle)) => needle.offer(&mut self.prompt, unit),
            _ => None,
        };
        if let Some(offer) = &offer {
            let told =
                format!("The gauge has settled at {}; Enter takes it, or type another value.", offer.text);
            self.hint(&told);
            if let Some(page) = self.prompt.page() {
                page.amend(|ask| ask.enter = Some(offer.text.clone()));
            }
        }
        self.answer_or(question, place, offer, |_, _| None)
    }

    fn forget(&mut self) {
        self.judged.clear();
        self.judged_last.clear();
    }

    fn recall(&mut self, shown: &Shown<'_>) {
        if self.is_blind {
            return;
        }
        if let Shown::Judged { circuit, spot, calibration, outcome, .. } = shown {
            let (spot, calibration, outcome) = ((*spot).clone(), **calibration, (*outcome).clone());
            self.judged_last = (*circuit).to_owned();
            self.judged.insert(self.judged_last.clone(), LastJudged { spot, calibration, outcome });
        }
    }

    fn show(&mut self, shown: &Shown<'_>) {
        if self.is_blind && matches!(shown, Shown::Judged { .. } | Shown::Concluded { .. }) {
            return;
        }
        if let Shown::TakenOver(name) = shown {
            self.show_on_page(|sight| sight.heading.technician = Some((*name).to_owned()));
        }
        self.recall(shown);
        screens::shown(&mut self.prompt.screen, shown, self.vacuum_unit);
        if matches!(shown, Shown::Judged { .. }) && std::mem::take(&mut self.says_tight) {
            self.hint(AS_PLUGGED);
        }
    }
}

impl From<Stopped> for Aside {
    fn from(stopped: Stopped) -> Aside {
        match stopped {
            Stopped::Left => Aside::Park,
            stopped => Aside::Lost(stopped.to_string()),
        }
    }
}

/// Reads what a gauge has offered, with the samples behind it.
fn take_offer(question: &Question, offer: &Offer) -> Reply<Result<Answer, Aside>> {
    if let Some(why) = offer.withdrawn() {
        return Reply::Refused(why);
    }
    read(question.read(&offer.text).map(|answer| match answer {
        Answer::Quantity { entry, .. } => Answer::Quantity { entry, samples: offer.samples.clone() },
        answer => answer,
    }))
}

/// Why a circuit that was read is not taken for one that the unit does not have.
const READ_ALREADY: &str =
    "A reading of this circuit stands. Take it back first, with back, or leave the circuit: cannot, and why.";

/// Why a photo is not taken where nothing is tested.
const NO_PHOTO: &str = "Photos belong to a session at the bench (guide): here there is no unit to photograph. An answer that \
                        begins with this word goes in double quotes.";

/// Returns what comes of a line that was typed at a question of a session.
fn reply(
    screen: &mut Screen,
    question: &Question,
    line: &str,
    place: &Place,
    (judged, vacuum_unit, camera): (Option<(&String, &LastJudged)>, &Unit, Option<&Camera>),
) -> Reply<Result<Answer, Aside>> {
    match read_saying(line) {
        Saying::Answer(text) => return read(question.read_typed(&text)),
        Saying::AgainOf(_) => return read(question.read_typed(line)),
        Saying::Cannot(reason) => {
            let answer = Answer::Unable(reason);
            return read(question.accepts(&answer).map(|()| answer));
        }
        Saying::NotFitted(why) => {
            let answer = Answer::NotFitted(why);
            return match question.accepts(&answer) {
                // What was read is there.
                Ok(()) if place.last.is_some() => Reply::Refused(READ_ALREADY.to_owned()),
                accepted => read(accepted.map(|()| answer)),
            };
        }
        Saying::Aside(Aside::TakenOver(name)) if question.wants == Wants::Technician => {
            return read(question.read_typed(&name));
        }
        Saying::Aside(aside) => return Reply::Done(Err(aside)),
        Saying::Photo(given) => {
            let taken = camera.map_or_else(|| Err(NO_PHOTO.to_owned()), |camera| camera.photo(&given));
            return taken.map_or_else(Reply::Refused, |aside| Reply::Done(Err(aside)));
        }
        Saying::Help => {
            screen.paragraph(screens::INDENT, &screens::wanted(question));
            list_words(screen, screens::INDENT, ALSO, SAYINGS);
        }
        Saying::More => match judged {
            Some((circuit, LastJudged { spot, calibration, outcome })) => {
                screen.paragraph(screens::INDENT, &format!("{circuit}:"));
                screens::judged(screen, spot, calibration, outcome, vacuum_unit);
            }
            None => screen.paragraph(screens::INDENT, "Nothing has been read of it yet."),
        },
        Saying::Progress => screen.paragraph(screens::INDENT, &screens::progress(question, place)),
        Saying::Incomplete(how) => screen.paragraph(screens::INDENT, how),
    }
    Reply::Told
}

fn read(answer: Result<Answer, impl ToString>) -> Reply<Result<Answer, Aside>> {
    answer.map_or_else(|refusal| Reply::Refused(refusal.to_string()), |answer| Reply::Done(Ok(answer)))
}

/// Returns whether a stray key must not answer this question.
fn matters(question: &Question) -> bool {
    matches!(question.wants, Wants::Acknowledgement | Wants::Reading { .. } | Wants::Decision { .. })
}
