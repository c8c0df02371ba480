use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use serde_json::Value;

/// The program in a home of its own, which knows nothing of the machine's.
pub(crate) struct Home {
    folder: tempfile::TempDir,
}

/// A run of the program whose exit status nobody has looked at yet.
#[must_use = "a run whose status nobody looks at proves nothing"]
pub(crate) struct Run(Ran);

/// What came of a run of the program.
pub(crate) struct Ran {
    pub(crate) status: i32,
    pub(crate) out: String,
    pub(crate) err: String,
}

impl Home {
    /// Makes an empty home.
    pub(crate) fn new() -> Home {
        Home { folder: tempfile::tempdir().expect("a folder") }
    }

    /// A path in it.
    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// Writes a file into it and returns its path.
    pub(crate) fn write(&self, name: &str, text: &str) -> PathBuf {
        let path = self.path(name);
        std::fs::write(&path, text).expect("a file");
        path
    }

    /// The shop that the program finds by itself.
    pub(crate) fn shop(&self) -> PathBuf {
        self.path("data/spoolproof")
    }

    /// A command of the program: with this home, no other environment, and in this folder.
    pub(crate) fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(crate::tests::support::binary::spoolproof());
        command.env_clear().env("HOME", self.folder.path()).env("LANG", "C.UTF-8");
        command.env("XDG_DATA_HOME", self.path("data")).current_dir(self.folder.path()).args(arguments);
        // Where the program's libraries keep to the system's folders, these are what it has.
        for name in ["SYSTEMROOT", "TMPDIR"] {
            if let Some(value) = std::env::var_os(name) {
                command.env(name, value);
            }
        }
        command
    }

    /// Runs the program with these lines on standard input.
    pub(crate) fn run(&self, arguments: &[&str], input: &str) -> Run {
        run(&mut self.command(arguments), input)
    }

    /// The files in a folder, by name.
    pub(crate) fn names(&self, folder: &Path) -> Vec<String> {
        let Ok(entries) = std::fs::read_dir(folder) else { return Vec::new() };
        let name =
            |entry: std::io::Result<std::fs::DirEntry>| entry.expect("a file").file_name().into_string();
        let mut names: Vec<_> = entries.map(name).map(|name| name.expect("a name")).collect();
        names.sort();
        names
    }
}

/// Runs a command with these lines on standard input.
pub(crate) fn run(command: &mut Command, input: &str) -> Run {
    command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = command.spawn().expect("the program");
    // A program that ends early closes the pipe; what it says then is what is looked at.
    let _ = child.stdin.take().expect("its input").write_all(input.as_bytes());
    let output = child.wait_with_output().expect("its end");
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("text");
    Run(Ran {
        status: output.status.code().unwrap_or(-1),
        out: text(output.stdout),
        err: text(output.stderr),
    })
}

impl Run {
    /// Checks the exit status.
    #[track_caller]
    pub(crate) fn exits(self, status: i32) -> Ran {
        assert_eq!(self.0.status, status, "{}\n{}", self.0.out, self.0.err);
        self.0
    }
}

impl Ran {
    /// Checks that standard error says something, breaks of lines aside.
    #[track_caller]
    pub(crate) fn complains(self, wanted: &str) -> Ran {
        let flat = self.err.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(flat.contains(wanted), "no {wanted:?} in {flat}");
        self
    }

    /// Checks that standard output says something, breaks of lines aside.
    #[track_caller]
    pub(crate) fn says(self, wanted: &str) -> Ran {
        let flat = self.out.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(flat.contains(wanted), "no {wanted:?} in {}", self.out);
        self
    }

    /// Reads standard output as one JSON document and nothing else.
    #[track_caller]
    pub(crate) fn json(&self) -> Value {
        assert!(self.out.ends_with("}\n") || self.out.ends_with("]\n"), "{}", self.out);
        serde_json::from_str(&self.out).unwrap_or_else(|error| panic!("{error}: {}", self.out))
    }
}
