//! Keys that were pressed at the terminal and not read yet.

use super::input::Typed;

/// What is known of the keys that were pressed before a line is read.
#[derive(Default)]
pub(super) struct Ahead {
    /// Whether the page has answered since the last read.
    pub is_late: bool,
    /// Whether the last read was left for something else than an answer: what was typed since is for the same question.
    pub goes_on: bool,
    /// Whether the line was begun for what is asked no longer.
    pub is_stale: bool,
}

impl Ahead {
    /// Returns what stands on a line that was begun so, now that it is read.
    pub(super) fn begins(&mut self, begun: String, afresh: bool) -> String {
        let goes_on = std::mem::take(&mut self.goes_on);
        if std::mem::take(&mut self.is_late) {
            let begun = typed_on(begun, &keys_ahead());
            self.is_stale |= !begun.is_empty();
            return begun;
        }
        if afresh && !goes_on {
            forget_keys();
        }
        begun
    }

    /// Returns a line that was entered, behind which nothing stands.
    pub(super) fn entered(&mut self, text: String) -> Typed {
        Typed { text, is_stale: std::mem::take(&mut self.is_stale) }
    }
}

/// Returns what stands on a line once the keys that are on their way are on it too; nothing where it
/// was entered or left.
fn typed_on(mut line: String, keys: &[u8]) -> String {
    const ESCAPE: char = '\u{1b}';
    const DELETES: [char; 2] = ['\u{8}', '\u{7f}'];
    const CLEARS: [char; 3] = ['\r', '\n', '\u{15}'];
    let keys = String::from_utf8_lossy(keys);
    let mut keys = keys.chars();
    while let Some(key) = keys.next() {
        match key {
            // A key that moves something; its sequence ends so (ECMA-48).
            ESCAPE => _ = keys.find(|key| key.is_ascii_alphabetic() || *key == '~'),
            key if CLEARS.contains(&key) => line.clear(),
            key if DELETES.contains(&key) => _ = line.pop(),
            key if key.is_control() => {}
            key => line.push(key),
        }
    }
    line
}

/// Reads the keys that are on their way, without waiting. While the terminal waits for the end of a line it keeps what
/// is on it, so it is asked to wait for none.
#[cfg(unix)]
fn keys_ahead() -> Vec<u8> {
    use rustix::termios::{LocalModes, OptionalActions, tcgetattr, tcsetattr};
    let stdin = rustix::stdio::stdin();
    let Ok(usual) = tcgetattr(stdin) else { return Vec::new() };
    let mut at_once = usual.clone();
    at_once.local_modes.remove(LocalModes::ICANON);
    // Where the terminal refuses, nothing is found, as if nothing had been typed.
    let _ = tcsetattr(stdin, OptionalActions::Now, &at_once);
    let mut keys = Vec::new();
    while let Ok(count @ 1..) = rustix::io::ioctl_fionread(stdin) {
        let mut bytes = vec![0; usize::try_from(count).unwrap_or(1).min(1024)];
        match rustix::io::read(stdin, &mut bytes[..]) {
            Ok(count @ 1..) => keys.extend_from_slice(&bytes[..count]),
            _ => break,
        }
    }
    let _ = tcsetattr(stdin, OptionalActions::Now, &usual);
    keys
}

#[cfg(not(unix))]
fn keys_ahead() -> Vec<u8> {
    Vec::new()
}

/// Throws the keys away that are on their way.
#[cfg(unix)]
fn forget_keys() {
    use rustix::termios::{QueueSelector, tcflush};
    // Where the queue can't be emptied, a stray key is read as an answer would be, and refused like one.
    let _ = tcflush(rustix::stdio::stdin(), QueueSelector::IFlush);
}

#[cfg(not(unix))]
fn forget_keys() {}

#[cfg(test)]
mod tests {
    use super::typed_on;

    #[test]
    fn keys_on_their_way_stand_on_the_line_as_if_it_had_been_read() {
        for (begun, keys, line) in [
            ("", "", ""),
            ("la", "te", "late"),
            ("late", "\r", ""),
            ("", "late\nea", "ea"),
            ("late", "\u{7f}\u{8}", "la"),
            ("late", "\u{15}early", "early"),
            ("la", "\u{1b}[Dte\u{1b}[3~ \t", "late "),
            ("", "\u{1b}[200~late", "late"),
        ] {
            assert_eq!(typed_on(begun.to_owned(), keys.as_bytes()), line, "{begun:?} {keys:?}");
        }
    }
}
