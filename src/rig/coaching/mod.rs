//! Coaching: which valve to turn to which reading, so that one pass lands both targets, and what is wrong where it does
//! not.

mod areas;
mod change;
mod coach;
mod comparing;
mod course;
mod finding;
mod following;
mod goal;
mod observation;
mod pair_advice;
mod pairing;
mod phase;
mod plan;
mod proof;
mod proving;
mod setting;
mod sight;
mod standing;
mod step;

pub use coach::Coach;
pub use finding::Finding;
pub use goal::{Goal, GoalError};
pub use observation::{Moved, Observation};
pub use pair_advice::PairAdvice;
pub use plan::Plan;
pub use setting::Setting;
pub use step::{Coached, Step};
