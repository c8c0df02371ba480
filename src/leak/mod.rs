//! The leak: what readings of a circuit mean, how sure that is, and the verdict that follows.
//!
//! `leak` sits on `rig`: it takes its calibration and dial from there. [`assess`] turns the readings of one state of a
//! circuit into an [`Assessment`]; [`judge`] sets that against [`Limits`]. Neither does I/O nor draws random numbers.

mod assess;
mod bench;
mod budget;
mod expectation;
mod judgement;
mod limits;
mod meaning;
mod propagation;
mod spread;

pub use assess::{Assessment, assess};
pub use bench::{Bench, Context, Land, OilState};
pub use budget::{Budget, ErrorSource};
pub use expectation::{CurveRow, ExpectationError, curve, curve_line, expect_clearance, expect_hole};
#[cfg(test)]
pub use judgement::Advice;
pub use judgement::{DEFAULT_CONFIDENCE, Judgement, Verdict, judge, verdict};
#[cfg(test)]
pub use limits::BaselineError;
pub use limits::{Baseline, Limits, LimitsError, Promise, Shape, leaks_for};
pub use meaning::Interpretation;
pub use propagation::Estimate;
pub use spread::Spread;
