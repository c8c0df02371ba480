//! A question: who asks, in what words, what kind of answer it wants, and what is done with the rig before it.

use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::Spot;
use super::opening::is_false;
use crate::quantity::{COUNT, Pressure, Unit, shown};
use crate::rig::coaching::{CoachStep, Moved, Setting};
use crate::rig::{Condition, Valve, ValveStop};

/// Something that a procedure, or the runner itself, asks a desk.
#[derive(Debug, Clone, PartialEq)]
pub struct Question {
    /// Who asks.
    pub asker: Asker,
    /// The circuit under test, where there is one.
    pub circuit: Option<String>,
    /// What is asked, in the words of the asker.
    pub words: String,
    /// Counts equal questions (same asker, circuit, kind and words) of one walk, from 1.
    pub occurrence: u32,
    /// What kind of answer is wanted, and what it must fit.
    pub wants: Wants,
}

/// Who asks a question.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Asker {
    /// The runner: identity, barometer, calibration.
    Runner,
    /// The procedure's script.
    #[default]
    Procedure,
}

impl Asker {
    pub(crate) fn word(self) -> &'static str {
        match self {
            Asker::Runner => "runner",
            Asker::Procedure => "procedure",
        }
    }

    #[expect(clippy::trivially_copy_pass_by_ref, reason = "serde passes a reference")]
    pub(super) fn is_procedure(&self) -> bool {
        *self == Asker::Procedure
    }
}

/// What kind of answer a question wants.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Wants {
    /// That a caution has been read; takes a typed word.
    Acknowledgement,
    /// That something has been done.
    Ready,
    /// That a span of time has passed.
    Wait {
        /// How long, in seconds.
        seconds: f64,
    },
    /// Yes or no.
    Yes,
    /// One of these.
    Choice {
        /// The options, two or more.
        options: Vec<String>,
    },
    /// What is done about a circuit that does not hold.
    Decision {
        /// The circuit.
        of: String,
        /// What can be decided.
        options: Vec<String>,
    },
    /// Free text.
    Text,
    /// The technician's name.
    Technician,
    /// A measured quantity, or how many there are.
    Number {
        /// Symbol of the unit that a bare number is taken in; empty where things are counted.
        unit: String,
        /// Lower limit in SI; below it the answer is judged low.
        #[serde(skip_serializing_if = "Option::is_none")]
        low: Option<f64>,
        /// Upper limit in SI; above it the answer is judged high.
        #[serde(skip_serializing_if = "Option::is_none")]
        high: Option<f64>,
    },
    /// The barometer at the bench, in one of the forms that give station pressure.
    Barometer,
    /// The temperature of the air at the bench.
    AirTemperature,
    /// A reading of the vacuum gauge; a document says only what the hose is on.
    #[serde(serialize_with = "only_hose", deserialize_with = "of_hose")]
    #[cfg_attr(test, schemars(with = "HoseOn"))]
    Reading {
        /// What the hose is on.
        on: HoseOn,
        /// Deepest vacuum in Pa that can be right here: the plugged point or, before there is one, the barometer. Like
        /// the unit it follows from what went before, and is no part of a journal.
        deepest_pa: f64,
        /// The unit that a bare number is taken in.
        unit: String,
    },
}

fn only_hose<S: Serializer>(on: &HoseOn, _: &f64, _: &str, serializer: S) -> Result<S::Ok, S::Error> {
    on.serialize(serializer)
}

fn of_hose<'de, D: Deserializer<'de>>(deserializer: D) -> Result<(HoseOn, f64, String), D::Error> {
    Ok((HoseOn::deserialize(deserializer)?, f64::INFINITY, String::new()))
}

/// What the hose is on while a reading is taken.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum HoseOn {
    /// What calibrating the rig takes, with what is done before the reading.
    Rig(RigStep),
    /// One of the rig's two points, to see whether it has drifted; no valve is turned.
    Check(Condition),
    /// The circuit under test.
    Circuit {
        /// What tells this reading from others of the circuit, as in `outboard`.
        #[serde(skip_serializing_if = "Option::is_none")]
        label: Option<String>,
        /// Whether it only informs the script's next step and is left out of the circuit's verdict.
        #[serde(default, skip_serializing_if = "is_false")]
        trial: bool,
        /// What the reading has to itself; the rest is its circuit's.
        #[serde(default, skip_serializing_if = "Spot::is_empty")]
        own: Spot,
    },
}

impl Wants {
    /// Returns the kind's name, which belongs to a question's identity.
    pub fn kind(&self) -> &'static str {
        match self {
            Wants::Acknowledgement => "acknowledgement",
            Wants::Ready => "ready",
            Wants::Wait { .. } => "wait",
            Wants::Decision { .. } => "decision",
            Wants::Yes => "yes",
            Wants::Choice { .. } => "choice",
            Wants::Text => "text",
            Wants::Technician => "technician",
            Wants::Number { .. } => "number",
            Wants::Barometer => "barometer",
            Wants::AirTemperature => "air_temperature",
            Wants::Reading { .. } => "reading",
        }
    }
}

/// Places behind the point that a limit is written with, at least.
const LIMIT_DECIMALS: usize = 3;

impl Question {
    /// Returns where the hose is to be, where it asks for a reading.
    pub(crate) fn hose_on(&self) -> Option<&HoseOn> {
        match &self.wants {
            Wants::Reading { on, .. } => Some(on),
            _ => None,
        }
    }

    /// Returns whether it has one of the rig's two points read.
    pub(crate) fn reads_rig(&self) -> bool {
        matches!(self.wants, Wants::Reading { on: HoseOn::Rig(_) | HoseOn::Check(_), .. })
    }

    /// Returns whether both are the same question, so that an answer to one answers the other; limits and options
    /// may have changed, which the answer is then checked against.
    pub fn is_same(&self, other: &Question) -> bool {
        // What most often differs comes first.
        self.words == other.words
            && self.circuit == other.circuit
            && self.occurrence == other.occurrence
            && self.asker == other.asker
            && self.wants.kind() == other.wants.kind()
    }

    /// Returns whether a question of a journal asks just what another does.
    pub fn asks_the_same(&self, other: &Question) -> bool {
        let is_same = match (&self.wants, &other.wants) {
            (Wants::Reading { on: one, .. }, Wants::Reading { on: other, .. }) => one == other,
            (one, other) => one == other,
        };
        is_same && self.is_same(other)
    }

    /// Returns the unit that a bare number is taken in; `None` where no quantity is asked for.
    pub fn unit(&self) -> Option<&'static Unit> {
        match &self.wants {
            Wants::Number { unit, .. } if unit.is_empty() => Some(&COUNT),
            Wants::Number { unit, .. } | Wants::Reading { unit, .. } => Unit::by_text(unit),
            _ => None,
        }
    }

    /// Returns what a measured value or a count is to lie within, as `12.7 mm to 12.8 mm`; none where it has no limits.
    pub(crate) fn within(&self) -> Option<String> {
        let Wants::Number { low, high, .. } = self.wants else { return None };
        let unit = self.unit()?;
        // A script may have worked a limit out, to more places than anybody measures.
        let text = |si: f64| unit.written(shown(unit.from_si(si), unit.decimals.max(LIMIT_DECIMALS)));
        match (low, high) {
            (None, None) => None,
            (Some(low), None) => Some(format!("{} and more", text(low))),
            (None, Some(high)) => Some(format!("{} and less", text(high))),
            (Some(low), Some(high)) if low == high => Some(text(low)),
            (Some(low), Some(high)) => Some(format!("{} to {}", text(low), text(high))),
        }
    }

    /// Returns the deepest vacuum that can be right, where a reading is asked for.
    pub fn deepest(&self) -> Option<Pressure> {
        match self.wants {
            Wants::Reading { deepest_pa, .. } => Pressure::from_si(deepest_pa),
            _ => None,
        }
    }
}

/// What a technician does with the rig before a reading while it is calibrated.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum RigStep {
    /// Turns nothing, with the hose connected to this.
    Read(Condition),
    /// Turns a valve until the gauge shows a reading: which valve, which way, to which reading.
    Set(Setting),
    /// Turns a valve as far as it goes.
    ToStop {
        /// What the hose is connected to.
        condition: Condition,
        /// The valve.
        valve: Valve,
        /// Which end of its travel.
        stop: ValveStop,
    },
}

impl RigStep {
    /// Returns what the hose is connected to.
    pub fn condition(self) -> Condition {
        match self {
            RigStep::Read(condition) | RigStep::ToStop { condition, .. } => condition,
            RigStep::Set(setting) => setting.condition,
        }
    }

    /// Returns which valve was turned; `at_stop` says that it came to its stop before the gauge showed what it should.
    pub fn moved(self, at_stop: bool) -> Option<Moved> {
        match self {
            RigStep::Read(_) => None,
            RigStep::Set(setting) => {
                let stop = at_stop.then_some(setting.turn.stop());
                Some(Moved { valve: setting.valve, stop })
            }
            RigStep::ToStop { valve, stop, .. } => Some(Moved { valve, stop: Some(stop) }),
        }
    }

    /// Returns the step that a coach asks for; none where it asks for no reading.
    pub fn of(step: &CoachStep) -> Option<RigStep> {
        match step {
            CoachStep::Read(condition) => Some(RigStep::Read(*condition)),
            CoachStep::Set { setting, .. } => Some(RigStep::Set(*setting)),
            CoachStep::TurnToStop { condition, valve, stop } => {
                Some(RigStep::ToStop { condition: *condition, valve: *valve, stop: *stop })
            }
            CoachStep::Settled { .. } | CoachStep::Repair(_) => None,
        }
    }

    /// Returns the same as a coach's step.
    pub fn as_step(self) -> CoachStep {
        match self {
            RigStep::Read(condition) => CoachStep::Read(condition),
            RigStep::Set(setting) => CoachStep::Set { setting, then: None },
            RigStep::ToStop { condition, valve, stop } => CoachStep::TurnToStop { condition, valve, stop },
        }
    }
}
