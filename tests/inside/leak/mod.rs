//! Assessments, their uncertainty, verdicts and limits against outside figures.

mod assessing;
mod baseline;
mod clearances;
mod conformity;
mod coverage;
mod dials;
mod oil_loss;
mod properties;
mod sources;
mod travel;
