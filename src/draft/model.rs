use std::path::{Path, PathBuf};

use super::writer::ScriptWriter;
use super::{Feature, Original};
use crate::leak::{Land, Limits};
use crate::picture::Picture;
use crate::procedure::VOCABULARY;
use crate::quantity::Unit;
use crate::record::Repair;

/// A procedure as it was answered.
#[derive(Debug, Clone, Default)]
pub(crate) struct Draft {
    /// The unit; none of a bench job's copy.
    pub unit: Option<String>,
    /// What the procedure is called: the unit, and the part of it that is tested.
    pub title: String,
    /// What a replacement for the body costs, in the shop's own money.
    pub replacement: Option<f64>,
    /// What is tested; where it is a copy, what is added.
    pub items: Vec<DraftItem>,
    /// The picture of the unit, which lies beside the procedure under its name.
    pub picture: Option<Picture>,
    /// The procedure that it is a copy of.
    pub original: Option<Original>,
}

impl Draft {
    /// Writes the procedure, with comments for whoever goes on with it. Its version is 1.0.0: a new name begins anew,
    /// also where it is a copy.
    pub(crate) fn text(&self, file: &str) -> String {
        let mut writer = ScriptWriter::default();
        let closing = match &self.original {
            None => {
                writer.head(self, file);
                String::new()
            }
            Some(original) => writer.copy(original, self, file),
        };
        let mut section = None;
        for item in self.by_section() {
            if item.section != section {
                writer.section(item.section.as_deref());
                section.clone_from(&item.section);
            }
            let called = item.called(|name| [&writer.text, &closing].iter().any(|text| has_word(text, name)));
            writer.item(&called, item);
        }
        writer.text += &closing;
        writer.text
    }

    /// Returns the file beside a procedure's own that its picture lies in.
    pub(crate) fn picture_beside(&self, file: &Path) -> Option<PathBuf> {
        Some(file.with_extension(self.picture.as_ref()?.kind.ending()))
    }

    /// Returns what is tested with each section in one piece, in the order in which they were named; what has none
    /// stands first, under no other's heading.
    fn by_section<'a>(&'a self) -> Vec<&'a DraftItem> {
        let mut sections = vec![&None];
        for item in &self.items {
            if !sections.contains(&&item.section) {
                sections.push(&item.section);
            }
        }
        let of = |section: &'a Option<String>| self.items.iter().filter(move |item| item.section == *section);
        sections.into_iter().flat_map(of).collect()
    }
}

/// Something that is tested.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct DraftItem {
    pub section: Option<String>,
    pub name: String,
    pub tested: Tested,
}

/// The longest name that an item has in a script.
const LONGEST: usize = 32;

impl DraftItem {
    /// Returns what it is called in the script: after its own name where that is written in plain letters and figures,
    /// and as nothing is yet.
    fn called(&self, is_taken: impl Fn(&str) -> bool) -> String {
        let kind = self.tested.word();
        let name = self.name.to_lowercase();
        let mut words: Vec<&str> =
            name.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
        // A name begins with a letter: the 1-2 accumulator becomes accumulator_1_2.
        let first = words.iter().position(|word| word.starts_with(|c: char| c.is_ascii_lowercase()));
        words.rotate_left(first.unwrap_or(0));
        while words.iter().map(|word| word.len() + 1).sum::<usize>() > LONGEST {
            words.pop();
        }
        let mut base = words.join("_");
        // The words of the language and of its engine are one word each, or stand in the vocabulary.
        if words.len() == 1 || VOCABULARY.iter().any(|word| word.name == base) {
            base += &format!("_{kind}");
        }
        if first.is_none() || words.is_empty() || !name.is_ascii() {
            kind.clone_into(&mut base);
        }
        let plain = Some(base.clone()).filter(|base| base != kind);
        let names = plain.into_iter().chain((1..).map(|n| format!("{base}_{n}")));
        names.into_iter().find(|name| !is_taken(name)).unwrap_or(base)
    }
}

/// Returns whether a word stands in a script.
fn has_word(text: &str, word: &str) -> bool {
    text.split(|c: char| !c.is_alphanumeric() && c != '_').any(|known| known == word)
}

#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Tested {
    Circuit(Box<DraftCircuit>),
    /// A solenoid's coil, with the least and the most that a good one measures, in ohms.
    Coil(Option<(f64, f64)>),
}

impl Tested {
    fn word(&self) -> &'static str {
        match self {
            Tested::Circuit(_) => "circuit",
            Tested::Coil(_) => "coil",
        }
    }

    pub(crate) fn circuit(&self) -> Option<&DraftCircuit> {
        match self {
            Tested::Circuit(circuit) => Some(circuit),
            Tested::Coil(_) => None,
        }
    }
}

#[derive(Debug, Clone, PartialEq)]
pub(crate) struct DraftCircuit {
    pub feature: &'static Feature,
    /// Where the hose goes.
    pub port: Option<String>,
    /// The port beside it that a leak may come across from.
    pub neighbour: Option<String>,
    /// What its second land has to itself.
    pub second: SecondLand,
    pub set_up: String,
    pub limits: DraftLimits,
    /// The sealing land, and the unit that it is written in.
    pub land: Option<(Land, &'static Unit)>,
    /// Complaints that it can cause.
    pub symptoms: Vec<String>,
    /// What can be done about a leak.
    pub repairs: Vec<Repair>,
}

/// A land with a port of its own; what it has not is as with the first one.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct SecondLand {
    pub port: Option<String>,
    pub limits: Option<(Limits, &'static Unit)>,
    pub land: Option<(Land, &'static Unit)>,
}

/// The limits of a circuit, each with what is known of where they come from, a comment each.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum DraftLimits {
    /// Nobody knows them; what was proposed and not taken stands in comments.
    ToBeFound { proposed: Option<Limits>, note: Vec<String> },
    Known {
        limits: Limits,
        /// The unit that they are written in.
        unit: &'static Unit,
        note: Vec<String>,
    },
}

impl DraftLimits {
    pub(crate) const TO_BE_FOUND: DraftLimits = DraftLimits::ToBeFound { proposed: None, note: Vec::new() };
}

impl DraftCircuit {
    /// Returns the land that all of its readings are of; one that is known of the first of two lands only is not.
    pub(super) fn common_land(&self) -> Option<&(Land, &'static Unit)> {
        let is_of_all = !self.feature.steps.has_second_land() || self.second.land.is_some();
        self.land.as_ref().filter(|_| is_of_all)
    }

    /// Returns whether a verdict can be given on it.
    pub(crate) fn is_judged(&self) -> bool {
        matches!(self.limits, DraftLimits::Known { .. })
    }
}
