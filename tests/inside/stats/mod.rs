//! Statistics against published data sets and tables.

mod studies;
mod tolerance;
