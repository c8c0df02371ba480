//! The leak: what readings of a circuit mean, how sure that is, and the verdict that follows.
//!
//! `leak` sits on `rig`: it takes its calibration and dial from there. [`assess`] turns the readings of one state of a
//! circuit into an [`Assessment`]; [`judge`] sets that against [`Limits`]. Neither does I/O nor draws random numbers.

mod assess;
mod assessment;
mod baseline;
mod bench;
mod budget;
mod context;
mod context_error;
mod curve;
mod estimate;
mod expectation;
mod interpretation;
mod judgement;
mod land;
mod limits;
mod meaning;
mod oil_state;
mod propagation;
mod scale;
mod spread;
mod summary;
mod verdict;

pub use assess::assess;
pub use assessment::Assessment;
pub use baseline::{Baseline, Promise, Shape, leaks_for};
pub use bench::Bench;
pub use budget::{Budget, Source};
pub use context::Context;
pub use context_error::ContextError;
pub use curve::curve_line;
pub use curve::{CurveRow, curve};
pub use estimate::Estimate;
pub use expectation::ExpectationError;
pub use expectation::{expect_clearance, expect_hole};
pub use interpretation::{Assumption, Interpretation};

pub use crate::air::OutOfDomain;
#[cfg(test)]
pub use baseline::BaselineError;
#[cfg(test)]
pub use judgement::Advice;
pub use judgement::verdict;
pub use judgement::{DEFAULT_CONFIDENCE, Judgement, judge};
pub use land::Land;
pub use limits::Limits;
pub use limits::LimitsError;
pub use oil_state::OilState;
pub use spread::Spread;
pub use verdict::Verdict;
