//! What the tests of procedures and sessions share: scripts written into the test, a shop in a temporary folder, and
//! desks that answer without a terminal.

mod answering;
mod body;
mod feed;
mod program;
mod schema;
mod script;
mod shopfront;
mod varied;

pub(crate) use answering::{answer, runner_line};
pub(crate) use body::{BODY, BODY_LINES, answers, takes, times_answered};
pub(crate) use feed::{FEED, FEED_LINES, home, lines, walked};
pub(crate) use program::{Home, Ran, run};
pub(crate) use schema::Schema;
pub(crate) use script::Script;
pub(crate) use shopfront::{Shopfront, essence, leave_out};
pub(crate) use varied::varied_records;
