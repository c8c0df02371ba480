//! A terminal with a page beside it: what is typed at one while the other answers.

use crate::record::{Answer, Record, What};
use crate::tests::support::{Browser, Home, Terminal, takes};

const PROCEDURE: &str = "
procedure(#{ title: \"Merle M2, feed\", unit: \"Merle M2\", version: \"1.0.0\" });
caution(\"Suction holds skin.\");
let side = ask_choice(\"Which body?\", [\"early\", \"late\"]);
let feed = circuit(#{ name: \"feed\", set_up: \"Seat the plate.\", holds: 20.inHg, leaks: 15.inHg });
test(feed);
let words = ask_text(\"Anything else?\");
say(\"Oil every valve.\");
";

/// Begins a session with a page, and answers what the runner asks.
fn begun(home: &Home) -> (Terminal, Browser) {
    let mut terminal = Terminal::open(home, 80, &["guide", "merle.rhai", "--page"]);
    let page = terminal.sees_page();
    terminal.types(&[("name: ", "Ada"), ("barometer: ", "29.92 inHg"), ("temperature: ", "20 C")]);
    (terminal, page)
}

/// Returns what was answered to these words, in order.
fn given(record: &Record, words: &str) -> Vec<String> {
    let text = |what: &What| match what {
        What::Answered { question, answer: Answer::Text(text) } if question.words == words => {
            Some(text.clone())
        }
        _ => None,
    };
    record.journal.iter().filter_map(|event| text(&event.what)).collect()
}

#[test]
fn terminal_and_page_answer_in_turn_and_each_shows_what_the_other_said() {
    let home = Home::with("merle.rhai", PROCEDURE);
    let (mut terminal, page) = begun(&home);
    terminal.sees("type ok: ");
    assert_eq!(page.types("Suction", "ok"), 202);
    terminal.sees("page: ok");
    terminal.types(&[("which: ", "late"), ("inHg: ", "25"), ("inHg: ", "5")]);
    assert_eq!(page.types("Seat the plate", "22 inHg"), 202);
    terminal.sees("page: 22 inHg");
    terminal.sees("words: ");
    let said = page.sight()["said"].to_string();
    assert!(said.contains(r#""kind":"at_terminal","mark":"","text":"late""#), "{said}");
    terminal.sends("jot all by two hands");
    terminal.sees("Noted.");
    terminal.sees("words: ");
    assert_eq!(page.types("Anything else", "all well"), 202);
    assert_eq!((page.types("Before the end", "25"), page.types("Fit the test orifice", "5")), (202, 202));
    let mut heard = page.listen();
    let end = loop {
        let sight = heard.next().expect("an end")["sight"].take();
        if sight["state"] == "ended" {
            break sight["said"].to_string();
        }
    };
    let told = ["Every answer is kept at once", "plugged, ", r#""text":"late""#, "Oil every valve."];
    assert!(told.iter().all(|told| end.contains(told)), "{end}");
    terminal.sees("Record:");
    terminal.exits(0);
    let record = home.record();
    assert_eq!(
        (takes(&record), given(&record, "Anything else?")),
        (vec!["22".to_owned()], vec!["all well".to_owned()])
    );
}

#[test]
fn what_was_half_typed_when_the_page_answered_answers_nothing() {
    let home = Home::with("merle.rhai", PROCEDURE);
    let (mut terminal, page) = begun(&home);
    terminal.sees("type ok: ");
    terminal.begins("late");
    terminal.sees("late");
    assert_eq!(page.types("Suction", "ok"), 202);
    terminal.sees("page: ok");
    // The rest of the line comes when something else is asked, which it would answer.
    terminal.types(&[("which: ", " body")]);
    terminal.sees("This line was begun before the page answered");
    terminal.types(&[("which: ", "early"), ("inHg: ", "25"), ("inHg: ", "5"), ("inHg: ", "22")]);
    terminal.types(&[("words: ", "park")]);
    terminal.exits(3);
    let mut terminal = Terminal::open(&home, 80, &["guide", "--resume"]);
    terminal.types(&[("words: ", "x"), ("inHg: ", "25"), ("inHg: ", "5")]);
    terminal.exits(0);
    let chosen = |what: &What| match what {
        What::Answered { answer: Answer::Choice(chosen), .. } => Some(chosen.clone()),
        _ => None,
    };
    let record = home.record();
    let chosen: Vec<_> = record.journal.iter().filter_map(|event| chosen(&event.what)).collect();
    assert_eq!(chosen, ["early"]);
}

#[test]
fn what_was_half_typed_stands_on_the_next_line_and_once_that_is_cleared_the_line_is_taken() {
    let home = Home::with("merle.rhai", PROCEDURE);
    let (mut terminal, page) = begun(&home);
    terminal.sees("type ok: ");
    terminal.begins("la");
    terminal.sees("la");
    assert_eq!(page.types("Suction", "ok"), 202);
    terminal.sees("page: ok");
    terminal.sees("which: la");
    terminal.presses('u');
    terminal.sends("early");
    terminal.types(&[("inHg: ", "park")]);
    let shown = terminal.exits(3);
    assert!(!shown.contains("This line was begun before"), "{shown}");
}

#[test]
fn lines_that_are_pasted_at_once_answer_nothing_and_a_lone_escape_changes_nothing() {
    let home = Home::with("merle.rhai", PROCEDURE);
    for beside in [&[][..], &["--page"]] {
        let mut terminal = Terminal::open(&home, 80, &[&["guide", "merle.rhai"], beside].concat());
        let page = (!beside.is_empty()).then(|| terminal.sees_page());
        terminal.types(&[("name: ", "Ada"), ("barometer: ", "29.92 inHg"), ("temperature: ", "20 C")]);
        terminal.types(&[("type ok: ", "ok"), ("which: ", "late")]);
        terminal.sees("inHg: ");
        terminal.begins("\u{1b}[200~25\r5\r\u{1b}[201~");
        terminal.sends("");
        terminal.sees("That is more than one line, and nothing of it is taken");
        // What follows an escape soon is a key with it.
        terminal.sees("inHg: ");
        terminal.begins("\u{1b}");
        std::thread::sleep(std::time::Duration::from_millis(700));
        terminal.sends("25");
        terminal.sees("inHg: ");
        terminal.begins("\u{1b}");
        match page {
            Some(page) => assert_eq!(page.types("Fit the test orifice", "5"), 202),
            None => {
                std::thread::sleep(std::time::Duration::from_millis(700));
                terminal.sends("5");
            }
        }
        terminal.types(&[("inHg: ", "park")]);
        let shown = terminal.exits(3);
        assert!(shown.contains("Set: 25 inHg plugged, 5 inHg through"), "{shown}");
    }
}

#[test]
fn a_session_that_was_stopped_goes_on_with_what_stood_on_its_line() {
    for beside in [&[][..], &["--page"]] {
        let home = Home::with("merle.rhai", PROCEDURE);
        let mut terminal = Terminal::in_shell(&home, &[&["guide", "merle.rhai"], beside].concat());
        terminal.sees("name: ");
        for letters in ["A", "Ad", "Ada"] {
            terminal.begins(&letters[letters.len() - 1..]);
            terminal.sees(&letters[letters.len() - 1..]);
            terminal.presses('z');
            terminal.sees("was stopped");
            terminal.sends("");
            terminal.sees(&format!("name: {letters}"));
        }
        terminal.sends("");
        terminal.types(&[("barometer: ", "29.92 inHg"), ("temperature: ", "20 C")]);
        terminal.types(&[("type ok: ", "ok"), ("which: ", "late"), ("inHg: ", "25"), ("inHg: ", "5")]);
        terminal.types(&[("inHg: ", "22")]);
        terminal.types(&[("words: ", "x"), ("inHg: ", "25"), ("inHg: ", "5")]);
        terminal.exits(0);
        assert_eq!(home.record().technician.as_deref(), Some("Ada"));
    }
}

#[test]
fn where_the_cursor_cannot_be_moved_terminal_and_page_answer_by_whole_lines() {
    let home = Home::with("merle.rhai", PROCEDURE);
    let mut terminal = Terminal::dumb(&home, &["guide", "merle.rhai", "--page"]);
    let page = terminal.sees_page();
    terminal.types(&[("name: ", "Ada"), ("barometer: ", "29.92 inHg"), ("temperature: ", "20 C")]);
    terminal.sees("type ok: ");
    terminal.begins("la");
    assert_eq!(page.types("Suction", "ok"), 202);
    terminal.sees("page: ok");
    terminal.types(&[("which: ", "te")]);
    terminal.sees("This line was begun before the page answered");
    terminal.types(&[("which: ", "early")]);
    terminal.sees("inHg: ");
    terminal.presses('c');
    terminal.sees("Parked. Nothing is lost");
    let shown = terminal.exits(3);
    assert!(!shown.contains('\u{1b}'), "{shown:?}");
}

#[test]
fn ctrl_c_parks_with_a_page_open_also_where_the_page_has_just_answered() {
    let home = Home::with("merle.rhai", PROCEDURE);
    let (mut terminal, page) = begun(&home);
    assert_eq!(page.types("Suction", "ok"), 202);
    terminal.sees("page: ok");
    terminal.sees("which: ");
    let mut heard = page.listen();
    terminal.presses('c');
    while heard.next().expect("an end")["sight"]["state"] != "parked" {}
    terminal.sees("Parked. Nothing is lost");
    terminal.exits(3);
}

#[test]
fn a_session_with_a_page_is_gone_on_with_by_a_command_that_opens_one() {
    let home = Home::with("merle.rhai", PROCEDURE);
    for (asked, told) in [(&["--page"][..], " --page"), (&["--page", "127.0.0.1:0"], " --page"), (&[], "")] {
        let parked = home.run(&[&["guide", "merle.rhai"], asked].concat(), "park\n").exits(3);
        let name = home.names(&home.shop().join("open")).pop().unwrap();
        let command = parked.out.lines().rfind(|line| line.contains("guide --resume")).unwrap();
        assert!(command.ends_with(&format!("guide --resume {name}{told}")), "{command}");
    }
}

#[test]
fn what_the_page_answered_before_a_kill_is_kept_and_an_old_page_answers_no_more() {
    let home = Home::with("merle.rhai", PROCEDURE);
    let (mut terminal, page) = begun(&home);
    assert_eq!(page.types("Suction", "ok"), 202);
    terminal.sees("which: ");
    terminal.ends_by("-KILL", &home);
    let mut terminal = Terminal::open(&home, 80, &["guide", "--resume", "--page"]);
    let mut again = terminal.sees_page();
    terminal.sees("which: ");
    assert_eq!(again.sight()["ask"]["words"], "Which body?");
    let cookie = std::mem::replace(&mut again.cookie, page.cookie);
    let question = 1;
    assert_ne!(again.line(question, "late").status, 202, "a browser that the program before had let in");
    again.cookie = cookie;
    assert_eq!(again.types("Which body?", "late"), 202);
    assert_eq!(again.types("Plug the hose end", "park"), 202);
    terminal.exits(3);
}

#[test]
fn whoever_is_faster_answers_and_the_other_answers_nothing_else() {
    const TIMES: usize = 20;
    let home = Home::new();
    let asked: String = (0..TIMES).map(|n| format!("ask_text(\"Question {n}?\");\n")).collect();
    home.write("merle.rhai", format!("procedure(#{{ title: \"Many\", version: \"1.0.0\" }});\n{asked}"));
    let (mut terminal, page) = begun(&home);
    for n in 0..TIMES {
        let words = format!("Question {n}?");
        let question = page.asked(&words);
        terminal.sees(&words);
        terminal.sees("words: ");
        terminal.begins("term");
        std::thread::scope(|scope| {
            // Neither waits for the other.
            scope.spawn(|| page.line(question, &format!("page {n}")));
            terminal.sends(&format!("inal {n}"));
        });
    }
    terminal.exits(0);
    let record = home.record();
    for n in 0..TIMES {
        let given = given(&record, &format!("Question {n}?"));
        assert!(
            matches!(&given[..], [one] if *one == format!("page {n}") || *one == format!("terminal {n}")),
            "{n}: {given:?}"
        );
    }
}

#[test]
fn the_page_says_the_plan_that_was_made_of_a_complaint() {
    let limits = "holds: 20.inHg, leaks: 15.inHg, symptoms: [\"late shift\"]";
    let home = Home::with("merle.rhai", PROCEDURE.replace("holds: 20.inHg, leaks: 15.inHg", limits));
    let command = ["guide", "merle.rhai", "--complaint", "late shift", "--page"];
    let mut terminal = Terminal::open(&home, 80, &command);
    let page = terminal.sees_page();
    terminal.sees("name: ");
    let said = page.sight()["said"].to_string();
    assert!(
        said.contains("it can cause late shift") && said.contains("The other circuits are left out"),
        "{said}"
    );
}

#[test]
fn what_is_not_there_opens_no_page() {
    let home = Home::with("merle.rhai", PROCEDURE);
    let said = Terminal::open(&home, 80, &["guide", "missing.rhai", "--page"]).exits(2);
    assert!(said.contains("missing.rhai") && !said.contains("http://"), "{said}");
}
