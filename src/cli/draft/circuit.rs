use super::desk::{Desk, Turn};
use super::limits::{limits, told};
use super::texts::{NOT_KNOWN, figure, heading, hours_of, list, long, or_open, repairs, shown_figure};
use crate::cli::quantities::bore;
use crate::draft::{Body, DraftCircuit, Feature, Step, names_bare, with_port};
use crate::leak::Land;
use crate::quantity::{Entry, Length, Unit};
use crate::session::{Enter, Plain};

/// Asks for the kind of a circuit and all that hangs on it; what stands is offered.
pub(super) fn circuit(desk: &mut Desk, mut circuit: DraftCircuit) -> Result<DraftCircuit, Turn> {
    let usual =
        |circuit: &DraftCircuit| circuit.feature().map(|feature| feature.set_up(circuit.port.as_deref()));
    let usual_before = usual(&circuit);
    desk.begun(&circuit.name);
    kind(desk, &mut circuit)?;
    let port_before = circuit.port.clone();
    port(desk, &mut circuit)?;
    if circuit.set_up.is_none() || circuit.set_up == usual_before {
        circuit.set_up = usual(&circuit).or(circuit.set_up);
    }
    if let (Some(old), Some(new)) = (&port_before, circuit.port.clone()) {
        moved(desk, &mut circuit, old, &new);
    }
    set_up(desk, &mut circuit)?;
    circuit.limits = limits(desk, &circuit.limits)?;
    land(desk, &mut circuit)?;
    complaints(desk, &mut circuit)?;
    mended(desk, &mut circuit)?;
    desk.done(so_far(&circuit));
    Ok(circuit)
}

/// Says what was answered about a circuit, in a line.
pub(super) fn so_far(circuit: &DraftCircuit) -> String {
    let count = |n: usize, one: &str| match n {
        0 => None,
        1 => Some(format!("1 {one}")),
        n => Some(format!("{n} {one}s")),
    };
    let parts = [
        circuit.port.as_ref().map(|port| format!("port {port}")),
        Some(format!("holds {}", told(&circuit.limits))),
        count(circuit.symptoms.len(), "complaint"),
        count(circuit.repairs.len(), "repair"),
    ];
    parts.into_iter().flatten().collect::<Vec<_>>().join("; ")
}

/// Asks what is at the port, or whether the steps of an earlier procedure stay.
fn kind(desk: &mut Desk, circuit: &mut DraftCircuit) -> Result<(), Turn> {
    let n = Feature::ALL.len();
    let numbered: Vec<String> =
        Feature::ALL.iter().enumerate().map(|(n, feature)| format!("{} {}", n + 1, feature.told())).collect();
    for (index, feature) in Feature::ALL.iter().enumerate() {
        desk.item(format!("  {} ", index + 1), feature.told());
    }
    let feature = circuit.feature();
    let last = if feature.is_some() { n } else { n + 1 };
    if feature.is_none() {
        desk.item(format!("  {last} "), "tested by the steps that it has there");
    }
    let now = feature
        .and_then(|feature| Feature::ALL.iter().position(|known| *known == feature))
        .map_or(last, |at| at + 1);
    let question = Plain {
        words: "What is at its port",
        enter: Enter::Takes(&now.to_string()),
        help: &format!(
            "The number of what fits best: {}. It decides which steps the test has; you can change them in the file.",
            numbered.join("; ")
        ),
    };
    let picked = desk.ask("kind", question, |text| {
        let number = text.parse().ok().filter(|number| (1..=last).contains(number));
        number.ok_or_else(|| format!("type a number from 1 to {last}"))
    })?;
    let Some(picked) = picked.and_then(|picked: usize| Feature::ALL.get(picked - 1).copied()) else {
        return Ok(());
    };
    if circuit.means.is_none() || circuit.means.as_deref() == feature.map(Feature::means) {
        circuit.means = Some(picked.means().to_owned());
    }
    circuit.body = Body::Of(picked);
    Ok(())
}

fn port(desk: &mut Desk, circuit: &mut DraftCircuit) -> Result<(), Turn> {
    let question = Plain {
        words: "Port that the hose goes to",
        enter: Enter::Takes(&circuit.port.clone().unwrap_or(NOT_KNOWN.to_owned())),
        help: "What the port is called in the shop or in the service manual, as in 3A.",
    };
    let read = |text: &str| {
        // "port D" is port D.
        let is_said = text.get(..5).is_some_and(|start| start.eq_ignore_ascii_case("port "));
        heading(if is_said { &text[5..] } else { text })
    };
    if let Some(port) = desk.ask("port", question, or_open(NOT_KNOWN, read))? {
        circuit.port = port;
    }
    Ok(())
}

/// Has the texts of a circuit that goes to another port say so.
fn moved(desk: &mut Desk, circuit: &mut DraftCircuit, old: &str, new: &str) {
    if old == new {
        return;
    }
    let before = circuit.clone();
    circuit.set_up = circuit.set_up.as_deref().map(|text| with_port(text, old, new));
    circuit.means = circuit.means.as_deref().map(|text| with_port(text, old, new));
    let mut told: Vec<String> = circuit.set_up.iter().chain(&circuit.means).cloned().collect();
    circuit.body = match &circuit.body {
        Body::Of(feature) => Body::Of(*feature),
        Body::AsWritten(lines) => {
            told.push(lines.clone());
            Body::AsWritten(with_port(lines, old, new))
        }
        Body::Taken(steps) => {
            let new_words = |words: &str| with_port(words, old, new);
            let steps: Vec<Step> = steps.iter().map(|step| step.with_words(&new_words)).collect();
            told.extend(steps.iter().filter_map(Step::words).map(str::to_owned));
            Body::Taken(steps)
        }
    };
    if *circuit != before {
        desk.tell(format!("Its texts say port {new} now, where they said port {old}."));
    }
    if told.iter().any(|text| names_bare(&with_port(text, old, new), old)) {
        desk.tell(format!("They also name {old} by itself; look in the file whether that is the port."));
    }
}

fn set_up(desk: &mut Desk, circuit: &mut DraftCircuit) -> Result<(), Turn> {
    if let Some(set_up) = &circuit.set_up {
        desk.tell(format!("Before the reading: {set_up}"));
    }
    let question = Plain {
        words: "What to do before the reading",
        enter: Enter::Takes(if circuit.set_up.is_some() { "as it stands" } else { "nothing" }),
        help: "What has to be fitted, oiled, plugged or held before the hose is put on. What you type stands in place of the \
               text above.",
    };
    if let Some(set_up) = desk.ask("set up", question, long)? {
        circuit.set_up = Some(set_up);
    }
    Ok(())
}

/// Asks for the land that seals the circuit.
fn land(desk: &mut Desk, circuit: &mut DraftCircuit) -> Result<(), Turn> {
    let known = circuit.land;
    let stands = |length: Option<Length>, unit: &Unit| {
        length.map_or(NOT_KNOWN.to_owned(), |length| length.in_unit(unit))
    };
    let question = Plain {
        words: "Bore of the land that seals it, in inches or as in 12.7 mm",
        enter: Enter::Takes(&stands(known.map(|land| land.diameter()), circuit.land_unit)),
        help: "The diameter of the bore where the valve seals. With the length of the land a leak is also shown as a clearance. \
               Type \"not known\" to leave it out.",
    };
    let diameter = desk.ask(
        "bore",
        question,
        or_open(NOT_KNOWN, |text| {
            let (diameter, unit) = bore(text)?;
            // Whether it can be a land's does not hang on the length.
            let likely = Length::constant(0.01);
            Land::new(diameter, likely, 0.0).map_err(|error| error.to_string()).map(|_| (diameter, unit))
        }),
    )?;
    let (diameter, unit) = match (diameter, known) {
        (Some(Some(typed)), _) => typed,
        (None, Some(land)) => (land.diameter(), circuit.land_unit),
        (Some(None), _) | (None, None) => {
            circuit.land = None;
            return Ok(());
        }
    };
    let words = match unit.symbol {
        "in" => "Length of that land, in inches".to_owned(),
        symbol => format!("Length of that land, in {symbol}"),
    };
    let stands = stands(known.map(|land| land.length()), unit);
    let question = Plain {
        words: &words,
        enter: match known {
            Some(_) => Enter::Takes(&stands),
            None => Enter::Refused(
                "the bore is of no use without it: type the length, or \"not known\" to leave the land out",
            ),
        },
        help: "How long the land is along the bore. A bare number is in the unit of the bore. Type \"not known\" to leave bore \
               and length out.",
    };
    let off_centre = known.map_or(0.0, |land| land.eccentricity());
    let typed = desk.ask(
        "length",
        question,
        or_open(NOT_KNOWN, |text| {
            let entry = Entry::parse(text, unit).map_err(|error| error.to_string())?;
            let length = entry.quantity().and_then(|quantity| Length::try_from(quantity).ok());
            let length = length.ok_or_else(|| format!("\"{text}\" is no length"))?;
            Land::new(diameter, length, off_centre).map_err(|error| error.to_string())
        }),
    )?;
    circuit.land = match typed {
        Some(land) => land,
        None => known.and_then(|land| Land::new(diameter, land.length(), off_centre).ok()),
    };
    circuit.land_unit = unit;
    Ok(())
}

fn complaints(desk: &mut Desk, circuit: &mut DraftCircuit) -> Result<(), Turn> {
    let question = Plain {
        words: "Complaints that a leak causes, commas between",
        enter: Enter::Takes(&joined(circuit.symptoms.iter())),
        help: "As customers tell them, as in: late upshift, flare 2-3. A session can then start from a complaint and test only \
               what can cause it. Type \"none\" for none.",
    };
    if let Some(symptoms) = desk.ask("complaints", question, list)? {
        circuit.symptoms = symptoms;
    }
    Ok(())
}

/// Asks what repairs the circuit, and what that costs.
fn mended(desk: &mut Desk, circuit: &mut DraftCircuit) -> Result<(), Turn> {
    let known = circuit.repairs.clone();
    let question = Plain {
        words: "What repairs it, commas between",
        enter: Enter::Takes(&joined(known.iter().map(|repair| &repair.does))),
        help: "What is offered to the technician where the circuit does not hold, as in: ream and fit an oversize valve. One \
               with a comma in it goes in double quotes. What each costs is asked next. Type \"none\" for none.",
    };
    if let Some(repaired) = desk.ask("repairs", question, |text| repairs(text, &known))? {
        circuit.repairs = repaired;
    }
    for repair in &mut circuit.repairs {
        let parts = Plain {
            words: &format!("Parts for \"{}\", in your money", repair.does),
            enter: Enter::Takes(&shown_figure(repair.parts)),
            help: "What the parts cost, a plain number. With it the outcome says what the repair costs, and what it saves.",
        };
        if let Some(figure) =
            desk.ask(&format!("parts of {}", repair.does), parts, or_open(NOT_KNOWN, figure))?
        {
            repair.parts = figure;
        }
        let hours = Plain {
            words: "Hours of work for it",
            enter: Enter::Takes(&shown_figure(repair.hours)),
            help: "Hours, as in 0.6, 1/2 or 50 min. What an hour costs stands in prices.json of the shop.",
        };
        if let Some(figure) =
            desk.ask(&format!("hours of {}", repair.does), hours, or_open(NOT_KNOWN, hours_of))?
        {
            repair.hours = figure;
        }
    }
    Ok(())
}

fn joined<'a>(texts: impl Iterator<Item = &'a String>) -> String {
    let quoted = |text: &String| match text.contains([',', ';']) {
        true => format!("\"{text}\""),
        false => text.clone(),
    };
    let joined = texts.map(quoted).collect::<Vec<_>>().join(", ");
    if joined.is_empty() { "none".to_owned() } else { joined }
}
