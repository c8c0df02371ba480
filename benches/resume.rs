//! How long it takes to take up a session of 500 answers, and to go back in one: the time of one walk that the journal
//! answers, beside the time that the program takes to start at all, in one run.
//!
//! `cargo bench --bench resume`
#![expect(clippy::unwrap_used, reason = "a benchmark stops at the first surprise")]

use std::fmt::Write as _;
use std::io::Write as _;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

const ROUNDS: usize = 21;

fn main() {
    let folder = tempfile::tempdir().unwrap();
    let procedure = folder.path().join("long.rhai");
    std::fs::write(&procedure, long_procedure()).unwrap();
    let run = |arguments: &[&str], lines: &str| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_spoolproof"));
        command.arg("--shop").arg(folder.path().join("shop")).args(arguments);
        command.stdin(Stdio::piped()).stdout(Stdio::null()).stderr(Stdio::null());
        let begun = Instant::now();
        let mut child = command.spawn().unwrap();
        child.stdin.take().unwrap().write_all(lines.as_bytes()).unwrap();
        child.wait().unwrap();
        begun.elapsed()
    };
    let mut lines = "Ana\n29.92 inHg\n20 C\n".to_owned();
    for n in 0..497 {
        writeln!(lines, "answer {n}").unwrap();
    }
    run(&["guide", procedure.to_str().unwrap()], &lines);
    let started = median((0..ROUNDS).map(|_| run(&["--version"], "")).collect());
    let resumed = median((0..ROUNDS).map(|_| run(&["guide", "--resume"], "")).collect());
    let back = median((0..ROUNDS).map(|_| run(&["guide", "--resume"], "back\nanother answer\n")).collect());
    let mut out = std::io::stdout();
    writeln!(out, "start the program          {started:?}").unwrap();
    writeln!(out, "resume 500 answers         {resumed:?}").unwrap();
    writeln!(out, "resume, go back and answer {back:?}").unwrap();
}

fn median(mut times: Vec<Duration>) -> Duration {
    times.sort();
    times[times.len() / 2]
}

fn long_procedure() -> String {
    let mut script = "procedure(#{ title: \"Long job\", version: \"1.0.0\" });\n".to_owned();
    for n in 0..600 {
        writeln!(script, "ask_text(\"question {n}\");").unwrap();
    }
    script
}
