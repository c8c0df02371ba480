use std::fmt;
use std::sync::LazyLock;

use crate::quantity::{Dimension, UNITS};

/// A word of the procedure language, as its authors are told of it and as the checks know it.
#[derive(Debug)]
pub(crate) struct Word {
    pub name: &'static str,
    pub stands: Stands,
    /// Each way of calling it, and of each argument a name and its sort.
    pub takes: Vec<Vec<(&'static str, Sort)>>,
    pub gives: Sort,
    pub form: &'static str,
    pub does: &'static str,
    pub keys: Vec<Key>,
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
            Sort::List(Sort::Unknown) => "list",
            Sort::List(of) => return write!(f, "list of {of}s"),
            Sort::Description => "description",
            Sort::Nothing => "nothing",
            Sort::Unknown => "value",
        })
    }
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

const TEXTS: Sort = Sort::List(&Sort::Text);
const DESCRIPTIONS: Sort = Sort::List(&Sort::Description);
const PRESSURES: Sort = Sort::List(&PRESSURE);
const PRESSURE: Sort = Sort::Quantity(Some(Dimension::Pressure));

impl Sort {
    /// Returns the sort that is called so in the list of words.
    fn named(name: &str) -> Sort {
        use Sort::{
            Circuit, Count, Description, Measurement, Nothing, Number, Quantity, Reading, Steps, Text,
            Unknown, YesNo,
        };
        let plain = [
            Circuit,
            Count,
            Description,
            Measurement,
            Nothing,
            Number,
            Reading,
            Steps,
            Text,
            Unknown,
            YesNo,
            TEXTS,
            DESCRIPTIONS,
            PRESSURES,
            Quantity(None),
        ];
        let of_dimensions = UNITS.iter().map(|unit| Quantity(Some(unit.dimension)));
        let mut known = plain.into_iter().chain(of_dimensions);
        known.find(|sort| sort.to_string() == name).unwrap_or_else(|| unreachable!("{name} is no sort"))
    }
}

/// The words of the language and what may be asked behind a point; the file says how its lines are written.
const WORDS: &str = include_str!("words.txt");

/// Every word that a procedure may use, in the order in which an author meets them.
pub(crate) static VOCABULARY: LazyLock<Vec<Word>> = LazyLock::new(|| {
    let mut words: Vec<Word> = Vec::new();
    for (what, rest) in lines() {
        if let ("word", Some((name, stands))) = (what, rest.split_once(": ")) {
            let stands = match stands {
                "alone" => Stands::Alone,
                "anywhere" => Stands::Anywhere,
                "in a test" => Stands::InTest,
                _ => Stands::Inside,
            };
            let (takes, gives, keys) = (Vec::new(), Sort::Nothing, Vec::new());
            words.push(Word { name, stands, takes, gives, form: "", does: "", keys });
        }
        let Some(word) = words.last_mut() else { continue };
        match what {
            "takes" => {
                let arguments = rest.split(", ").filter_map(|argument| argument.split_once(": "));
                word.takes.push(arguments.map(|(name, sort)| (name, Sort::named(sort))).collect());
            }
            "gives" => word.gives = Sort::named(rest),
            "form" => word.form = rest,
            "does" => word.does = rest,
            "key" | "needed" => word.keys.extend(entry(rest).map(|(name, sort, means)| Key {
                name,
                sort,
                needed: what == "needed",
                means,
            })),
            _ => {}
        }
    }
    words
});

/// What may be asked of readings, measurements and circuits.
pub(crate) static PROPERTIES: LazyLock<Vec<Property>> = LazyLock::new(|| {
    let asked = lines().filter(|(what, _)| *what == "ask").filter_map(|(_, rest)| entry(rest));
    let property = |(asked, gives, means): (&'static str, Sort, &'static str)| {
        let (name, of) = asked.split_once(" of a ")?;
        Some(Property { of: Sort::named(of), name, gives, means })
    };
    asked.filter_map(property).collect()
});

/// Returns the lines of the list, each as its first word and the rest; comments have the first word `#`.
fn lines() -> impl Iterator<Item = (&'static str, &'static str)> {
    WORDS.lines().filter(|line| !line.is_empty()).map(|line| line.split_once(' ').unwrap_or((line, "")))
}

/// Reads a name, a sort and what is said of it.
fn entry(rest: &'static str) -> Option<(&'static str, Sort, &'static str)> {
    let (name, rest) = rest.split_once(": ")?;
    let (sort, said) = rest.split_once(": ")?;
    Some((name, Sort::named(sort), said))
}

/// Returns every property that a point may be followed by, units included.
pub(crate) fn property_names() -> impl Iterator<Item = &'static str> {
    PROPERTIES.iter().map(|property| property.name).chain(UNITS.iter().map(|unit| unit.word))
}

pub(crate) fn word_named(name: &str) -> Option<&'static Word> {
    VOCABULARY.iter().find(|word| word.name == name)
}

pub(crate) fn keys_of(word: &str) -> &'static [Key] {
    word_named(word).map_or(&[], |known| known.keys.as_slice())
}
