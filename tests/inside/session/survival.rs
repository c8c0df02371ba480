//! Sessions that are killed at random moments and resumed: no acknowledged answer is lost, no record is half there, and
//! nothing is left lying about.
//!
//! `SPOOLPROOF_SURVIVAL=1000 cargo test --lib survival -- --nocapture` makes it a thousand sessions.

use std::fmt::Write as _;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::time::Duration;

use crate::record::{Answer, Event, Record, Shop, What, validate};
use crate::rig::simulated::Chance;
use crate::session::Auditor;
use crate::share::Ledger;
use crate::tests::support::{Home, Running, journal_at};

const DEFAULT_SESSIONS: u64 = 12;

#[test]
fn a_killed_session_loses_no_acknowledged_answer_and_leaves_a_whole_record() {
    let n =
        std::env::var("SPOOLPROOF_SURVIVAL").ok().and_then(|n| n.parse().ok()).unwrap_or(DEFAULT_SESSIONS);
    let mut kills = 0;
    for seed in 0..n {
        kills += survive(seed);
    }
    assert!(kills >= n / 2, "only {kills} of {n} sessions were killed at all");
    let mut out = std::io::stdout();
    writeln!(out, "{n} sessions, {kills} kills, nothing lost").unwrap();
}

fn survive(seed: u64) -> u64 {
    let mut chance = Chance::new(seed);
    let home = Home::with("random.rhai", random_procedure(&mut chance));
    let shop = home.shop();
    let mut taken: Vec<String> = Vec::new();
    for kills in 0..60 {
        let lives = if kills > 8 { u64::MAX } else { chance.bits() % 14 };
        let what = if has_open_session(&shop) { "--resume" } else { "random.rhai" };
        if walk(Running::start(&mut home.command(&["guide", what])), lives, &mut chance, &mut taken) {
            check_shop(&shop, &taken, seed);
            return kills;
        }
        let events = journal(&shop);
        let kept: Vec<_> = events.iter().filter_map(answer_text).collect();
        assert!(
            kept.len() >= taken.len(),
            "seed {seed}: {} answers kept of {} taken",
            kept.len(),
            taken.len()
        );
        assert_eq!(kept[..taken.len()], taken[..], "seed {seed}");
        // One more may be kept than was acknowledged: the one on its way when the end came.
        assert!(kept.len() <= taken.len() + 1, "seed {seed}");
        taken = kept;
    }
    panic!("seed {seed}: the session never finished");
}

/// Answers questions until this many have been, then kills the program within a few milliseconds; returns whether it
/// finished before. Every answer whose next question was seen is taken.
fn walk(mut run: Running, lives: u64, chance: &mut Chance, taken: &mut Vec<String>) -> bool {
    let mut sent: Option<String> = None;
    let mut answered = 0;
    while let Some(line) = run.line() {
        let Some(reply) = reply(&line, chance) else { continue };
        taken.extend(sent.take());
        if answered >= lives {
            std::thread::sleep(Duration::from_micros(chance.bits() % 4000));
            return false;
        }
        answered += 1;
        run.types(&format!("{}\n", reply.line));
        sent = reply.is_answer.then_some(reply.line);
        if answered >= lives {
            // Now and then the end comes while the answer is on its way.
            std::thread::sleep(Duration::from_micros(chance.bits() % 2000));
            return false;
        }
    }
    run.status() == 0
}

struct Reply {
    line: String,
    is_answer: bool,
}

/// Answers a line of the transcript if it is a question: the words of random procedures say their kind. No reading is that of
/// the plugged hose or of the orifice, which would be asked about once more.
fn reply(line: &str, chance: &mut Chance) -> Option<Reply> {
    let text = line.trim_start().trim_end_matches('\n');
    let marked = ["CARE  ", "do  ", "read  ", "ask  "].iter().find_map(|marker| text.strip_prefix(marker))?;
    let answer = |line: String| Some(Reply { line, is_answer: true });
    if chance.share() < 0.08 && !marked.starts_with("Who") {
        let steps = 1 + chance.bits() % 3;
        let word = if chance.share() < 0.5 { "back" } else { "again" };
        return Some(Reply { line: format!("{word} {steps}"), is_answer: false });
    }
    match marked.split([' ', '?']).next().unwrap_or_default() {
        "Who" => answer("tester".to_owned()),
        "What" if marked.contains("temperature") => answer("20 C".to_owned()),
        "What" => answer("29.92 inHg".to_owned()),
        "Plug" => answer(format!("{:.2}", chance.between(24.8, 25.2))),
        "Fit" => answer(format!("{:.2}", chance.between(4.9, 5.1))),
        "Before" if marked.starts_with("Before it counts") => {
            answer(format!("{:.2}", chance.between(6.0, 24.0)))
        }
        "Before" => {
            // One in a few looks finds a drift.
            let plugged = marked.contains("recheck the calibration");
            answer(format!(
                "{:.2}",
                if plugged { chance.between(24.6, 25.4) } else { chance.between(4.6, 5.4) }
            ))
        }
        "caution" => answer("ok".to_owned()),
        "Reading" | "Reading," => answer(format!("{:.2}", chance.between(6.0, 24.0))),
        "yes" => answer(if chance.share() < 0.5 { "yes" } else { "no" }.to_owned()),
        "choice" => answer("left".to_owned()),
        "text" => answer(format!("words {}", chance.bits() % 1000)),
        "number" => answer(format!("{:.3} mm", chance.between(1.0, 20.0))),
        "Take" | "Leave" => answer("26".to_owned()),
        _ if text.starts_with("do  ") => answer(String::new()),
        _ if marked.contains(": what is to be done") => answer("leave it as it is".to_owned()),
        other => panic!("what is {other:?} in {line:?}?"),
    }
}

fn random_procedure(chance: &mut Chance) -> String {
    let mut script =
        "procedure(#{ title: \"Random body\", unit: \"Imaginary\", version: \"1.0.0\" });\n".to_owned();
    let step = |chance: &mut Chance, t: &str, n: u64| match chance.bits() % 7 {
        0 => format!("{t}ready(\"ready {n}\");"),
        1 => format!("{t}caution(\"caution {n}\");"),
        2 => format!("if {t}ask_yes(\"yes {n}?\") {{ {t}ready(\"ready after {n}\"); }}"),
        3 => format!("let c{n} = {t}ask_choice(\"choice {n}?\", [\"left\", \"right\"]);"),
        4 => format!("let w{n} = {t}ask_text(\"text {n}?\");"),
        5 => {
            format!("let m{n} = {t}ask_number(\"number {n}?\", #{{ unit: \"mm\", low: 5.mm, high: 9.mm }});")
        }
        _ => format!("{t}say(\"said {n}\");"),
    };
    for n in 0..1 + chance.bits() % 5 {
        writeln!(script, "{}", step(chance, "", n)).unwrap();
        writeln!(
            script,
            "let circuit{n} = circuit(#{{ name: \"circuit {n}\", holds: 20.inHg, leaks: 15.inHg }});"
        )
        .unwrap();
        if chance.share() < 0.5 {
            writeln!(script, "test(circuit{n});").unwrap();
        } else {
            let inner = step(chance, "t.", 100 + n);
            writeln!(
                script,
                "test(circuit{n}, |t| {{ {inner} let a = t.read(\"in\"); if a.leaks {{ t.trial(\"out\"); }} }});"
            )
            .unwrap();
        }
    }
    script
}

fn has_open_session(shop: &Path) -> bool {
    open_journal(shop).is_some_and(|path| std::fs::metadata(path).is_ok_and(|journal| journal.len() > 0))
}

fn open_journal(shop: &Path) -> Option<PathBuf> {
    let entry = std::fs::read_dir(shop.join("open")).ok()?.next()?;
    Some(entry.unwrap().path().join("journal.jsonl"))
}

fn journal(shop: &Path) -> Vec<Event> {
    match open_journal(shop).filter(|path| path.exists()) {
        Some(path) => journal_at(&path).unwrap().events().to_vec(),
        None => records(shop).first().map(|record| record.journal.clone()).unwrap_or_default(),
    }
}

/// Returns an answer as the line that gave it.
fn answer_text(event: &Event) -> Option<String> {
    let What::Answered { question, answer } = &event.what else { return None };
    Some(match answer {
        Answer::Confirmed if question.wants.kind() == "acknowledgement" => "ok".to_owned(),
        Answer::Confirmed => String::new(),
        Answer::Yes(yes) => if *yes { "yes" } else { "no" }.to_owned(),
        Answer::Choice(chosen) => chosen.clone(),
        Answer::Text(text) => text.clone(),
        // A bare number is kept with the unit that it was taken in; here these are the readings.
        Answer::Quantity { entry, .. } if question.wants.kind() == "number" => entry.entered.clone(),
        Answer::Quantity { entry, .. } | Answer::AtStop(entry) => entry.number().to_owned(),
        Answer::Barometer { entered, .. } => entered.clone(),
        Answer::AirTemperature { entered, .. } => entered.clone().unwrap_or_default(),
        Answer::Unable(why) | Answer::NotFitted(why) => why.clone(),
    })
}

fn records(shop: &Path) -> Vec<Record> {
    let Ok(entries) = std::fs::read_dir(shop.join("records")) else { return Vec::new() };
    let record = |path: PathBuf| {
        assert_eq!(path.extension().unwrap(), "json", "{} is no record", path.display());
        let value = serde_json::from_slice(&std::fs::read(path).unwrap()).unwrap();
        validate(&value).unwrap();
        serde_json::from_value(value).unwrap()
    };
    entries.map(|entry| record(entry.unwrap().path())).collect()
}

fn check_shop(shop: &Path, taken: &[String], seed: u64) {
    let records = records(shop);
    assert!(!records.is_empty(), "seed {seed}: no record");
    let record = records.last().unwrap();
    let kept: Vec<_> = record.journal.iter().filter_map(answer_text).collect();
    assert_eq!(kept[..taken.len()], *taken, "seed {seed}");
    let path = shop.join(format!("records/{}.json", record.session));
    let audit = Auditor::default().audit_file(&path).unwrap();
    assert_eq!(audit.faults, [], "seed {seed}: the record is not what its journal comes to");
    let ledger = Ledger::of(&Shop::open(shop).unwrap()).unwrap().expect("a ledger");
    assert_eq!(ledger.faults, [], "seed {seed}");
    let entered: Vec<_> = ledger.lines.iter().map(|line| Some(line.digest.clone())).collect();
    let stored: Vec<_> = records.iter().map(|record| record.digest.clone()).collect();
    assert_eq!(entered, stored, "seed {seed}: the ledger has just the records");
    for entry in std::fs::read_dir(shop.join("open")).unwrap() {
        let journal = entry.unwrap().path().join("journal.jsonl");
        let length = std::fs::metadata(&journal).map_or(0, |journal| journal.len());
        assert_eq!(length, 0, "seed {seed}: a session stayed open");
    }
}
