use std::path::PathBuf;

use clap::Args;
use clap::builder::NonEmptyStringValueParser;

use super::arguments::{ShopFolder, find};
use super::guide::earlier;
use super::status::{Failure, Outcome};
use super::walking::{begin, input, walk};
use crate::console::Screen;
use crate::quantity::UNITS;
use crate::record::{Amendment, EarlierRecord, Mode, What};
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
        let shop = shop.open()?;
        let record = earlier(&shop, &self.session)?;
        if record.mode != Mode::Bench {
            return Err(Failure::wrong("a rehearsal is not amended; rehearse again"));
        }
        let given: Vec<_> = record.answers_in_order().collect();
        let mut screen = Screen::stdout();
        for (number, event) in given.iter().enumerate() {
            if let What::Answered { question, answer } = &event.what {
                screen.item(
                    &format!("{:>5}  ", number + 1),
                    &format!(
                        "{}: {}",
                        question.words.trim_end_matches(['.', '?', ':']),
                        screens::answer_text(answer)
                    ),
                );
            }
        }
        let mut input = input(self.answers.as_deref())?;
        let wrong = choose(&mut screen, &mut *input, given.len())?;

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
        begun.opening.confidence = record.confidence;
        begun.opening.prices = record.account.prices.clone();
        let opened = What::Opened { opening: Box::new(begun.opening.clone()) };
        begun.journal.append(super::walking::now(), opened).map_err(Failure::wrong)?;
        for (index, event) in given.iter().enumerate() {
            if !wrong.contains(&index) {
                begun.journal.append(event.at, event.what.clone()).map_err(Failure::wrong)?;
            }
        }
        walk(shop, begun, Box::new(Person::new(Screen::stdout(), input, &UNITS[0])))
    }
}

/// Asks which answers are wrong; returns their places from 0.
fn choose(screen: &mut Screen, input: &mut dyn Input, n: usize) -> Result<Vec<usize>, Failure> {
    const PROMPT: &str = "       which are wrong (numbers): ";
    loop {
        let text = match input.line(PROMPT, false) {
            Typed::Line { text, is_shown } => {
                if !is_shown {
                    screen.line(&format!("{PROMPT}{text}"));
                }
                text
            }
            Typed::Left | Typed::Ended => return Err(Failure::paused("nothing was amended")),
            Typed::Failed(why) => return Err(Failure::wrong(why)),
        };
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
