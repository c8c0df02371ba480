//! Receiving at a terminal: whom nobody knows is shown and asked about, and what is typed decides.

use crate::tests::support::sharing;

use std::process::Command;

use rexpect::process::WaitStatus;
use rexpect::session::{PtySession, spawn_command};
use sharing::{TestShop, brook, flat};

const PATIENCE_MS: u64 = 20_000;

/// Somebody at a terminal of so many columns, in a shop.
struct Terminal {
    session: PtySession,
    seen: String,
}

impl Terminal {
    fn open(shop: &TestShop, columns: u16, arguments: &[&str]) -> Terminal {
        // The size is set by the shell's own terminal before the program looks at it.
        let mut command = Command::new("sh");
        command
            .args(["-c", "stty cols \"$0\" rows 24; exec \"$@\""])
            .arg(columns.to_string())
            .arg(crate::tests::support::binary::spoolproof())
            .args(arguments)
            .arg("--shop")
            .arg(shop.shop())
            .current_dir(shop.folder())
            .env_clear()
            .env("PATH", std::env::var_os("PATH").unwrap_or_default())
            .env("TERM", "xterm")
            .env("LC_ALL", "C.UTF-8");
        Terminal { session: spawn_command(command, Some(PATIENCE_MS)).unwrap(), seen: String::new() }
    }

    /// Waits for a prompt and types the line that goes with it.
    fn types(&mut self, prompt: &str, line: &str) {
        self.seen +=
            &self.session.exp_string(prompt).unwrap_or_else(|error| panic!("no {prompt:?}: {error}"));
        self.session.send_line(line).unwrap();
    }

    /// Waits for the end; returns the exit status and everything that was shown.
    fn ends(mut self) -> (i32, String) {
        self.seen += &self.session.exp_eof().unwrap();
        match self.session.process().wait().unwrap() {
            WaitStatus::Exited(_, status) => (status, self.seen),
            other => panic!("{other:?}"),
        }
    }
}

/// A shop that has signed the invented procedure, and another that was handed its pack.
fn handed_over(version: &str) -> (TestShop, TestShop) {
    let north = TestShop::new();
    let south = TestShop::new();
    hand_over(&north, &south, version);
    (north, south)
}

fn hand_over(from: &TestShop, to: &TestShop, version: &str) {
    from.write("brook-b2.rhai", brook(version));
    from.done(&["share", "brook-b2.rhai", "--as", "North Bench"]);
    let pack = std::fs::read(from.path(&format!("brook-b2-{version}.pack.json"))).unwrap();
    to.write("handed.json", pack);
}

fn last_group(shop: &TestShop) -> String {
    shop.fingerprint().rsplit(' ').next().unwrap().to_owned()
}

/// How many versions of the procedure are installed.
fn n_installed(shop: &TestShop) -> usize {
    std::fs::read_dir(shop.shop().join("procedures/brook-b2")).map_or(0, Iterator::count)
}

fn n_trusted(shop: &TestShop) -> usize {
    shop.json(&["trust", "list"])["trusted"].as_array().unwrap().len()
}

#[test]
fn an_unknown_signer_is_shown_with_a_fingerprint_and_asked_about() {
    let (north, south) = handed_over("1.0.0");
    let mut terminal = Terminal::open(&south, 80, &["receive", "handed.json"]);
    terminal.types("last group: ", &last_group(&north));
    terminal.types("yes or no: ", "yes");
    let (status, seen) = terminal.ends();
    let said = flat(&seen);
    assert_eq!(status, 0, "{seen}");
    assert!(said.contains("signed by North Bench, whom nobody here knows"), "{seen}");
    assert!(said.contains(&format!("fingerprint {}", north.fingerprint())), "{seen}");
    assert!(said.contains("Call \"North Bench\" and compare all six groups."), "{seen}");
    assert!(said.contains("Installed in"), "{seen}");
    assert_eq!((n_installed(&south), n_trusted(&south)), (1, 1));

    // The next pack of the same signer asks about itself only.
    hand_over(&north, &south, "1.1.0");
    let mut terminal = Terminal::open(&south, 80, &["receive", "handed.json"]);
    terminal.types("yes or no: ", "yes");
    let (status, seen) = terminal.ends();
    assert_eq!(status, 0, "{seen}");
    assert!(flat(&seen).contains("who is trusted here"), "{seen}");
    assert!(!seen.contains("last group"), "{seen}");
    assert_eq!((n_installed(&south), n_trusted(&south)), (2, 1));
}

#[test]
fn whoever_types_anything_else_installs_nothing_and_trusts_nobody() {
    let (north, south) = handed_over("1.0.0");
    for typed in ["", "yes", "y", "help", "00000", &last_group(&north)[1..]] {
        let mut terminal = Terminal::open(&south, 80, &["receive", "handed.json"]);
        terminal.types("last group: ", typed);
        if !typed.is_empty() {
            terminal.types("last group: ", "");
        }
        let (status, seen) = terminal.ends();
        assert_eq!(status, 0, "{typed:?}: {seen}");
        assert!(seen.contains("Nothing was installed."), "{typed:?}: {seen}");
        let is_refused = !["", "help"].contains(&typed);
        assert_eq!(seen.contains("That is not the last group"), is_refused, "{typed:?}: {seen}");
        assert_eq!((n_installed(&south), n_trusted(&south)), (0, 0), "{typed:?}");
    }
    for typed in ["no", "", "n"] {
        let mut terminal = Terminal::open(&south, 80, &["receive", "handed.json"]);
        terminal.types("last group: ", &north.fingerprint());
        terminal.types("yes or no: ", "perhaps");
        terminal.types("yes or no: ", typed);
        let (_, seen) = terminal.ends();
        assert!(seen.contains("Nothing was installed."), "{typed:?}: {seen}");
        assert_eq!((n_installed(&south), n_trusted(&south)), (0, 0), "{typed:?}");
    }
}

#[test]
fn ctrl_c_at_either_question_installs_nothing() {
    let (north, south) = handed_over("1.0.0");
    for answers in [vec![], vec![last_group(&north)]] {
        let mut terminal = Terminal::open(&south, 80, &["receive", "handed.json"]);
        for answer in &answers {
            terminal.types("last group: ", answer);
        }
        let prompt = if answers.is_empty() { "last group: " } else { "yes or no: " };
        terminal.session.exp_string(prompt).unwrap();
        terminal.session.send_control('c').unwrap();
        let (_, seen) = terminal.ends();
        assert!(seen.contains("Nothing was installed."), "{seen}");
        assert_eq!((n_installed(&south), n_trusted(&south)), (0, 0));
    }
}

#[test]
fn a_changed_key_for_a_known_name_is_refused_without_a_question() {
    let (north, south) = handed_over("1.0.0");
    south.done(&["receive", "handed.json", "--trust", &north.fingerprint(), "--yes"]);
    let impostor = TestShop::new();
    hand_over(&impostor, &south, "2.0.0");
    let (status, seen) = Terminal::open(&south, 80, &["receive", "handed.json"]).ends();
    let said = flat(&seen);
    assert_eq!(status, 1, "{seen}");
    assert!(said.contains("Refused: \"North Bench\" is known here with another key"), "{seen}");
    assert!(said.contains(&north.fingerprint()) && said.contains(&impostor.fingerprint()), "{seen}");
    assert!(!seen.contains("last group") && !seen.contains("yes or no"), "{seen}");
    assert_eq!((n_installed(&south), n_trusted(&south)), (1, 1));
}

#[test]
fn a_shop_that_signs_for_the_first_time_is_asked_for_its_name() {
    let shop = TestShop::new();
    shop.write("brook-b2.rhai", brook("1.0.0"));
    let mut terminal = Terminal::open(&shop, 80, &["share", "brook-b2.rhai"]);
    terminal.types("name: ", "North Bench");
    let (status, seen) = terminal.ends();
    assert_eq!(status, 0, "{seen}");
    assert!(flat(&seen).contains(&format!("signed by North Bench ({})", shop.fingerprint())), "{seen}");
}

#[test]
fn no_line_is_wider_than_the_terminal_but_a_path() {
    let (north, south) = handed_over("1.0.0");
    let fingerprint = north.fingerprint();
    for columns in [40, 80] {
        let mut terminal = Terminal::open(&south, columns, &["receive", "handed.json"]);
        terminal.types("last group: ", "");
        let mut shown = vec![terminal.ends().1];
        for arguments in [
            &["procedures"][..],
            &["receive", "handed.json", "--check"],
            &["receive", "handed.json", "--yes", "--trust", &fingerprint],
            &["trust"],
            &["trust", "forget", "North Bench"],
        ] {
            shown.push(Terminal::open(&south, columns, arguments).ends().1);
        }
        // The editor draws its own prompts.
        for line in shown.iter().flat_map(|text| text.lines()).filter(|line| !line.contains('\u{1b}')) {
            let line = line.trim_end();
            let is_path =
                line.contains('/') && !line.trim().contains(' ') || line.starts_with("Installed in");
            assert!(line.chars().count() <= usize::from(columns) || is_path, "{columns}: {line}");
        }
        std::fs::remove_dir_all(south.shop().join("procedures")).unwrap();
    }
}
