//! Assessments, their uncertainty, verdicts and limits against outside figures.

mod assessing;
mod baseline;
mod conformity;
mod coverage;
mod dials;
mod properties;
mod sources;
mod travel;
