//! Repairs that were really done: noted by flags, or one by one as they were decided on.

use clap::Args;

use super::job::{job_name, known, note, said};
use super::job_screen::show_one;
use super::sessions::{now, shop_prices};
use super::status::{Failure, Outcome, Status};
use crate::console::Screen;
use crate::history::{CircuitStanding, JobStanding};
use crate::procedure::nearest;
use crate::quantity::parse_number;
use crate::record::{DoneRepair, JobNote, MOST_OF_A_FIGURE, Shop, Stage, note_of_job};
use crate::session::{Enter, Plain, Prompt, Said, Stopped};

#[derive(Debug, Args)]
pub(super) struct Repaired {
    /// The job
    #[arg(value_name = "JOB", value_parser = job_name)]
    name: String,
    /// What was done; asked for where it is not given
    #[arg(long, value_name = "TEXT", value_parser = said, requires = "by")]
    did: Option<String>,
    /// Who did it
    #[arg(long, value_name = "NAME", value_parser = said, requires = "did")]
    by: Option<String>,
    /// The circuit; the unit as a whole where none is given
    #[arg(long, value_name = "NAME", requires = "did")]
    circuit: Option<String>,
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
        if let Some(circuit) = &self.circuit {
            is_known(&standing, circuit)?;
        }
        let repair =
            DoneRepair { circuit: self.circuit, did, by, part: self.part, cost: self.cost, currency };
        note(shop, &self.name, JobNote::Repaired { repair })
    }
}

fn is_known(standing: &JobStanding, circuit: &str) -> Result<(), Failure> {
    let known: Vec<&str> = standing.circuits.iter().map(|known| known.name.as_str()).collect();
    if known.is_empty() || known.contains(&circuit) {
        return Ok(());
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
        let done = asked_of(&mut prompt, circuit, by.take(), currency.as_ref()).map_err(stopped)?;
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
    by: Option<String>,
    currency: Option<&String>,
) -> Result<Option<DoneRepair>, Stopped> {
    let verdict = circuit.verdict.map(|verdict| format!(": {verdict}")).unwrap_or_default();
    prompt.screen.line(&format!("{}{verdict}", circuit.name));
    let decided = circuit.decided.as_deref();
    let help = "Type what was really done, as it is to stand in the report. Type no where nothing was done.";
    let enter = decided.map_or(Enter::Refused("Type what was done, or no."), Enter::Takes);
    let done = prompt.ask_plainly(&Plain { words: "  what was done (or no)", enter, help }, &WORDS, said)?;
    let did = match done {
        Said::Answer(no) if no.eq_ignore_ascii_case("no") => return Ok(None),
        Said::Answer(did) => did,
        Said::Enter | Said::Word(_) => decided.unwrap_or_default().to_owned(),
    };
    let who = by.unwrap_or_else(|| circuit.technician.clone());
    let words = Plain { words: "  by whom", enter: Enter::Takes(&who), help: "The name of who did it." };
    let by = match prompt.ask_plainly(&words, &WORDS, said)? {
        Said::Answer(by) => by,
        Said::Enter | Said::Word(_) => who,
    };
    let help = "What was fitted, with its number where it has one.";
    let words = Plain { words: "  with which part", enter: Enter::Takes("none"), help };
    let part = match prompt.ask_plainly(&words, &WORDS, said)? {
        Said::Answer(part) => Some(part),
        Said::Enter | Said::Word(_) => None,
    };
    let money = currency.map(|currency| format!(", {currency}")).unwrap_or_default();
    let help = "What the customer pays for it, parts and work together. Without it the report gives no sum.";
    let asked = format!("  what it cost{money}");
    let words = Plain { words: &asked, enter: Enter::Takes("not noted"), help };
    let cost = match prompt.ask_plainly(&words, &WORDS, cost)? {
        Said::Answer(cost) => Some(cost),
        Said::Enter | Said::Word(_) => None,
    };
    let (circuit, currency) = (Some(circuit.name.clone()), currency.cloned());
    Ok(Some(DoneRepair { circuit, did, by, part, cost, currency }))
}

/// What else may be typed.
const WORDS: [(&str, &str); 1] = [("park", "or Ctrl-C: stop here; what was answered to the end is noted")];

/// Reads what something costs.
fn cost(text: &str) -> Result<f64, String> {
    let figure = parse_number(text).map_err(|error| error.to_string())?;
    match (0.0..=MOST_OF_A_FIGURE).contains(&figure) {
        true => Ok(figure),
        false => Err("that is no price; write it like 120 or 118.50".to_owned()),
    }
}
