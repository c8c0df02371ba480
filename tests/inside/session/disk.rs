//! What the machine may do to a session: a full disk, a folder that can't be written or has gone, a second program, a
//! closed terminal, a narrow one, one without UTF-8, a clock that jumps back. No acknowledged answer is lost in any.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::Command;

use crate::console::Screen;
use crate::quantity::UNITS;
use crate::session::{Ended, Input, Person, Prompt};
#[cfg(target_os = "linux")]
use crate::tests::support::failing_with;
use crate::tests::support::{Home, Ran, Running, Shopfront, journal_at, records_in, run};

const PROCEDURE: &str = r#"
procedure(#{ title: "Merle M2, feeds", unit: "Merle M2", version: "1.0.0" });
caution("An invented unit: suction holds skin.");
let feed = circuit(#{ name: "feed", holds: 20.inHg, leaks: 15.inHg });
test(feed);
let drain = circuit(#{ name: "drain", holds: 20.inHg, leaks: 15.inHg });
test(drain);
"#;
const OPENING: &str = "Ana\n29.92 inHg\n20 C\nok\n25\n5\n22\n";
const REST: &str = "21.5\n25\n5\n";

struct Bench {
    home: Home,
    shop: PathBuf,
}

impl Bench {
    fn new() -> Bench {
        let home = Home::with("merle.rhai", PROCEDURE);
        let shop = home.path("shop");
        std::fs::create_dir(&shop).unwrap();
        Bench { home, shop }
    }

    fn command(&self, arguments: &[&str]) -> Command {
        self.home.command(&[&["--shop", "shop"], arguments].concat())
    }

    /// Runs the program with these lines to this exit status; returns all that it said.
    #[track_caller]
    fn exits(&self, status: i32, arguments: &[&str], lines: &str) -> String {
        said(&run(&mut self.command(arguments), lines).exits(status))
    }

    /// Goes on with the session and comes to its end.
    #[track_caller]
    fn resumes(&self, lines: &str) {
        self.exits(0, &["guide", "--resume"], lines);
    }

    fn session(&self) -> String {
        self.home.names(&self.shop.join("open")).swap_remove(0)
    }

    fn journal(&self) -> PathBuf {
        self.shop.join("open").join(self.session()).join("journal.jsonl")
    }

    fn answers(&self) -> usize {
        journal_at(&self.journal()).unwrap().standing().count()
    }

    fn records(&self) -> usize {
        records_in(&self.shop.join("records")).len()
    }

    /// A session at the prompt of its second circuit, with the program still running.
    fn waiting(&self) -> Running {
        self.waiting_for(self.command(&["guide", "merle.rhai"]))
    }

    fn waiting_for(&self, mut command: Command) -> Running {
        let mut running = Running::start(&mut command);
        running.types(OPENING);
        while !running.line().expect("a second circuit").contains("2/2: drain") {}
        running
    }
}

fn said(ran: &Ran) -> String {
    format!("{}{}", ran.out, ran.err)
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
    let mut running = bench.waiting();
    let filler = bench.shop.join("filler");
    let _ = std::fs::write(&filler, vec![0_u8; 1 << 20]);
    // More than the page has room for that the journal ends on.
    running.types(&"jot The needle stands still.\n".repeat(60));
    running.types(REST);
    let ran = running.ends();
    assert_eq!(ran.status, 3, "{}", said(&ran));
    ran.complains("No space left").complains("Every answer before this one is kept");
    std::fs::remove_file(&filler).unwrap();
    let taken = bench.answers() - 7;
    let rest: String = REST.lines().skip(taken).map(|line| format!("{line}\n")).collect();
    bench.resumes(&rest);
    assert_eq!(bench.records(), 1);
    drop(mount);
}

#[test]
#[cfg(target_os = "linux")]
fn an_answer_that_does_not_reach_the_disk_is_not_taken_and_parking_is_told_alike() {
    let bench = Bench::new();
    let at = |name: &str| bench.home.path(name);
    for (n, typed) in [REST, "park\n"].into_iter().enumerate() {
        let mut command = bench.command(&["guide", "merle.rhai"]);
        failing_with(&mut command, &at("broken"));
        let mut running = bench.waiting_for(command);
        std::fs::write(at("broken"), "").unwrap();
        running.types(typed);
        let ran = running.ends();
        assert_eq!(ran.status, 3, "{}", said(&ran));
        assert!(said(&ran).contains("this is the whole text"), "no disk takes it: {}", said(&ran));
        assert_eq!(bench.answers(), 7);
        std::fs::remove_file(at("broken")).unwrap();
        bench.resumes(REST);
        assert_eq!(bench.records(), n + 1);
    }
}

#[test]
fn a_shop_that_cannot_be_written_is_said_before_the_first_question() {
    let bench = Bench::new();
    let Some(mount) = Mount::tmpfs(&bench.shop, "size=256k") else { return not_here("read-only folder") };
    mount.remount("ro");
    let said = bench.exits(2, &["guide", "merle.rhai"], OPENING);
    assert!(said.contains("--shop DIR"), "{said}");
}

#[test]
fn a_record_that_cannot_be_put_in_its_place_is_saved_elsewhere_and_stored_later() {
    let bench = Bench::new();
    bench.exits(3, &["guide", "merle.rhai"], OPENING);
    let Some(mount) = Mount::tmpfs(&bench.shop.join("records"), "ro") else {
        return not_here("read-only records");
    };
    let session = bench.session();
    bench.exits(2, &["guide", "--resume"], REST);
    let saved = bench.home.read(&format!("{session}.json"));
    drop(mount);
    bench.resumes("");
    assert_eq!(bench.home.read(&format!("shop/records/{session}.json")), saved);
}

#[test]
fn a_folder_that_vanishes_leaves_the_whole_journal_elsewhere() {
    let bench = Bench::new();
    let mut running = bench.waiting();
    let session = bench.session();
    let journal = bench.journal();
    std::fs::remove_dir_all(bench.shop.join("open")).unwrap();
    running.types(REST);
    assert_eq!(running.ends().status, 3);
    let saved = bench.home.path(&format!("{session}.journal.jsonl"));
    std::fs::create_dir_all(journal.parent().unwrap()).unwrap();
    std::fs::copy(saved, &journal).unwrap();
    assert_eq!(bench.answers(), 7);
    bench.resumes(REST);
}

#[test]
fn a_second_program_is_kept_out_of_a_session_that_is_open() {
    let bench = Bench::new();
    let running = bench.waiting();
    let second = bench.exits(2, &["guide", "--resume"], REST);
    assert!(second.contains("open in another program"), "{second}");
    // Another session of the same shop goes its own way.
    bench.exits(3, &["guide", "merle.rhai"], OPENING);
    assert_eq!(running.ends().status, 3);
}

#[cfg(unix)]
#[test]
fn a_terminal_that_closes_loses_nothing() {
    let bench = Bench::new();
    let mut running = bench.waiting();
    let killed = Command::new("kill").args(["-HUP", &running.id().to_string()]).status().unwrap();
    assert!(killed.success());
    running.status();
    assert_eq!(bench.answers(), 7);
    bench.resumes(REST);
}

#[test]
fn closed_standard_input_is_no_answer() {
    let bench = Bench::new();
    bench.exits(3, &["guide", "merle.rhai"], "");
    assert_eq!(bench.records(), 0);
}

#[test]
fn a_terminal_without_utf_8_gets_plain_letters() {
    let bench = Bench::new();
    let ran = run(bench.command(&["rehearse"]).env("LANG", "C"), "").exits(0);
    assert!(ran.out.is_ascii(), "{}", ran.out);
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
    let lines = "Ana\n29.92 inHg\n20 C\n25\n5\nhelp\n18\n\n18\n22\n25\n5\nleave it as it is\n";
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
