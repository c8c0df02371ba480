//! The `spoolproof` program: parses its command line and runs it.

use std::process::ExitCode;

fn main() -> ExitCode {
    spoolproof::run()
}
