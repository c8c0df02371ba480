//! What the machine may do to a session: a full disk, a folder that can't be written or has gone, a second program, a
//! closed terminal, a narrow one, one without UTF-8, a clock that jumps back. No acknowledged answer is lost in any.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, Command, Output, Stdio};
use std::time::{Duration, Instant};

use crate::console::Screen;
use crate::quantity::UNITS;
use crate::session::{Ended, Input, Journal, Person, Prompt};
use scripted::Shopfront;

use crate::tests::support::scripted;

const PROCEDURE: &str = r#"
procedure(#{ title: "Merle M2, feeds", unit: "Merle M2", version: "1.0.0" });
caution("An invented unit: suction holds skin.");
let feed = circuit(#{ name: "feed", holds: 20.inHg, leaks: 15.inHg });
test(feed);
let drain = circuit(#{ name: "drain", holds: 20.inHg, leaks: 15.inHg });
test(drain);
"#;
const OPENING: &str = "Ana\n29.92 inHg\n25\n5\nok\n22\n";
const REST: &str = "21.5\n25\n5\n";

struct Bench {
    folder: tempfile::TempDir,
    shop: PathBuf,
}

impl Bench {
    fn new() -> Bench {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("merle.rhai"), PROCEDURE).unwrap();
        let shop = folder.path().join("shop");
        std::fs::create_dir(&shop).unwrap();
        Bench { folder, shop }
    }

    fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(crate::tests::support::binary::spoolproof());
        command.env_clear().env("LANG", "C.UTF-8").env("HOME", self.folder.path());
        command.current_dir(self.folder.path()).arg("--shop").arg(&self.shop).args(arguments);
        command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
        command
    }

    fn run(&self, arguments: &[&str], lines: &str) -> Output {
        let mut child = self.command(arguments).spawn().unwrap();
        // A program that ends early closes the pipe; what it says then is what is looked at.
        let _ = child.stdin.take().unwrap().write_all(lines.as_bytes());
        child.wait_with_output().unwrap()
    }

    fn begin(&self) -> Output {
        self.run(&["guide", "merle.rhai"], OPENING)
    }

    fn session(&self) -> String {
        let entry = std::fs::read_dir(self.shop.join("open")).unwrap().next().unwrap().unwrap();
        entry.file_name().into_string().unwrap()
    }

    fn journal(&self) -> PathBuf {
        self.shop.join("open").join(self.session()).join("journal.jsonl")
    }

    fn answers(&self) -> usize {
        Journal::open(&self.journal()).unwrap().standing().count()
    }

    fn records(&self) -> usize {
        std::fs::read_dir(self.shop.join("records")).map_or(0, |entries| entries.count())
    }

    /// A session at the prompt of its second circuit, with the program still running.
    fn waiting(&self) -> (Child, ChildStdin) {
        self.waiting_for(self.command(&["guide", "merle.rhai"]))
    }

    fn waiting_for(&self, mut command: Command) -> (Child, ChildStdin) {
        let mut child = command.spawn().unwrap();
        let mut stdin = child.stdin.take().unwrap();
        stdin.write_all(OPENING.as_bytes()).unwrap();
        let begun = Instant::now();
        while !self.shop.join("open").exists() || self.journal_lines() < 7 {
            assert!(
                begun.elapsed() < Duration::from_secs(20),
                "the session did not get to its second circuit"
            );
            std::thread::sleep(Duration::from_millis(10));
        }
        (child, stdin)
    }

    fn journal_lines(&self) -> usize {
        let Some(Ok(entry)) = std::fs::read_dir(self.shop.join("open")).unwrap().next() else { return 0 };
        std::fs::read_to_string(entry.path().join("journal.jsonl")).map_or(0, |text| text.lines().count())
    }
}

fn said(output: &Output) -> String {
    format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr))
}

/// A file system of its own, where the machine lets the test mount one.
struct Mount(PathBuf);

impl Mount {
    fn tmpfs(place: &Path, options: &str) -> Option<Mount> {
        let mounted =
            Command::new("mount").args(["-t", "tmpfs", "-o", options, "tmpfs"]).arg(place).output().ok()?;
        mounted.status.success().then(|| Mount(place.to_owned()))
    }

    fn remount(&self, options: &str) {
        let remounted =
            Command::new("mount").args(["-o", &format!("remount,{options}")]).arg(&self.0).status();
        assert!(remounted.unwrap().success());
    }
}

impl Drop for Mount {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg("-l").arg(&self.0).status();
    }
}

fn not_here(what: &str) {
    let _ = writeln!(std::io::stdout(), "{what}: this machine lets no file system be mounted; not tried");
}

#[test]
fn a_disk_that_fills_up_parks_the_session_and_keeps_every_answer_taken() {
    let bench = Bench::new();
    let Some(mount) = Mount::tmpfs(&bench.shop, "size=256k") else { return not_here("full disk") };
    let (mut child, mut stdin) = bench.waiting();
    let filler = bench.shop.join("filler");
    let _ = std::fs::write(&filler, vec![0_u8; 1 << 20]);
    stdin.write_all(REST.as_bytes()).unwrap();
    drop(stdin);
    assert_eq!(child.wait().unwrap().code(), Some(3));
    let mut text = String::new();
    std::io::Read::read_to_string(&mut child.stderr.take().unwrap(), &mut text).unwrap();
    assert!(text.contains("No space left") && text.contains("every one before it is saved"), "{text}");
    std::fs::remove_file(&filler).unwrap();
    // The page that the journal ends on may have had room for one or two more.
    let taken = bench.answers() - 6;
    let rest: String = REST.lines().skip(taken).map(|line| format!("{line}\n")).collect();
    let resumed = bench.run(&["guide", "--resume"], &rest);
    assert_eq!(resumed.status.code(), Some(0), "{}", said(&resumed));
    assert_eq!(bench.records(), 1);
    drop(mount);
}

/// Stands in for the system's own calls: once the file that it is told of exists, nothing more reaches the disk.
const FAILING_SYNC: &str = r#"
#include <errno.h>
#include <stdlib.h>
#include <unistd.h>
static int sync_of(int file) {
    (void)file;
    if (access(getenv("DISK_FAILS_WITH"), F_OK) == 0) { errno = EIO; return -1; }
    return 0;
}
int fsync(int file) { return sync_of(file); }
int fdatasync(int file) { return sync_of(file); }
"#;

#[test]
#[cfg(target_os = "linux")]
fn an_answer_that_does_not_reach_the_disk_is_not_taken() {
    let bench = Bench::new();
    let at = |name: &str| bench.folder.path().join(name);
    std::fs::write(at("sync.c"), FAILING_SYNC).unwrap();
    let built =
        Command::new("cc").args(["-shared", "-fPIC", "-o"]).args([at("sync.so"), at("sync.c")]).status();
    assert!(built.unwrap().success());
    let mut command = bench.command(&["guide", "merle.rhai"]);
    command.env("LD_PRELOAD", at("sync.so")).env("DISK_FAILS_WITH", at("broken"));
    let (child, mut stdin) = bench.waiting_for(command);
    std::fs::write(at("broken"), "").unwrap();
    stdin.write_all(REST.as_bytes()).unwrap();
    drop(stdin);
    let output = child.wait_with_output().unwrap();
    assert_eq!(output.status.code(), Some(3), "{}", said(&output));
    assert!(said(&output).contains("this is the whole text"), "no disk takes it: {}", said(&output));
    assert_eq!(bench.answers(), 6);
    let resumed = bench.run(&["guide", "--resume"], REST);
    assert_eq!(resumed.status.code(), Some(0), "{}", said(&resumed));
    assert_eq!(bench.records(), 1);
}

#[test]
fn a_shop_that_cannot_be_written_is_said_before_the_first_question() {
    let bench = Bench::new();
    let Some(mount) = Mount::tmpfs(&bench.shop, "size=256k") else { return not_here("read-only folder") };
    mount.remount("ro");
    let output = bench.begin();
    assert_eq!(output.status.code(), Some(2));
    assert!(said(&output).contains("--shop DIR"), "{}", said(&output));
}

#[test]
fn a_record_that_cannot_be_put_in_its_place_is_saved_elsewhere_and_stored_later() {
    let bench = Bench::new();
    let begun = bench.begin();
    assert_eq!(begun.status.code(), Some(3), "{}", said(&begun));
    let Some(mount) = Mount::tmpfs(&bench.shop.join("records"), "ro") else {
        return not_here("read-only records");
    };
    let session = bench.session();
    let output = bench.run(&["guide", "--resume"], REST);
    assert_eq!(output.status.code(), Some(2), "{}", said(&output));
    let saved = bench.folder.path().join(format!("{session}.json"));
    let saved = std::fs::read_to_string(&saved).unwrap();
    drop(mount);
    let resumed = bench.run(&["guide", "--resume"], "");
    assert_eq!(resumed.status.code(), Some(0), "{}", said(&resumed));
    let stored = std::fs::read_to_string(bench.shop.join("records").join(format!("{session}.json"))).unwrap();
    assert_eq!(stored, saved);
}

#[test]
fn a_folder_that_vanishes_leaves_the_whole_journal_elsewhere() {
    let bench = Bench::new();
    let (mut child, mut stdin) = bench.waiting();
    let session = bench.session();
    let journal = bench.journal();
    std::fs::remove_dir_all(bench.shop.join("open")).unwrap();
    stdin.write_all(REST.as_bytes()).unwrap();
    drop(stdin);
    assert_eq!(child.wait().unwrap().code(), Some(3));
    let saved = bench.folder.path().join(format!("{session}.journal.jsonl"));
    std::fs::create_dir_all(journal.parent().unwrap()).unwrap();
    std::fs::copy(saved, &journal).unwrap();
    assert_eq!(bench.answers(), 6);
    let resumed = bench.run(&["guide", "--resume"], REST);
    assert_eq!(resumed.status.code(), Some(0), "{}", said(&resumed));
}

#[test]
fn a_second_program_is_kept_out_of_a_session_that_is_open() {
    let bench = Bench::new();
    let (mut child, stdin) = bench.waiting();
    let second = bench.run(&["guide", "--resume"], REST);
    assert_eq!(second.status.code(), Some(2));
    assert!(said(&second).contains("open in another program"), "{}", said(&second));
    let other = bench.begin();
    assert_eq!(
        other.status.code(),
        Some(3),
        "another session of the same shop goes its own way: {}",
        said(&other)
    );
    drop(stdin);
    assert_eq!(child.wait().unwrap().code(), Some(3));
}

#[cfg(unix)]
#[test]
fn a_terminal_that_closes_loses_nothing() {
    let bench = Bench::new();
    let (mut child, _stdin) = bench.waiting();
    let killed = Command::new("kill").args(["-HUP", &child.id().to_string()]).status().unwrap();
    assert!(killed.success());
    child.wait().unwrap();
    assert_eq!(bench.answers(), 6);
    let resumed = bench.run(&["guide", "--resume"], REST);
    assert_eq!(resumed.status.code(), Some(0), "{}", said(&resumed));
}

#[test]
fn closed_standard_input_is_no_answer() {
    let bench = Bench::new();
    let output = bench.command(&["guide", "merle.rhai"]).stdin(Stdio::null()).output().unwrap();
    assert_eq!(output.status.code(), Some(3));
    assert_eq!(bench.records(), 0);
}

#[test]
fn a_terminal_without_utf_8_gets_plain_letters() {
    let bench = Bench::new();
    let mut child = bench.command(&["rehearse"]).env("LANG", "C").spawn().unwrap();
    drop(child.stdin.take());
    let output = child.wait_with_output().unwrap();
    assert!(output.status.success());
    assert!(output.stdout.is_ascii(), "{}", String::from_utf8_lossy(&output.stdout));
}

#[test]
fn a_clock_that_jumps_back_changes_nothing_but_the_times() {
    fn backwards() -> jiff::Timestamp {
        static HOURS: std::sync::atomic::AtomicI64 = std::sync::atomic::AtomicI64::new(500_000);
        let hours = HOURS.fetch_sub(7, std::sync::atomic::Ordering::Relaxed);
        jiff::Timestamp::from_second(hours * 3600).unwrap()
    }
    let straight = Shopfront::new(TWO_FEEDS).finish(&["22", "21.5"]);
    let shop = Shopfront::new(TWO_FEEDS);
    let ended = shop.walk_by(backwards, Box::new(shop.usual(&["22", "21.5"]))).unwrap();
    let Ended::Finished(record, _) = ended else { panic!("{ended:?}") };
    assert!(record.finished < record.started);
    assert_eq!(record.summary, straight.summary);
    assert_eq!(record.circuits[1].readings[0].meaning, straight.circuits[1].readings[0].meaning);
}

#[test]
fn a_screen_of_forty_columns_or_more_holds_every_line() {
    for width in [40, 44, 46, 60, 74, 76, 77, 80] {
        check_width(width);
    }
}

fn check_width(width: usize) {
    let shop = Shopfront::new(TWO_FEEDS);
    let file = tempfile::NamedTempFile::new().unwrap();
    let screen = Screen::new(Box::new(file.reopen().unwrap()), width);
    let lines = "Ana\n29.92 inHg\n25\n5\nhelp\n18\n\n18\n22\n25\n5\nleave it as it is\n";
    let person = Person::new(Prompt::new(screen, Input::lines(lines.as_bytes())), &UNITS[0]);
    let ended = shop.walk_with(Box::new(person)).unwrap();
    let text = std::fs::read_to_string(file.path()).unwrap();
    assert!(matches!(ended, Ended::Finished(..)), "{ended:?}\n{text}");
    for line in text.lines() {
        assert!(line.chars().count() <= width, "{width}: {line:?}");
    }
}

/// The usual first line describes a circuit c.
const TWO_FEEDS: &str = r#"
test(c);
let drain = circuit(#{ name: "drain", holds: 20.inHg, leaks: 15.inHg });
test(drain);
"#;
