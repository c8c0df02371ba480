//! Drafting at a terminal: keys that leave it, a terminal that is closed, and narrow screens.

use crate::tests::support::{Home, Terminal};

const HEAD: [(&str, &str); 3] = [("Unit", "Merle M2"), ("part of it", "lower body"), ("replacement", "")];
const FEED: [(&str, &str); 11] = [
    ("first circuit: ", "clutch feed"),
    ("stands in [lower body]", ""),
    ("at its port [12]: ", "7"),
    ("hose goes to", "3A"),
    ("before the reading", ""),
    ("and higher", "20"),
    ("and less", ""),
    ("Bore", ""),
    ("Complaints", "late upshift"),
    ("What repairs it", "new seals"),
    ("Parts for", "48"),
];

#[test]
fn ctrl_c_ctrl_d_and_a_closed_window_lose_nothing_that_was_answered() {
    let home = Home::new();
    let mut terminal = Terminal::open(&home, 80, &["draft"]);
    terminal.types(&HEAD);
    terminal.types(&FEED[..4]);
    terminal.sees("[as it stands]: ");
    // What was begun to be typed is no answer.
    terminal.begins("Sea");
    terminal.presses('c');
    terminal.sees("What was answered is kept; no procedure is written yet.");
    terminal.exits_within_its_width(3);
    assert!(!home.path("merle-m2-lower-body.rhai").exists());

    let mut terminal = Terminal::open(&home, 80, &["draft", "--resume"]);
    terminal.sees("Going on where the draft was left.");
    terminal.sees("Circuit 1: clutch feed");
    terminal.types(&FEED[4..6]);
    terminal.sees("and less");
    terminal.presses('d');
    terminal.sees("What was answered is kept");
    terminal.exits_within_its_width(3);

    let mut terminal = Terminal::open(&home, 80, &["draft", "--resume"]);
    terminal.types(&FEED[6..9]);
    terminal.sees("What repairs it");
    terminal.loses_its_window(&home);

    let mut terminal = Terminal::open(&home, 80, &["draft"]);
    terminal.sees("A draft was left before its end");
    terminal.presses('c');
    terminal.sees("Stopped before anything was answered.");
    terminal.exits_within_its_width(3);

    let mut terminal = Terminal::open(&home, 80, &["draft", "--resume"]);
    terminal.types(&FEED[9..]);
    terminal.types(&[("Hours", "0.6"), ("next circuit", "none"), ("Picture of it", "")]);
    terminal.sees("Proofread: no errors");
    terminal.exits_within_its_width(0);
    let written = home.read("merle-m2-lower-body.rhai");
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
    terminal.exits_within_its_width(3);
}

#[test]
fn every_screen_fits_into_eighty_columns_and_into_forty() {
    for columns in [80, 40] {
        let home = Home::new();
        let mut terminal = Terminal::open(&home, columns, &["draft"]);
        terminal.answers(&["help", "Merle M2", "help", "lower body", "help", "850", "help", "clutch feed"]);
        // To the start, and forward again with what stands.
        terminal.answers(&["help", "jot it", "cannot", "back 10", "back 9", "", "", "", ""]);
        for answer in ["Clutches", "7", "3A", "", "20", "", "not known"] {
            terminal.answers(&["help", "", "back", answer]);
        }
        terminal.answers(&["help", "late upshift", "help", "new seals", "help", "48", "help", "0.6"]);
        terminal.answers(&["progress", "regulator", "", "4", "1A", ""]);
        terminal.answers(&["help", "22.5 21.8 22.1", "help", "yes"]);
        terminal.answers(&["0.5", "help", "", "0.3", "", "", "again CLUTCH FEED", "back", "", "again 30"]);
        terminal.answers(&["park"]);
        terminal.sees("draft --resume");
        terminal.exits_within_its_width(3);

        let mut terminal = Terminal::open(&home, columns, &["draft", "--from", "osier-o7-rear"]);
        terminal.sees("copied whole");
        terminal.answers(&["help", "Merle M3", "help", "", "help", "feed", "help", "back"]);
        terminal.sees("]: ");
        terminal.presses('c');
        terminal.exits_within_its_width(3);
    }
}
