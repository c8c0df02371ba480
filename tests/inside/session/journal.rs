//! What becomes of a journal that was cut, changed, shortened or shuffled: said with the line,
//! everything before it kept.

use std::path::PathBuf;

use crate::disk::LogError;
use crate::record::{Event, What};
use crate::session::Journal;
use crate::tests::support::{BODY, BODY_LINES, Shopfront, essence, journal_at};

/// A session parked before its last question, its journal's lines, and its events.
struct Parked {
    front: Shopfront,
    lines: Vec<Vec<u8>>,
    events: Vec<Event>,
}

impl Parked {
    fn new() -> Parked {
        let front = Shopfront::new(BODY);
        front.walk(&[&BODY_LINES[..6], &["jot Größe ½", "park"]].concat());
        let events = front.journal().events().to_vec();
        let bytes = std::fs::read(front.journal_path()).unwrap();
        let lines: Vec<_> = bytes.split_inclusive(|byte| *byte == b'\n').map(<[u8]>::to_vec).collect();
        assert!(lines.len() == events.len() && lines.len() > 12, "{} lines", lines.len());
        Parked { front, lines, events }
    }

    fn path(&self) -> PathBuf {
        self.front.journal_path()
    }

    fn write(&self, bytes: &[u8]) {
        std::fs::write(self.path(), bytes).unwrap();
    }

    /// Checks that a journal of these lines is refused because of this line, counted from 1, and left as it is.
    #[track_caller]
    fn check_damaged(&self, lines: &[Vec<u8>], wanted: usize) {
        let bytes = lines.concat();
        self.write(&bytes);
        match journal_at(&self.path()) {
            Err(LogError::Damaged { line, .. }) => assert_eq!(line, wanted),
            Err(other) => panic!("{other}"),
            Ok(journal) => panic!("{} events are taken for sound", journal.events().len()),
        }
        assert_eq!(std::fs::read(self.path()).unwrap(), bytes, "a damaged journal is not touched");
    }
}

#[test]
fn a_missing_line_is_noticed_at_the_line_after_it() {
    let parked = Parked::new();
    for missing in 0..parked.lines.len() - 1 {
        let mut lines = parked.lines.clone();
        lines.remove(missing);
        parked.check_damaged(&lines, missing + 1);
    }
}

#[test]
fn lines_in_another_order_are_noticed() {
    let parked = Parked::new();
    for first in 0..parked.lines.len() - 1 {
        let mut lines = parked.lines.clone();
        lines.swap(first, first + 1);
        parked.check_damaged(&lines, first + 1);
    }
}

#[test]
fn a_line_that_stands_twice_or_comes_from_another_session_is_noticed() {
    let parked = Parked::new();
    let other = Parked::new();
    for place in 0..parked.lines.len() {
        let mut lines = parked.lines.clone();
        lines.insert(place + 1, parked.lines[place].clone());
        parked.check_damaged(&lines, place + 2);
    }
    let mut lines = parked.lines.clone();
    let last = lines.len() - 1;
    // The clock of these tests goes on, so the same line of another session has another time.
    lines[last] = other.lines[last].clone();
    parked.check_damaged(&lines, last + 1);
}

#[test]
fn a_changed_answer_is_noticed_even_where_it_reads_well() {
    let parked = Parked::new();
    let reading = parked.events.iter().position(|event| {
        matches!(&event.what, What::Answered { question, .. } if question.words == "Reading, inboard")
    });
    let reading = reading.unwrap();
    let text = String::from_utf8(parked.lines[reading].clone()).unwrap();
    let mut lines = parked.lines.clone();
    lines[reading] = text.replace("\"entry\":\"22 inHg\"", "\"entry\":\"23 inHg\"").into_bytes();
    assert_ne!(lines[reading], parked.lines[reading]);
    parked.check_damaged(&lines, reading + 1);
    // A blank more says nothing else, but nobody writes one by chance.
    lines[reading] = text.replace("\"entry\":\"22 inHg\"", "\"entry\": \"22 inHg\"").into_bytes();
    parked.check_damaged(&lines, reading + 1);
}

#[test]
fn a_line_feed_that_was_lost_is_noticed() {
    let parked = Parked::new();
    for place in 0..parked.lines.len() {
        for lost in [&b"\x0b"[..], b"", b" x"] {
            let mut lines = parked.lines.clone();
            let end = lines[place].len() - 1;
            lines[place].splice(end.., lost.iter().copied());
            if place + 1 == lines.len() && lost.is_empty() {
                // A last line that is whole but for its line feed is sound.
                parked.write(&lines.concat());
                assert_eq!(parked.front.journal().events(), parked.events);
                assert_eq!(std::fs::read(parked.path()).unwrap(), parked.lines.concat());
            } else {
                parked.check_damaged(&lines, place + 1);
            }
        }
    }
}

#[test]
fn a_last_line_that_was_cut_is_dropped_and_the_session_goes_on() {
    let straight = essence(&Shopfront::new(BODY).finish(&BODY_LINES));
    let n = Parked::new().lines.len();
    // The last three lines are the last answer, the note and the parking.
    for (line, kept, answered) in [(n - 1, 0.5, 6), (n - 1, 0.9, 6), (n - 2, 0.5, 6), (n - 3, 0.1, 5)] {
        let parked = Parked::new();
        let mut lines = parked.lines[..=line].to_vec();
        let length = (lines[line].len() as f64 * kept) as usize;
        lines[line].truncate(length.max(1));
        parked.write(&lines.concat());
        assert_eq!(parked.front.journal().events(), &parked.events[..line]);
        assert_eq!(std::fs::read(parked.path()).unwrap(), parked.lines[..line].concat());
        let record = parked.front.finish(&BODY_LINES[answered..]);
        assert_eq!(essence(&record), straight, "cut at {line}");
    }
}

#[test]
fn zeros_at_the_end_are_the_disk_s_and_dropped() {
    let parked = Parked::new();
    let mut bytes = parked.lines.concat();
    bytes.extend([0; 512]);
    parked.write(&bytes);
    assert_eq!(parked.front.journal().events(), parked.events);
    assert_eq!(std::fs::read(parked.path()).unwrap(), parked.lines.concat());
}

#[test]
fn the_message_says_which_line_is_damaged_and_mending_cuts_it_there_and_keeps_the_damaged_one() {
    let parked = Parked::new();
    let mut lines = parked.lines.clone();
    lines[8][20] ^= 1;
    parked.check_damaged(&lines, 9);
    let Err(error) = journal_at(&parked.path()) else { panic!("it is taken for sound") };
    let text = error.to_string();
    for wanted in ["journal.jsonl is damaged at line 9", "8 lines before it are intact"] {
        assert!(text.contains(wanted), "no {wanted:?} in {text}");
    }
    let (intact, kept) = Journal::mend(&parked.path()).unwrap().expect("it is damaged");
    assert_eq!(intact, 8);
    assert_eq!(std::fs::read(kept).unwrap(), lines.concat());
    assert!(Journal::mend(&parked.path()).unwrap().is_none());
    assert_eq!(parked.front.journal().events(), &parked.events[..8]);
}

#[test]
fn a_journal_is_made_once_and_for_one_program_at_a_time() {
    let parked = Parked::new();
    assert!(matches!(Journal::create(&parked.path()), Err(LogError::Io(..))));
    let open = parked.front.journal();
    assert!(matches!(Journal::open(&parked.path()), Err(LogError::InUse(_))));
    drop(open);
    assert_eq!(parked.front.journal().events(), parked.events);
    assert!(matches!(journal_at(&parked.path().with_file_name("gone.jsonl")), Err(LogError::Io(..))));
}
