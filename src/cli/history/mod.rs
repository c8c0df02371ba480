//! Questions of the shop's history: one small file a question.

mod answer;
mod baseline;
mod by;
mod class;
mod command;
mod drift;
mod failing;
mod limits;
mod repairs;
mod savings;
mod spread;
mod units;

pub(crate) use command::History;
