//! Commands that write for their user, on a disk that fills up or breaks, or killed, at any call: every file is whole,
//! as before or as it is to be, and the same command does its work once the disk does.
//!
//! What asks at a prompt is a session, and has a campaign of its own; only an amendment is tried here.

use std::collections::BTreeMap;
use std::io::Write as _;
use std::path::{Path, PathBuf};

use crate::record::{Question, Wants};
use crate::tests::support::{Failing, Home, brook, failing_at, journal_at, keyed, lines, run};

/// Commands that have something to do in [`home`].
const ERRANDS: [&[&str]; 7] = [
    &["share", "brook.rhai", "--folder", "packs"],
    &["share", "--withdraw", "brook@1.0.0", "--reason", "Wrong port."],
    &["receive", "handed", "brook@1.0.0", "--yes"],
    &["report", "--html", "report.html"],
    &["records", "sign"],
    &["trust", "withdraw", "brook@0.9.0", "--reason", "Wrong port."],
    &["rig", "set", "--grade", "A", "--span", "30inHg", "--division", "0.5inHg"],
];

/// What answers the sessions of [`home`], in turn.
const WALK: &str = "Ada | 29.92 inHg | 20 C | ok | 25 | 5 | 22 | 25 | 5";

/// Trials of the campaign in this test; `SPOOLPROOF_FAULTS` asks for more.
const N_TRIALS: usize = 24;

/// Makes a home in which each errand has something to do.
fn home() -> Home {
    let (author, home) = (Home::with("brook.rhai", brook("0.9.0")), Home::with("brook.rhai", brook("1.0.0")));
    author.done(&["share", "brook.rhai", "--folder", "handed", "--as", "South Bench"]);
    copy(&author.path("handed"), &home.path("handed"));
    home.done(&["receive", "handed", "brook", "--yes", "--trust", &author.fingerprint()]);
    author.write("brook.rhai", brook("1.0.0"));
    author.done(&["share", "brook.rhai", "--folder", "handed"]);
    copy(&author.path("handed"), &home.path("handed"));
    for job in ["first", "second"] {
        run(&mut home.command(&["guide", "brook.rhai", "--job", job]), &lines(&keyed(WALK))).exits(0);
    }
    let key = Home::new();
    key.done(&["records", "sign", "--as", "North Bench"]);
    copy(&key.shop().join("keys"), &home.shop().join("keys"));
    home
}

fn copy(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap() {
        let (path, to) = (entry.as_ref().unwrap().path(), to.join(entry.unwrap().file_name()));
        if path.is_dir() {
            copy(&path, &to);
        } else {
            std::fs::copy(&path, &to).unwrap();
        }
    }
}

/// The files in a folder and what is in them, but for the log and for what was begun beside its place: a disk that is
/// broken does not let go of it either.
fn files(folder: &Path, into: &mut BTreeMap<PathBuf, Vec<u8>>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            files(&path, into);
        } else if !path.ends_with("log.txt") && !is_begun(&path) {
            into.insert(path.clone(), std::fs::read(&path).unwrap());
        }
    }
}

fn is_begun(path: &Path) -> bool {
    path.components().any(|part| part.as_os_str().to_string_lossy().starts_with(".unfinished-"))
}

/// The same by their places in a home, sessions' names without their stamps.
fn contents(home: &Home) -> BTreeMap<PathBuf, Vec<u8>> {
    let mut found = BTreeMap::new();
    files(home.folder(), &mut found);
    let own = |path: PathBuf| {
        let name = path.strip_prefix(home.folder()).unwrap().to_string_lossy().into_owned();
        // A session's name begins with the moment at which it began.
        let unstamped = |part: &str| match part.get(..16).filter(|_| part.starts_with("20")) {
            Some(_) => part[16..].to_owned(),
            None => part.to_owned(),
        };
        name.split('/').map(unstamped).collect::<PathBuf>()
    };
    found.into_iter().map(|(path, bytes)| (own(path), bytes)).collect()
}

/// Has the disk fail at this call of an errand, looks at what is there, and runs it again; returns
/// whether it came so far.
fn endure(
    errand: usize,
    template: &Home,
    done: &BTreeMap<PathBuf, Vec<u8>>,
    call: usize,
    how: Failing,
) -> bool {
    let arguments = ERRANDS[errand];
    let home = Home::new();
    copy(template.folder(), home.folder());
    let before = contents(&home);
    let mut command = home.command(arguments);
    failing_at(&mut command, call, how);
    let ran = run(&mut command, "").anyhow();
    let said = format!("{how:?} at call {call} of {arguments:?}: {}{}", ran.out, ran.err);
    assert!([0, 1, 2, 3, -1].contains(&ran.status), "{}: {said}", ran.status);
    for (path, bytes) in contents(&home) {
        let is_whole = match path.extension().and_then(|ending| ending.to_str()) {
            Some("json") => serde_json::from_slice::<serde_json::Value>(&bytes).is_ok(),
            Some("html") => bytes.ends_with(b"</html>\n"),
            _ => true,
        };
        assert!(is_whole || before.get(&path) == Some(&bytes), "{} is half there: {said}", path.display());
    }
    if !contents(&home).keys().eq(done.keys()) || ran.status != 0 {
        let again = run(&mut home.command(arguments), "").anyhow();
        // What was done before the disk failed is not done twice, and said.
        let is_there = contents(&home).keys().eq(done.keys());
        assert!(again.status == 0 || is_there, "{said}\nand again: {}{}", again.out, again.err);
    }
    let (left, wanted): (Vec<_>, Vec<_>) =
        (contents(&home).into_keys().collect(), done.keys().cloned().collect());
    assert_eq!(left, wanted, "{said}");
    home.done(&["records", "sign"]);
    home.done(&["records", "audit"]);
    home.done(&["trust", "list"]);
    ran.status != 0
}

/// Returns every so many-th call of a command that writes, with the way that the disk fails at it, up to one that it
/// does not come to: `came_so_far` tries one.
fn each_call(step: usize, mut came_so_far: impl FnMut(usize, Failing) -> bool) -> usize {
    let ways = [Failing::Broken, Failing::Full, Failing::Kill].into_iter().cycle();
    (1..).step_by(step).zip(ways).take_while(|(call, how)| came_so_far(*call, *how)).count()
}

/// Calls of a command that one in so many is tried of, so that the campaign is as long as is asked for.
fn step_of(most: usize) -> usize {
    let wanted = std::env::var("SPOOLPROOF_FAULTS").ok().and_then(|n| n.parse().ok()).unwrap_or(N_TRIALS);
    (most / wanted).max(1)
}

/// Returns the answers that the amendment which is open still lacks, in turn; none where none has begun.
fn begun(home: &Home) -> Option<String> {
    let open = home.shop().join("open");
    let names = if open.is_dir() { home.names(&open) } else { Vec::new() };
    let journals = names.iter().filter_map(|name| journal_at(&open.join(name).join("journal.jsonl")).ok());
    let journal = journals.into_iter().find(|journal| !journal.events().is_empty())?;
    let is_named = |question: &Question| matches!(question.wants, Wants::Technician);
    let has_name = journal.standing().any(|(_, question, _)| is_named(question));
    let n_others = journal.standing().filter(|(_, question, _)| !is_named(question)).count();
    let walk = WALK.replace("Ada", "Bo");
    let all = keyed(&walk);
    let rest = all.iter().skip(1 + n_others);
    let missing: Vec<_> = all.iter().take(usize::from(!has_name)).chain(rest).copied().collect();
    Some(lines(&missing))
}

#[test]
fn whatever_call_the_disk_fails_at_in_an_amendment_the_record_stays_and_can_be_amended() {
    let template = home();
    let original = std::fs::read(&template.records()[0]).unwrap();
    let amend = ["amend", "first", "--reason", "misread", "--by", "Bo"];
    let answers = "1\nyes\nBo\n";
    let tried = each_call(step_of(120), |call, how| {
        let home = Home::new();
        copy(template.folder(), home.folder());
        let mut command = home.command(&amend);
        failing_at(&mut command, call, how);
        let ran = run(&mut command, answers).anyhow();
        let said = format!("{how:?} at call {call}: {}{}", ran.out, ran.err);
        assert!([0, 2, 3, -1].contains(&ran.status), "{}: {said}", ran.status);
        assert!(ran.status == -1 || ran.status == 0 || !ran.err.is_empty(), "{said}");
        assert!(std::fs::read(&home.records()[0]).unwrap() == original, "{said}");
        match begun(&home) {
            Some(missing) => drop(run(&mut home.command(&["guide", "--resume"]), &missing).exits(0)),
            None if home.records().len() < 3 => drop(run(&mut home.command(&amend), answers).exits(0)),
            None => {}
        }
        assert_eq!(home.records().len(), 3, "{said}");
        home.done(&["records", "sign"]);
        home.done(&["records", "audit"]);
        ran.status != 0
    });
    assert!(tried > 5, "{tried} calls");
}

#[test]
fn whatever_call_the_disk_fails_at_the_history_answers_as_before_once_it_works() {
    let template = home();
    let ask = ["history", "by", "technician", "--unit", "Brook B2", "--json"];
    let undisturbed = {
        let home = Home::new();
        copy(template.folder(), home.folder());
        run(&mut home.command(&ask), "").exits(0).out
    };
    let tried = each_call(step_of(120), |call, how| {
        let home = Home::new();
        copy(template.folder(), home.folder());
        let mut command = home.command(&ask);
        failing_at(&mut command, call, how);
        let ran = run(&mut command, "").anyhow();
        let said = format!("{how:?} at call {call}: {}{}", ran.out, ran.err);
        assert!(ran.status == 0 || ran.status == -1 || !ran.err.is_empty(), "{said}");
        assert!(ran.status != 0 || ran.out == undisturbed, "{said}");
        let again = run(&mut home.command(&ask), "").exits(0);
        assert!(again.out == undisturbed, "{said}\nand again: {}", again.out);
        ran.status != 0
    });
    assert!(tried > 2, "{tried} calls");
}

#[test]
fn whatever_call_the_disk_fails_at_a_file_for_the_user_is_whole_and_the_command_can_be_run_again() {
    let wanted = std::env::var("SPOOLPROOF_FAULTS").ok().and_then(|n| n.parse().ok()).unwrap_or(N_TRIALS);
    let template = home();
    let mut n_trials = 0;
    for (errand, arguments) in ERRANDS.iter().enumerate() {
        let home = Home::new();
        copy(template.folder(), home.folder());
        run(&mut home.command(arguments), "").exits(0);
        let done = contents(&home);
        let last = (1..)
            .map(|n| n * 4)
            .find(|call| !endure(errand, &template, &done, *call, Failing::Broken))
            .expect("an end");
        let step = (last * 3 * ERRANDS.len()).div_ceil(wanted).max(1);
        let step = if step.is_multiple_of(3) { step + 1 } else { step };
        for at in (0..last * 3).step_by(step) {
            let how = [Failing::Full, Failing::Broken, Failing::Kill][at % 3];
            endure(errand, &template, &done, 1 + at / 3, how);
            n_trials += 1;
        }
    }
    writeln!(std::io::stdout(), "{n_trials} trials, every file whole").unwrap();
}
