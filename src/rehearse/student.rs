use crate::console::Screen;
use crate::page::{DialSight, Sight, ValveSight, ValvesSight};
use crate::practice::{Act, DOINGS, Doing, HoseEnd, Workbench, dial, stands};
use crate::procedure::{Aside, Desk, Place, Shown};
use crate::quantity::{UNITS, shown};
use crate::record::{Answer, Question, RigParts, Told, Wants, What};
use crate::rig::Valve;
use crate::session::{Person, Reply, list_words, screens::INDENT};

/// Said where a question is about the unit itself.
const INSPECT: &str = "Type inspect to look, feel and measure there.";
const ROOM: &str = "Type room to look at barometer and thermometer on the wall.";

/// A student at the bench of an exercise, who does everything by hand at the one prompt: beside answering they may turn
/// the valves, move the hose and look at the needle. What their readings mean is not told.
pub(crate) struct Student {
    person: Person,
    bench: Workbench,
    /// The question that stands on the screen, and whether its dial does.
    posed: Option<Question>,
    admission: Admission,
}

/// Says which attempt it is of a student who gives this name, where that is counted; fails where they may make no more.
type Admission = Box<dyn Fn(&str) -> Result<Option<String>, String>>;

impl Student {
    /// Puts a student in front of a bench as the attempt has left it.
    pub(crate) fn new(person: Person, bench: Workbench) -> Student {
        let admission = Box::new(|_: &str| Ok(None));
        Student { person: person.blind(true), bench, posed: None, admission }
    }

    /// Has each name looked at that a student gives.
    pub(crate) fn admitted(
        self,
        admission: impl Fn(&str) -> Result<Option<String>, String> + 'static,
    ) -> Student {
        Student { admission: Box::new(admission), ..self }
    }

    /// Says what there is to say of a student's name; returns whether they may begin.
    fn admits(&mut self, name: &str) -> bool {
        let admitted = (self.admission)(name);
        let is_admitted = admitted.is_ok();
        if let Some(told) = admitted.unwrap_or_else(Some) {
            self.person.screen().paragraph(INDENT, &told);
        }
        is_admitted
    }

    fn pose(&mut self, question: &Question, place: &Place) {
        if self.posed.as_ref() == Some(question) {
            return;
        }
        self.person.pose(question, place);
        self.person.show_on_page(|sight| show_bench(sight, &self.bench));
        self.posed = Some(question.clone());
        match question.wants {
            Wants::Reading { .. } => look(self.person.screen(), &self.bench),
            Wants::Yes | Wants::Number { .. } => self.person.hint(INSPECT),
            Wants::Barometer | Wants::AirTemperature => self.person.hint(ROOM),
            _ => {}
        }
    }
}

impl Desk for Student {
    fn tell(&mut self, told: &Told) {
        self.person.tell(told);
    }

    fn ask(&mut self, question: &Question, place: &Place) -> Result<Answer, Aside> {
        self.bench.stand_at(question);
        loop {
            self.pose(question, place);
            let bench = &mut self.bench;
            let answer = self
                .person
                .answer_beside(question, place, |screen, line| beside(screen, bench, question, line));
            self.person.show_on_page(|sight| show_bench(sight, &self.bench));
            if !matches!(answer, Err(Aside::Did(_))) {
                self.posed = None;
            }
            match (&question.wants, &answer) {
                (Wants::Technician, Ok(Answer::Text(name))) if !self.admits(name) => {}
                _ => return answer,
            }
        }
    }

    fn show(&mut self, shown: &Shown<'_>) {
        self.person.show(shown);
    }
}

/// Makes something of a line that is no answer to a question.
fn beside(
    screen: &mut Screen,
    bench: &mut Workbench,
    question: &Question,
    line: &str,
) -> Option<Reply<Result<Answer, Aside>>> {
    match line.trim().to_lowercase().as_str() {
        "help" | "?" => {
            list_words(screen, INDENT, "At the bench you may:", DOINGS);
            return None;
        }
        "more" => {
            screen.paragraph(
                INDENT,
                "What your readings mean is not told before you have committed to your verdicts.",
            );
            return Some(Reply::Told);
        }
        _ => {}
    }
    let act = match Act::read(line)? {
        Ok(act) => act,
        Err(how) => return Some(Reply::Refused(how)),
    };
    let doing = match act {
        Act::Look => {
            look(screen, bench);
            return Some(Reply::Told);
        }
        Act::Room => {
            room(screen, bench);
            return Some(Reply::Told);
        }
        Act::Doing(doing) => doing,
    };
    if let Some(why) = impossible(doing, bench, question) {
        return Some(Reply::Refused(why.to_owned()));
    }
    if doing == Doing::Inspect {
        screen.paragraph(INDENT, &bench.inspected(question));
    }
    let on = question.hose_on().cloned();
    let text = doing.to_string();
    let before = bench.clone();
    bench.take(&What::Did { circuit: question.circuit.clone(), on, doing: text.clone() });
    match doing {
        Doing::Inspect => {}
        Doing::Wipe => screen.paragraph(INDENT, "Both faces are wiped; seat the plate now."),
        Doing::Turn(valve, _) if bench.turns(valve) == before.turns(valve) => {
            screen.paragraph(INDENT, "The valve is at its end: it turns no further that way.");
        }
        Doing::Swap => screen.paragraph(INDENT, "The other orifice is at hand now."),
        _ => look(screen, bench),
    }
    Some(Reply::Done(Err(Aside::Did(text))))
}

fn impossible(doing: Doing, bench: &Workbench, question: &Question) -> Option<&'static str> {
    let is_on_port = matches!(bench.hose(), HoseEnd::Port(_));
    match doing {
        Doing::Seat | Doing::Wipe if question.circuit.is_none() => Some(
            "There is no port to seat on yet: the procedure names it. For the rig's own points type plug or orifice.",
        ),
        Doing::Block | Doing::Unblock if !is_on_port => Some("The hose is on no port: seat the plate first."),
        _ => None,
    }
}

/// Draws the dial, and says whether the needle still moves.
fn look(screen: &mut Screen, bench: &Workbench) {
    let needle = bench.needle();
    for line in dial(&RigParts::USUAL.dial, needle, screen.width().saturating_sub(INDENT)) {
        screen.line(&format!("{:INDENT$}{line}", ""));
    }
    if !bench.is_still() {
        screen.paragraph(INDENT, "The needle still creeps.");
    }
}

/// Shows on the page where the needle is and how the valves are.
fn show_bench(sight: &mut Sight, bench: &Workbench) {
    let unit = &UNITS[0];
    let dial = RigParts::USUAL.dial;
    let shown = sight.dial.get_or_insert_with(|| DialSight {
        unit: unit.symbol.to_owned(),
        full_scale: unit.from_si(dial.span().si()),
        division: unit.from_si(dial.smallest_division().si()),
        ..DialSight::default()
    });
    // To a tenth, as at the terminal: what is between is for the eye to read.
    shown.needle = Some((unit.from_si(bench.needle().si()) * 10.0).round() / 10.0);
    shown.is_moving = !bench.is_still();
    let valve = |valve, name: &str| {
        let turns = bench.turns(valve);
        ValveSight { name: name.to_owned(), turns, stands: stands(turns) }
    };
    let is_turned = |words: &str| ["inlet", "bleed"].iter().any(|valve| words.starts_with(valve));
    let others = DOINGS.iter().filter(|(words, _)| !is_turned(words) && *words != "look");
    sight.valves = Some(ValvesSight {
        valves: vec![valve(Valve::Inlet, "inlet"), valve(Valve::Bleed, "bleed")],
        doings: others.map(|(words, does)| ((*words).to_owned(), (*does).to_owned())).collect(),
    });
}

fn room(screen: &mut Screen, bench: &Workbench) {
    let settings = bench.settings();
    let inch = &UNITS[0];
    let barometer = shown(inch.from_si(settings.barometer.si()), 2);
    let celsius = shown(settings.temperature.si() - 273.15, 0);
    screen.paragraph(
        INDENT,
        &format!("The barometer on the wall shows {barometer} inHg, the thermometer {celsius} C."),
    );
}
