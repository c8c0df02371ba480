//! A runner for vacuum tests of valve-body circuits.
pub mod air;
pub mod leak;
pub mod oil;
pub mod quantity;
pub mod rig;

/// Parses the command line, runs it and returns the exit status.
pub fn run() -> std::process::ExitCode {
    std::process::ExitCode::SUCCESS
}
