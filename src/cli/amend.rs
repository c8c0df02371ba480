use std::path::PathBuf;

use clap::Args;
use clap::builder::NonEmptyStringValueParser;

use super::arguments::{ShopFolder, find};
use super::guide::earlier;
use super::indexed::amended_by;
use super::status::{Failure, Outcome};
use super::walking::{begin, input, walk};
use crate::console::Screen;
use crate::quantity::UNITS;
use crate::record::{Amendment, EarlierRecord, Event, Mode, Record, What, read};
use crate::session::{Input, Person, Typed, screens};

/// Correct answers of a finished session: the old record stays as it is, and a new one names it.
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
        for (number, event) in given.iter().enumerate() {
            if let What::Answered { question, answer } = &event.what {
                screen.item(
                    &format!("{:>5}  ", number + 1),
                    &format!(
                        "{}{}: {}",
                        question.circuit.as_ref().map(|circuit| format!("{circuit}, ")).unwrap_or_default(),
                        question.words.trim_end_matches(['.', '?', ':']),
                        screens::answer_text(answer)
                    ),
                );
            }
        }
        let mut input = input(self.answers.as_deref())?;
        let wrong = loop {
            let wrong = choose(&mut screen, &mut *input, given.len())?;
            for index in &wrong {
                screen.item(
                    &format!("{:>5}  ", index + 1),
                    &format!("asked again; it was {}", was(given[*index])),
                );
            }
            if is_right(&mut screen, &mut *input)? {
                break wrong;
            }
        };

        let mut begun = begin(
            &shop,
            find(&shop, &record.procedure)?,
            None,
            Mode::Bench,
            record.plan.clone(),
            record.job.clone(),
        )?;
        begun.opening.amends = Some(Amendment {
            earlier: EarlierRecord {
                session: record.session.clone(),
                digest: record.digest.clone().unwrap_or_default(),
            },
            reason: self.reason,
            by: self.by,
        });
        begun.opening.rig = record.rig;
        begun.opening.rig_is_assumed = record.rig_is_assumed;
        begun.opening.confidence = record.confidence;
        begun.opening.prices = record.account.prices.clone();
        let opened = What::Opened { opening: Box::new(begun.opening.clone()) };
        begun.journal.append(super::walking::now(), opened).map_err(Failure::wrong)?;
        for (index, event) in given.iter().enumerate() {
            if !wrong.contains(&index) {
                begun.journal.append(event.at, event.what.clone()).map_err(Failure::wrong)?;
            }
        }
        let amending = shop.records().join(format!("{}.json", begun.opening.session));
        let status = walk(shop, begun, Box::new(Person::new(Screen::stdout(), input, &UNITS[0])))?;
        if let Ok(amended) = read(&amending) {
            dropped(&mut screen, &record, &amended);
        }
        Ok(status)
    }
}

/// Says which decisions the amended record has no more: where a circuit holds now, nothing is decided about it.
fn dropped(screen: &mut Screen, before: &Record, now: &Record) {
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

/// Says what was answered.
fn was(event: &Event) -> String {
    match &event.what {
        What::Answered { answer, .. } => screens::answer_text(answer),
        _ => String::new(),
    }
}

/// Asks which answers are wrong; returns their places from 0.
fn choose(screen: &mut Screen, input: &mut dyn Input, n: usize) -> Result<Vec<usize>, Failure> {
    loop {
        let text = typed(screen, input, "       which are wrong (numbers): ")?;
        let numbers: Option<Vec<usize>> = text
            .split([' ', ','])
            .filter(|word| !word.is_empty())
            .map(|word| {
                word.parse().ok().filter(|number| (1..=n).contains(number)).map(|number: usize| number - 1)
            })
            .collect();
        match numbers {
            Some(numbers) if !numbers.is_empty() => return Ok(numbers),
            _ => screen
                .paragraph(screens::INDENT, &format!("Type one or more numbers from 1 to {n}, as in 4 7.")),
        }
    }
}

/// Asks whether these are the answers that were meant.
fn is_right(screen: &mut Screen, input: &mut dyn Input) -> Result<bool, Failure> {
    loop {
        match typed(screen, input, "       are these the wrong ones (yes/no): ")?
            .trim()
            .to_lowercase()
            .as_str()
        {
            "yes" | "y" => return Ok(true),
            "no" | "n" => return Ok(false),
            _ => screen.paragraph(screens::INDENT, "Type yes or no."),
        }
    }
}

/// Returns a line that was typed behind a prompt.
fn typed(screen: &mut Screen, input: &mut dyn Input, prompt: &str) -> Result<String, Failure> {
    match input.line(prompt, false) {
        Typed::Line { text, is_shown } => {
            if !is_shown {
                screen.line(&format!("{prompt}{text}"));
            }
            match text.trim().eq_ignore_ascii_case("park") {
                true => Err(Failure::paused("nothing was amended")),
                false => Ok(text),
            }
        }
        Typed::Left | Typed::Ended => Err(Failure::paused("nothing was amended")),
        Typed::Failed(why) => Err(Failure::wrong(why)),
    }
}
