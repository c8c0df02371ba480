//! Drafting at a terminal: keys that leave it, a terminal that is closed, and narrow screens.

use crate::tests::support::scripted;

use std::process::Command;

use rexpect::process::WaitStatus;
use rexpect::session::{PtySession, spawn_command};
use scripted::Home;

const PATIENCE_MS: u64 = 20_000;

/// A rebuilder at a terminal of so many columns.
struct Terminal {
    session: PtySession,
    columns: usize,
    seen: String,
}

impl Terminal {
    fn open(home: &Home, columns: usize, arguments: &[&str]) -> Terminal {
        // The size is set by the shell's own terminal before the program looks at it.
        let mut command = Command::new("sh");
        command
            .args(["-c", "echo $$ > pid; stty cols \"$0\" rows 24; exec \"$@\""])
            .arg(columns.to_string())
            .arg(crate::tests::support::binary::spoolproof())
            .args(arguments)
            .current_dir(home.path(""))
            .env_clear()
            .env("PATH", std::env::var_os("PATH").unwrap_or_default())
            .env("HOME", home.path(""))
            .env("XDG_DATA_HOME", home.path("data"))
            .env("TERM", "xterm")
            .env("LC_ALL", "C.UTF-8");
        Terminal { session: spawn_command(command, Some(PATIENCE_MS)).unwrap(), columns, seen: String::new() }
    }

    fn sees(&mut self, text: &str) {
        let before = self.session.exp_string(text).unwrap_or_else(|error| panic!("no {text:?}: {error}"));
        self.seen += &before;
        self.seen += text;
    }

    /// Waits for each prompt and types the line that goes with it.
    fn types(&mut self, dialogue: &[(&str, &str)]) {
        for (prompt, line) in dialogue {
            self.sees(prompt);
            self.session.send_line(line).unwrap();
        }
    }

    /// Types lines at the next prompts, whatever they ask; a terminal is made ready for typing once for each.
    fn answers(&mut self, lines: &[&str]) {
        for line in lines {
            self.sees("\u{1b}[?2004h");
            self.sees(": ");
            self.session.send_line(line).unwrap();
        }
    }

    fn presses(&mut self, key: char) {
        self.session.send_control(key).unwrap();
    }

    /// Closes the terminal's window under the program.
    fn loses_its_window(mut self, home: &Home) {
        let pid = std::fs::read_to_string(home.path("pid")).unwrap();
        assert!(Command::new("kill").args(["-HUP", pid.trim()]).status().unwrap().success());
        self.session.exp_eof().unwrap();
        let ended = self.session.process().wait().unwrap();
        assert!(matches!(ended, WaitStatus::Signaled(..)), "{ended:?}");
    }

    /// Waits for the end; returns the exit status, after a look at how wide all was that was shown.
    fn ends(mut self) -> i32 {
        self.seen += &self.session.exp_eof().unwrap();
        let shown = plain(&self.seen);
        assert!(shown.lines().any(|line| line.chars().count() > self.columns / 2), "{shown}");
        for line in shown.lines() {
            // A command is one line, to be copied.
            let is_command = line.trim_start().starts_with("spoolproof ");
            assert!(line.chars().count() <= self.columns || is_command, "{}: {line}", self.columns);
        }
        match self.session.process().wait().unwrap() {
            WaitStatus::Exited(_, status) => status,
            other => panic!("{other:?}"),
        }
    }
}

/// Returns what a terminal was sent without the sequences that move its cursor (`ESC [` up to a letter); each return
/// begins a line.
fn plain(text: &str) -> String {
    let mut plain = String::new();
    let mut letters = text.chars();
    while let Some(letter) = letters.next() {
        match letter {
            '\u{1b}' => {
                letters.find(char::is_ascii_alphabetic);
            }
            '\r' => plain.push('\n'),
            letter => plain.push(letter),
        }
    }
    plain
}

#[test]
fn a_line_is_as_wide_as_what_is_seen_of_it() {
    assert_eq!(plain("\u{1b}[?2004h\u{1b}[KUnit: \r\u{1b}[6CMerle\r\n"), "Unit: \nMerle\n\n");
}

const HEAD: [(&str, &str); 3] = [("Unit", "Merle M2"), ("part of it", "lower body"), ("replacement", "")];
const FEED: [(&str, &str); 10] = [
    ("first circuit: ", "clutch feed"),
    ("at its port [6]: ", "3"),
    ("hose goes to", "3A"),
    ("before the reading", ""),
    ("and deeper", "20"),
    ("and less", ""),
    ("Bore", ""),
    ("Complaints", "late upshift"),
    ("What repairs it", "new seals"),
    ("Parts for", "48"),
];

fn written(home: &Home) -> String {
    std::fs::read_to_string(home.path("merle-m2-lower-body.rhai")).unwrap()
}

#[test]
fn ctrl_c_ctrl_d_and_a_closed_window_lose_nothing_that_was_answered() {
    let home = Home::new();
    let mut terminal = Terminal::open(&home, 80, &["draft"]);
    terminal.types(&HEAD);
    terminal.types(&FEED[..3]);
    terminal.sees("[as it stands]: ");
    // What was begun to be typed is no answer.
    terminal.session.send("Sea").unwrap();
    terminal.session.flush().unwrap();
    terminal.presses('c');
    terminal.sees("What was answered is kept; no procedure is written yet.");
    assert_eq!(terminal.ends(), 3);
    assert!(!home.path("merle-m2-lower-body.rhai").exists());

    let mut terminal = Terminal::open(&home, 80, &["draft", "--resume"]);
    terminal.sees("Going on where the draft was left.");
    terminal.sees("Circuit 1: clutch feed");
    terminal.types(&FEED[3..5]);
    terminal.sees("and less");
    terminal.presses('d');
    terminal.sees("What was answered is kept");
    assert_eq!(terminal.ends(), 3);

    let mut terminal = Terminal::open(&home, 80, &["draft", "--resume"]);
    terminal.types(&FEED[5..8]);
    terminal.sees("What repairs it");
    terminal.loses_its_window(&home);

    let mut terminal = Terminal::open(&home, 80, &["draft"]);
    terminal.sees("A draft was left before its end");
    terminal.presses('c');
    terminal.sees("Stopped before anything was answered.");
    assert_eq!(terminal.ends(), 3);

    let mut terminal = Terminal::open(&home, 80, &["draft", "--resume"]);
    terminal.types(&FEED[8..]);
    terminal.types(&[("Hours", "0.6"), ("next circuit", "none")]);
    terminal.sees("Proofread: no errors");
    assert_eq!(terminal.ends(), 0);
    let written = written(&home);
    for wanted in
        ["port: \"3A\"", "leaks: 15.inHg", "\"late upshift\"", "does: \"new seals\", parts: 48, hours: 0.6"]
    {
        assert!(written.contains(wanted), "no {wanted} in {written}");
    }
    assert!(home.names(&home.shop().join("drafts")).is_empty());
}

#[test]
fn a_draft_that_is_being_answered_is_not_gone_on_with_elsewhere() {
    let home = Home::new();
    let mut terminal = Terminal::open(&home, 80, &["draft"]);
    terminal.types(&HEAD);
    terminal.sees("first circuit");
    home.run(&["draft", "--resume"], "").exits(2).complains("open in another program");
    terminal.presses('c');
    assert_eq!(terminal.ends(), 3);
}

#[test]
fn every_screen_fits_into_eighty_columns_and_into_forty() {
    for columns in [80, 40] {
        let home = Home::new();
        let mut terminal = Terminal::open(&home, columns, &["draft"]);
        terminal.answers(&["help", "Merle M2", "help", "lower body", "help", "850", "help", "clutch feed"]);
        // To the start, and forward again with what stands.
        terminal.answers(&["help", "jot it", "cannot", "back 10", "back 9", "", "", "", ""]);
        for answer in ["3", "3A", "", "20", "", "not known"] {
            terminal.answers(&["help", "", "back", answer]);
        }
        terminal.answers(&["help", "late upshift", "help", "new seals", "help", "48", "help", "0.6"]);
        terminal.answers(&[
            "progress",
            "regulator",
            "1",
            "",
            "",
            "",
            "help",
            "22.5 21.8 22.1",
            "help",
            "yes",
        ]);
        terminal.answers(&[
            "0.5",
            "help",
            "",
            "0.3",
            "",
            "",
            "again CLUTCH FEED",
            "back",
            "",
            "again 30",
            "park",
        ]);
        terminal.sees("draft --resume");
        assert_eq!(terminal.ends(), 3, "{columns}");

        let mut terminal = Terminal::open(&home, columns, &["draft", "--from", "tarn-t6-lower"]);
        terminal.sees("copied whole");
        terminal.answers(&["help", "Merle M3", "help", "", "help", "feed", "help", "back"]);
        terminal.sees("]: ");
        terminal.presses('c');
        assert_eq!(terminal.ends(), 3, "{columns}");
    }
}
