//! Drafts of procedures.

mod dialogue;
mod draft_from;
mod drafted_example;
mod ports;
#[cfg(unix)]
mod pty;
mod written;
