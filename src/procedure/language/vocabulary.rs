use std::fmt;

use crate::quantity::{Dimension, UNITS};

/// A word of the procedure language, as its authors are told of it and as the checks know it.
#[derive(Debug)]
pub(crate) struct Word {
    pub name: &'static str,
    pub stands: Stands,
    pub takes: ArgumentForms,
    pub gives: Sort,
    pub form: &'static str,
    #[cfg_attr(not(test), expect(dead_code, reason = "for the page of words, which a test writes"))]
    pub does: &'static str,
    pub keys: &'static [Key],
}

/// Where a word may stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Stands {
    Alone,
    /// By itself or behind the `t` of a test.
    Anywhere,
    /// Behind the `t` of a test.
    InTest,
    /// As a key of another word's description, never by itself.
    Inside,
}

#[derive(Debug)]
pub(crate) struct Key {
    pub name: &'static str,
    pub sort: Sort,
    /// Whether it can't be left out.
    pub needed: bool,
    #[cfg_attr(not(test), expect(dead_code, reason = "for the page of words, which a test writes"))]
    pub means: &'static str,
}

/// Something that may be asked behind a point.
#[derive(Debug)]
pub(crate) struct Property {
    pub of: Sort,
    pub name: &'static str,
    pub gives: Sort,
    #[cfg_attr(not(test), expect(dead_code, reason = "for the page of words, which a test writes"))]
    pub means: &'static str,
}

/// A key that can't be left out.
const fn needed(name: &'static str, sort: Sort, means: &'static str) -> Key {
    Key { name, sort, needed: true, means }
}

/// A key that may be left out.
const fn key(name: &'static str, sort: Sort, means: &'static str) -> Key {
    Key { name, sort, needed: false, means }
}

/// What kind of thing a value in a script is, as far as its text tells.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Sort {
    Number,
    Text,
    YesNo,
    /// A quantity, with its dimension where that is known.
    Quantity(Option<Dimension>),
    /// What `read` and `trial` give.
    Reading,
    /// What `ask_number` gives.
    Measurement,
    /// What `ask_count` gives.
    Count,
    Circuit,
    /// The `t` of a test.
    Test,
    /// The steps of a test, `|t| { ... }`.
    Steps,
    List(&'static Sort),
    /// A description, `#{ ... }`.
    Description,
    Nothing,
    /// What only running it tells.
    Unknown,
}

impl Sort {
    /// Returns whether a value of another sort can stand where this one is wanted, as far as the text tells.
    pub(crate) fn takes(self, other: Sort) -> bool {
        match (self, other) {
            (Sort::Unknown, _) | (_, Sort::Unknown) => true,
            (Sort::Quantity(wanted), Sort::Quantity(found)) => {
                wanted.is_none() || found.is_none() || wanted == found
            }
            (Sort::List(wanted), Sort::List(found)) => wanted.takes(*found),
            _ => self == other,
        }
    }

    /// Returns the sort of a list of things of these sorts.
    pub(crate) fn of_list(mut items: impl Iterator<Item = Sort>) -> Sort {
        let first = items.next().unwrap_or(Sort::Unknown);
        match first {
            first if items.any(|item| item != first) => Sort::List(&Sort::Unknown),
            Sort::Text => Sort::List(&Sort::Text),
            Sort::Description => Sort::List(&Sort::Description),
            Sort::Number => Sort::List(&Sort::Number),
            PRESSURE => PRESSURES,
            _ => Sort::List(&Sort::Unknown),
        }
    }
}

impl fmt::Display for Sort {
    /// Writes it as in "a circuit is wanted here".
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Sort::Number => "number",
            Sort::Text => "text",
            Sort::YesNo => "yes or no",
            Sort::Quantity(None) => "quantity",
            Sort::Quantity(Some(dimension)) => dimension.name(),
            Sort::Reading => "reading",
            Sort::Measurement => "measurement",
            Sort::Count => "count",
            Sort::Circuit => "circuit",
            Sort::Test => "test",
            Sort::Steps => "set of steps",
            Sort::List(Sort::Text) => "list of texts",
            Sort::List(Sort::Description) => "list of descriptions",
            Sort::List(Sort::Quantity(_)) => "list of quantities",
            Sort::List(_) => "list",
            Sort::Description => "description",
            Sort::Nothing => "nothing",
            Sort::Unknown => "value",
        })
    }
}

/// What a word takes between its brackets: each way of calling it, and of each argument a name and its sort.
type ArgumentForms = &'static [&'static [(&'static str, Sort)]];

const WORDS_ONLY: ArgumentForms = &[&[("words", Sort::Text)]];
const LABEL: ArgumentForms = &[&[("label", Sort::Text)]];
const DESCRIPTION: ArgumentForms = &[&[("description", Sort::Description)]];
const TEXTS: Sort = Sort::List(&Sort::Text);
const PRESSURES: Sort = Sort::List(&PRESSURE);
const PRESSURE: Sort = Sort::Quantity(Some(Dimension::Pressure));
const LENGTH: Sort = Sort::Quantity(Some(Dimension::Length));
const TEMPERATURE: Sort = Sort::Quantity(Some(Dimension::Temperature));
const VISCOSITY: Sort = Sort::Quantity(Some(Dimension::Viscosity));
const VOLUME_FLOW: Sort = Sort::Quantity(Some(Dimension::VolumeFlow));
const DURATION: Sort = Sort::Quantity(Some(Dimension::Duration));

const HOLDS: &str = "at or above this standard reading it is sound";
const LEAKS: &str = "at or below this standard reading it is to be repaired";
const KIND: &str = "what a leak is: \"gap\" (of a valve in its bore; so taken with a land) or \"hole\" (so taken with between); else not known";
const SEAL: &str = "\"lip\" or \"elastomer\", in place of a land: neither clearance nor oil is told";
const BETWEEN: Key = key(
    "between",
    PRESSURES,
    "two standard readings, in place of holds and leaks: a passage that is to be open is right between them",
);

const METAL: &str =
    "\"steel\", \"aluminium\" or millionths per kelvin: how the clearance grows until the oil is hot";

/// A reading's label and what it has to itself.
const SPOT: &[(&str, Sort)] = &[("label", Sort::Text), ("own", Sort::Description)];
const OWN: &[Key] = &[
    key("port", Sort::Text, "where the hose goes"),
    key("land", Sort::Description, "the land that seals there"),
    key("kind", Sort::Text, KIND),
    key("seal", Sort::Text, SEAL),
    key("holds", PRESSURE, HOLDS),
    key("leaks", PRESSURE, LEAKS),
    BETWEEN,
];

/// A word that stands by itself, takes nothing and gives nothing.
const fn alone(name: &'static str, form: &'static str, does: &'static str) -> Word {
    Word { name, stands: Stands::Alone, takes: &[&[]], gives: Sort::Nothing, form, does, keys: &[] }
}

/// A word that takes a text and gives nothing.
const fn telling(name: &'static str, form: &'static str, does: &'static str) -> Word {
    Word { stands: Stands::Anywhere, takes: WORDS_ONLY, ..alone(name, form, does) }
}

/// A description inside another word's.
const fn inside(name: &'static str, form: &'static str, does: &'static str, keys: &'static [Key]) -> Word {
    Word { stands: Stands::Inside, takes: &[], gives: Sort::Description, keys, ..alone(name, form, does) }
}

/// Every word that a procedure may use, in the order in which an author meets them.
pub(crate) const VOCABULARY: &[Word] = &[
    Word {
        takes: DESCRIPTION,
        keys: &[
            needed("title", Sort::Text, "what the technician sees first"),
            key("unit", Sort::Text, "the transmission or part; leave it out for a bench job"),
            needed("version", Sort::Text, "three numbers; raise it when you change the procedure"),
            key("symptoms", TEXTS, "the complaints that it is for; each must be one that a circuit names"),
            key("oil", Sort::Description, "oil at working conditions"),
            key(
                "replacement",
                Sort::Number,
                "what a replacement for the body costs, a plain number; for what a repair saves",
            ),
        ],
        ..alone(
            "procedure",
            "procedure(#{ title: \"...\", version: \"1.0.0\" });",
            "Says what the procedure is; stands once, at the top.",
        )
    },
    inside(
        "oil",
        "oil: #{ pressure: 150.psi, temperature: 93.celsius }",
        "Working conditions, for what a leak costs in oil.",
        &[
            needed("pressure", PRESSURE, "line pressure"),
            needed("temperature", TEMPERATURE, "oil temperature"),
            key("viscosity_40", VISCOSITY, "of the oil at 40 °C, as in 34.cSt; with the next one"),
            key("viscosity_100", VISCOSITY, "of the oil at 100 °C, as in 7.4.cSt"),
            key("delivery", VOLUME_FLOW, "what the pump delivers, as in 20.lpm; for the share that is lost"),
        ],
    ),
    Word { takes: WORDS_ONLY, ..alone("section", "section(\"...\");", "Begins a section with a title.") },
    Word {
        takes: WORDS_ONLY,
        ..alone(
            "closing",
            "closing(\"...\");",
            "Ends the tests: the rig is looked at for the last time and repairs are chosen, before anything is closed. What \
             comes then is a section with this title; without it, both come at the end.",
        )
    },
    telling("say", "say(\"...\");", "Tells the technician something."),
    telling("caution", "caution(\"...\");", "Warns; the technician has to type ok."),
    telling("ready", "ready(\"...\");", "Asks for something to be done, and waits until it is."),
    Word {
        takes: &[&[("time", DURATION), ("words", Sort::Text)]],
        ..telling(
            "wait",
            "wait(30.seconds, \"...\");",
            "Lets time pass, as in holding vacuum before a reading.",
        )
    },
    Word {
        gives: Sort::YesNo,
        ..telling("ask_yes", "if ask_yes(\"...?\") { ... }", "Asks a question with yes or no.")
    },
    Word {
        takes: &[&[("words", Sort::Text), ("choices", TEXTS)]],
        gives: Sort::Text,
        ..telling(
            "ask_choice",
            "let kind = ask_choice(\"...?\", [\"a\", \"b\"]);",
            "Asks to pick one of several; gives the text of the choice.",
        )
    },
    Word {
        gives: Sort::Text,
        ..telling("ask_text", "let words = ask_text(\"...?\");", "Asks for a few words.")
    },
    Word {
        takes: &[&[("words", Sort::Text), ("limits", Sort::Description)]],
        gives: Sort::Measurement,
        keys: &[
            needed("unit", Sort::Text, "what a bare number is taken in, as in \"mm\""),
            key("low", Sort::Quantity(None), "below this it is low"),
            key("high", Sort::Quantity(None), "above this it is high"),
        ],
        ..telling(
            "ask_number",
            "let bore = ask_number(\"...?\", #{ unit: \"mm\", low: 12.7.mm, high: 12.8.mm });",
            "Asks for a measured value and judges it by its limits.",
        )
    },
    Word {
        takes: &[WORDS_ONLY[0], &[("words", Sort::Text), ("limits", Sort::Description)]],
        gives: Sort::Count,
        keys: &[
            key("low", Sort::Number, "fewer than this is low"),
            key("high", Sort::Number, "more than this is high"),
        ],
        ..telling(
            "ask_count",
            "let balls = ask_count(\"...?\", #{ low: 6, high: 6 });",
            "Asks how many there are, a whole number, and judges it by its limits.",
        )
    },
    Word {
        takes: DESCRIPTION,
        gives: Sort::Circuit,
        keys: &[
            needed("name", Sort::Text, "what the circuit is called; each name once"),
            key("port", Sort::Text, "where the hose goes"),
            key("set_up", Sort::Text, "what to do before the reading"),
            needed("holds", PRESSURE, HOLDS),
            needed("leaks", PRESSURE, LEAKS),
            BETWEEN,
            key(
                "limits",
                Sort::Text,
                "only \"to be found\", in place of holds and leaks: it is read and recorded, and not judged",
            ),
            key("symptoms", TEXTS, "complaints that it can cause"),
            key("means", Sort::Text, "what a leak here does, in plain words for the customer"),
            key("land", Sort::Description, "the sealing land"),
            key("kind", Sort::Text, KIND),
            key("seal", Sort::Text, SEAL),
            key("repairs", Sort::List(&Sort::Description), "what can be done"),
        ],
        ..alone(
            "circuit",
            "let feed = circuit(#{ name: \"...\", holds: 20.inHg, leaks: 15.inHg });",
            "Describes a circuit, for test.",
        )
    },
    inside(
        "land",
        "land: #{ diameter: 12.7.mm, length: 7.6.mm }",
        "The land that seals the circuit, for the clearance behind a leak.",
        &[
            needed("diameter", LENGTH, "of the bore"),
            needed("length", LENGTH, "of the land"),
            key("eccentricity", Sort::Number, "0 centred to 1 touching, where it is known"),
            key("lands", Sort::Number, "how many equal lands stand in a row, 1 where left out"),
            key(
                "measured",
                Sort::Text,
                "\"micrometer\", \"caliper\" (as assumed) or \"data\", from the service data",
            ),
            key("valve", Sort::Unknown, METAL),
            key("bore", Sort::Unknown, METAL),
        ],
    ),
    inside(
        "repairs",
        "repairs: [#{ does: \"...\", parts: 48, hours: 0.6 }]",
        "What can be done about a leak.",
        &[
            needed("does", Sort::Text, "the work"),
            key("parts", Sort::Number, "cost of parts, a plain number in your own money"),
            key("hours", Sort::Number, "hours of work"),
        ],
    ),
    Word {
        takes: &[&[("circuit", Sort::Circuit)], &[("circuit", Sort::Circuit), ("steps", Sort::Steps)]],
        ..alone(
            "test",
            "test(feed);  or  test(feed, |t| { ... });",
            "Tests a circuit: set up, read, judge. With steps, you say what is done and read.",
        )
    },
    Word {
        takes: &[&[("circuit", Sort::Circuit), ("why", Sort::Text)]],
        ..alone(
            "not_fitted",
            "not_fitted(lockup, \"this variant has no lockup\");",
            "Says that the unit does not have a circuit, in place of its test.",
        )
    },
    Word {
        stands: Stands::InTest,
        takes: &[&[], LABEL[0], SPOT],
        gives: Sort::Reading,
        keys: OWN,
        ..alone(
            "read",
            "let r = t.read();  or  t.read(\"outboard\")",
            "Takes a reading that counts. Before it condemns, it has the plate seated again and reads again; takes that differ \
             ask for a third. What it has of its own, as in t.read(\"outboard\", #{ port: \"5B\" }), goes before its circuit's.",
        )
    },
    Word {
        stands: Stands::InTest,
        takes: &[LABEL[0], SPOT],
        gives: Sort::Reading,
        keys: OWN,
        ..alone(
            "trial",
            "let r = t.trial(\"port 3B blocked\");",
            "Takes one reading that does not count, to find out more; of its own it may have what a read may.",
        )
    },
    telling("finding", "finding(\"...\");", "Puts a conclusion into the record."),
    Word {
        gives: PRESSURE,
        ..alone(
            "barometer",
            "high: barometer()",
            "What the barometer at the bench stands at, as entered when the session began.",
        )
    },
    alone(
        "calibrate",
        "calibrate();",
        "Sets the rig at this place, before the first reading; without it the rig is set before your first question.",
    ),
];

const fn property(of: Sort, name: &'static str, gives: Sort, means: &'static str) -> Property {
    Property { of, name, gives, means }
}

/// Functions of general use that a procedure may call besides the words: what numbers, texts and lists need. Each takes
/// no more time and memory than the limits on their sizes allow; the engine's others do, or serve no procedure.
const GENERAL: [&str; 3] = [
    "abs ceiling floor max min parse_float parse_int round sign sqrt to_float to_int",
    "contains ends_with index_of is_empty len replace starts_with sub_string to_lower to_string to_upper trim",
    "all call clear filter find for_each get insert keys map pop push range reduce remove retain reverse some values",
];

/// Returns whether a name is that of a function of general use.
pub(crate) fn is_general(name: &str) -> bool {
    GENERAL.iter().flat_map(|names| names.split(' ')).any(|known| known == name)
}

/// What may be asked of readings, measurements and circuits.
pub(crate) const PROPERTIES: &[Property] = &[
    property(Sort::Reading, "holds", Sort::YesNo, "it is sound"),
    property(Sort::Reading, "worn", Sort::YesNo, "it lies between the two limits"),
    property(Sort::Reading, "leaks", Sort::YesNo, "it is to be repaired"),
    property(Sort::Reading, "right", Sort::YesNo, "a passage that is to be open passes what it should"),
    property(Sort::Reading, "open", Sort::YesNo, "it is too open: it passes more than it may"),
    property(Sort::Reading, "tight", Sort::YesNo, "it is too tight: it passes less than it must"),
    property(Sort::Reading, "retest", Sort::YesNo, "the gauge can't tell on which side of a limit it lies"),
    property(
        Sort::Reading,
        "verdict",
        Sort::Text,
        "the verdict as a word, for a text; \"not judged\" without limits, when none of those above is so",
    ),
    property(Sort::Reading, "standard", PRESSURE, "the standard reading"),
    property(Sort::Reading, "hole", LENGTH, "the hole that it leaks like"),
    property(Sort::Measurement, "within", Sort::YesNo, "it lies within its limits"),
    property(Sort::Measurement, "low", Sort::YesNo, "it lies below its lower limit"),
    property(Sort::Measurement, "high", Sort::YesNo, "it lies above its upper limit"),
    property(Sort::Measurement, "taken", Sort::YesNo, "it could be measured"),
    property(Sort::Measurement, "value", Sort::Quantity(None), "the value; ask .taken first"),
    property(Sort::Count, "within", Sort::YesNo, "it lies within its limits"),
    property(Sort::Count, "low", Sort::YesNo, "there are too few"),
    property(Sort::Count, "high", Sort::YesNo, "there are too many"),
    property(Sort::Count, "taken", Sort::YesNo, "they could be counted"),
    property(Sort::Count, "value", Sort::Number, "how many there are, a plain number; ask .taken first"),
    property(Sort::Circuit, "name", Sort::Text, "its name"),
];

/// Returns every property that a point may be followed by, units included.
pub(crate) fn property_names() -> impl Iterator<Item = &'static str> {
    PROPERTIES.iter().map(|property| property.name).chain(UNITS.iter().map(|unit| unit.word))
}

pub(crate) fn word_named(name: &str) -> Option<&'static Word> {
    VOCABULARY.iter().find(|word| word.name == name)
}

pub(crate) fn keys_of(word: &str) -> &'static [Key] {
    word_named(word).map_or(&[], |known| known.keys)
}
