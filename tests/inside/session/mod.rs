//! Sessions, at a prompt and through whatever ends them early.

mod disk;
mod drifting;
mod folders;
mod journal;
#[cfg(unix)]
mod killed;
mod prompt;
#[cfg(unix)]
mod pty;
mod survival;
mod walks;
