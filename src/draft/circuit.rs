use super::{Feature, Step};
use crate::leak::{Land, Limits};
use crate::quantity::{UNITS, Unit};
use crate::record::Repair;

/// A circuit as it was answered.
#[derive(Debug, Clone, PartialEq)]
pub struct DraftCircuit {
    /// The section that it stands in.
    pub section: Option<String>,
    /// Its name.
    pub name: String,
    /// Where the hose goes.
    pub port: Option<String>,
    /// How it is tested.
    pub body: Body,
    /// What to do before the reading.
    pub set_up: Option<String>,
    /// What a leak does, for the customer.
    pub means: Option<String>,
    /// Its limits.
    pub limits: DraftLimits,
    /// The sealing land.
    pub land: Option<Land>,
    /// The unit that the land is written in.
    pub land_unit: &'static Unit,
    /// Complaints that it can cause.
    pub symptoms: Vec<String>,
    /// What can be done about a leak.
    pub repairs: Vec<Repair>,
}

/// How a circuit is tested.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Body {
    /// As such a feature is.
    Of(Feature),
    /// By the lines that an earlier procedure has between the braces of its test, as they are written there.
    AsWritten(String),
    /// By the steps that an earlier procedure takes where all is sound.
    Taken(Vec<Step>),
}

/// The limits of a circuit.
#[derive(Debug, Clone, PartialEq)]
pub enum DraftLimits {
    /// They are to be found.
    ToBeFound,
    /// They are known.
    Known {
        /// The limits.
        limits: Limits,
        /// The unit that they are written in.
        unit: &'static Unit,
        /// Where they come from, a comment each; empty where nothing is known of it.
        note: Vec<String>,
    },
}

impl DraftCircuit {
    /// Begins a circuit of which nothing but its name and what is at its port is known.
    pub fn new(name: String, feature: Feature) -> DraftCircuit {
        DraftCircuit {
            section: None,
            name,
            port: None,
            set_up: None,
            means: Some(feature.means().to_owned()),
            body: Body::Of(feature),
            limits: DraftLimits::ToBeFound,
            land: None,
            land_unit: Unit::by_word("mm").unwrap_or(&UNITS[0]),
            symptoms: Vec::new(),
            repairs: Vec::new(),
        }
    }

    /// Returns whether a verdict can be given on it.
    pub fn is_judged(&self) -> bool {
        self.limits != DraftLimits::ToBeFound
    }

    /// Returns what is at its port, as far as it is known.
    pub fn feature(&self) -> Option<Feature> {
        match self.body {
            Body::Of(feature) => Some(feature),
            Body::AsWritten(_) | Body::Taken(_) => None,
        }
    }
}
