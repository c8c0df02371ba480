//! Commands that write for their user, on a disk that fills up or breaks, or killed, at any call: every file is whole, as before
//! or as it is to be, and the same command does its work once the disk does.
//!
//! The history is left out, since SQLite keeps its file whole by ways of its own, and so is what asks at a prompt: that is a session.

use std::collections::BTreeMap;
use std::io::Write as _;
use std::path::{Path, PathBuf};

use crate::tests::support::{Failing, Home, brook, failing_at, keyed, lines, run};

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
    let walk = "Ada | 29.92 inHg | 20 C | 25 | 5 | ok | 22 | 25 | 5";
    for job in ["first", "second"] {
        run(&mut home.command(&["guide", "brook.rhai", "--job", job]), &lines(&keyed(walk))).exits(0);
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

/// The files in a folder and what is in them, but for the log and for what was begun beside its place: a disk that is broken
/// does not let go of it either.
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

/// Has the disk fail at this call of an errand, looks at what is there, and runs it again; returns whether it came so far.
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
