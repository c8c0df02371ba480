//! What is settled before a session's first question.

use std::fmt;

use serde::{Deserialize, Serialize};

use super::{EarlierRecord, Exercise, PictureDigest, Plan, PortMap, Prices};
use crate::leak::OilState;
use crate::rig::{BenchIdentity, Dial, Orifice, Pump, Repeatability};

/// The most characters of a job's number or name.
pub(crate) const LONGEST_JOB: usize = 60;

/// Everything that is settled before a session's first question.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Opening {
    /// The session's name, also the record's.
    pub session: String,
    /// What the shop knows the job by; none where nobody said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub job: Option<String>,
    /// Whether a bench or a simulated rig answers.
    pub mode: Mode,
    /// Version of the program.
    pub program: String,
    /// The procedure and every file of it.
    pub procedure: ProcedureIdentity,
    /// The files' texts, in their order; each once.
    pub texts: Vec<String>,
    /// The parts of the rig that enter the figures.
    pub rig: RigParts,
    /// Whether nobody had described the rig, so that the usual one was taken for it.
    #[serde(default, skip_serializing_if = "is_false")]
    pub rig_is_assumed: bool,
    /// The bench that the rig stands at; none where no rig was described, and where nothing is measured.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bench: Option<BenchIdentity>,
    /// How many minutes the clock of the place was ahead of UTC; fewer than none where it was behind.
    #[serde(default, skip_serializing_if = "is_utc")]
    pub minutes_ahead: i16,
    /// Probability that a verdict must reach, 0.5 to below 1.
    pub confidence: f64,
    /// Which circuits are tested; none where all are.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub plan: Option<Plan>,
    /// What things cost; none where no figures are known.
    pub prices: Prices,
    /// The record that this one amends; none for a session of its own.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub amends: Option<Amendment>,
    /// The exercise that a student works at; none at a real bench and in a rehearsal.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub exercise: Option<Box<Exercise>>,
}

/// Why a new record stands in for an older one, which stays as it is.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Amendment {
    /// The older record.
    pub earlier: EarlierRecord,
    /// Why it is amended.
    pub reason: String,
    /// Who amends it.
    pub by: String,
}

/// What answers the questions about the rig.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Mode {
    /// A rig on a bench.
    Bench,
    /// A simulated rig; nothing was measured.
    Rehearsal,
    /// A student at a simulated rig, who is graded; nothing was measured.
    Practice,
}

impl Mode {
    pub(crate) const ALL: [Mode; 3] = [Mode::Bench, Mode::Rehearsal, Mode::Practice];

    /// Returns the word by which records and servers call it.
    pub(crate) fn word(self) -> &'static str {
        match self {
            Mode::Bench => "bench",
            Mode::Rehearsal => "rehearsal",
            Mode::Practice => "practice",
        }
    }
}

/// Which procedure ran.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct ProcedureIdentity {
    /// Its short name.
    pub id: String,
    /// Its title.
    pub title: String,
    /// The unit that it tests; none for a bench job.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unit: Option<String>,
    /// Its version.
    pub version: String,
    /// Whether it sets the rig itself; a calibration then proves pump, hose and plug as well.
    #[serde(default, skip_serializing_if = "is_false")]
    pub sets_rig: bool,
    /// Oil at working conditions, where the procedure gives it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub oil: Option<OilState>,
    /// Where it came from.
    pub origin: Origin,
    /// Who signed it; none where nobody did.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub signer: Option<Signer>,
    /// Every file that ran, the procedure's own first.
    pub files: Vec<FileDigest>,
    /// The pictures that it shows, by their names.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub pictures: Vec<PictureDigest>,
    /// Where ports lie on the picture of the unit; none where it has no such picture.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub map: Option<PortMap>,
}

/// Where a procedure came from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Origin {
    /// It is built into the program.
    Shipped,
    /// It was received as a pack and is installed in the shop.
    Shop,
    /// It was given by the path of its file.
    File,
}

/// Who signed a procedure.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Signer {
    /// The name that the signer goes by.
    pub name: String,
    /// Six groups of five digits, made of the signer's public key.
    pub fingerprint: String,
}

impl fmt::Display for Signer {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} ({})", self.name, self.fingerprint)
    }
}

/// Says in words where a procedure came from and who signed it.
pub(crate) fn provenance(origin: Origin, signer: Option<&Signer>) -> String {
    match (origin, signer) {
        (_, Some(signer)) => format!("signed by {signer}"),
        (Origin::Shipped, None) => "shipped with the program".to_owned(),
        (Origin::Shop, None) => "from the shop's procedures, unsigned".to_owned(),
        (Origin::File, None) => "from a file, unsigned".to_owned(),
    }
}

/// A file by its content.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct FileDigest {
    /// Its name, relative to the procedure's folder.
    pub name: String,
    /// SHA-256 of its bytes, in hexadecimal.
    pub sha256: String,
}

/// The parts of the rig that enter the figures.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct RigParts {
    /// The test orifice.
    pub orifice: Orifice,
    /// The gauge's dial.
    pub dial: Dial,
    /// The pump, where its figures are known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pump: Option<Pump>,
    /// How well its readings repeat, where that was measured.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub repeatability: Option<Repeatability>,
}

/// Keeps a field that is false out of the document.
#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde passes a reference")]
pub(super) fn is_false(flag: &bool) -> bool {
    !flag
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde passes a reference")]
fn is_utc(minutes_ahead: &i16) -> bool {
    *minutes_ahead == 0
}

impl RigParts {
    /// The usual home-made rig: a 0.035 in plug and the dial that most benches have.
    pub const USUAL: RigParts =
        RigParts { orifice: Orifice::STANDARD, dial: Dial::USUAL, pump: None, repeatability: None };
}

impl Default for RigParts {
    fn default() -> RigParts {
        RigParts::USUAL
    }
}
