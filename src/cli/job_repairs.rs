//! Repairs that were really done: noted by flags, or one by one as they were decided on.

use clap::Args;

use super::arguments::quoted;
use super::job::{in_words, job_name, known, note, said};
use super::job_screen::{show_one, told_of};
use super::sessions::{now, shop_prices};
use super::status::{Failure, Outcome, Status};
use crate::console::Screen;
use crate::history::{CircuitStanding, JobStanding};
use crate::procedure::{Aside, nearest};
use crate::quantity::parse_sum;
use crate::record::{DoneRepair, JobNote, MOST_OF_A_FIGURE, Shop, Stage, note_of_job, yes_or_no};
use crate::session::{Enter, Plain, Prompt, Said, Saying, Stopped, yes_no};
use crate::tell;

#[derive(Debug, Args)]
pub(super) struct Repaired {
    /// The job
    #[arg(value_name = "JOB", value_parser = job_name)]
    name: String,
    /// What was done; asked for where it is not given
    #[arg(long, value_name = "TEXT", value_parser = in_words, requires = "by")]
    did: Option<String>,
    /// Who did it
    #[arg(long, value_name = "NAME", value_parser = in_words, requires = "did")]
    by: Option<String>,
    /// The circuit; the unit as a whole where none is given
    #[arg(long, value_name = "NAME", requires = "did")]
    circuit: Option<String>,
    /// The unit, where circuits of several have that name
    #[arg(long, value_name = "TEXT", requires = "circuit")]
    unit: Option<String>,
    /// With which part
    #[arg(long, value_name = "TEXT", value_parser = said, requires = "did")]
    part: Option<String>,
    /// What the customer pays for it, in the money of prices.json
    #[arg(long, value_name = "FIGURE", value_parser = cost, requires = "did")]
    cost: Option<f64>,
}

impl Repaired {
    pub(super) fn run(self, shop: &Shop) -> Outcome {
        let standing = known(shop, &self.name)?;
        let currency = shop_prices(shop)?.currency;
        let (Some(did), Some(by)) = (self.did, self.by) else { return asked(shop, &standing, currency) };
        let unit = match &self.circuit {
            Some(circuit) => unit_of(&standing, circuit, self.unit)?,
            None => None,
        };
        let Repaired { circuit, part, cost, .. } = self;
        let repair = DoneRepair { unit, circuit, finding: None, did, by, part, cost, currency };
        note(shop, &self.name, JobNote::Repaired { repair })
    }
}

/// Returns which unit of a job has a circuit; where nothing is tested yet, the one that is said.
fn unit_of(standing: &JobStanding, circuit: &str, said: Option<String>) -> Result<Option<String>, Failure> {
    let circuits = || standing.circuits.iter().filter(|known| !known.is_finding);
    let known: Vec<&str> = circuits().map(|known| known.name.as_str()).collect();
    if known.is_empty() {
        return Ok(said);
    }
    let named = circuits().filter(|known| known.name == circuit);
    let units: Vec<&str> = named.map(|known| known.unit.as_str()).collect();
    match units.iter().filter(|unit| said.as_ref().is_none_or(|said| said == *unit)).collect::<Vec<_>>()[..] {
        [only] => return Ok(Some((*only).to_owned())),
        [] if units.is_empty() => {}
        _ => {
            return Err(Failure::wrong(format!(
                "say which unit's \"{circuit}\" it was, with --unit: {}",
                units.iter().map(|unit| quoted(unit)).collect::<Vec<_>>().join(" or ")
            )));
        }
    }
    let near = nearest(circuit, known.iter().copied());
    let near = near.map(|near| format!(" Did you mean \"{near}\"?")).unwrap_or_default();
    Err(Failure::wrong(format!(
        "no test of job {} has a circuit \"{circuit}\".{near} It has: {}",
        standing.name,
        known.join(", ")
    )))
}

/// Asks of each circuit that is to be repaired whether that was done.
fn asked(shop: &Shop, standing: &JobStanding, currency: Option<String>) -> Outcome {
    let wanted: Vec<_> =
        standing.at_stage(Stage::ToDecide).chain(standing.at_stage(Stage::ToRepair)).collect();
    if wanted.is_empty() {
        return Err(Failure::wrong(format!(
            "no circuit of job {} is to be repaired; another repair is noted with --did and --by",
            standing.name
        )));
    }
    let mut prompt = Prompt::open(None).map_err(Failure::wrong)?;
    let stopped = |why| Failure::stopped(why, "What was answered to the end is noted, the rest is not.");
    let mut by = None;
    for circuit in wanted {
        prompt.screen.paragraph(0, &told_of(standing, circuit));
        let done = asked_of(&mut prompt, circuit, by.as_deref(), currency.as_ref()).map_err(stopped)?;
        let Some(repair) = done else { continue };
        by = Some(repair.by.clone());
        note_of_job(shop, &standing.name, now(), JobNote::Repaired { repair }).map_err(Failure::wrong)?;
    }
    show_one(&mut Screen::stdout(), shop, &known(shop, &standing.name)?);
    Ok(Status::Done)
}

/// Asks what was done to a circuit; none where nothing was.
fn asked_of(
    prompt: &mut Prompt,
    circuit: &CircuitStanding,
    by: Option<&str>,
    currency: Option<&String>,
) -> Result<Option<DoneRepair>, Stopped> {
    let who = by.unwrap_or(&circuit.technician);
    let money = currency.map(|currency| format!(", {currency}")).unwrap_or_default();
    let cost_words = format!("  what it cost{money}");
    let name = Some(circuit.name.clone());
    let (of, finding) = if circuit.is_finding { (None, name) } else { (name, None) };
    let mut repair = DoneRepair {
        unit: Some(circuit.unit.clone()),
        circuit: of,
        finding,
        did: String::new(),
        by: who.to_owned(),
        part: None,
        cost: None,
        currency: currency.cloned(),
    };
    let mut at = 0_usize;
    loop {
        let went = match at {
            0 => match asked_what_was_done(prompt, circuit.decided.as_deref())? {
                Went::On(None) => return Ok(None),
                Went::On(Some(done)) => {
                    repair.did = done;
                    Went::On(())
                }
                Went::Back(steps) => Went::Back(steps),
            },
            1 => {
                let help = "The name of who did it.";
                let words = Plain { words: "  by whom", enter: Enter::Takes(who), help };
                went(prompt.ask_plainly(&words, &WORDS, in_words)?)
                    .map(|answer| repair.by = answer.unwrap_or_else(|| who.to_owned()))
            }
            2 => {
                let help = "What was fitted, with its number where it has one.";
                let words = Plain { words: "  with which part", enter: Enter::Takes("none"), help };
                went(prompt.ask_plainly(&words, &WORDS, said)?).map(|answer| repair.part = answer)
            }
            _ => {
                let help = "What the customer pays for it, parts and work together. Without it the report gives no sum.";
                let words = Plain { words: &cost_words, enter: Enter::Takes("not noted"), help };
                match went(prompt.ask_plainly(&words, &WORDS, cost)?) {
                    Went::On(Some(cost)) if cost > MOST_UNASKED && !is_meant(prompt, cost, currency)? => {
                        Went::Back(0)
                    }
                    Went::On(cost) => return Ok(Some(DoneRepair { cost, ..repair })),
                    Went::Back(steps) => Went::Back(steps),
                }
            }
        };
        at = match went {
            Went::On(()) => at + 1,
            Went::Back(_) if at == 0 => {
                prompt.screen.paragraph(2, NOTHING_BEFORE);
                0
            }
            Went::Back(steps) => at.saturating_sub(steps),
        };
    }
}

const NOTHING_BEFORE: &str =
    "That is the first question of this circuit; job undo takes back what was noted last.";

/// A repair costs less than this in most money; a figure above it may have a nought too many.
const MOST_UNASKED: f64 = 20_000.0;

/// Asks whether so large a cost is right.
fn is_meant(prompt: &mut Prompt, cost: f64, currency: Option<&String>) -> Result<bool, Stopped> {
    let words = format!("  is {} right", tell::money(cost, currency.map(String::as_str)));
    let help = "Type no to enter what it cost once more.";
    let words = Plain { words: &words, enter: Enter::Refused("Type yes or no."), help };
    Ok(matches!(prompt.ask_plainly(&words, &WORDS, yes_no)?, Said::Answer(true)))
}

/// Asks what was done; none where nothing was. Yes is what was decided.
fn asked_what_was_done(prompt: &mut Prompt, decided: Option<&str>) -> Result<Went<Option<String>>, Stopped> {
    let enter = decided.map_or(Enter::Refused("Say in words what was done, or type no."), Enter::Takes);
    let words = match decided {
        Some(_) => "  was it done: yes, no, or what was done instead",
        None => "  what was done (or no)",
    };
    let help = "Type what was really done, as it is to stand in the report. Type no where nothing was done.";
    let read = |line: &str| match (yes_or_no(line), decided) {
        (Some(false), _) => Ok(None),
        (Some(true), Some(decided)) => Ok(Some(decided.to_owned())),
        _ => in_words(line).map(Some),
    };
    let answer = prompt.ask_plainly(&Plain { words, enter, help }, &WORDS, read)?;
    Ok(went(answer).map(|answer| answer.unwrap_or_else(|| decided.map(str::to_owned))))
}

/// Where an answer leads: on with it, none where Enter alone was typed; or this many questions back.
enum Went<T> {
    On(T),
    Back(usize),
}

impl<T> Went<T> {
    fn map<U>(self, change: impl FnOnce(T) -> U) -> Went<U> {
        match self {
            Went::On(answer) => Went::On(change(answer)),
            Went::Back(steps) => Went::Back(steps),
        }
    }
}

fn went<T>(said: Said<T>) -> Went<Option<T>> {
    match said {
        Said::Answer(answer) => Went::On(Some(answer)),
        Said::Word(Saying::Aside(Aside::Back(steps))) => Went::Back(steps),
        Said::Enter | Said::Word(_) => Went::On(None),
    }
}

/// What else may be typed.
const WORDS: [(&str, &str); 2] = [
    ("back", "the question before, of the same circuit"),
    ("park", "or Ctrl-C: stop here; what was answered to the end is noted"),
];

/// Reads what something costs.
fn cost(text: &str) -> Result<f64, String> {
    let figure = parse_sum(text).map_err(|error| error.to_string())?;
    match (0.0..=MOST_OF_A_FIGURE).contains(&figure) {
        true => Ok(figure),
        false => Err("that is no price; write it like 120 or 118.50".to_owned()),
    }
}
