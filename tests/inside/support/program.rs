//! The program itself, run as its user runs it: in a home of its own, with lines on standard input.
//! Every wait has an end.

use std::ffi::OsStr;
use std::io::{BufRead, BufReader, Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, Command, Stdio};
use std::sync::LazyLock;
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use serde_json::Value;

use super::flat;
use crate::record::{Record, read};

/// How long anything is waited for: machines that do other things besides are slow, but not as slow as this.
pub(crate) const PATIENCE: Duration = Duration::from_secs(120);

/// Returns the path of the program that this build made: it stands above the folder of the tests.
pub(crate) fn spoolproof() -> PathBuf {
    let tests = std::env::current_exe().expect("a program");
    let folder = tests.ancestors().nth(2).expect("a folder of the build");
    let program = folder.join(format!("spoolproof{}", std::env::consts::EXE_SUFFIX));
    assert!(program.is_file(), "{} is not built; `cargo test` builds it", program.display());
    program
}

/// A command that starts the program with the signals as they are by default: where the tests run in the background,
/// they may be such as children pass over. Only some systems' `env` can do that.
fn started() -> Command {
    static IS_RESET: LazyLock<bool> = LazyLock::new(|| {
        let tried = Command::new("env").args(["--default-signal", "true"]).stderr(Stdio::null()).status();
        tried.is_ok_and(|status| status.success())
    });
    if !*IS_RESET {
        return Command::new(spoolproof());
    }
    let mut command = Command::new("env");
    command.arg("--default-signal").arg(spoolproof());
    command
}

/// A command that runs a program within 256 MiB of address space and 2 seconds of processor time, by the shell's
/// `ulimit` (POSIX). A debug build, several times slower than what people run, has 8 seconds, as machines do
/// other things besides.
pub(crate) fn limited(program: impl AsRef<OsStr>) -> Command {
    let seconds = if cfg!(debug_assertions) { 8 } else { 2 };
    let limits = format!("ulimit -c 0; ulimit -v 262144; ulimit -t {seconds}; exec \"$0\" \"$@\"");
    let mut command = Command::new("sh");
    command.args(["-c", &limits]).arg(program);
    command
}

/// The program in a home of its own, which knows nothing of the machine's.
pub(crate) struct Home {
    folder: tempfile::TempDir,
}

impl Home {
    /// Makes an empty home.
    pub(crate) fn new() -> Home {
        Home { folder: tempfile::tempdir().expect("a folder") }
    }

    /// A home with one file in it.
    pub(crate) fn with(name: &str, text: impl AsRef<[u8]>) -> Home {
        let home = Home::new();
        home.write(name, text);
        home
    }

    /// The folder itself, in which the program runs.
    pub(crate) fn folder(&self) -> &Path {
        self.folder.path()
    }

    /// A path in it.
    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// Writes a file into it and returns its path.
    pub(crate) fn write(&self, name: &str, text: impl AsRef<[u8]>) -> PathBuf {
        let path = self.path(name);
        std::fs::write(&path, text).expect("a file");
        path
    }

    /// Has nobody but its owner read a file in it.
    #[cfg(unix)]
    pub(crate) fn protect(&self, name: &str) {
        use std::os::unix::fs::PermissionsExt;
        let alone = std::fs::Permissions::from_mode(0o600);
        std::fs::set_permissions(self.path(name), alone).expect("a file");
    }

    /// The text of a file in it.
    #[track_caller]
    pub(crate) fn read(&self, name: &str) -> String {
        std::fs::read_to_string(self.path(name)).unwrap_or_else(|error| panic!("{name}: {error}"))
    }

    /// The shop that the program finds by itself.
    pub(crate) fn shop(&self) -> PathBuf {
        self.path("data/spoolproof")
    }

    /// The records of its shop, by name.
    pub(crate) fn records(&self) -> Vec<PathBuf> {
        records_in(&self.shop().join("records"))
    }

    /// The one record of its shop.
    #[track_caller]
    pub(crate) fn record(&self) -> Record {
        let records = self.records();
        assert_eq!(records.len(), 1, "{records:?}");
        read(&records[0]).expect("a record")
    }

    /// The one record of its rehearsals, as it stands in the file.
    #[track_caller]
    pub(crate) fn rehearsal(&self) -> Value {
        let records = records_in(&self.shop().join("rehearsals/records"));
        assert_eq!(records.len(), 1, "{records:?}");
        serde_json::from_slice(&std::fs::read(&records[0]).expect("a record")).expect("JSON")
    }

    /// A command of the program: with this home, no other environment, and in this folder.
    pub(crate) fn command<S: AsRef<OsStr>>(&self, arguments: &[S]) -> Command {
        let mut command = started();
        command.env_clear().env("HOME", self.folder()).env("LANG", "C.UTF-8");
        command.env("XDG_DATA_HOME", self.path("data")).current_dir(self.folder()).args(arguments);
        // Where the program's libraries keep to the system's folders, these are what it has.
        for name in ["SYSTEMROOT", "TMPDIR"] {
            if let Some(value) = std::env::var_os(name) {
                command.env(name, value);
            }
        }
        command
    }

    /// Runs the program with these lines on standard input.
    pub(crate) fn run<S: AsRef<OsStr>>(&self, arguments: &[S], input: &str) -> Run {
        run(&mut self.command(arguments), input)
    }

    /// Runs the program, which must succeed; returns what it said in one line.
    #[track_caller]
    pub(crate) fn done<S: AsRef<OsStr>>(&self, arguments: &[S]) -> String {
        flat(&self.run(arguments, "").exits(0).out)
    }

    /// Runs the program, which must refuse with this status; returns what it said in one line.
    #[track_caller]
    pub(crate) fn refused<S: AsRef<OsStr>>(&self, status: i32, arguments: &[S]) -> String {
        flat(&self.run(arguments, "").exits(status).err)
    }

    /// Runs the program, which must succeed and say this, breaks of lines aside.
    #[track_caller]
    pub(crate) fn says<S: AsRef<OsStr>>(&self, arguments: &[S], wanted: &str) {
        self.run(arguments, "").exits(0).says(wanted);
    }

    /// Runs the program, which must refuse with this status and say this, breaks of lines aside.
    #[track_caller]
    pub(crate) fn refuses<S: AsRef<OsStr>>(&self, status: i32, arguments: &[S], wanted: &str) {
        self.run(arguments, "").exits(status).complains(wanted);
    }

    /// The name of the session whose record is listed first.
    pub(crate) fn latest(&self) -> String {
        self.json(&["records", "list"])["records"][0]["session"].as_str().expect("a record").to_owned()
    }

    /// Runs the program with `--json` behind, whatever its status; returns its document.
    #[track_caller]
    pub(crate) fn json<S: AsRef<OsStr>>(&self, arguments: &[S]) -> Value {
        let mut arguments: Vec<_> = arguments.iter().map(AsRef::as_ref).collect();
        arguments.push("--json".as_ref());
        self.run(&arguments, "").0.json()
    }

    /// The fingerprint of the shop's key.
    pub(crate) fn fingerprint(&self) -> String {
        self.json(&["trust", "list"])["own"]["fingerprint"].as_str().expect("a key").to_owned()
    }

    /// The files in a folder, by name.
    pub(crate) fn names(&self, folder: &Path) -> Vec<String> {
        let Ok(entries) = std::fs::read_dir(folder) else { return Vec::new() };
        let names = entries.map(|entry| entry.expect("a file").file_name().into_string().expect("a name"));
        let mut names: Vec<_> = names.collect();
        names.sort();
        names
    }
}

/// The records in a folder, by name.
pub(crate) fn records_in(folder: &Path) -> Vec<PathBuf> {
    let Ok(entries) = std::fs::read_dir(folder) else { return Vec::new() };
    let paths = entries.map(|entry| entry.expect("a file").path());
    let mut records: Vec<_> =
        paths.filter(|path| path.extension().is_some_and(|end| end == "json")).collect();
    records.sort();
    records
}

/// A run of the program whose exit status nobody has looked at yet.
#[must_use = "a run whose status nobody looks at proves nothing"]
pub(crate) struct Run(Ran);

/// What came of a run of the program.
pub(crate) struct Ran {
    /// Its exit status, or -1 where a signal ended it.
    pub(crate) status: i32,
    pub(crate) out: String,
    pub(crate) err: String,
}

/// Runs a command with these lines on standard input.
pub(crate) fn run(command: &mut Command, input: &str) -> Run {
    let mut running = Running::start(command);
    running.types(input);
    Run(running.ends())
}

impl Run {
    /// Checks the exit status.
    #[track_caller]
    pub(crate) fn exits(self, status: i32) -> Ran {
        assert_eq!(self.0.status, status, "{}\n{}", self.0.out, self.0.err);
        self.0
    }

    /// Whatever the exit status is.
    pub(crate) fn anyhow(self) -> Ran {
        self.0
    }
}

impl Ran {
    /// Checks that standard error says something, breaks of lines aside.
    #[track_caller]
    pub(crate) fn complains(self, wanted: &str) -> Ran {
        let flat = flat(&self.err);
        assert!(flat.contains(wanted), "no {wanted:?} in {flat}");
        self
    }

    /// Checks that standard output says something, breaks of lines aside.
    #[track_caller]
    pub(crate) fn says(self, wanted: &str) -> Ran {
        assert!(flat(&self.out).contains(wanted), "no {wanted:?} in {}", self.out);
        self
    }

    /// Reads standard output as one JSON document and nothing else.
    #[track_caller]
    pub(crate) fn json(&self) -> Value {
        assert!(self.out.ends_with("}\n") || self.out.ends_with("]\n"), "{}{}", self.out, self.err);
        serde_json::from_str(&self.out).unwrap_or_else(|error| panic!("{error}: {}", self.out))
    }
}

/// A program that runs while the test looks on. When it is dropped, it is killed: no handler runs, nothing is flushed.
pub(crate) struct Running {
    child: Child,
    input: Option<ChildStdin>,
    shown: Receiver<Vec<u8>>,
    complaints: Option<JoinHandle<String>>,
}

impl Running {
    /// Starts a command.
    pub(crate) fn start(command: &mut Command) -> Running {
        command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
        let mut child = command.spawn().expect("the program");
        let mut out = BufReader::new(child.stdout.take().expect("its output"));
        let (sender, shown) = channel();
        std::thread::spawn(move || {
            let mut line = Vec::new();
            while out.read_until(b'\n', &mut line).is_ok_and(|n| n > 0)
                && sender.send(std::mem::take(&mut line)).is_ok()
            {}
        });
        let mut err = child.stderr.take().expect("its other output");
        let complaints = std::thread::spawn(move || {
            let mut said = Vec::new();
            let _ = err.read_to_end(&mut said);
            String::from_utf8(said).expect("text")
        });
        Running { input: child.stdin.take(), child, shown, complaints: Some(complaints) }
    }

    /// The number of its process.
    pub(crate) fn id(&self) -> u32 {
        self.child.id()
    }

    /// Waits for the next line that it shows; there is none when it has ended.
    pub(crate) fn line(&mut self) -> Option<String> {
        match self.shown.recv_timeout(PATIENCE) {
            Ok(line) => Some(String::from_utf8(line).expect("text")),
            Err(RecvTimeoutError::Disconnected) => None,
            Err(RecvTimeoutError::Timeout) => panic!("it neither shows anything nor ends"),
        }
    }

    /// Gives it lines; one that has ended takes no more, and what it said then is what is looked at.
    pub(crate) fn types(&mut self, lines: &str) {
        let _ = self.input.as_mut().expect("its input").write_all(lines.as_bytes());
    }

    /// Waits for its end and returns the exit status.
    pub(crate) fn status(&mut self) -> i32 {
        let begun = Instant::now();
        loop {
            if let Some(status) = self.child.try_wait().expect("a child") {
                return status.code().unwrap_or(-1);
            }
            assert!(begun.elapsed() < PATIENCE, "it does not end");
            std::thread::sleep(Duration::from_millis(1));
        }
    }

    /// Closes its input and waits for its end.
    pub(crate) fn ends(mut self) -> Ran {
        self.input = None;
        let mut out = String::new();
        while let Some(line) = self.line() {
            out += &line;
        }
        let err = self.complaints.take().expect("its other output").join().expect("text");
        Ran { status: self.status(), out, err }
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
