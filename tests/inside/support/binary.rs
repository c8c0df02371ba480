//! The program itself, for tests that run it as its user would.

use std::path::PathBuf;

/// Returns the path of the program that this build made: it stands above the folder of the tests.
pub(crate) fn spoolproof() -> PathBuf {
    let tests = std::env::current_exe().expect("a program");
    let folder = tests.ancestors().nth(2).expect("a folder of the build");
    let program = folder.join(format!("spoolproof{}", std::env::consts::EXE_SUFFIX));
    assert!(program.is_file(), "{} is not built; `cargo test` builds it", program.display());
    program
}
