//! The `spoolproof` program: parses its command line and runs it.

use std::process::ExitCode;

/// An audit makes and drops many small things; with the system's allocator a fifth of it goes there.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> ExitCode {
    spoolproof::run()
}
