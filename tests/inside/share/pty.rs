//! Receiving at a terminal: whom nobody knows is shown and asked about, and what is typed decides.

use crate::tests::support::{Home, Terminal, brook, flat};

/// A shop that has signed the invented procedure, and another that was handed its pack.
fn handed_over(version: &str) -> (Home, Home) {
    let north = Home::new();
    let south = Home::new();
    hand_over(&north, &south, version);
    (north, south)
}

fn hand_over(from: &Home, to: &Home, version: &str) {
    from.write("brook-b2.rhai", brook(version));
    from.done(&["share", "brook-b2.rhai", "--as", "North Bench"]);
    let pack = std::fs::read(from.path(&format!("brook-b2-{version}.pack.json"))).unwrap();
    to.write("handed.json", pack);
}

/// Receives the pack at a terminal with these prompts and answers; returns everything that was shown.
fn received(shop: &Home, dialogue: &[(&str, &str)]) -> String {
    let mut terminal = Terminal::open(shop, 80, &["receive", "handed.json"]);
    terminal.types(dialogue);
    terminal.exits(0)
}

fn last_group(shop: &Home) -> String {
    shop.fingerprint().rsplit(' ').next().unwrap().to_owned()
}

/// How many versions of the procedure are installed.
fn n_installed(shop: &Home) -> usize {
    std::fs::read_dir(shop.shop().join("procedures/brook-b2")).map_or(0, Iterator::count)
}

fn n_trusted(shop: &Home) -> usize {
    shop.json(&["trust", "list"])["trusted"].as_array().unwrap().len()
}

#[test]
fn an_unknown_signer_is_shown_with_a_fingerprint_and_asked_about() {
    let (north, south) = handed_over("1.0.0");
    let seen = received(&south, &[("last group: ", &last_group(&north)), ("yes or no: ", "yes")]);
    let said = flat(&seen);
    assert!(said.contains("signed by North Bench, whom nobody here knows"), "{seen}");
    assert!(said.contains(&format!("fingerprint {}", north.fingerprint())), "{seen}");
    assert!(said.contains("Call \"North Bench\" and compare all six groups."), "{seen}");
    assert!(said.contains("Installed in"), "{seen}");
    assert_eq!((n_installed(&south), n_trusted(&south)), (1, 1));

    // The next pack of the same signer asks about itself only.
    hand_over(&north, &south, "1.1.0");
    let seen = received(&south, &[("yes or no: ", "yes")]);
    assert!(flat(&seen).contains("who is trusted here"), "{seen}");
    assert!(!seen.contains("last group"), "{seen}");
    assert_eq!((n_installed(&south), n_trusted(&south)), (2, 1));
}

#[test]
fn whoever_types_anything_else_installs_nothing_and_trusts_nobody() {
    let (north, south) = handed_over("1.0.0");
    for typed in ["", "yes", "y", "help", "00000", &last_group(&north)[1..]] {
        let dialogue = [("last group: ", typed), ("last group: ", "")];
        let seen = received(&south, if typed.is_empty() { &dialogue[..1] } else { &dialogue });
        assert!(seen.contains("Nothing was installed."), "{typed:?}: {seen}");
        let is_refused = !["", "help"].contains(&typed);
        assert_eq!(seen.contains("That is not the last group"), is_refused, "{typed:?}: {seen}");
        assert_eq!((n_installed(&south), n_trusted(&south)), (0, 0), "{typed:?}");
    }
    for typed in ["no", "", "n"] {
        let group = ("last group: ", north.fingerprint());
        let seen =
            received(&south, &[(group.0, &group.1), ("yes or no: ", "perhaps"), ("yes or no: ", typed)]);
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
            terminal.types(&[("last group: ", answer)]);
        }
        let prompt = if answers.is_empty() { "last group: " } else { "yes or no: " };
        terminal.sees(prompt);
        terminal.presses('c');
        let seen = terminal.exits(0);
        assert!(seen.contains("Nothing was installed."), "{seen}");
        assert_eq!((n_installed(&south), n_trusted(&south)), (0, 0));
    }
}

#[test]
fn a_shop_that_signs_for_the_first_time_is_asked_for_its_name() {
    let shop = Home::new();
    shop.write("brook-b2.rhai", brook("1.0.0"));
    let mut terminal = Terminal::open(&shop, 80, &["share", "brook-b2.rhai"]);
    terminal.types(&[("name: ", "North Bench"), ("yes or no: ", "yes")]);
    let seen = terminal.exits(0);
    assert!(flat(&seen).contains(&format!("signed by North Bench ({})", shop.fingerprint())), "{seen}");
}

#[test]
fn no_line_is_wider_than_the_terminal_but_a_path() {
    let (north, south) = handed_over("1.0.0");
    let fingerprint = north.fingerprint();
    for columns in [40, 80] {
        let mut terminal = Terminal::open(&south, columns, &["receive", "handed.json"]);
        terminal.types(&[("last group: ", "")]);
        let mut shown = vec![terminal.exits(0)];
        for arguments in [
            &["procedures"][..],
            &["receive", "handed.json", "--check"],
            &["receive", "handed.json", "--yes", "--trust", &fingerprint],
            &["trust"],
            &["trust", "forget", "North Bench"],
        ] {
            shown.push(Terminal::open(&south, columns, arguments).exits(0));
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
