use std::sync::LazyLock;

use serde::Deserialize;

use crate::leak::LeakKind;

/// Every feature, in the order offered; the last one is for all else. What each of them asks for is common
/// practice, no source.
const FEATURES: &str = include_str!("features.json");

/// What is at a port, as far as it decides what is asked about it and how it is tested: a row of the table.
#[derive(Debug, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Feature {
    /// What it is.
    pub told: String,
    /// What a leak of it is, where that is sure.
    pub(super) kind: Option<LeakKind>,
    pub(super) before: String,
    /// What a leak does, for the customer.
    pub means: String,
    /// A repair that it may take, as a sample.
    pub(super) sample_repair: String,
    pub steps: FeatureSteps,
}

/// How it is tested.
#[derive(Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub(crate) enum FeatureSteps {
    /// One reading is enough.
    Once,
    /// Two readings, and what they say together.
    Twice { stops: [ReadAtStop; 2], neither: String },
    /// Where it is not sound, one more reading tells two causes apart. [`NEIGHBOUR`] in it is a port beside this one.
    Trial { reading: String, apart: String, set_up: String, label: String, cured: String, stays: String },
    /// Where it is not sound, a look tells two causes apart.
    Look { reading: String, asks: String, yes: String, no: String },
    /// One reading, which is right in a window: more vacuum is too tight, less is too open.
    Open,
    /// No vacuum at all: its coil is measured in ohms.
    Coil,
}

/// One of two readings.
#[derive(Debug, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct ReadAtStop {
    /// What is done for it; nothing where it has a port of its own, which the plate goes over.
    pub(super) set_up: Option<String>,
    pub(super) label: String,
    /// What is found where only this one holds.
    pub(super) alone: String,
}

/// Where a port beside the circuit is named.
pub(super) const NEIGHBOUR: &str = "{neighbour}";

impl FeatureSteps {
    /// Returns whether a port beside this one is closed in it.
    pub(crate) fn has_neighbour(&self) -> bool {
        matches!(self, FeatureSteps::Trial { set_up, .. } if set_up.contains(NEIGHBOUR))
    }

    /// Returns whether it reads a second land at a port of its own.
    pub(crate) fn has_second_land(&self) -> bool {
        matches!(self, FeatureSteps::Twice { stops: [ReadAtStop { set_up: None, .. }, _], .. })
    }
}

impl Feature {
    /// Returns whether a land may seal it: an open passage has none to speak of, and what leaks by a hole has none.
    pub(crate) fn may_have_land(&self) -> bool {
        self.steps != FeatureSteps::Open && self.kind != Some(LeakKind::Hole)
    }

    /// Returns every feature, in the order offered.
    pub(crate) fn all() -> &'static [Feature] {
        static ALL: LazyLock<Vec<Feature>> = LazyLock::new(|| {
            serde_json::from_str(FEATURES)
                .unwrap_or_else(|error| unreachable!("it is read in every test: {error}"))
        });
        &ALL
    }

    /// Says what to do before the reading.
    pub(crate) fn set_up(&self, port: Option<&str>) -> String {
        format!("{} {}", self.before, seated(port))
    }
}

/// Says where the plate goes.
pub(super) fn seated(port: Option<&str>) -> String {
    port.map_or("Seat the plate over the port.".to_owned(), |port| {
        format!("Seat the plate over port {}.", port.trim_end_matches('.'))
    })
}
