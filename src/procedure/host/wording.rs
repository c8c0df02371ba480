use super::{Fault, Halt, MOST_CIRCUITS, Title};
use crate::console::hidden;
use crate::record::{Circuit, HoseOn, PortMap, Told, Wants};
use crate::rig::Condition;

/// The most characters in a text that somebody reads at the bench, and the most lines.
const LONGEST_TEXT: usize = 1_500;
const MOST_LINES: usize = 24;
/// The most characters in a name, a title or a choice.
const LONGEST_LINE: usize = 200;
/// The most choices of a question, symptoms of a circuit and ways to repair it.
const LONGEST_LIST: usize = 40;

/// What is done before a reading that condemns is taken again.
pub(super) const RESEAT: &str =
    "Before it counts: lift the plate or tip, wipe both faces, seat it again and check the hose.";

/// Says why a rig that is off is looked at once more.
pub(super) fn look_again(is_plugged_good: bool) -> &'static str {
    if is_plugged_good {
        "Plugged it stands, so see first that the orifice is the rig's own, and clean. Look at both once more: what \
         was read since is taken back only if they are off again."
    } else {
        "Look at both once more: what was read since is taken back only if they are off again."
    }
}

/// Returns the words that ask for one point of the rig before a circuit, or before the end where none is named.
pub(super) fn check_words(before: Option<&str>, condition: Condition) -> String {
    let how = if condition == Condition::Plugged { RECHECK } else { ": " };
    format!("{BEFORE}{}{how}{}", before.unwrap_or(THE_END), condition.instruction())
}

const BEFORE: &str = "Before ";
const THE_END: &str = "the end";
const RECHECK: &str = ", recheck the calibration. Turn no valve. ";

/// Returns whether these are the words that ask for the plugged point there; they need not be made to see that.
pub(crate) fn asks_for_check(words: &str, before: Option<&str>) -> bool {
    let behind = words.strip_prefix(BEFORE).and_then(|words| words.strip_prefix(before.unwrap_or(THE_END)));
    behind.and_then(|words| words.strip_prefix(RECHECK)) == Some(Condition::Plugged.instruction())
}

/// Returns the words that ask for a reading, behind what is to be done for it; a circuit's set-up says
/// that much by itself.
pub(super) fn reading_words(to_do: Option<&str>, label: Option<&str>, has_set_up: bool) -> String {
    match (to_do, label) {
        (Some(to_do), Some(label)) => format!("{to_do} Reading, {label}"),
        (Some(to_do), None) => to_do.to_owned(),
        (None, Some(label)) => format!("Reading, {label}"),
        (None, None) if has_set_up => String::new(),
        (None, None) => "Reading".to_owned(),
    }
}

/// Refuses a script that asks or tells more than one session may hold.
pub(super) fn at_most(most: usize, n: usize, what: &str) -> Result<(), Halt> {
    match n > most {
        true => Err(Fault::of(format!("more than {most} {what} in one session")).into()),
        false => Ok(()),
    }
}

/// Checks what a procedure declares itself to be.
pub(crate) fn check_title(title: &Title) -> Result<(), Fault> {
    check_line("the title", &title.title)?;
    check_line("the unit", title.unit.as_deref().unwrap_or_default())?;
    check_list("the list of symptoms", &title.symptoms, |symptom| check_line("a symptom", symptom))?;
    title.map.as_ref().map_or(Ok(()), |map| check_map(map).map(|_| ()))
}

/// Checks what a script tells; returns how many characters it is.
pub(crate) fn check_told(told: &Told) -> Result<usize, Fault> {
    match told {
        Told::Section { title } => check_line("the title of a section", title),
        Told::Said { text } => check_text("a text", text),
        Told::Found { text, .. } => check_text("a finding", text),
        Told::Described { circuit } => check_circuit(circuit),
        Told::NotFitted { why, .. } => check_text("why a circuit is not fitted", why),
        Told::Passed { .. } | Told::Began { .. } | Told::Ended { .. } => Ok(0),
    }
}

/// Checks what a script asks; returns how many characters it is.
pub(crate) fn check_question(words: &str, wants: &Wants) -> Result<usize, Fault> {
    let words = check_text("a question", words)?;
    let more = match wants {
        Wants::Choice { options } => {
            check_list("the list of choices", options, |option| check_line("a choice", option))?
        }
        Wants::Reading { on: HoseOn::Circuit { label: Some(label), own, .. }, .. } => {
            check_line("the label of a reading", label)?
                + check_line("the port of a reading", own.port.as_deref().unwrap_or_default())?
        }
        _ => 0,
    };
    Ok(words + more)
}

fn check_circuit(circuit: &Circuit) -> Result<usize, Fault> {
    let text = |text: &Option<String>, what: &str| check_text(what, text.as_deref().unwrap_or_default());
    Ok(check_line("the name of a circuit", &circuit.name)?
        + check_line("the port of a circuit", circuit.port.as_deref().unwrap_or_default())?
        + text(&circuit.set_up, "the set-up of a circuit")?
        + text(&circuit.means, "what a leak means")?
        + check_list("the list of symptoms", &circuit.symptoms, |symptom| check_line("a symptom", symptom))?
        + check_list("the list of repairs", &circuit.repairs, |repair| check_line("a repair", &repair.does))?
        + circuit.map.as_ref().map_or(Ok(0), check_map)?)
}

/// Checks the names on a picture.
fn check_map(map: &PortMap) -> Result<usize, Fault> {
    if map.ports.len() > MOST_CIRCUITS {
        return Err(Fault::of(format!("more than {MOST_CIRCUITS} ports on one picture")));
    }
    map.ports.keys().chain([&map.picture]).map(|name| check_line("the name of a port", name)).sum()
}

fn check_list<T>(what: &str, list: &[T], check: impl Fn(&T) -> Result<usize, Fault>) -> Result<usize, Fault> {
    if list.len() > LONGEST_LIST {
        return Err(Fault::of(format!("{what} has {} entries", list.len()))
            .help(format!("nobody reads more than {LONGEST_LIST}")));
    }
    list.iter().map(check).sum()
}

/// Checks a text of one or more lines.
fn check_text(what: &str, text: &str) -> Result<usize, Fault> {
    let n_feeds = text.bytes().filter(|byte| *byte == b'\n').count();
    let n_lines = if n_feeds == 0 { 1 } else { text.lines().count() };
    if n_lines > MOST_LINES {
        return Err(Fault::of(format!("{what} has {n_lines} lines"))
            .help(format!("nobody reads more than {MOST_LINES} at once")));
    }
    check(what, text, LONGEST_TEXT)
}

/// Checks a name, a title or a choice, which is one line.
fn check_line(what: &str, text: &str) -> Result<usize, Fault> {
    if text.contains('\n') {
        return Err(Fault::of(format!("{what} is one line")).help("take the line feed out"));
    }
    check(what, text, LONGEST_LINE)
}

fn check(what: &str, text: &str, longest: usize) -> Result<usize, Fault> {
    if let Some(character) = hidden(text) {
        return Err(Fault::of(format!(
            "{what} holds the hidden character U+{:04X}, which could garble the screen or a report",
            u32::from(character)
        )));
    }
    match text.chars().count() {
        n if n > longest => Err(Fault::of(format!("{what} has {n} characters"))
            .help(format!("nobody reads more than {longest} at once"))),
        n => Ok(n),
    }
}
