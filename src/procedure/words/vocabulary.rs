use crate::quantity::UNITS;

/// A word of the procedure language, as its authors are told of it.
#[derive(Debug)]
pub struct Word {
    /// The word.
    pub name: &'static str,
    /// How it is written.
    pub form: &'static str,
    /// What it does, in a sentence.
    pub does: &'static str,
    /// The keys of the description that it takes, each with what it means.
    pub keys: &'static [(&'static str, &'static str)],
}

const fn word(name: &'static str, form: &'static str, does: &'static str) -> Word {
    Word { name, form, does, keys: &[] }
}

/// Every word that a procedure may use, in the order in which an author meets them.
///
/// `land`, `oil` and `repairs` are no words of their own: they are descriptions inside other words.
pub const VOCABULARY: &[Word] = &[
    Word {
        name: "procedure",
        form: "procedure(#{ title: \"...\", version: \"1.0.0\" });",
        does: "Says what the procedure is; stands once, at the top.",
        keys: &[
            ("title", "what the technician sees first"),
            ("unit", "the transmission or part; leave it out for a bench job"),
            ("version", "three numbers; raise it when you change the procedure"),
            ("oil", "oil at working conditions, a description"),
            ("replacement", "what a replacement for the body costs, a plain number; for what a repair saves"),
        ],
    },
    Word {
        name: "oil",
        form: "oil: #{ pressure: 150.psi, temperature: 93.celsius }",
        does: "Working conditions, for what a leak costs in oil.",
        keys: &[
            ("pressure", "line pressure"),
            ("temperature", "oil temperature"),
            ("viscosity_40", "of the oil at 40 °C, as in 34.cSt; with the next one"),
            ("viscosity_100", "of the oil at 100 °C, as in 7.4.cSt"),
            ("delivery", "what the pump delivers, as in 20.lpm; for the share that is lost"),
        ],
    },
    word("section", "section(\"...\");", "Begins a section with a title."),
    word("say", "say(\"...\");", "Tells the technician something."),
    word("caution", "caution(\"...\");", "Warns; the technician has to type ok."),
    word("ready", "ready(\"...\");", "Asks for something to be done, and waits until it is."),
    word("wait", "wait(30.seconds, \"...\");", "Lets time pass, as in holding vacuum before a reading."),
    word("ask_yes", "if ask_yes(\"...?\") { ... }", "Asks a question with yes or no."),
    word(
        "ask_choice",
        "let kind = ask_choice(\"...?\", [\"a\", \"b\"]);",
        "Asks to pick one of several; gives the text of the choice.",
    ),
    word("ask_text", "let words = ask_text(\"...?\");", "Asks for a few words."),
    Word {
        name: "ask_number",
        form: "let bore = ask_number(\"...?\", #{ unit: \"mm\", low: 12.7.mm, high: 12.8.mm });",
        does: "Asks for a measured value and judges it: .within, .low, .high, .taken, .value.",
        keys: &[
            ("unit", "what a bare number is taken in"),
            ("low", "below this it is low"),
            ("high", "above this it is high"),
        ],
    },
    Word {
        name: "circuit",
        form: "let feed = circuit(#{ name: \"...\", holds: 20.inHg, leaks: 15.inHg });",
        does: "Describes a circuit; gives a handle for test.",
        keys: &[
            ("name", "what the circuit is called; each name once"),
            ("port", "where the hose goes"),
            ("set_up", "what to do before the reading"),
            ("holds", "at or above this standard reading it is sound"),
            ("leaks", "at or below this standard reading it is to be repaired"),
            ("symptoms", "complaints that it can cause, a list of texts"),
            ("means", "what a leak here does, in plain words for the customer"),
            ("land", "the sealing land, a description"),
            ("repairs", "what can be done, a list of descriptions"),
        ],
    },
    Word {
        name: "land",
        form: "land: #{ diameter: 12.7.mm, length: 7.6.mm }",
        does: "The land that seals the circuit, for the clearance behind a leak.",
        keys: &[
            ("diameter", "of the bore"),
            ("length", "of the land"),
            ("eccentricity", "0 centred (as assumed) to 1 touching"),
        ],
    },
    Word {
        name: "repairs",
        form: "repairs: [#{ does: \"...\", parts: 48, hours: 0.6 }]",
        does: "What can be done about a leak.",
        keys: &[
            ("does", "the work"),
            ("parts", "cost of parts, a plain number in your own money"),
            ("hours", "hours of work"),
        ],
    },
    word(
        "test",
        "test(feed);  or  test(feed, |t| { ... });",
        "Tests a circuit: set up, read, judge. With a body, you say the steps.",
    ),
    word(
        "read",
        "let r = t.read();  or  t.read(\"outboard\")",
        "Takes a reading that counts: .holds, .worn, .leaks, .retest, .verdict, .standard, .hole. Before it condemns, it has the plate seated again and reads again.",
    ),
    word(
        "trial",
        "let r = t.trial(\"port 3B blocked\");",
        "Takes one reading that does not count, to find out more.",
    ),
    word("finding", "finding(\"...\");", "Puts a conclusion into the record."),
    word(
        "barometer",
        "high: barometer()",
        "What the barometer at the bench stands at, as entered when the session began.",
    ),
    word(
        "calibrate",
        "calibrate();",
        "Sets the rig at this place, before the first reading; without it the rig is set before your first question.",
    ),
];

/// Functions of general use that a procedure may call besides the words: what lists, texts and numbers need. Each takes
/// no more time and memory than the limits on their sizes allow; the engine's others do, or serve no procedure.
pub const GENERAL: &[&str] = &[
    "abs",
    "all",
    "ceiling",
    "clear",
    "contains",
    "ends_with",
    "filter",
    "find",
    "floor",
    "for_each",
    "get",
    "index_of",
    "insert",
    "is_empty",
    "keys",
    "len",
    "map",
    "max",
    "min",
    "parse_float",
    "parse_int",
    "pop",
    "push",
    "range",
    "reduce",
    "remove",
    "replace",
    "retain",
    "reverse",
    "round",
    "sign",
    "some",
    "sqrt",
    "starts_with",
    "sub_string",
    "to_float",
    "to_int",
    "to_lower",
    "to_string",
    "to_upper",
    "trim",
    "values",
];

/// Properties of readings, measurements and circuits.
const PROPERTIES: &[&str] = &[
    "holds", "worn", "leaks", "retest", "verdict", "standard", "hole", "within", "low", "high", "taken",
    "value", "name",
];

/// Returns every property that a dot may be followed by, units included.
pub(in super::super) fn property_names() -> impl Iterator<Item = &'static str> {
    PROPERTIES.iter().copied().chain(UNITS.iter().map(|unit| unit.word))
}

/// Returns whether this is a word of the language that is called, not only a description inside one.
pub(in super::super) fn is_word(name: &str) -> bool {
    VOCABULARY.iter().any(|known| known.name == name)
}

/// Returns the keys of the description that a word takes.
pub(in super::super) fn keys_of(word: &str) -> &'static [(&'static str, &'static str)] {
    VOCABULARY.iter().find(|known| known.name == word).map_or(&[], |known| known.keys)
}
