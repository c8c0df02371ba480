use super::comparing::Comparing;
use super::following::Following;
use super::pairing::Pairing;
use super::proving::Proving;
use super::{Coach, Coached, Finding, Step};
use crate::quantity::Pressure;
use crate::rig::Condition;

/// Where a calibration is on its way.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Phase {
    /// Reading plugged and through with the valves as they are.
    Pairing(Pairing),
    /// Setting the valves by a plan.
    Following(Following),
    /// Setting the valves from a shut bleed.
    Proving(Proving),
    /// Finding what leaks.
    Comparing(Comparing),
    /// Finding out whether the needle moves at all.
    NeedleCheck {
        /// Where it stood.
        at: Pressure,
        /// What made it doubtful.
        doubt: Doubt,
    },
    /// Something has to be repaired.
    Found(Finding),
    /// Both readings are within tolerance.
    Settled {
        /// The reading with the hose plugged.
        plugged: Pressure,
        /// The reading through the orifice.
        through: Pressure,
    },
}

/// Why the needle may not move.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Doubt {
    /// It stood the same plugged and through the orifice.
    Orifice,
    /// A valve came to its stop and the reading did not come where it should.
    Stop,
}

impl Phase {
    /// Returns a pairing that has one of its readings already.
    pub(super) fn pairing_from(condition: Condition, reading: Pressure) -> Phase {
        Phase::Pairing(Pairing::default().with(condition, reading))
    }

    /// Returns a pairing after a plan's last setting, from which the other reading is expected near its target.
    pub(super) fn pairing_after(condition: Condition, reading: Pressure, miss: Pressure) -> Phase {
        Phase::Pairing(Pairing::expected_within(miss).with(condition, reading))
    }

    pub(super) fn coached(&self, coach: &Coach) -> Coached {
        let plain = |step, reason: &str| Coached { step, reason: reason.to_owned() };
        match self {
            Phase::Pairing(pairing) => pairing.coached(coach),
            Phase::Following(following) => following.coached().unwrap_or_else(|| {
                plain(Step::Read(Condition::Plugged), "Both valves are set; see where they are.")
            }),
            Phase::Proving(proving) => proving.coached(coach),
            Phase::Comparing(comparing) => comparing.coached(),
            Phase::NeedleCheck { .. } => plain(
                Step::Read(Condition::Open),
                "The needle has not moved as it should; with the hose end open it must fall to zero.",
            ),
            Phase::Found(finding) => plain(Step::Repair(*finding), &finding.to_string()),
            Phase::Settled { plugged, through } => plain(
                Step::Settled { plugged: *plugged, through: *through },
                "Both readings are within tolerance of their targets.",
            ),
        }
    }
}
