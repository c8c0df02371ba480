//! Drafts of procedures.

mod any_dialogue;
mod dialogue;
mod draft_from;
mod drafted_example;
#[cfg(unix)]
mod pty;
mod written;
