//! Questions of the shop's history: what each asks for, and its answer in tables.

mod answer;
mod baseline;
mod class;
mod command;
mod counted;
mod limits;
mod over_time;
mod overview;

pub(super) use command::History;
