//! The leak: what readings of a circuit mean, how sure that is, and the verdict that follows.
//!
//! `leak` sits on `rig`: it takes its calibration and dial from there. [`assess`] turns the readings of one state of a
//! circuit into an [`Assessment`]; [`judge`] sets that against [`Limits`]. Neither does I/O nor draws random numbers.

mod assess;
mod baseline;
mod bench;
mod budget;
mod expectation;
mod judgement;
mod kind;
mod land;
mod limits;
mod meaning;
mod memo;
mod propagation;
mod spread;
mod sure;
mod travel;

pub use assess::{Assessment, assess};
#[cfg(test)]
pub(crate) use baseline::BaselineError;
pub(crate) use baseline::{Baseline, HoldsRule, Promise, Shape, leaks_for};
pub(crate) use bench::ContextError;
pub use bench::{Bench, Context, OilState};
pub(crate) use budget::{Budget, ErrorSource};
pub use expectation::{CurveRow, curve, expect_clearance, expect_hole};
pub(crate) use expectation::{ExpectationError, curve_line};
pub(crate) use judgement::Advice;
pub use judgement::{DEFAULT_CONFIDENCE, Judgement, Verdict, judge};
pub(crate) use judgement::{TestEnd, verdict};
pub use kind::LeakKind;
pub(crate) use kind::Seal;
pub(crate) use land::METALS;
pub use land::{Expansions, Land, MeasuredBy};
pub use limits::Limits;
pub(crate) use limits::LimitsError;
pub(crate) use meaning::Interpretation;
pub(crate) use memo::Memo;
pub use propagation::Estimate;
pub(crate) use spread::Spread;
pub(crate) use sure::Sure;
pub(crate) use travel::Travel;
