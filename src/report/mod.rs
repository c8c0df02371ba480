//! Reports: a job or a record told in words, as text for the terminal and as a page to print; tables with pictures;
//! rows for spreadsheets; the curve of a rig.
//!
//! A [`JobReport`] is made once of the records of a job and what is noted of it, and [`show`] and [`page`] render it: a
//! page for the customer in front, the figures behind it.

mod advice;
mod bars;
mod chart;
mod curve;
mod customer;
mod customer_page;
mod dots;
mod histogram;
mod job;
mod markup;
mod page;
mod photo;
mod port_map;
mod port_picture;
mod rows;
mod scale;
mod shares;
mod story;
mod svg;
mod table;
mod text;

pub(crate) use advice::{baseline_advice, class_advice, ranked, unsteady};
pub(crate) use bars::{Bar, Bars};
pub(crate) use chart::Chart;
pub(crate) use curve::CurveSheet;
pub(crate) use dots::Dots;
pub(crate) use histogram::Histogram;
pub(crate) use job::{JobReport, ReportedRecord};
pub(crate) use page::{page, sheet_page, table_page};
pub(crate) use photo::PhotoStory;
pub(crate) use port_picture::pictures_of;
pub(crate) use rows::{ReadingRow, csv, json_lines, rows};
pub(crate) use shares::Shares;
pub(crate) use story::facts;
pub(crate) use table::{Cell, Picture, Table, show_table};
pub(crate) use text::show;
