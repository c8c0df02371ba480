//! The walk-through of two shops is carried out as it is printed.

use crate::tests::support::{flat, run, spoolproof};
use std::path::Path;
use std::process::Command;

const FOLDER: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/two_shops");

/// A command of the walk-through, and what is printed of its output.
struct Step {
    command: String,
    output: String,
}

/// Reads the commands and outputs of the blocks marked as a console.
fn steps(page: &str) -> Vec<Step> {
    let blocks = page.split("```").filter_map(|block| block.strip_prefix("console\n"));
    let mut steps: Vec<Step> = Vec::new();
    for block in blocks {
        for line in block.lines() {
            match (line.strip_prefix("$ "), steps.last_mut()) {
                (Some(command), _) => steps.push(Step { command: command.to_owned(), output: String::new() }),
                (None, Some(step)) if step.output.is_empty() && step.command.ends_with('\\') => {
                    step.command += &format!("\n{line}");
                }
                (None, Some(step)) => step.output += &format!("{line}\n"),
                (None, None) => panic!("an output before the first command: {line}"),
            }
        }
    }
    steps
}

/// Cuts a text into words; those that are of this run alone are written as the page has them.
fn words(text: &str, fingerprint: Option<&(String, String)>) -> Vec<String> {
    let mut text = flat(text);
    if let Some((own, printed)) = fingerprint {
        text = text.replace(own, printed);
    }
    let is_stamp = |word: &str| {
        let digits = word.chars().map(|c| if c.is_ascii_digit() { '0' } else { c }).collect::<String>();
        digits.contains("00000000-000000-")
    };
    let plain = |word: &str| if is_stamp(word) { "A-SESSION".to_owned() } else { word.to_owned() };
    text.split(' ').filter(|word| !word.is_empty()).map(plain).collect()
}

/// Returns the first fingerprint in a text: six groups of five digits.
fn fingerprint(text: &str) -> Option<String> {
    let words: Vec<_> = text.split(|c: char| !c.is_ascii_digit()).collect();
    let is_group = |word: &&str| word.len() == 5;
    words.windows(6).find(|six| six.iter().all(is_group)).map(|six| six.join(" "))
}

/// Returns whether the words are those of the page, where `...` stands for any.
fn is_as_printed(words: &[String], printed: &[String]) -> bool {
    let mut rest = words;
    for (n, piece) in printed.split(|word| word == "...").enumerate() {
        let found = rest.windows(piece.len().max(1)).position(|window| window == piece);
        match (piece.is_empty(), found) {
            (true, _) => {}
            (false, Some(at)) if n > 0 || at == 0 => rest = &rest[at + piece.len()..],
            _ => return false,
        }
    }
    rest.is_empty() || printed.last().is_some_and(|word| word == "...")
}

#[test]
fn every_command_of_the_walk_through_prints_what_the_page_shows() {
    let page = std::fs::read_to_string(Path::new(FOLDER).join("README.md")).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let procedure = Path::new(FOLDER).join("brook-b2.rhai");
    std::fs::copy(procedure, folder.path().join("brook-b2.rhai")).unwrap();
    let program = spoolproof();
    let program = program.parent().unwrap();
    let others = std::env::var_os("PATH").unwrap_or_default();
    let path =
        std::env::join_paths(std::iter::once(program.to_owned()).chain(std::env::split_paths(&others)))
            .unwrap();
    let printed = fingerprint(&page).unwrap();
    let mut own: Option<(String, String)> = None;
    let steps = steps(&page);
    assert!(steps.len() >= 10, "{}", steps.len());
    for Step { command, output } in steps {
        let typed = own.as_ref().map_or(command.clone(), |(own, printed)| command.replace(printed, own));
        let mut shell = Command::new("sh");
        shell
            .args(["-c", &format!("exec 2>&1\n{typed}")])
            .current_dir(folder.path())
            .env_clear()
            .env("PATH", &path)
            .env("HOME", folder.path())
            .env("LC_ALL", "C.UTF-8");
        let shown = run(&mut shell, "").anyhow().out;
        if own.is_none() {
            own = fingerprint(&shown).map(|own| (own, printed.clone()));
        }
        let (shown_words, printed_words) = (words(&shown, own.as_ref()), words(&output, None));
        assert!(is_as_printed(&shown_words, &printed_words), "$ {command}\n{shown}\nThe page has:\n{output}");
    }
}
