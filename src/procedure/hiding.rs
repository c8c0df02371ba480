use rhai::{AST, Position};

use super::{Diagnostic, SourceFile};

/// Reports every function that would stand in for a word of the language: `fn read(t) { ... }` would be called in the
/// word's place without a sign.
pub(super) fn hidden_words(file: &SourceFile, ast: &AST, is_word: impl Fn(&str) -> bool) -> Vec<Diagnostic> {
    let hiding = ast.iter_functions().filter(|function| is_word(function.name));
    hiding
        .map(|function| {
            let name = function.name;
            let message = format!("\"{name}\" is a word of the language and can't be defined again");
            Diagnostic::new(&file.name, definition(&file.text, name), message)
                .help("choose another name for the function")
        })
        .collect()
}

/// Finds where a function is defined; the compiled function does not know.
fn definition(text: &str, name: &str) -> Position {
    let is_part = |c: char| c.is_alphanumeric() || c == '_';
    for (index, line) in text.lines().enumerate().filter(|(_, line)| line.contains("fn ")) {
        let mut places = line.match_indices(name).map(|(at, _)| at);
        let whole = places
            .find(|at| !line[..*at].ends_with(is_part) && !line[at + name.len()..].starts_with(is_part));
        let column = whole.map(|at| u16::try_from(line[..at].chars().count() + 1));
        if let (Ok(line), Some(Ok(column))) = (u16::try_from(index + 1), column) {
            return Position::new(line, column);
        }
    }
    Position::NONE
}
