//! A machine and a shop that several people and programs share: nobody is locked out, nothing is lost between two, and
//! what is no file where one should be stops nobody for long.

use std::fs::{self, OpenOptions, Permissions};
use std::os::unix::fs::{PermissionsExt, symlink};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, SystemTime};

use crate::tests::support::{Home, brook};

/// Some circuits, for commands that want a procedure.
const PLAIN: &str = "procedure(#{ title: \"Merle M1\", unit: \"Merle M1\", version: \"1.0.0\" });\n\
                     test(circuit(#{ name: \"feed\", holds: 20.inHg, leaks: 15.inHg }));\n";

/// A shop that has rehearsed, kept a record and signed.
fn used() -> Home {
    let home = Home::with("plain.rhai", PLAIN);
    home.done(&["rehearse", "plain.rhai", "--seed", "1"]);
    home.done(&["share", "plain.rhai", "--as", "North Bench"]);
    home
}

#[test]
fn every_command_says_that_its_output_cannot_be_written() {
    let home = used();
    let commands: [&[&str]; 15] = [
        &["--help"],
        &["--version"],
        &["leak", "18inHg"],
        &["leak", "18inHg", "--json"],
        &["calibrate", "--plugged", "25inHg", "--through", "5inHg"],
        &["rig"],
        &["rehearse", "plain.rhai"],
        &["proofread", "plain.rhai"],
        &["procedures", "--json"],
        &["share", "plain.rhai"],
        &["receive", "plain-1.0.0.pack.json", "--check"],
        &["trust"],
        &["worksheet", "plain.rhai"],
        &["records", "list"],
        &["completions", "bash"],
    ];
    for arguments in commands {
        let full = OpenOptions::new().write(true).open("/dev/full").expect("a full device");
        let ran = home.command(arguments).stdin(Stdio::null()).stdout(full).output().expect("it runs");
        let said = String::from_utf8_lossy(&ran.stderr).into_owned();
        assert_eq!(ran.status.code(), Some(2), "{arguments:?}: {said}");
        assert!(said.contains("standard output can't be written"), "{arguments:?}: {said}");
    }
    // Whoever has seen enough may close it.
    let mut head = home.command(&["procedures"]);
    let mut ran = head.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().expect("it runs");
    drop(ran.stdout.take());
    let ended = ran.wait_with_output().expect("it ends");
    assert!(ended.status.success(), "{}", String::from_utf8_lossy(&ended.stderr));
}

#[test]
fn what_is_no_file_where_one_is_read_is_an_error_and_not_a_wait() {
    let home = used();
    let place = |name: &str| {
        let path = home.shop().join(name);
        fs::create_dir_all(path.parent().expect("a folder")).expect("a folder");
        path
    };
    let pipe: fn(&Path) = |path| {
        assert!(Command::new("mkfifo").arg(path).status().is_ok_and(|made| made.success()));
    };
    let folder: fn(&Path) = |path| fs::create_dir(path).expect("a folder");
    let device: fn(&Path) = |path| symlink("/dev/zero", path).expect("a link");
    // As large as three of a usual disk's films, and no byte of it there.
    let huge: fn(&Path) = |path| {
        let file = fs::File::create(path).expect("a file");
        file.set_len(3 << 30).expect("room for nothing");
    };
    let reads: [(&str, &[&str]); 6] = [
        ("rig.json", &["rig"]),
        ("prices.json", &["guide", "plain.rhai"]),
        ("keys/signing.json", &["share", "plain.rhai"]),
        ("trusted.json", &["trust"]),
        ("answers.txt", &["guide", "plain.rhai", "--answers", "data/spoolproof/answers.txt"]),
        ("other.rhai", &["proofread", "data/spoolproof/other.rhai"]),
    ];
    for (name, arguments) in reads {
        for make in [pipe, folder, device, huge] {
            let path = place(name);
            let _ = fs::remove_file(&path);
            let _ = fs::remove_dir(&path);
            make(&path);
            let ran = home.run(arguments, "").exits(2);
            assert!(
                ran.err.contains("is not a file") || ran.err.contains("is larger than"),
                "{arguments:?} with {name}: {}",
                ran.err
            );
        }
        let path = place(name);
        let _ = fs::remove_file(&path);
        let _ = fs::remove_dir(&path);
    }
    // The log is only for bug reports.
    let log = place("log.txt");
    fs::remove_file(&log).expect("a log");
    pipe(&log);
    home.done(&["records", "list"]);
}

#[test]
fn trouble_with_a_key_or_with_trust_stops_only_what_needs_them() {
    let home = used();
    let needs_neither: [&[&str]; 4] = [
        &["rehearse", "plain.rhai"],
        &["procedures"],
        &["proofread", "test-orifice"],
        &["worksheet", "test-orifice"],
    ];
    let key = home.shop().join("keys/signing.json");
    for trouble in [0o644, 0o000] {
        fs::set_permissions(&key, Permissions::from_mode(trouble)).expect("rights");
        needs_neither.iter().for_each(|arguments| drop(home.done(arguments)));
        home.says(&["trust"], "North Bench");
    }
    fs::remove_file(&key).expect("a key");
    fs::write(&key, "no key").expect("a file");
    needs_neither.iter().for_each(|arguments| drop(home.done(arguments)));
    home.refused(2, &["share", "plain.rhai"]);
    fs::write(home.shop().join("trusted.json"), "no list").expect("a file");
    needs_neither.iter().for_each(|arguments| drop(home.done(arguments)));
    home.refuses(2, &["trust"], "Move it away, and receive the packs again");
}

#[test]
fn shared_files_get_the_usual_rights_and_a_key_its_owners_only() {
    let home = used();
    home.done(&["rig", "set", "--orifice", "0.034in"]);
    home.done(&["history", "rebuild"]);
    let plain = home.write("usual", "");
    let rights = |path: &Path| fs::metadata(path).expect("a file").permissions().mode() & 0o777;
    for name in ["rig.json", "trusted.json", "history.sqlite"] {
        assert_eq!(rights(&home.shop().join(name)), rights(&plain), "{name}");
    }
    assert_eq!(rights(&home.shop().join("keys/signing.json")), 0o600);
}

#[test]
fn four_programs_at_once_lose_neither_trust_nor_a_part_of_the_rig() {
    let south = Home::new();
    let mut commands = Vec::new();
    for (n, name) in ["Ash Bench", "Birch Hall", "Cedar Works", "Dogwood School"].into_iter().enumerate() {
        let north = Home::with("brook-b2.rhai", brook("1.0.0").replace("brook-b2", &format!("brook-b{n}")));
        north.done(&["share", "brook-b2.rhai", "--as", name]);
        let pack = south.write(&format!("{n}.json"), north.read("brook-b2-1.0.0.pack.json"));
        let pack = pack.display().to_string();
        commands.push(vec![
            "receive".to_owned(),
            pack,
            "--trust".to_owned(),
            north.fingerprint(),
            "--yes".to_owned(),
        ]);
    }
    let at_once = |commands: &[Vec<String>]| {
        let started: Vec<_> = commands
            .iter()
            .map(|arguments| {
                let mut command = south.command(arguments);
                command.stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
                command.spawn().expect("it runs")
            })
            .collect();
        for mut child in started {
            child.wait().expect("it ends");
        }
    };
    at_once(&commands);
    let trusted = south.json(&["trust", "list"])["trusted"].as_array().map(Vec::len);
    assert_eq!(trusted, Some(4));
    let parts = [
        ["--pump-speed", "3cfm"],
        ["--hose-pressure", "250psi"],
        ["--orifice", "0.034in"],
        ["--stands-oil", "yes"],
    ];
    at_once(&parts.map(|part| ["rig", "set"].into_iter().chain(part).map(str::to_owned).collect()));
    let shown = south.done(&["rig"]);
    for part in ["250", "0.034", "cfm"] {
        assert!(shown.contains(part), "{part} is lost: {shown}");
    }
}

#[test]
fn tidying_up_leaves_what_the_program_did_not_make() {
    let home = used();
    let open = home.shop().join("open");
    let old = SystemTime::now() - Duration::from_secs(3600);
    let age =
        |path: &Path| fs::File::open(path).and_then(|file| file.set_modified(old)).expect("it is older now");
    for (name, file) in
        [("20260101-080000-empty", "journal.jsonl"), ("20260101-080001-foreign", "copy of the journal")]
    {
        fs::create_dir_all(open.join(name)).expect("a folder");
        fs::write(open.join(name).join(file), "").expect("a file");
        age(&open.join(name));
    }
    fs::write(open.join(".DS_Store"), "").expect("a file");
    age(&open.join(".DS_Store"));
    home.run(&["guide", "plain.rhai"], "").anyhow();
    assert!(!open.join("20260101-080000-empty").exists());
    assert!(open.join("20260101-080001-foreign/copy of the journal").exists());
    assert!(open.join(".DS_Store").exists());
}

#[test]
fn a_printed_command_is_one_that_a_shell_takes_as_it_is_meant() {
    let home = Home::with("plain.rhai", PLAIN);
    let shop = home.path("the $(shop) of 'Ana'");
    let folder = shop.to_str().expect("text");
    home.run(&["--shop", folder, "guide", "plain.rhai"], "").anyhow();
    let parked = home.run(&["--shop", folder, "records", "list"], "").anyhow().out;
    let command = parked.lines().find_map(|line| line.split_once("spoolproof --shop")).expect(&parked).1;
    let echoed =
        Command::new("sh").arg("-c").arg(format!("printf '%s\\n' {command}")).output().expect("a shell");
    let words = String::from_utf8_lossy(&echoed.stdout).into_owned();
    assert_eq!(words.lines().next(), shop.to_str(), "{command}");
    home.refuses(2, &["--shop", "two\nlines", "rig"], "line break");
}
