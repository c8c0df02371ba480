//! Sessions, at a prompt and through whatever ends them early.

mod any_answer;
mod asked_less;
mod brief;
mod closing;
mod dial;
mod disk;
mod drifting;
#[cfg(target_os = "linux")]
mod faults;
mod fuzz;
mod hands;
mod journal;
#[cfg(unix)]
mod killed;
mod left;
mod needle;
mod off_plug;
mod plans;
mod prompt;
#[cfg(unix)]
mod pty;
#[cfg(unix)]
mod pty_page;
mod survival;
mod walks;
mod wandering;
