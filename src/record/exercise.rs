//! An exercise: a simulated unit with hidden defects, and what a student's work on it is worth.

use serde::{Deserialize, Serialize};

use super::opening::is_false;
use super::{Circuit, Plan, SignerKey};
use crate::leak::Verdict;
use crate::quantity::Pressure;

/// A simulated unit, the room that it is tested in, and what is wrong with either.
///
/// It stands in the opening of each attempt, so that an audit can work the grade out again; whoever reads the record,
/// or the program, can read the defects too.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Exercise {
    /// Its short name.
    pub name: String,
    /// What it teaches, in a sentence.
    pub teaches: String,
    /// What draws the rig's parts, how little sound circuits leak, and how a plate comes to lie: 1 or more.
    pub seed: u64,
    /// The barometer in the room.
    pub barometer_pa: Pressure,
    /// Whether the rig stands set when the student comes.
    #[serde(default, skip_serializing_if = "is_false")]
    pub is_set: bool,
    /// What the customer complains of; the student says which circuits are worth testing. None where
    /// the exercise says so.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub complaint: Option<String>,
    /// What the complaint means in the procedure's words; nothing where it is in them, or there is none.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub meant: Vec<String>,
    /// What is wrong; nothing where all is sound.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub defects: Vec<Defect>,
    /// What each point weighs, in place of the usual weights: all of them, or none.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub weights: Vec<Weight>,
    /// By whom it was handed out and how; none where nobody signed it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub handed_out: Option<HandedOut>,
}

impl Exercise {
    /// Plans the circuits that can cause its complaint; none where there is no complaint, or nothing covers it.
    pub(crate) fn sought(&self, circuits: &[Circuit]) -> Option<Plan> {
        let said = self.complaint.as_slice();
        let sought = if self.meant.is_empty() { said } else { &self.meant };
        self.complaint.as_ref().and_then(|_| Plan::from_complaints(sought, circuits).ok())
    }
}

/// What whoever hands an exercise out decides about the attempts at it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct HandedOut {
    /// Whose key signed the exercise.
    pub by: SignerKey,
    /// How many attempts a student may make; any number where it is left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub attempts: Option<u32>,
    /// Whether the truth and the grade are shown by whoever handed it out, and not at the attempt's end.
    #[serde(default, skip_serializing_if = "is_false")]
    pub is_held_back: bool,
}

/// Something that is wrong.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Defect {
    /// What.
    pub cause: Cause,
    /// The circuit that has it, or at whose test the rig is upset; none for an orifice.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub circuit: Option<String>,
    /// The label of the only reading of the circuit that shows it; none where all do.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reading: Option<String>,
    /// What a test of the circuit comes to; where it is left out, leaks.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub verdict: Option<Verdict>,
}

/// What can be wrong with a simulated unit or its rig.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Cause {
    /// A land is worn: a gap.
    WornLand,
    /// A nick in the face: a hole.
    Nick,
    /// The land to a neighbour is worn: the air comes across from there.
    CrossLeak,
    /// The valve hangs in its bore.
    StuckValve,
    /// A check ball is missing.
    MissingBall,
    /// A metering hole is too wide or too narrow.
    Metering,
    /// The plate lies badly on the circuit until its face is wiped; the circuit is sound.
    BadSeat,
    /// The orifice on the bench is another than the rig's.
    WrongOrifice,
    /// The bleed valve moves when the circuit is first read.
    Drift,
}

impl Cause {
    /// What a student can name for a circuit.
    pub(crate) const OF_CIRCUITS: [Cause; 6] = [
        Cause::WornLand,
        Cause::Nick,
        Cause::CrossLeak,
        Cause::StuckValve,
        Cause::MissingBall,
        Cause::Metering,
    ];

    /// Returns whether it is a defect of a circuit, which a test is to find.
    pub(crate) fn is_of_circuit(self) -> bool {
        Cause::OF_CIRCUITS.contains(&self)
    }

    /// Returns whether it has to be said at which circuit it is.
    pub(crate) fn needs_circuit(self) -> bool {
        self != Cause::WrongOrifice
    }

    pub(crate) fn words(self) -> &'static str {
        match self {
            Cause::WornLand => "the land is worn",
            Cause::Nick => "a nick in the face",
            Cause::CrossLeak => "air crosses from a neighbour's port",
            Cause::StuckValve => "the valve hangs in its bore",
            Cause::MissingBall => "a check ball is missing",
            Cause::Metering => "the metering hole has the wrong size",
            Cause::BadSeat => "the plate lay badly",
            Cause::WrongOrifice => "the wrong orifice was on the bench",
            Cause::Drift => "the bleed valve was moved",
        }
    }
}

/// How much a point of the grade counts.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Weight {
    /// The point.
    pub point: Point,
    /// How much it counts beside the others, 0 or more.
    pub weight: f64,
}

/// What a grade looks at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Point {
    /// Both points of the rig are right.
    RigSet,
    /// In how many settings.
    Settings,
    /// How near the readings are to the needle.
    Readings,
    /// Whether hose, plate and oil were as the reading needs them.
    Handling,
    /// Looks at the rig with the right thing on the hose and no valve turned.
    Checks,
    /// Cautions acknowledged before a hand does anything more.
    Cautions,
    /// The circuits that can cause the complaint, and no others.
    Circuits,
    /// What is amiss is found.
    Found,
    /// What is sound is left alone.
    Spared,
    /// Cause and place.
    Cause,
    /// The repair.
    Repair,
    /// How sure the student was beside how often right: the Brier score.
    Confidence,
    /// No parts bought for nothing.
    Parts,
    /// How long it took by the bench's clock.
    Time,
}

/// What a student's work at an exercise is worth.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Mark {
    /// Of 100.
    pub total: f64,
    /// Whether it is enough.
    pub passed: bool,
    /// The points that the exercise has something for, each with its reason.
    pub points: Vec<PointMark>,
}

/// One point of a grade.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct PointMark {
    /// The point.
    pub point: Point,
    /// How much of it was reached, 0 to 1.
    pub share: f64,
    /// How much it counts.
    pub weight: f64,
    /// Why so much.
    pub because: String,
}
