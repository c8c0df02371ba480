//! Statistics against published data sets and tables.

mod charts;
mod studies;
mod tolerance;
