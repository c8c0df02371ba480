//! What the tests share: the program run from outside, terminals, desks, shops, procedures, records, figures and draws.

mod answering;
mod browser;
mod cluster;
mod coached;
#[cfg(target_os = "linux")]
mod faulty_disk;
mod figures;
mod generated;
mod packs;
mod pictures;
mod program;
mod schema;
mod script;
mod script_grammar;
mod shopfront;
mod terminal;
mod texts;
mod varied;

pub(crate) use answering::{Answering, answer, question, runner_line};
pub(crate) use browser::{BROWSER_PATIENCE, Browser, Reply};
pub(crate) use cluster::Cluster;
pub(crate) use coached::{anywhere, back_and_forth, follow, follow_as, quarter_of_a_division};
#[cfg(target_os = "linux")]
pub(crate) use faulty_disk::{Failing, failing_at, failing_with};
pub(crate) use figures::{
    Draws, Table, celsius, close, files, flat, in_hg, inhg, keyed, lines, near, rig, seeds,
};
pub(crate) use generated::{Wanted, drawn, generated, session, store};
pub(crate) use packs::{brook, file, program, sign, signer, small_pack};
pub(crate) use pictures::{jpeg, png, slope};
pub(crate) use program::{Home, Ran, Run, Running, limited, records_in, run, spoolproof};
pub(crate) use schema::Schema;
pub(crate) use script::{Script, compiled, source};
pub(crate) use script_grammar::{fuzz, pieces, procedure};
pub(crate) use shopfront::{Shopfront, each_value, essence, journal_at, leave_out, opening, shown, tick};
pub(crate) use terminal::Terminal;
pub(crate) use texts::{
    BODY, BODY_LINES, FEED, FEED_LINES, answers, entered, home, sample, takes, times_answered, walked,
};
pub(crate) use varied::varied_records;
