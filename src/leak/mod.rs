//! The leak: what readings of a circuit mean, how sure that is, and the verdict that follows.
//!
//! `leak` sits on `rig`: it takes its calibration and dial from there. [`assess`] turns the readings of one state of a
//! circuit into an [`Assessment`]; [`judge`] sets that against [`Limits`]. Neither does I/O nor draws random numbers.

mod assess;
mod assessment;
mod bench;
mod budget;
mod context;
mod curve;
mod estimate;
mod expectation;
mod interpretation;
mod judgement;
mod limits;
mod meaning;
mod propagation;
mod scale;
mod spread;
mod summary;
mod verdict;

pub use assess::assess;
pub use assessment::Assessment;
pub use bench::{Bench, BenchError};
pub use budget::{Budget, Source};
pub use context::{Context, ContextError, Land, OilState};
pub use curve::{CurveRow, curve, curve_line};
pub use estimate::Estimate;
pub use expectation::{ExpectationError, expect_clearance, expect_hole};
pub use interpretation::{Assumption, Interpretation};

pub use crate::air::OutOfDomain;
pub use judgement::{Advice, DEFAULT_CONFIDENCE, Judgement, judge, verdict};
pub use limits::{Limits, LimitsError};
pub use spread::Spread;
pub use verdict::Verdict;
