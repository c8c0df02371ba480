//! A runner for vacuum tests of valve-body circuits.
pub mod quantity;

/// Parses the command line, runs it and returns the exit status.
pub fn run() -> std::process::ExitCode {
    std::process::ExitCode::SUCCESS
}
