//! One mark changed in a sound procedure is told by one error near its place, hardly ever by more; of two changes apart
//! both are told in one run; and a text beyond hope ends in a few errors.
//!
//! The changes are drawn by seeds: `SPOOLPROOF_SLIPS=20000` draws so many, and other ones.

use std::fs;
use std::path::Path;

use crate::procedure::{Fault, MOST_FAULTS, Program, parse, parser};
use crate::tests::support::{Draws, source};

const MARKS: &str = ",;(){}[]\"#|:.=+!&<>";

fn errors(text: &str) -> Vec<Fault> {
    Program::compile(source(text)).err().unwrap_or_default()
}

/// Every procedure that is shipped or an example.
fn procedures() -> Vec<String> {
    let mut found = Vec::new();
    for folder in ["procedures", "examples", "examples/two_shops"] {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
        for entry in fs::read_dir(folder).expect("a folder").flatten() {
            let name = entry.file_name().to_string_lossy().into_owned();
            if name.ends_with(".rhai") && !name.ends_with(".d.rhai") {
                found.push((name, fs::read_to_string(entry.path()).expect("a procedure")));
            }
        }
    }
    found.sort();
    assert!(found.len() >= 6, "{} procedures", found.len());
    found.into_iter().map(|(_, text)| text).collect()
}

/// Returns the bytes of a text that are script: outside comments, and outside texts but for their quotes.
fn script(text: &str) -> Vec<(usize, char)> {
    let (mut in_comment, mut in_text) = (false, false);
    let is_script = |(at, c): &(usize, char)| {
        in_comment = *c != '\n' && (in_comment || (!in_text && text[*at..].starts_with("//")));
        let is_script = !in_comment && (!in_text || *c == '"');
        in_text ^= *c == '"' && !in_comment;
        is_script
    };
    text.char_indices().filter(is_script).collect()
}

/// One mark changed: deleted, doubled, exchanged, a bracket of another kind; or a name cut.
#[derive(Debug, Clone)]
struct Change {
    at: usize,
    old: String,
    new: String,
}

impl Change {
    fn drawn(text: &str, draws: &mut Draws) -> Change {
        let script = script(text);
        let one_of = |marks: &str, draws: &mut Draws| marks[draws.below(marks.len())..][..1].to_owned();
        loop {
            let (at, c) = script[draws.below(script.len())];
            let kind = if c.is_alphanumeric() { 4 } else { draws.below(4) };
            let brackets = if "([{".contains(c) { "([{" } else { ")]}" };
            let new = match kind {
                0 => String::new(),
                1 => format!("{c}{c}"),
                2 => one_of(MARKS, draws),
                3 if "([{)]}".contains(c) => one_of(brackets, draws),
                4 => String::new(),
                _ => continue,
            };
            let is_word = |at: usize| text[at..].starts_with(|c: char| c.is_alphanumeric() || c == '_');
            let is_end_of_name = c.is_alphabetic() && is_word(at - 1) && !is_word(at + 1);
            if new != c.to_string() && (MARKS.contains(c) || kind == 4 && is_end_of_name) {
                return Change { at, old: c.to_string(), new };
            }
        }
    }

    fn done_to(&self, text: &str) -> String {
        format!("{}{}{}", &text[..self.at], self.new, &text[self.at + self.old.len()..])
    }

    fn line(&self, text: &str) -> usize {
        text[..self.at].matches('\n').count() + 1
    }

    fn is_told(&self, text: &str, faults: &[Fault]) -> bool {
        let is_near = |fault: &Fault| fault.line.is_some_and(|told| told.abs_diff(self.line(text)) <= 1);
        faults.iter().any(is_near)
    }
}

fn draws() -> (usize, Draws) {
    let asked = std::env::var("SPOOLPROOF_SLIPS").ok().and_then(|n| n.parse().ok());
    let seed = asked.map_or(2_026, |n| n as u64 ^ u64::from(std::process::id()));
    (asked.unwrap_or(1_000), Draws(seed))
}

#[test]
fn each_row_of_the_known_slips_has_its_four_columns() {
    let rows = include_str!("../../../src/procedure/syntax/known_slips.txt").lines();
    for row in rows.filter(|row| !row.is_empty() && !row.starts_with("# ") && *row != "#") {
        let columns: Vec<_> = row.split('\t').collect();
        assert!(columns.len() == 4 && !columns[0].is_empty() && !columns[3].is_empty(), "{row}");
    }
}

#[test]
fn one_mark_changed_is_one_error_near_its_place_and_no_avalanche() {
    let procedures = procedures();
    let (n, mut draws) = draws();
    let (mut n_single, mut n_near) = (0, 0);
    for _ in 0..n {
        let text = &procedures[draws.below(procedures.len())];
        let change = Change::drawn(text, &mut draws);
        let found = errors(&change.done_to(text));
        // Some marks can be left out or doubled: the last comma of a list, the semicolon behind a block.
        n_single += usize::from(found.len() <= 1);
        n_near += usize::from(found.is_empty() || change.is_told(text, &found[..1]));
        assert!(found.len() <= 4, "{change:?} in line {}: {found:?}", change.line(text));
    }
    assert!(n_single * 100 >= n * 99, "{n_single} of {n} changes are one error or none");
    assert!(n_near * 100 >= n * 99, "{n_near} of {n} changes are told on their line or next to it");
}

#[test]
fn two_changes_in_statements_apart_are_both_told_in_one_run() {
    let procedures = procedures();
    let (n, mut draws) = draws();
    let (mut n_pairs, mut n_both) = (0, 0);
    for _ in 0..n / 4 {
        let text = &procedures[draws.below(procedures.len())];
        let mut pair = [Change::drawn(text, &mut draws), Change::drawn(text, &mut draws)];
        pair.sort_by_key(|change| change.at);
        let [first, second] = pair;
        let statements = text[first.at..second.at].matches(";\n\n").count();
        let is_told = |change: &Change| change.is_told(text, &errors(&change.done_to(text)));
        if statements == 0 || !is_told(&first) || !is_told(&second) {
            continue;
        }
        let found = errors(&first.done_to(&second.done_to(text)));
        n_pairs += 1;
        n_both += usize::from(first.is_told(text, &found) && second.is_told(text, &found));
    }
    assert!(n_pairs > 25, "{n_pairs} pairs");
    assert!(n_both * 100 >= n_pairs * 95, "{n_both} of {n_pairs} pairs are both told");
}

#[test]
fn a_text_beyond_hope_ends_in_a_few_errors_and_how_many_more_there_are() {
    let lines = |line: &dyn Fn(usize) -> String| (0..15_000).map(line).collect::<String>();
    let steps = |n: usize| format!("test(c, |t| {{\n{}}});\n", "    t.say(\"a\" b);\n".repeat(n));
    let slips = (0..200).map(|n| format!("say(\"number {n}\"\nsay(\"fine\");\n")).collect();
    for (text, rest) in [
        ("(".repeat(240_000), ""),
        ("\"\n".repeat(125_000), ""),
        ("say(\"a\" b);\n".repeat(15_000), "and 14960 more places"),
        (lines(&|n| format!("say(\"a{n});\n")), "and 149"),
        (lines(&|n| format!("say(no{n});\n")), "and more places"),
        (steps(10_000), ""),
        (steps(60), ""),
        (slips, "and 160 more places"),
    ] {
        let source = source(&text);
        let parsed = parse(&parser(), &source.files[0]);
        // Of a release build a megabyte is some 50 ms. The names of a text take a few rounds through all of it.
        assert!(parsed.work < 5 << 20, "{} bytes of work for {:?} ...", parsed.work, &text[..20]);
        assert!((1..=MOST_FAULTS + 1).contains(&parsed.faults.len()), "{} errors", parsed.faults.len());
        let last = &parsed.faults[parsed.faults.len() - 1].message;
        assert!(last.starts_with(rest), "{last}");
    }
}
