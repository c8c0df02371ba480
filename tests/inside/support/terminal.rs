//! Somebody at a terminal: what only a real one shows.

use std::process::Command;

use rexpect::process::WaitStatus;
use rexpect::session::{PtySession, spawn_command};
use rustix::termios::{Winsize, tcsetwinsize};

use super::browser::Browser;
use super::program::{Home, PATIENCE};

/// A terminal of so many columns, in which a command of the program runs.
pub(crate) struct Terminal {
    session: PtySession,
    columns: u16,
    seen: String,
}

impl Terminal {
    pub(crate) fn open(home: &Home, columns: u16, arguments: &[&str]) -> Terminal {
        Terminal::with(home, columns, "xterm", "echo $$ > pid; exec \"$@\"", arguments)
    }

    /// A terminal whose cursor can't be moved.
    pub(crate) fn dumb(home: &Home, arguments: &[&str]) -> Terminal {
        Terminal::with(home, 80, "dumb", "exec \"$@\"", arguments)
    }

    /// A terminal with a shell in it that says when the program was stopped, and has it go on at the next line.
    pub(crate) fn in_shell(home: &Home, arguments: &[&str]) -> Terminal {
        let shell =
            "set -m; \"$@\"; while [ $? -eq 148 ]; do echo was stopped; read -r line; fg > /dev/null; done";
        Terminal::with(home, 80, "xterm", shell, arguments)
    }

    fn with(home: &Home, columns: u16, kind: &str, shell: &str, arguments: &[&str]) -> Terminal {
        let program = home.command(arguments);
        // The size is set by the shell's own terminal before the program looks at it.
        let mut command = Command::new("sh");
        command.args(["-c", &format!("stty cols \"$0\" rows 24; {shell}")]).arg(columns.to_string());
        command.arg(program.get_program()).args(program.get_args()).current_dir(home.folder());
        command.env_clear().envs(program.get_envs().filter_map(|(name, value)| Some((name, value?))));
        command.env("PATH", std::env::var_os("PATH").unwrap_or_default()).env("TERM", kind);
        command.env("NO_COLOR", "1");
        let patience = u64::try_from(PATIENCE.as_millis()).expect("not so long");
        let session = spawn_command(command, Some(patience)).expect("a terminal");
        Terminal { session, columns, seen: String::new() }
    }

    /// Waits for something on the screen.
    pub(crate) fn sees(&mut self, text: &str) {
        let before = self.session.exp_string(text).unwrap_or_else(|error| panic!("no {text:?}: {error}"));
        self.seen += &before;
        self.seen += text;
    }

    /// Opens the page whose address is shown.
    pub(crate) fn sees_page(&mut self) -> Browser {
        self.sees("http://");
        let address = self.session.exp_string("\r\n").expect("an address");
        Browser::at(&format!("http://{address}"))
    }

    /// Types a line.
    pub(crate) fn sends(&mut self, line: &str) {
        self.session.send_line(line).expect("a terminal");
    }

    /// Waits for each prompt and types the line that goes with it.
    pub(crate) fn types(&mut self, dialogue: &[(&str, &str)]) {
        for (prompt, line) in dialogue {
            self.sees(prompt);
            self.sends(line);
        }
    }

    /// Types lines at the next prompts, whatever they ask; a terminal is made ready for typing once for each.
    pub(crate) fn answers(&mut self, lines: &[&str]) {
        for line in lines {
            self.sees("\u{1b}[?2004h");
            self.types(&[(": ", line)]);
        }
    }

    /// Makes the window so many columns wide.
    pub(crate) fn resizes(&mut self, columns: u16) {
        let terminal = self.session.process().get_file_handle().expect("a terminal");
        let size = Winsize { ws_row: 24, ws_col: columns, ws_xpixel: 0, ws_ypixel: 0 };
        tcsetwinsize(terminal, size).expect("a terminal");
    }

    /// Begins to type a line.
    pub(crate) fn begins(&mut self, text: &str) {
        self.session.send(text).expect("a terminal");
        self.session.flush().expect("a terminal");
    }

    /// Presses a key with control.
    pub(crate) fn presses(&mut self, key: char) {
        self.session.send_control(key).expect("a terminal");
    }

    /// Closes the terminal's window under the program.
    pub(crate) fn loses_its_window(self, home: &Home) {
        self.ends_by("-HUP", home);
    }

    /// Ends the program by a signal.
    pub(crate) fn ends_by(mut self, signal: &str, home: &Home) {
        let killed = Command::new("kill").args([signal, home.read("pid").trim()]).status();
        assert!(killed.expect("a signal").success());
        self.session.exp_eof().expect("an end");
        let ended = self.session.process().wait().expect("an end");
        assert!(matches!(ended, WaitStatus::Signaled(..)), "{ended:?}");
    }

    /// Waits for the end with this exit status; returns everything that was shown.
    #[track_caller]
    pub(crate) fn exits(mut self, status: i32) -> String {
        self.seen += &self.session.exp_eof().expect("an end");
        match self.session.process().wait().expect("an end") {
            WaitStatus::Exited(_, found) => assert_eq!(found, status, "{}", self.seen),
            other => panic!("{other:?}: {}", self.seen),
        }
        self.seen
    }

    /// Waits for the end with this exit status, and looks how wide all was that was shown.
    #[track_caller]
    pub(crate) fn exits_within_its_width(self, status: i32) {
        let columns = usize::from(self.columns);
        let shown = plain(&self.exits(status));
        assert!(shown.lines().any(|line| line.chars().count() > columns / 2), "{shown}");
        for line in shown.lines() {
            // A command and a path are one line, to be copied.
            let is_whole = line.trim_start().starts_with("spoolproof ") || !line.trim().contains(' ');
            assert!(line.chars().count() <= columns || is_whole, "{columns}: {line}");
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
