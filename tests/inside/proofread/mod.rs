//! Proofreading and worksheets.

mod faults;
mod worksheet;
