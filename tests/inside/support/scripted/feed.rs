//! A procedure of one circuit, what is typed at it, and a home in which it was walked.

use super::Home;

pub(crate) const FEED: &str = "
procedure(#{ title: \"Merle M2, feed\", unit: \"Merle M2\", version: \"1.0.0\" });
caution(\"Suction holds skin.\");
let feed = circuit(#{ name: \"feed\", holds: 20.inHg, leaks: 15.inHg });
test(feed);
ready(\"Done?\");
";
/// Answers to it; the last two are the look at the rig before the end.
pub(crate) const FEED_LINES: [&str; 9] = ["Ada", "29.92 inHg", "25", "5", "ok", "22", "", "25", "5"];

pub(crate) fn lines(lines: &[&str]) -> String {
    lines.iter().map(|line| format!("{line}\n")).collect()
}

/// A home with the procedure in it.
pub(crate) fn home() -> Home {
    let home = Home::new();
    home.write("merle.rhai", FEED);
    home
}

/// A home in which the procedure was walked to its end.
pub(crate) fn walked() -> Home {
    let home = home();
    home.run(&["guide", "merle.rhai"], &lines(&FEED_LINES)).exits(0).says("holds feed");
    home
}
