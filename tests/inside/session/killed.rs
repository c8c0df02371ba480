//! Killed without a warning at any question, a session goes on with every answer whose next question was seen.

use crate::tests::support::scripted;

use std::io::{BufRead, BufReader, Lines, Write};
use std::process::{Child, ChildStdin, ChildStdout, Stdio};

use crate::record::{Record, What, read};
use crate::session::Journal;
use scripted::{Home, essence};

const PROCEDURE: &str = "
procedure(#{ title: \"Merle M2, feeds\", unit: \"Merle M2\", version: \"1.0.0\" });
caution(\"Suction holds skin.\");
if ask_yes(\"Was it apart?\") { let since = ask_text(\"Since when?\"); }
let bore = ask_number(\"Bore?\", #{ unit: \"mm\", low: 12.mm, high: 13.mm });
let feed = circuit(#{ name: \"feed\", set_up: \"Seat the plate.\", holds: 20.inHg, leaks: 15.inHg });
test(feed);
let drain = circuit(#{ name: \"drain\", holds: 20.inHg, leaks: 15.inHg });
test(drain, |t| { if t.read(\"closed\").holds { t.finding(\"sound\"); } });
ready(\"Done?\");
";
/// The lines that answer it in turn; the feed leaks, so it is seated and read again, and something is decided about it.
const LINES: [&str; 17] = [
    "Ada",
    "29.92 inHg",
    "25",
    "5",
    "ok",
    "yes",
    "a year",
    "12.5",
    "",
    "12",
    "",
    "12",
    "22",
    "",
    "25",
    "5",
    "leave it as it is",
];

/// One run of the program, which is killed when it is dropped.
struct Run {
    child: Child,
    stdin: ChildStdin,
    shown: Lines<BufReader<ChildStdout>>,
}

impl Run {
    fn start(home: &Home, arguments: &[&str]) -> Run {
        let mut command = home.command(arguments);
        let mut child =
            command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::null()).spawn().unwrap();
        let (stdin, stdout) = (child.stdin.take().unwrap(), child.stdout.take().unwrap());
        Run { child, stdin, shown: BufReader::new(stdout).lines() }
    }

    /// Waits for the next question; returns whether one came.
    fn sees_question(&mut self) -> bool {
        let is_question = |line: &String| {
            [" CARE  ", "   do  ", "  ask  ", " read  "].iter().any(|marker| line.starts_with(marker))
        };
        self.shown.by_ref().map_while(Result::ok).any(|line| is_question(&line))
    }

    fn types(&mut self, line: &str) {
        writeln!(self.stdin, "{line}").unwrap();
    }
}

impl Drop for Run {
    fn drop(&mut self) {
        // SIGKILL: no handler runs, nothing is flushed.
        let _ = self.child.kill();
        self.child.wait().unwrap();
    }
}

fn home() -> Home {
    let home = Home::new();
    home.write("merle.rhai", PROCEDURE);
    home
}

/// Returns how many answers the journal of the one open session holds.
fn answers_kept(home: &Home) -> usize {
    let open = home.shop().join("open");
    let names = home.names(&open);
    assert_eq!(names.len(), 1, "{names:?}");
    let journal = Journal::open(&open.join(&names[0]).join("journal.jsonl")).unwrap();
    journal.events().iter().filter(|event| matches!(event.what, What::Answered { .. })).count()
}

fn record(home: &Home) -> Record {
    let records = home.shop().join("records");
    let names = home.names(&records);
    assert_eq!(names.len(), 1, "{names:?}");
    read(&records.join(&names[0])).unwrap()
}

fn told(record: &Record) -> serde_json::Value {
    let mut told = essence(record);
    told.as_object_mut().unwrap().remove("session");
    told
}

fn lines(lines: &[&str]) -> String {
    lines.iter().map(|line| format!("{line}\n")).collect()
}

/// What a session leaves that nobody kills.
fn undisturbed() -> serde_json::Value {
    let home = home();
    home.run(&["guide", "merle.rhai"], &lines(&LINES)).exits(0);
    told(&record(&home))
}

#[test]
fn killed_at_any_question_it_has_every_answer_before_it() {
    let undisturbed = undisturbed();
    for n in 0..LINES.len() {
        let home = home();
        let mut run = Run::start(&home, &["guide", "merle.rhai"]);
        for line in &LINES[..n] {
            assert!(run.sees_question());
            run.types(line);
        }
        assert!(run.sees_question(), "no question after {n} answers");
        drop(run);
        assert_eq!(answers_kept(&home), n);
        home.run(&["guide", "--resume"], &lines(&LINES[n..])).exits(0);
        assert_eq!(told(&record(&home)), undisturbed, "killed at question {n}");
    }
}

#[test]
fn killed_right_after_an_answer_it_has_that_one_or_asks_it_again() {
    let undisturbed = undisturbed();
    for n in 1..=LINES.len() {
        let home = home();
        let mut run = Run::start(&home, &["guide", "merle.rhai"]);
        for line in &LINES[..n] {
            assert!(run.sees_question());
            run.types(line);
        }
        drop(run);
        // After the last answer the program may have come to its end.
        let kept = if home.names(&home.shop().join("records")).is_empty() { answers_kept(&home) } else { n };
        assert!(kept == n || kept == n - 1, "{kept} of {n} answers");
        if !home.names(&home.shop().join("open")).is_empty() {
            home.run(&["guide", "--resume"], &lines(&LINES[kept..])).exits(0);
        }
        assert_eq!(told(&record(&home)), undisturbed, "killed after answer {n}");
    }
}

#[test]
fn killed_at_every_question_in_turn_it_comes_to_the_same_end() {
    let home = home();
    let mut run = Run::start(&home, &["guide", "merle.rhai"]);
    assert!(run.sees_question());
    for (n, line) in LINES.iter().enumerate() {
        drop(run);
        assert_eq!(answers_kept(&home), n);
        run = Run::start(&home, &["guide", "--resume"]);
        assert!(run.sees_question());
        run.types(line);
        let is_last = n + 1 == LINES.len();
        assert_eq!(run.sees_question(), !is_last, "after {n} answers");
    }
    drop(run);
    assert_eq!(told(&record(&home)), undisturbed());
}
