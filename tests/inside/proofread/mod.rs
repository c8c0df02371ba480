//! Proofreading and worksheets.

mod bounds;
mod brute_force;
mod faults;
mod looks;
mod paper;
mod worksheet;
