//! Reports: a record told in words, as text for the terminal, as a page to print, and as rows for spreadsheets.
//!
//! [`tell`] makes a [`Story`] of a record, which [`show`] and [`page`] render; [`rows`] and its like export readings.
//! A [`CurveSheet`] is the curve of a rig: readings against holes, as a table, as rows and as a picture.

mod baseline_advice;
mod bench;
mod circuit;
mod class_advice;
mod curve;
mod export;
mod html;
mod meaning;
mod row;
mod story;
mod table;
mod text;

pub use baseline_advice::baseline_advice;
pub use circuit::{CircuitStory, Finding, ReadingStory};
pub use class_advice::class_advice;
pub use curve::{CurveSheet, curve_csv, curve_svg, curve_table};
pub use export::{csv, json_lines};
pub use html::{page, sheet};
pub use meaning::sentences;
pub use row::{Row, rows};
pub use story::{DEFERRAL, Story, tell};
pub use table::{Chart, Histogram, Picture, Shares, Table, show_table};
pub use text::show;

use table::{N_BARS, edges};
