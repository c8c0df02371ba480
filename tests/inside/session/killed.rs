//! Killed without a warning at any question, a session goes on with every answer whose next question was seen.

use crate::record::{Record, What};
use crate::tests::support::{Home, Running, essence, journal_at, keyed, lines};

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
const LINES: &str = "Ada | 29.92 inHg | 20 C | ok | yes | a year | 12.5 | 25 | 5 | 12 | 12 | 22 |  | 25 | 5 | leave it as it is";

/// A session at which lines are typed.
fn begun(home: &Home, what: &str) -> Running {
    Running::start(&mut home.command(&["guide", what]))
}

/// Waits for the next question; returns whether one came.
fn sees_question(run: &mut Running) -> bool {
    let markers = [" CARE  ", "   do  ", "  ask  ", " read  "];
    while let Some(line) = run.line() {
        if markers.iter().any(|marker| line.starts_with(marker)) {
            return true;
        }
    }
    false
}

/// A session in which these lines were typed, each at its question.
fn typed(home: &Home, lines: &[&str]) -> Running {
    let mut run = begun(home, "merle.rhai");
    for line in lines {
        assert!(sees_question(&mut run));
        run.types(&format!("{line}\n"));
    }
    run
}

fn home() -> Home {
    Home::with("merle.rhai", PROCEDURE)
}

/// Returns how many answers the journal of the one open session holds.
fn answers_kept(home: &Home) -> usize {
    let open = home.shop().join("open");
    let names = home.names(&open);
    assert_eq!(names.len(), 1, "{names:?}");
    let journal = journal_at(&open.join(&names[0]).join("journal.jsonl")).unwrap();
    journal.events().iter().filter(|event| matches!(event.what, What::Answered { .. })).count()
}

fn told(record: &Record) -> serde_json::Value {
    let mut told = essence(record);
    told.as_object_mut().unwrap().remove("session");
    told
}

/// What a session leaves that nobody kills.
fn undisturbed() -> serde_json::Value {
    let home = home();
    home.run(&["guide", "merle.rhai"], &lines(&keyed(LINES))).exits(0);
    told(&home.record())
}

#[test]
fn killed_at_any_question_it_has_every_answer_before_it() {
    let undisturbed = undisturbed();
    let all = keyed(LINES);
    for n in 0..all.len() {
        let home = home();
        let mut run = typed(&home, &all[..n]);
        assert!(sees_question(&mut run), "no question after {n} answers");
        drop(run);
        assert_eq!(answers_kept(&home), n);
        home.run(&["guide", "--resume"], &lines(&all[n..])).exits(0);
        assert_eq!(told(&home.record()), undisturbed, "killed at question {n}");
    }
}

#[test]
fn killed_right_after_an_answer_it_has_that_one_or_asks_it_again() {
    let undisturbed = undisturbed();
    let all = keyed(LINES);
    for n in 1..=all.len() {
        let home = home();
        drop(typed(&home, &all[..n]));
        // After the last answer the program may have come to its end.
        let kept = if home.names(&home.shop().join("records")).is_empty() { answers_kept(&home) } else { n };
        assert!(kept == n || kept == n - 1, "{kept} of {n} answers");
        if !home.names(&home.shop().join("open")).is_empty() {
            home.run(&["guide", "--resume"], &lines(&all[kept..])).exits(0);
        }
        assert_eq!(told(&home.record()), undisturbed, "killed after answer {n}");
    }
}

#[test]
fn killed_at_every_question_in_turn_it_comes_to_the_same_end() {
    let home = home();
    let mut run = begun(&home, "merle.rhai");
    assert!(sees_question(&mut run));
    let all = keyed(LINES);
    for (n, line) in all.iter().enumerate() {
        drop(run);
        assert_eq!(answers_kept(&home), n);
        run = begun(&home, "--resume");
        assert!(sees_question(&mut run));
        run.types(&format!("{line}\n"));
        let is_last = n + 1 == all.len();
        assert_eq!(sees_question(&mut run), !is_last, "after {n} answers");
    }
    drop(run);
    assert_eq!(told(&home.record()), undisturbed());
}
