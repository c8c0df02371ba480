use super::writer::ScriptWriter;
use super::{Feature, Original};
use crate::leak::{Land, Limits};
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
    /// The procedure that it is a copy of.
    pub original: Option<Original>,
}

impl Draft {
    /// Writes the procedure, with comments for whoever goes on with it. Its version is 1.0.0: a new name begins anew, also
    /// where it is a copy.
    pub(crate) fn text(&self, file: &str) -> String {
        let mut writer = ScriptWriter::default();
        let closing = match &self.original {
            None => {
                writer.head(self, file);
                String::new()
            }
            Some(original) => writer.copy(original, self, file),
        };
        let mut n = 0;
        let mut section = None;
        for item in self.by_section() {
            if item.section != section {
                writer.section(item.section.as_deref());
                section.clone_from(&item.section);
            }
            let word = item.tested.word();
            n += 1;
            while [&writer.text, &closing].iter().any(|text| text.contains(&format!("{word}_{n}"))) {
                n += 1;
            }
            writer.item(&format!("{word}_{n}"), item);
        }
        writer.text += &closing;
        writer.text
    }

    /// Returns what is tested with each section in one piece, in the order in which they were named; what has none stands
    /// first, under no other's heading.
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
    /// Where else: on its second land, or the port that a leak may come across from.
    pub other_port: Option<String>,
    pub set_up: String,
    pub limits: DraftLimits,
    /// The sealing land, and the unit that it is written in.
    pub land: Option<(Land, &'static Unit)>,
    /// Complaints that it can cause.
    pub symptoms: Vec<String>,
    /// What can be done about a leak.
    pub repairs: Vec<Repair>,
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
    /// Returns whether a verdict can be given on it.
    pub(crate) fn is_judged(&self) -> bool {
        matches!(self.limits, DraftLimits::Known { .. })
    }
}
