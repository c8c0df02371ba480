//! How much there is to read and to answer for a body on which everything is sound.

use std::io::Write as _;

use crate::tests::support::{Home, Running};

/// The most that is shown between two answers for a circuit that holds.
const MOST_LINES: usize = 10;

/// The most answers and words of a whole session on a rig that nobody has described; the procedure's own words and the
/// outcome's are among them, and the answers that were typed.
const MOST_ANSWERS: usize = 40;
const MOST_WORDS: usize = 950;

/// What a technician says to the first line of a question; nothing where the line is none.
fn said(line: &str) -> Option<&'static str> {
    let answers = [
        ("Who is testing", "Mo"),
        ("barometer at the bench", "29.92 inHg"),
        ("temperature", "20 C"),
        ("Line pressure coil", "7.8"),
        ("Lock-up coil", "16.8"),
        ("check balls come out", "yes"),
        ("Plug the hose end", "25"),
        ("Fit the test orifice", "5"),
    ];
    let found = answers.iter().find(|(words, _)| line.contains(words)).map(|(_, answer)| *answer);
    match line.get(..7)? {
        " CARE  " => Some("ok"),
        "   do  " => Some(""),
        "  ask  " => found,
        " read  " => found.or(Some("22")),
        _ => None,
    }
}

#[test]
fn a_sound_body_takes_no_more_reading_than_it_has_to() {
    let home = Home::new();
    let mut run = Running::start(&mut home.command(&["guide", "osier-o7-rear"]));
    let (mut n_answers, mut n_words, mut since, mut longest) = (0, 0, Vec::new(), Vec::new());
    let (mut is_window, mut n_looks) = (false, 0);
    while let Some(line) = run.line() {
        n_words += line.split_whitespace().filter(|word| word.chars().any(char::is_alphanumeric)).count();
        since.push(line.clone());
        is_window |= line.starts_with("── ") && line.contains("rear oiling hole");
        if let Some(answer) = said(&line) {
            // Which point is looked at may stand on the next line.
            let is_look = line.starts_with(" read  Before ");
            let is_read = line.starts_with(" read  ") && !is_look;
            n_looks += usize::from(is_look);
            let answer = match (is_look, n_looks % 2) {
                (true, 1) => "25",
                (true, _) => "5",
                _ if is_read && is_window => "11.5",
                _ => answer,
            };
            run.types(&format!("{answer}\n"));
            is_window &= !is_read;
            n_answers += 1;
            let is_sound = since.iter().any(|line: &String| line.trim_start().starts_with("holds"));
            if is_sound && since.len() > longest.len() {
                longest.clone_from(&since);
            }
            since.clear();
        }
    }
    assert_eq!(run.status(), 0);
    assert_eq!(home.record().summary.holds + home.record().summary.right, 12);
    writeln!(std::io::stdout(), "{n_answers} answers, {n_words} words, at most {} lines", longest.len())
        .unwrap();
    assert!(longest.len() <= MOST_LINES, "{}", longest.concat());
    assert!(n_answers <= MOST_ANSWERS, "{n_answers} answers");
    assert!(n_words <= MOST_WORDS, "{n_words} words");
}
