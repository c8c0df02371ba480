//! One mark left out of a sound procedure is told by one error near its place, hardly ever by more; of two slips apart
//! both are told in one run. The marks are taken out one after the other, all of them.

use crate::procedure::{Fault, Program, SHIPPED, Source};

const MARKS: &str = ",;(){}[]\"#|:.";

fn errors(text: &str) -> Vec<Fault> {
    let source =
        Source::from_files("slip", [("slip.rhai".to_owned(), text.as_bytes().to_vec())]).expect("a text");
    Program::compile(source).err().unwrap_or_default()
}

/// The shorter of the shipped procedures.
fn procedures() -> impl Iterator<Item = String> {
    let short = SHIPPED.iter().filter(|shipped| ["test-orifice", "class-study"].contains(&shipped.id));
    short.map(|shipped| shipped.source().expect("a text").files[0].text.clone())
}

/// Where the marks of the language stand in a text: outside comments, and outside texts but for their quotes.
fn marks(text: &str) -> Vec<usize> {
    let (mut in_comment, mut in_text) = (false, false);
    let mut found = Vec::new();
    for (at, c) in text.char_indices() {
        in_comment = c != '\n' && (in_comment || (!in_text && text[at..].starts_with("//")));
        if in_comment {
            continue;
        }
        if MARKS.contains(c) && (!in_text || c == '"') {
            found.push(at);
        }
        in_text ^= c == '"';
    }
    found
}

fn without(text: &str, at: usize) -> String {
    format!("{}{}", &text[..at], &text[at + 1..])
}

fn line_of(text: &str, at: usize) -> usize {
    text[..at].matches('\n').count() + 1
}

#[test]
fn a_mark_left_out_is_one_error_near_its_place_and_no_avalanche() {
    let (mut n_found, mut n_single, mut n_near) = (0, 0, 0);
    for text in procedures() {
        assert_eq!(errors(&text), []);
        for at in marks(&text) {
            let found = errors(&without(&text, at));
            // Some marks can be left out: the last comma of a list, the semicolon behind a block.
            let Some(first) = found.first() else { continue };
            n_found += 1;
            n_single += usize::from(found.len() == 1);
            let line = line_of(&text, at);
            // What is never closed is told where it opens, which can be lines above.
            n_near += usize::from(first.line.is_some_and(|told| told.abs_diff(line) <= 1));
            assert!(found.len() <= 4, "{:?} in line {line}: {found:?}", &text[at..=at]);
        }
    }
    assert!(n_found > 300, "{n_found} marks");
    assert!(n_single * 100 >= n_found * 98, "{n_single} of {n_found} slips are one error");
    assert!(n_near * 100 >= n_found * 92, "{n_near} of {n_found} slips are told on their line or next to it");
}

#[test]
fn two_slips_in_statements_apart_are_both_told_in_one_run() {
    let (mut n_pairs, mut n_both) = (0, 0);
    for text in procedures() {
        let is_near = |found: &[Fault], at: usize| {
            let line = line_of(&text, at);
            found.iter().any(|fault| fault.line.is_some_and(|told| told.abs_diff(line) <= 1))
        };
        let alone = marks(&text).into_iter().step_by(3);
        let told: Vec<_> = alone.filter(|at| is_near(&errors(&without(&text, *at)), *at)).collect();
        for pair in told.windows(8) {
            let (first, second) = (pair[0], pair[7]);
            if line_of(&text, second) < line_of(&text, first) + 4 {
                continue;
            }
            let found = errors(&without(&without(&text, second), first));
            n_pairs += 1;
            n_both += usize::from(is_near(&found, first) && is_near(&found, second));
        }
    }
    assert!(n_pairs > 20, "{n_pairs} pairs");
    assert!(n_both * 100 >= n_pairs * 90, "{n_both} of {n_pairs} pairs are both told");
}
