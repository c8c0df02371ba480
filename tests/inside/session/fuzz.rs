//! Anything at all typed at a prompt, found in a journal or in a file of answers: no panic, and nothing lost before it.
//!
//! `SPOOLPROOF_FUZZ=1000000 cargo test --release --lib session::fuzz` makes it a million inputs each.

use std::path::Path;

use proptest::prelude::*;

use crate::disk::LogError;
use crate::quantity::{Entry, UNITS, parse_number};
use crate::record::{Asker, Event, HoseOn, Question, Spot, Wants, What};
use crate::session::{Input, Journal, Stopped, Typed, read_saying};
use crate::tests::support::{fuzz, journal_at, question};

/// Texts near what people type: digits, signs, units, words, and whatever else a keyboard or a cat can give.
fn typed() -> impl Strategy<Value = String> {
    prop_oneof![
        3 => "[0-9 .,/+−-]{0,12}( ?(inHg|kPa|in|mm|psi|C|ohm|stop|\"|'))?",
        1 => "(back|again|jot|cannot|park|help|\\?|progress)?[ ]{0,2}[0-9a-z \"]{0,12}",
        1 => "\\PC{0,24}",
        1 => any::<String>(),
    ]
}

fn questions() -> Vec<Question> {
    let wants = [
        Wants::Acknowledgement,
        Wants::Ready,
        Wants::Yes,
        Wants::Choice { options: vec!["left".to_owned(), "right".to_owned()] },
        Wants::Text,
        Wants::Technician,
        Wants::Number { unit: "mm".to_owned(), low: Some(1e-3), high: None },
        Wants::Barometer,
        Wants::AirTemperature,
        Wants::Reading {
            on: HoseOn::Circuit { label: None, trial: false, own: Spot::default() },
            deepest_pa: 84_000.0,
            unit: "inHg".to_owned(),
        },
    ];
    wants.into_iter().map(|wants| question(Asker::Procedure, "a question", wants)).collect()
}

#[test]
fn any_text_is_a_number_or_an_error_and_every_number_is_finite() {
    fuzz(2_000, typed, move |text| {
        if let Ok(number) = parse_number(&text) {
            prop_assert!(number.is_finite());
        }
        for unit in UNITS {
            if let Ok(entry) = Entry::parse(&text, unit) {
                prop_assert!(entry.si.is_finite() && entry.dimension() == unit.dimension);
            }
        }
        Ok(())
    });
}

#[test]
fn any_line_at_a_prompt_is_a_word_an_answer_that_fits_or_a_refusal_that_says_something() {
    let questions = questions();
    fuzz(2_000, typed, move |text| {
        let _ = read_saying(&text);
        for question in &questions {
            match question.read(&text) {
                Ok(answer) => prop_assert!(question.accepts(&answer).is_ok()),
                Err(refusal) => prop_assert!(refusal.to_string().len() > 8),
            }
        }
        Ok(())
    });
}

fn journal(path: &Path, n: usize) -> Vec<Event> {
    let mut journal = Journal::create(path).unwrap();
    for index in 0..n {
        let at = jiff::Timestamp::from_second(1_700_000_000 + i64::try_from(index).unwrap()).unwrap();
        journal.append(at, What::Jotted { circuit: None, text: format!("note {index}") }).unwrap();
    }
    journal.events().to_vec()
}

#[test]
fn a_journal_with_a_changed_byte_names_the_line_and_keeps_all_before_it() {
    let folder = tempfile::tempdir().unwrap();
    let sound = folder.path().join("sound.jsonl");
    let events = journal(&sound, 6);
    let bytes = std::fs::read(&sound).unwrap();
    let damaged = folder.path().join("damaged.jsonl");
    let n = bytes.len();
    fuzz(
        2_000,
        move || (0..n, 1..=255_u8),
        move |(at, mask)| {
            let mut changed = bytes.clone();
            changed[at] ^= mask;
            std::fs::write(&damaged, &changed).unwrap();
            let line = bytes[..at].iter().filter(|byte| **byte == b'\n').count() + 1;
            match journal_at(&damaged) {
                // A line feed more makes two lines of one; the first of them is the damaged one.
                Err(LogError::Damaged { line: found, .. }) => prop_assert_eq!(found, line),
                Err(other) => prop_assert!(false, "{}", other),
                // Only the end of the last line may be lost without a word: it may never have been acknowledged.
                Ok(journal) => {
                    prop_assert!(line == events.len());
                    prop_assert!(journal.events().len() >= events.len() - 1);
                    prop_assert_eq!(journal.events(), &events[..journal.events().len()]);
                }
            }
            Ok(())
        },
    );
}

#[test]
fn a_journal_cut_anywhere_keeps_every_whole_line() {
    let folder = tempfile::tempdir().unwrap();
    let sound = folder.path().join("sound.jsonl");
    let events = journal(&sound, 6);
    let bytes = std::fs::read(&sound).unwrap();
    let cut = folder.path().join("cut.jsonl");
    let n = bytes.len();
    fuzz(
        2_000,
        move || 0..=n,
        move |length| {
            std::fs::write(&cut, &bytes[..length]).unwrap();
            let whole = bytes[..length].iter().filter(|byte| **byte == b'\n').count();
            let kept = journal_at(&cut).unwrap().events().to_vec();
            prop_assert!(kept.len() == whole || kept.len() == whole + 1);
            prop_assert_eq!(&kept[..], &events[..kept.len()]);
            Ok(())
        },
    );
}

#[test]
fn a_file_of_anything_is_no_journal_and_no_panic() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("anything.jsonl");
    fuzz(2_000, any::<Vec<u8>>, move |bytes: Vec<u8>| {
        std::fs::write(&path, &bytes).unwrap();
        if let Ok(journal) = journal_at(&path) {
            prop_assert!(journal.events().is_empty());
        }
        Ok(())
    });
}

/// Lines near those of a file of answers, among them comments, line feeds of other systems and bytes that are no text.
fn answers() -> impl Strategy<Value = Vec<u8>> {
    let line = prop_oneof![
        4 => typed().prop_map(String::into_bytes),
        1 => "#\\PC{0,12}\r?".prop_map(String::into_bytes),
        1 => proptest::collection::vec(any::<u8>(), 0..12),
    ];
    proptest::collection::vec(line, 0..8).prop_map(|lines| lines.join(&b'\n'))
}

#[test]
fn any_file_of_answers_gives_each_line_that_is_no_comment_and_then_ends() {
    let questions = questions();
    fuzz(2_000, answers, move |bytes| {
        let is_comment =
            |line: &[u8]| line.strip_prefix("\u{feff}".as_bytes()).unwrap_or(line).starts_with(b"#");
        let lines = bytes.split_inclusive(|byte| *byte == b'\n').filter(|line| !is_comment(line));
        let mut answers = Input::lines(std::io::Cursor::new(bytes.clone()));
        for (line, question) in lines.zip(questions.iter().cycle()) {
            let Ok(Some(Typed { text, .. })) = answers.line("", false) else {
                return Err(TestCaseError::fail("a line is missing"));
            };
            prop_assert!(!text.contains('\n') && text.len() <= 3 * line.len());
            let _ = (read_saying(&text), question.read(&text));
        }
        prop_assert_eq!(answers.line("", false), Err(Stopped::Ended));
        Ok(())
    });
}
