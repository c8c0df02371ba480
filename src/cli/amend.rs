use std::path::PathBuf;

use clap::Args;
use clap::builder::NonEmptyStringValueParser;

use super::arguments::{ShopFolder, of_record};
use super::guide::earlier;
use super::indexed::amended_by;
use super::sessions::{Begun, begin, now, walk};
use super::status::{Failure, Outcome};
use crate::console::Screen;
use crate::quantity::UNITS;
use crate::record::{Amendment, CircuitRecord, EarlierRecord, Event, Mode, Record, Shop, What, read};
use crate::session::{Enter, Person, Plain, Prompt, Said, Stopped, screens, yes_no};
use crate::tell;

#[derive(Debug, Args)]
pub(super) struct Amend {
    /// The session whose record is amended
    session: String,
    /// Why it is amended
    #[arg(long, value_parser = NonEmptyStringValueParser::new())]
    reason: String,
    /// Who amends it
    #[arg(long, value_parser = NonEmptyStringValueParser::new())]
    by: String,
    /// Take the numbers and answers from a file first, one a line; # begins a comment
    #[arg(long, value_name = "FILE")]
    answers: Option<PathBuf>,
}

impl Amend {
    pub(super) fn run(self, shop: &ShopFolder) -> Outcome {
        let shop = shop.open_to_read()?;
        let record = earlier(&shop, &self.session)?;
        if record.mode != Mode::Bench {
            return Err(Failure::wrong("a rehearsal is not amended; rehearse again"));
        }
        if let Some(standing) = amended_by(&shop, &record.session) {
            return Err(Failure::wrong(format!(
                "{} was amended by {standing}, which counts in its place; amend that one",
                record.session
            )));
        }
        let given: Vec<_> = record.answers_in_order().collect();
        let mut screen = Screen::stdout();
        show(&mut screen, &given);
        let mut prompt = Prompt::open(self.answers.as_deref()).map_err(Failure::wrong)?;
        let wrong =
            chosen(&mut prompt, &given).map_err(|why| Failure::stopped(why, "nothing was amended"))?;
        let mut begun = self.begun(&shop, &record)?;
        // Who read what stays as it was: those who took over come before the answers that they gave. So
        // do notes and photos.
        let beside = record.journal.iter().filter(|event| {
            matches!(event.what, What::TakenOver { .. } | What::Jotted { .. } | What::Photographed { .. })
        });
        let right = given.iter().enumerate().filter(|(index, _)| !wrong.contains(index));
        let mut kept: Vec<&Event> = right.map(|(_, event)| *event).chain(beside).collect();
        kept.sort_by_key(|event| event.n);
        for event in kept {
            begun.journal.append(event.at, event.what.clone()).map_err(Failure::wrong)?;
        }
        screen.paragraph(
            screens::INDENT,
            "Where a step needs the unit and it is gone, type: cannot unit is gone. What was read until then stays, and what \
             it does not decide is to be tested again.",
        );
        let amending = shop.record(&begun.opening.session);
        let status = walk(shop, begun, Box::new(Person::new(prompt, &UNITS[0]).at_bench()))?;
        if let Ok(amended) = read(&amending) {
            dropped(&mut screen, &record, &amended);
        }
        Ok(status)
    }

    /// Begins the session that makes the new record, with all that the earlier one was begun with.
    fn begun(self, shop: &Shop, record: &Record) -> Result<Begun, Failure> {
        let (plan, job) = (record.plan.clone(), record.job.clone());
        let mut begun = begin(shop, of_record(record)?, None, Mode::Bench, plan, job)?;
        let earlier = EarlierRecord {
            session: record.session.clone(),
            digest: record.digest.clone().unwrap_or_default(),
        };
        begun.opening.amends = Some(Amendment { earlier, reason: self.reason, by: self.by });
        begun.opening.bench = record.opening().and_then(|opening| opening.bench.clone());
        begun.opening.rig = record.rig;
        begun.opening.rig_is_assumed = record.rig_is_assumed;
        begun.opening.minutes_ahead = record.opening().map_or(0, |opening| opening.minutes_ahead);
        begun.opening.confidence = record.confidence;
        begun.opening.prices = record.account.prices.clone();
        let opened = What::Opened { opening: Box::new(begun.opening.clone()) };
        begun.journal.append(now(), opened).map_err(Failure::wrong)?;
        Ok(begun)
    }
}

/// Shows the answers of a record, each with its number.
fn show(screen: &mut Screen, given: &[&Event]) {
    for (number, event) in given.iter().enumerate() {
        if let What::Answered { question, answer } = &event.what {
            let of = question.circuit.as_ref().map(|circuit| format!("{circuit}, ")).unwrap_or_default();
            let told = format!("{of}{}", tell::answered(question, answer));
            screen.item(&format!("{:>5}  ", number + 1), &told);
        }
    }
}

/// Says what the amended record has no more: what circuits were found to be, what was concluded, and decisions, since
/// where nothing is found nothing is decided.
fn dropped(screen: &mut Screen, before: &Record, now: &Record) {
    for circuit in &before.circuits {
        let is_same = |other: &&CircuitRecord| other.circuit.name == circuit.circuit.name;
        let verdict = now.circuits.iter().find(is_same).and_then(|circuit| circuit.verdict);
        if circuit.verdict != verdict {
            let (was, is) = (tell::verdict_word(circuit.verdict), tell::verdict_word(verdict));
            let told = format!("{} was \"{was}\" and is \"{is}\" in the new record.", circuit.circuit.name);
            screen.paragraph(screens::INDENT, &told);
        }
    }
    for finding in before.findings.iter().filter(|finding| !now.findings.contains(finding)) {
        let told = format!("Not found any more: {}", tell::finding(finding));
        screen.paragraph(screens::INDENT, &told);
    }
    let is_there = |circuit: &str| now.decisions.iter().any(|decision| decision.circuit == circuit);
    for decision in before.decisions.iter().filter(|decision| !is_there(&decision.circuit)) {
        let told = format!(
            "No decision about {} is in the new record, as nothing has to be decided about it there. It was: {}. If that was \
             done all the same, say so in a note (jot) of the test after the repair; its cost is no longer counted.",
            decision.circuit, decision.decided
        );
        screen.paragraph(screens::INDENT, &told);
    }
}

/// Asks which answers are wrong, until somebody says that these are the ones; returns their places from 0.
fn chosen(prompt: &mut Prompt, given: &[&Event]) -> Result<Vec<usize>, Stopped> {
    let n = given.len();
    let how = format!("Type one or more numbers from 1 to {n}, as in 4 7.");
    loop {
        let question = Plain {
            words: "       which are wrong (numbers)",
            enter: Enter::Refused(&how),
            help: "The numbers of the answers above that are wrong; only these are asked again.",
        };
        let said = prompt.ask_plainly(&question, &WORDS, |text| {
            let place = |word: &str| word.parse().ok().filter(|place| (1..=n).contains(place)).ok_or(());
            let words = text.split([' ', ',']).filter(|word| !word.is_empty());
            let places: Result<Vec<usize>, ()> = words.map(place).collect();
            places.ok().filter(|places| !places.is_empty()).ok_or_else(|| how.clone())
        })?;
        let Said::Answer(places) = said else { continue };
        let wrong: Vec<usize> = places.iter().map(|place| place - 1).collect();
        for index in &wrong {
            if let What::Answered { answer, .. } = &given[*index].what {
                let told = format!("asked again; it was {}", tell::answer_text(answer));
                prompt.screen.item(&format!("{:>5}  ", index + 1), &told);
            }
        }
        let question = Plain {
            words: "       are these the wrong ones (yes/no)",
            enter: Enter::Refused("Type yes or no."),
            help: "Yes begins the new record with the other answers; no lets you choose again.",
        };
        if let Said::Answer(true) = prompt.ask_plainly(&question, &WORDS, yes_no)? {
            return Ok(wrong);
        }
    }
}

/// What else may be typed.
const WORDS: [(&str, &str); 1] = [("park", "or Ctrl-C: amend nothing")];
