//! A disk that fills up or breaks, or a program that is killed, at any call that writes, waits, makes, renames or
//! removes something: no answer whose next question was seen is lost, nothing half written passes for whole, and the
//! session comes to the end that it would have come to.

use std::io::Write as _;
use std::process::Command;

use crate::tests::support::{Failing, Home, essence, failing_at, journal_at, keyed, lines, run};

/// A session of the campaign: what is walked, the lines that answer it in turn, and whether the shop signs its records.
struct Walked {
    files: &'static [(&'static str, &'static str)],
    lines: &'static str,
    is_signed: bool,
}

/// One that holds; one that branches, seats again, leaks and ends in a repair; one with what cannot be tested.
const WALKED: [Walked; 3] = [
    Walked {
        files: &[(
            "merle.rhai",
            "procedure(#{ title: \"Merle M2, feeds\", unit: \"Merle M2\", version: \"1.0.0\" });
             caution(\"Suction holds skin.\");
             let feed = circuit(#{ name: \"feed\", set_up: \"Seat the plate.\", holds: 20.inHg, leaks: 15.inHg });
             test(feed);",
        )],
        lines: "Ada | 29.92 inHg | 20 C | ok | 25 | 5 | 22 | 25 | 5",
        is_signed: false,
    },
    Walked {
        files: &[
            (
                "merle.rhai",
                "procedure(#{ title: \"Merle M3, feeds\", unit: \"Merle M3\", version: \"1.0.0\" });
                 import \"steps\" as steps;
                 caution(\"Suction holds skin.\");
                 let feed = circuit(#{ name: \"feed\", holds: 20.inHg, leaks: 15.inHg,
                     repairs: [#{ does: \"ream the bore\", parts: 48, hours: 0.6 }] });
                 let boost = circuit(#{ name: \"boost\", set_up: \"Turn the plate.\", holds: 20.inHg, leaks: 15.inHg });
                 steps::begin();
                 test(feed, |t| {
                     let inner = t.read(\"inner\");
                     if inner.leaks { t.finding(\"The inner land is worn.\"); }
                 });
                 let width = ask_number(\"How wide is the slot?\", #{ unit: \"mm\", low: 1.mm, high: 9.mm });
                 test(boost);
                 if ask_yes(\"Is the spring short?\") { say(\"Replace the spring.\"); }
                 let side = ask_choice(\"Which side?\", [\"left\", \"right\"]);
                 finding(\"Side \" + side + \".\");",
            ),
            ("steps.rhai", "fn begin() { ready(\"Drain the body.\"); }"),
        ],
        lines: "Ada | 29.92 inHg | 20 C | ok |  | 25 | 5 | 12 | 12 | 4 mm | 22 | no | left | 25 | 5 | 1 | 48 | 0.6",
        is_signed: true,
    },
    Walked {
        files: &[(
            "merle.rhai",
            "procedure(#{ title: \"Merle M4, feeds\", unit: \"Merle M4\", version: \"1.0.0\" });
             let words = ask_text(\"What was heard?\");
             let first = circuit(#{ name: \"first\", set_up: \"Seat the plate.\", holds: 20.inHg, leaks: 15.inHg });
             let second = circuit(#{ name: \"second\", holds: 20.inHg, leaks: 15.inHg });
             test(first);
             test(second);",
        )],
        lines: "Ada | 29.92 inHg | 20 C | a whine | 25 | 5 | cannot the port is broken | 21 | 25 | 5",
        is_signed: true,
    },
];

/// Sessions of the campaign in this test; `SPOOLPROOF_FAULTS` asks for more.
const N_SESSIONS: usize = 36;

impl Walked {
    fn home(&self) -> Home {
        let home = Home::new();
        for (name, text) in self.files {
            home.write(name, text);
        }
        if self.is_signed {
            home.done(&["records", "sign", "--as", "North Bench"]);
        }
        home
    }
}

/// What a session leaves that nothing happens to, but for its name.
fn left(home: &Home) -> serde_json::Value {
    let mut left = essence(&home.record());
    let fields = left.as_object_mut().expect("an object");
    fields.remove("session");
    // Each shop has a key of its own.
    fields.remove("signer");
    fields.entry("signature").and_modify(|signature| *signature = true.into());
    left
}

fn guide(home: &Home, arguments: &[&str]) -> Command {
    home.command(&[&["guide"], arguments].concat())
}

/// Returns how many answers the journal of the open session holds; none where there is no such session.
fn kept(home: &Home) -> Option<usize> {
    let open = home.shop().join("open");
    let names = if open.is_dir() { home.names(&open) } else { Vec::new() };
    let journals = names.iter().map(|name| open.join(name).join("journal.jsonl"));
    let mut begun = journals.filter(|path| path.metadata().is_ok_and(|journal| journal.len() > 0));
    let journal = journal_at(&begun.next()?).expect("a journal");
    // Of a first line that was cut off nothing is left.
    (!journal.events().is_empty()).then(|| journal.standing().count())
}

/// Has the disk fail at this call, looks what was acknowledged, has it fail once more, and goes on with a disk that
/// works; returns whether the session came as far as that call at all.
fn endure(walked: &Walked, call: usize, how: Failing, undisturbed: &serde_json::Value) -> bool {
    let home = walked.home();
    let all = keyed(walked.lines);
    let mut command = guide(&home, &["merle.rhai"]);
    failing_at(&mut command, call, how);
    let ran = run(&mut command, &lines(&all)).anyhow();
    let said = format!("{how:?} at call {call}: {}{}", ran.out, ran.err);
    // A question that was seen acknowledges the answer to the one before it.
    let screen = ran.out.split("this is the whole text").next().unwrap_or_default();
    let markers = [" CARE  ", "   do  ", "  ask  ", " read  "];
    let is_question = |line: &&str| markers.iter().any(|marker| line.starts_with(marker));
    let seen = screen.lines().filter(is_question).count();
    assert!([0, 2, 3, -1].contains(&ran.status), "{}: {said}", ran.status);
    let first = kept(&home).filter(|_| home.records().is_empty());
    if let Some(first) = first {
        assert!(first + 1 >= seen, "{first} answers are left and {seen} questions were seen: {said}");
        // It fails once more on the way, at another call and in another way.
        let mut again = guide(&home, &["--resume"]);
        failing_at(
            &mut again,
            1 + call * 7 % 40,
            if call.is_multiple_of(2) { Failing::Kill } else { Failing::Full },
        );
        run(&mut again, &lines(&all[first.min(all.len())..])).anyhow();
    }
    match (home.records().is_empty(), kept(&home)) {
        (true, Some(kept)) => {
            assert!(first.is_some_and(|first| kept >= first), "{kept} answers of {first:?} are left: {said}");
            run(&mut guide(&home, &["--resume"]), &lines(&all[kept.min(all.len())..])).exits(0);
        }
        (true, None) => {
            assert!(seen <= 1, "nothing is left, and {seen} questions were seen: {said}");
            run(&mut guide(&home, &["merle.rhai"]), &lines(&all)).exits(0);
        }
        (false, Some(_)) => drop(run(&mut guide(&home, &["--resume"]), "").exits(0)),
        (false, None) => {}
    }
    assert!(left(&home) == *undisturbed, "another record: {said}");
    // A ledger that could not be written is told of and made good; a record is stored all the same.
    home.done(&["records", "sign"]);
    home.done(&["records", "audit"]);
    ran.status != 0
}

/// Has the disk fail at every so many-th call of a session, each way in turn; returns how many sessions that were.
fn campaign(walked: &Walked, wanted: usize) -> usize {
    let home = walked.home();
    run(&mut guide(&home, &["merle.rhai"]), &lines(&keyed(walked.lines))).exits(0);
    let undisturbed = left(&home);
    // The calls of a session, found by asking for one that it does not come to.
    let last = (1..)
        .map(|n| n * 16)
        .find(|call| !endure(walked, *call, Failing::Broken, &undisturbed))
        .expect("an end");
    let step = (last * 3).div_ceil(wanted).max(1);
    // Each way of failing has its turn.
    let step = if step.is_multiple_of(3) { step + 1 } else { step };
    let (mut n_sessions, mut n_disturbed) = (0, 0);
    for at in (0..last * 3).step_by(step) {
        let how = [Failing::Full, Failing::Broken, Failing::Kill][at % 3];
        n_disturbed += usize::from(endure(walked, 1 + at / 3, how, &undisturbed));
        n_sessions += 1;
    }
    assert!(n_disturbed * 2 > n_sessions, "only {n_disturbed} of {n_sessions} sessions were disturbed");
    n_sessions
}

#[test]
fn whatever_call_the_disk_fails_at_every_acknowledged_answer_is_there_and_the_session_ends_alike() {
    let wanted = std::env::var("SPOOLPROOF_FAULTS").ok().and_then(|n| n.parse().ok()).unwrap_or(N_SESSIONS);
    let n_sessions: usize = WALKED.iter().map(|walked| campaign(walked, wanted.div_ceil(WALKED.len()))).sum();
    writeln!(std::io::stdout(), "{n_sessions} sessions, nothing lost").unwrap();
}
