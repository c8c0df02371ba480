use super::desk::{DraftDesk, Turn};
use super::limits::{between, limits, own_limits, told, window};
use crate::cli::quantities::bore;
use crate::console::looks;
use crate::draft::{
    Draft, DraftCircuit, DraftItem, DraftLimits, Feature, FeatureSteps, HEADING, NOT_KNOWN, Original,
    SecondLand, Tested, heading, hours_of, list, long, price, short,
};
use crate::leak::Land;
use crate::picture::{PHOTO, Picture};
use crate::procedure::MOST_CIRCUITS;
use crate::quantity::{Dimension, Entry, Length, UNITS, Unit};
use crate::record::Repair;
use crate::session::{Enter, Plain, file_named};

const UNIT: usize = 36;
/// The longest name of a port: it stands in labels and findings too.
const PORT: usize = 30;

const ALL_OF_IT: &str = "all of it";

/// Asks for everything; what comes of it hangs on nothing but the answers and the procedure that is copied.
pub(super) fn dialogue(desk: &mut DraftDesk, original: Option<&Original>) -> Result<Draft, Turn> {
    let (mut draft, part) = match original {
        Some(original) => (copied(desk, original)?, None),
        None => head(desk)?,
    };
    let there = original.map_or(&[][..], |original| &original.circuits);
    let mut n = 0;
    let mut section = part;
    while there.len() + draft.items.len() < MOST_CIRCUITS {
        n += 1;
        let shown = if original.is_some() { "New circuit" } else { "Circuit" };
        desk.at(format!("circuit {n}"), format!("{shown} {n}"));
        // A circuit in the middle that is not wanted any more leaves those behind it.
        let follows = desk.is_answered(&format!("circuit {}", n + 1), "name");
        let none = Enter::Takes("none");
        let (words, enter) = match draft.items.is_empty() {
            _ if follows => ("Name of this circuit, \"none\" leaves it out", none),
            true if original.is_some() => ("Name of a circuit to add, \"none\" for no more", none),
            true => (
                "Name of the first circuit",
                Enter::Refused("A procedure has at least one circuit; type what it is called."),
            ),
            false => ("Name of the next circuit, \"none\" after the last", none),
        };
        let taken: Vec<String> = there
            .iter()
            .map(|(name, _)| looks(name))
            .chain(draft.items.iter().map(|known| looks(&known.name)))
            .collect();
        let Some(name) = name(desk, &taken, words, enter)? else {
            if follows {
                continue;
            }
            break;
        };
        desk.at(format!("circuit {n}"), format!("{shown} {n}: {name}"));
        desk.begun(&name);
        section = in_section(desk, section)?;
        let feature = kind(desk)?;
        let tested = match feature.steps {
            FeatureSteps::Coil => Tested::Coil(coil(desk)?),
            _ => Tested::Circuit(Box::new(circuit(desk, feature)?)),
        };
        draft.items.push(DraftItem { section: section.clone(), name, tested });
    }
    let has_ports = draft.items.iter().any(|item| {
        item.tested.circuit().is_some_and(|circuit| circuit.port.is_some() || circuit.second.port.is_some())
    });
    if has_ports && original.is_none() {
        draft.picture = picture(desk)?;
    }
    Ok(draft)
}

/// Asks for a picture on which the ports can be shown.
fn picture(desk: &mut DraftDesk) -> Result<Option<Picture>, Turn> {
    desk.at("picture", "The body with its ports");
    let question = Plain {
        words: "Picture of it, a file",
        enter: Enter::Takes("none"),
        help: "PNG or JPEG: type its path, or drop it here. It is copied beside the procedure; where the ports lie on it is \
               clicked afterwards. Type \"none\" for none.",
    };
    desk.ask_open("file", question, |text| {
        let path = file_named(text)
            .ok_or_else(|| format!("There is no file {text}. Type its path, or drop it here."))?;
        let picture = Picture::read_bytes(&path, PHOTO).and_then(Picture::of_unit);
        picture.map_err(|why| why.of_photo(&path.display().to_string()))
    })
}

/// Asks for what is said of a new procedure as a whole; returns the part that is tested besides.
fn head(desk: &mut DraftDesk) -> Result<(Draft, Option<String>), Turn> {
    let unit = unit(desk, Enter::Refused("A procedure is for one unit; type its name."))?.unwrap_or_default();
    let room = HEADING.saturating_sub(2 + unit.chars().count());
    let question = Plain {
        words: "The part of it that is tested",
        enter: Enter::Takes(ALL_OF_IT),
        help: "As in: lower body. It stands in the title behind the unit. Type \"all of it\" for none.",
    };
    let part = desk.ask_open("part", question, |text| short(text, room))?;
    let question = Plain {
        words: "What a replacement for it costs, in your money",
        enter: Enter::Takes(NOT_KNOWN),
        help: "As in 850 or $850. With it the outcome says what a repair saves.",
    };
    let replacement = desk.ask_open("replacement", question, price)?;
    let title = part.as_ref().map_or(unit.clone(), |part| format!("{unit}, {part}"));
    Ok((Draft { unit: Some(unit), title, replacement, ..Draft::default() }, part))
}

fn copied(desk: &mut DraftDesk, original: &Original) -> Result<Draft, Turn> {
    let known = original.title.unit.clone();
    let unit = match &known {
        Some(known) => Some(unit(desk, Enter::Takes(known))?.unwrap_or_else(|| known.clone())),
        None => None,
    };
    let usual = unit
        .as_ref()
        .map_or(original.title.title.clone(), |unit| original.renamed(&original.title.title, unit));
    let question = Plain {
        words: "Title",
        enter: Enter::Takes(&usual),
        help: "What the procedure is called in lists and in records: the unit, and the part of it that is tested.",
    };
    let title = desk.ask("title", question, heading)?.unwrap_or_else(|| usual.clone());
    Ok(Draft { unit, title, original: Some(original.clone()), ..Draft::default() })
}

fn unit(desk: &mut DraftDesk, enter: Enter<'_>) -> Result<Option<String>, Turn> {
    let question = Plain {
        words: "Unit, as in Merle M2",
        enter,
        help: "What the transmission or part is called. It stands in the title and in every record.",
    };
    desk.ask("unit", question, |text| short(text, UNIT))
}

/// Asks for a name that looks like no other circuit's.
fn name(
    desk: &mut DraftDesk,
    taken: &[String],
    words: &str,
    enter: Enter<'_>,
) -> Result<Option<String>, Turn> {
    let help = "What the circuit is called, as in clutch feed; each name stands once.";
    desk.ask("name", Plain { words, enter, help }, |text| {
        let name = heading(text)?;
        if name.eq_ignore_ascii_case("none") {
            return Err("that is no name; type what the circuit is called".to_owned());
        }
        if taken.contains(&looks(&name)) {
            return Err(
                "a circuit of that name is there already; give it one that nobody takes for it".to_owned()
            );
        }
        Ok(name)
    })
}

fn in_section(desk: &mut DraftDesk, before: Option<String>) -> Result<Option<String>, Turn> {
    let none = "none";
    let question = Plain {
        words: "Section that it stands in",
        enter: Enter::Takes(before.as_deref().unwrap_or(none)),
        help: "A heading on the screen, as in: Clutch feeds. What has the same section is tested one after the other. Type \
               \"none\" for none.",
    };
    let typed = desk.ask("section", question, |text| match text {
        text if text.eq_ignore_ascii_case(none) => Ok(None),
        text => heading(text).map(Some),
    })?;
    Ok(typed.unwrap_or(before))
}

/// Asks for what a good coil measures.
fn coil(desk: &mut DraftDesk) -> Result<Option<(f64, f64)>, Turn> {
    let ohm = Unit::by_word("ohm").unwrap_or(&UNITS[0]);
    let ohms = |text: &str| {
        let entry = Entry::parse(text, ohm).map_err(|error| error.to_string())?;
        let resistance = entry.quantity().filter(|quantity| quantity.dimension() == Dimension::Resistance);
        resistance
            .map(|resistance| resistance.si())
            .filter(|ohms| *ohms > 0.0)
            .ok_or_else(|| format!("\"{text}\" is no resistance of a coil; type ohms, as in 4.6"))
    };
    let words = ["Least that a good one measures, in ohms", "Most that a good one measures, in ohms"];
    let help = "The two figures that the service information gives, at room temperature, as in 4.6 and 5.6. Type \"not known\" \
                where there are none: it is then measured and recorded, and not judged.";
    let ohms = between(desk, words, help, ohms)?;
    desk.done(match ohms {
        Some((least, most)) => format!("{least} to {most} ohms"),
        None => "measured in ohms, not judged".to_owned(),
    });
    Ok(ohms)
}

/// Asks for all that hangs on the kind of a circuit.
fn circuit(desk: &mut DraftDesk, feature: &'static Feature) -> Result<DraftCircuit, Turn> {
    let port = port(desk, "port", "Port that the hose goes to")?;
    let neighbour = match feature.steps.has_neighbour() {
        true => self::port(desk, "neighbour", "Port beside it that air may come across from")?,
        false => None,
    };
    let set_up = set_up(desk, feature.set_up(port.as_deref()))?;
    let is_open = feature.steps == FeatureSteps::Open;
    let limits = if is_open { window(desk)? } else { limits(desk)? };
    let land = if feature.may_have_land() { land(desk)? } else { None };
    let symptoms = complaints(desk, is_open)?;
    let repairs = repairs(desk)?;
    desk.done(so_far(port.as_deref(), &limits, symptoms.len(), repairs.len()));
    let second = match feature.steps.has_second_land() {
        true => second_land(desk, &limits)?,
        false => SecondLand::default(),
    };
    Ok(DraftCircuit { feature, port, neighbour, second, set_up, limits, land, symptoms, repairs })
}

fn second_land(desk: &mut DraftDesk, first: &DraftLimits) -> Result<SecondLand, Turn> {
    desk.within("its second land");
    let port = port(desk, "port", "Port of the second land")?;
    // Where nothing is known of the first land, neither is of the second.
    let limits = match first {
        DraftLimits::Known { .. } => own_limits(desk)?,
        DraftLimits::ToBeFound { .. } => None,
    };
    Ok(SecondLand { port, limits, land: land(desk)? })
}

/// Says what was answered about a circuit, in a line.
fn so_far(port: Option<&str>, limits: &DraftLimits, n_complaints: usize, n_repairs: usize) -> String {
    let count = |n: usize, one: &str| match n {
        0 => None,
        1 => Some(format!("1 {one}")),
        n => Some(format!("{n} {one}s")),
    };
    let parts = [
        port.map(|port| format!("port {port}")),
        Some(told(limits)),
        count(n_complaints, "complaint"),
        count(n_repairs, "repair"),
    ];
    parts.into_iter().flatten().collect::<Vec<_>>().join("; ")
}

fn kind(desk: &mut DraftDesk) -> Result<&'static Feature, Turn> {
    let features = || (1_usize..).zip(Feature::all());
    for (n, feature) in features() {
        desk.item(format!("  {n} "), feature.told.as_str());
    }
    let numbered: Vec<String> = features().map(|(n, feature)| format!("{n} {}", feature.told)).collect();
    let last = Feature::all().len();
    let question = Plain {
        words: "What is at its port",
        enter: Enter::Takes(&last.to_string()),
        help: &format!(
            "The number of what fits best: {}. It decides which steps the test has; you can change them in the file.",
            numbered.join("; ")
        ),
    };
    let picked = desk.ask("kind", question, |text| {
        let picked = features().find(|(n, _)| text.parse() == Ok(*n));
        picked.map(|(_, feature)| feature).ok_or_else(|| format!("type a number from 1 to {last}"))
    })?;
    Ok(picked.unwrap_or(&Feature::all()[last - 1]))
}

fn port(desk: &mut DraftDesk, id: &str, words: &str) -> Result<Option<String>, Turn> {
    let question = Plain {
        words,
        enter: Enter::Takes(NOT_KNOWN),
        help: "What the port is called in the shop or in the service manual, as in 3A.",
    };
    let read = |text: &str| {
        // "port D" is port D.
        let is_said = text.get(..5).is_some_and(|start| start.eq_ignore_ascii_case("port "));
        short(if is_said { &text[5..] } else { text }, PORT)
    };
    desk.ask_open(id, question, read)
}

fn set_up(desk: &mut DraftDesk, usual: String) -> Result<String, Turn> {
    desk.tell(format!("Before the reading: {usual}"));
    let question = Plain {
        words: "What to do before the reading",
        enter: Enter::Takes("as it stands"),
        help: "What has to be fitted, oiled, plugged or held before the hose is put on. What you type stands in place of the \
               text above.",
    };
    Ok(desk.ask("set up", question, long)?.unwrap_or(usual))
}

fn land(desk: &mut DraftDesk) -> Result<Option<(Land, &'static Unit)>, Turn> {
    let question = Plain {
        words: "Bore of the land that seals it, in inches or as in 12.7 mm",
        enter: Enter::Takes(NOT_KNOWN),
        help: "The diameter of the bore where the valve seals. With the length of the land a leak is also shown as a clearance. \
               Type \"not known\" to leave it out.",
    };
    let bore = desk.ask_open("bore", question, |text| {
        let (diameter, unit) = bore(text)?;
        // Whether it can be a land's does not hang on the length.
        let likely = Length::constant(0.01);
        Land::new(diameter, likely, 0.0).map_err(|error| error.to_string()).map(|_| (diameter, unit))
    })?;
    let Some((diameter, unit)) = bore else { return Ok(None) };
    let words = match unit.symbol {
        "in" => "Length of that land, in inches".to_owned(),
        symbol => format!("Length of that land, in {symbol}"),
    };
    let question = Plain {
        words: &words,
        enter: Enter::Refused(
            "the bore is of no use without it: type the length, or \"not known\" to leave the land out",
        ),
        help: "How long the land is along the bore. A bare number is in the unit of the bore. Type \"not known\" to leave bore \
               and length out.",
    };
    let land = desk.ask_open("length", question, |text| {
        let entry = Entry::parse(text, unit).map_err(|error| error.to_string())?;
        let length = entry.quantity().and_then(|quantity| Length::try_from(quantity).ok());
        let length = length.ok_or_else(|| format!("\"{text}\" is no length"))?;
        Land::new(diameter, length, 0.0).map_err(|error| error.to_string())
    })?;
    Ok(land.map(|land| (land, unit)))
}

fn complaints(desk: &mut DraftDesk, is_open: bool) -> Result<Vec<String>, Turn> {
    let question = Plain {
        words: match is_open {
            true => "Complaints that it causes when it passes too little or too much, commas between",
            false => "Complaints that a leak causes, commas between",
        },
        enter: Enter::Takes("none"),
        help: "As customers tell them, as in: late upshift, flare 2-3. A session can then start from a complaint and test only \
               what can cause it. Type \"none\" for none.",
    };
    Ok(desk.ask("complaints", question, list)?.unwrap_or_default())
}

fn repairs(desk: &mut DraftDesk) -> Result<Vec<Repair>, Turn> {
    let question = Plain {
        words: "What repairs it, commas between",
        enter: Enter::Takes("none"),
        help: "What is offered to the technician where the circuit does not hold, as in: ream and fit an oversize valve. One \
               with a comma in it goes in double quotes. What each costs is asked next. Type \"none\" for none.",
    };
    let mut repairs = Vec::new();
    for does in desk.ask("repairs", question, list)?.unwrap_or_default() {
        let question = Plain {
            words: &format!("Parts for \"{does}\", in your money"),
            enter: Enter::Takes(NOT_KNOWN),
            help: "What the parts cost, as in 45 or $45. With it the outcome says what the repair costs, and what it saves.",
        };
        let parts = desk.ask_open(&format!("parts of {does}"), question, price)?;
        let question = Plain {
            words: "Hours of work for it",
            enter: Enter::Takes(NOT_KNOWN),
            help: "Hours, as in 0.6, 1/2 or 50 min. What an hour costs stands in prices.json of the shop.",
        };
        let hours = desk.ask_open(&format!("hours of {does}"), question, hours_of)?;
        repairs.push(Repair { does, parts, hours });
    }
    Ok(repairs)
}
