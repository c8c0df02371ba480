use super::circuit::{circuit, so_far};
use super::desk::{Desk, Turn};
use super::limits::told;
use super::texts::{HEADING, NOT_KNOWN, figure, heading, or_open, short, shown_figure};
use crate::draft::{Draft, DraftCircuit, Earlier, Feature};
use crate::procedure::MOST_CIRCUITS;
use crate::session::{Enter, Plain};

/// The most characters of a unit's name.
const UNIT: usize = 36;

/// What becomes of a circuit of an earlier procedure.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Fate {
    Keep,
    Change,
    LeaveOut,
}

/// Asks for everything; what comes of it hangs on nothing but the answers and the earlier procedure.
pub(super) fn dialogue(desk: &mut Desk, earlier: Option<&Earlier>) -> Result<Draft, Turn> {
    let mut draft = head(desk, earlier)?;
    if let Some(earlier) = earlier {
        offered(desk, earlier, &mut draft)?;
    }
    let mut n = 0;
    while draft.circuits.len() < MOST_CIRCUITS {
        n += 1;
        desk.at(format!("circuit {n}"), format!("Circuit {n}"));
        // A circuit in the middle that is not wanted any more leaves those behind it.
        let follows = desk.is_answered(&format!("circuit {}", n + 1), "name");
        let (words, enter) = match draft.circuits.is_empty() && !follows {
            true => (
                "Name of the first circuit",
                Enter::Refused("A procedure has at least one circuit; type what it is called."),
            ),
            false if follows => ("Name of this circuit, \"none\" leaves it out", Enter::Takes("none")),
            false => ("Name of the next circuit, \"none\" after the last", Enter::Takes("none")),
        };
        let Some(name) = name(desk, &draft, words, enter)? else {
            if follows {
                continue;
            }
            break;
        };
        desk.at(format!("circuit {n}"), format!("Circuit {n}: {name}"));
        let last = draft.circuits.last().and_then(|circuit| circuit.section.clone());
        let begun =
            DraftCircuit { section: draft.part.clone().or(last), ..DraftCircuit::new(name, Feature::Other) };
        let answered = circuit(desk, begun)?;
        draft.circuits.push(answered);
    }
    Ok(draft)
}

/// Asks for what is said of the procedure as a whole.
fn head(desk: &mut Desk, earlier: Option<&Earlier>) -> Result<Draft, Turn> {
    let from = earlier.map(|earlier| earlier.draft.clone()).unwrap_or_default();
    let question = Plain {
        words: "Unit, as in Merle M2",
        enter: match from.unit.as_str() {
            "" => Enter::Refused("A procedure is for one unit; type its name."),
            unit => Enter::Takes(unit),
        },
        help: "What the transmission or part is called. It stands in the title and in every record.",
    };
    let unit = desk.ask("unit", question, |text| short(text, UNIT))?.unwrap_or(from.unit);
    let room = HEADING.saturating_sub(2 + unit.chars().count());
    let part = from.part.filter(|part| short(part, room).is_ok());
    let question = Plain {
        words: "The part of it that is tested",
        enter: Enter::Takes(part.as_deref().unwrap_or(ALL_OF_IT)),
        help: "As in: lower body. It stands in the title behind the unit. Type \"all of it\" for none.",
    };
    let part = desk.ask("part", question, or_open(ALL_OF_IT, |text| short(text, room)))?.unwrap_or(part);
    let question = Plain {
        words: "What a replacement for it costs, in your money",
        enter: Enter::Takes(&shown_figure(from.replacement)),
        help: "A plain number. With it the outcome says what a repair saves.",
    };
    let replacement =
        desk.ask("replacement", question, or_open(NOT_KNOWN, figure))?.unwrap_or(from.replacement);
    let cautions = earlier.map(|earlier| earlier.cautions_for(&unit)).unwrap_or_default();
    let (origin, symptoms, oil) = (from.origin, from.symptoms, from.oil);
    Ok(Draft { unit, part, origin, symptoms, oil, replacement, cautions, circuits: Vec::new() })
}

const ALL_OF_IT: &str = "all of it";

/// Offers the circuits of an earlier procedure, one by one.
fn offered(desk: &mut Desk, earlier: &Earlier, draft: &mut Draft) -> Result<(), Turn> {
    let circuits = earlier.circuits_for(&draft.unit);
    for (known, renamed) in earlier.draft.circuits.iter().zip(circuits) {
        let port = renamed.port.as_ref().map(|port| format!(", port {port}")).unwrap_or_default();
        desk.at(
            format!("earlier circuit {}", known.name),
            format!("{}{port}: holds {}", renamed.name, told(&renamed.limits)),
        );
        let question = Plain {
            words: "Keep it, change it or leave it out",
            enter: Enter::Takes("keep"),
            help: "Keep takes the circuit as it stands there, with its steps. Change asks for each thing about it. Leave \
                   leaves it out.",
        };
        match desk.ask("fate", question, fate)?.unwrap_or(Fate::Keep) {
            Fate::Keep => {
                desk.begun(&renamed.name);
                desk.done(so_far(&renamed));
                draft.circuits.push(renamed);
            }
            Fate::Change => {
                let name = name(desk, draft, "Name of the circuit", Enter::Takes(&renamed.name))?;
                let changed = DraftCircuit { name: name.unwrap_or(renamed.name.clone()), ..renamed };
                let changed = circuit(desk, changed)?;
                draft.circuits.push(changed);
            }
            Fate::LeaveOut => {}
        }
    }
    Ok(())
}

/// Asks for a name that no other circuit has.
fn name(desk: &mut Desk, draft: &Draft, words: &str, enter: Enter<'_>) -> Result<Option<String>, Turn> {
    let question =
        Plain { words, enter, help: "What the circuit is called, as in clutch feed; each name stands once." };
    desk.ask("name", question, |text| {
        let name = heading(text)?;
        if name.eq_ignore_ascii_case("none") {
            return Err("that is no name; type what the circuit is called".to_owned());
        }
        if draft.circuits.iter().any(|known| known.name.to_lowercase() == name.to_lowercase()) {
            return Err("a circuit of that name is there already; each name stands once".to_owned());
        }
        Ok(name)
    })
}

fn fate(text: &str) -> Result<Fate, String> {
    match text.to_lowercase().as_str() {
        "k" | "keep" => Ok(Fate::Keep),
        "c" | "change" => Ok(Fate::Change),
        "l" | "leave" | "leave out" | "leave it out" => Ok(Fate::LeaveOut),
        _ => Err("type keep, change or leave".to_owned()),
    }
}
