use super::explain::mark_missing;
use super::guesses::{Does, Guess, Stuck};
use super::tokens::{Kind, Token, closing, is_closing};

/// What is said of an edit: where, what was found, and what helps.
#[derive(Clone)]
pub(super) struct Said {
    pub(super) line: usize,
    pub(super) column: usize,
    pub(super) message: String,
    pub(super) help: String,
}

impl Said {
    fn at(token: &Token<'_>, message: impl Into<String>, help: impl Into<String>) -> Said {
        Said { line: token.line, column: token.column, message: message.into(), help: help.into() }
    }

    /// Puts an edit into words.
    pub(super) fn of(guess: &Guess<'_>, stuck: &Stuck<'_>) -> Said {
        let tokens = stuck.tokens;
        match &guess.does {
            Does::Rule(matched) => {
                let (message, help) = matched.words(stuck.text, tokens);
                Said::at(&tokens[matched.caret(tokens.len())], message, help)
            }
            Does::Insert(n, mark) => inserted(tokens, *n, mark, stuck.lines_before),
            Does::Delete(n) => deleted(tokens, *n),
            Does::Replace(replaced, mark) => {
                replaced_by(tokens, replaced.start, &guess_text(stuck, guess), mark)
            }
            Does::Spell(n, word) => {
                let token = &tokens[*n];
                if token.text.eq_ignore_ascii_case(word) {
                    return Said::at(
                        token,
                        format!("\"{}\" is written small", token.text),
                        format!("write {word}"),
                    );
                }
                Said::at(
                    token,
                    format!("\"{}\" is no word here", token.text),
                    format!("did you mean {word}?"),
                )
            }
            Does::Split(n, at, mark) => {
                let token = &tokens[*n];
                let (left, right) = token.text.split_at(at - token.start);
                let help = if *mark == "." {
                    format!("write {left}.{right}")
                } else {
                    format!("write {left}({right}")
                };
                let name = if *mark == "." { "point" } else { "(" };
                Said::at(token, format!("a {name} is missing behind {left}"), help)
            }
            Does::Close { opened: outermost, behind } => {
                let closers = guess.with.trim();
                let opened = opened(tokens, *behind + 1, closers).unwrap_or(&tokens[*outermost]);
                closed(opened, &tokens[*behind], closers, stuck.lines_before)
            }
            Does::Quote { at, message, help } => {
                let (line, column) = place(stuck.text, *at);
                Said { line, column, message: (*message).to_owned(), help: help.clone() }
            }
            Does::Rename(n) => {
                let message = format!("\"{}\" is a word of the language, not a name", tokens[*n].text);
                Said::at(&tokens[*n], message, "choose another name for it")
            }
            Does::Move(n) => {
                let message = "a function can't be defined inside something else";
                Said::at(&tokens[*n], message, "move it to the left edge, before what uses it")
            }
        }
    }
}

fn guess_text(stuck: &Stuck<'_>, guess: &Guess<'_>) -> String {
    stuck.text[guess.bytes.clone()].to_owned()
}

fn inserted(tokens: &[Token<'_>], n: usize, mark: &str, lines_before: usize) -> Said {
    let before = n.checked_sub(1).map(|before| &tokens[before]);
    let token = tokens.get(n);
    if let (Some(opened), Some(before)) = (opened(tokens, n, mark), before) {
        return closed(opened, before, mark, lines_before);
    }
    let (name, help) = mark_missing(mark);
    match (before, token) {
        (Some(before), Some(token)) if mark == "." => {
            let help = format!("write {}.{}", before.text, token.text);
            Said::at(token, format!("a point is missing before {}", token.text), help)
        }
        (Some(before), _) if mark == "(" && before.kind == Kind::Word => Said::at(
            before,
            format!("a ( is missing behind {}", before.text),
            format!("write {}(...)", before.text),
        ),
        (Some(before), Some(token)) if token.line == before.line => {
            Said::at(token, format!("{name} is missing before this"), help)
        }
        (Some(before), _) => {
            let help = if mark == "," { "put a comma behind each entry".to_owned() } else { help };
            Said::at(before, format!("{name} is missing behind this"), help)
        }
        (None, token) => Said {
            line: token.map_or(1, |t| t.line),
            column: token.map_or(1, |t| t.column),
            message: format!("{name} is missing before this"),
            help,
        },
    }
}

/// Returns the bracket that a mark put before a token would close.
fn opened<'t>(tokens: &'t [Token<'t>], n: usize, mark: &str) -> Option<&'t Token<'t>> {
    if ![")", "]", "}"].contains(&mark) {
        return None;
    }
    let mut depth = 0_usize;
    tokens[..n].iter().rev().find(|token| {
        depth += usize::from(is_closing(token));
        let is_open = closing(token).is_some();
        let found = is_open && depth == 0;
        depth -= usize::from(is_open).min(depth);
        found
    })
}

fn closed(opened: &Token<'_>, behind: &Token<'_>, closers: &str, lines_before: usize) -> Said {
    let closers = closers.trim_end_matches(';');
    if behind.line == opened.line {
        let help = format!("close it with {closers} where it ends");
        return Said::at(opened, format!("this {} is never closed", opened.text), help);
    }
    let help = format!("close the {} of line {} here", opened.text, opened.line + lines_before);
    Said {
        line: behind.line,
        column: behind.column,
        message: format!("{closers} is missing behind this"),
        help,
    }
}

fn deleted(tokens: &[Token<'_>], n: usize) -> Said {
    let token = &tokens[n];
    let is_twin = [n.checked_sub(1), Some(n + 1)].into_iter().flatten();
    let is_twin = is_twin.filter_map(|at| tokens.get(at)).any(|other| other.is(token.text));
    let is_glued = n.checked_sub(1).is_some_and(|before| tokens[before].end() == token.start);
    if token.is(",") {
        Said::at(token, "this comma is one too many", "remove it")
    } else if is_twin && !(is_closing(token) && is_glued) {
        Said::at(token, format!("this {} is one too many", token.text), "remove it")
    } else if is_closing(token) {
        let help = "remove it, or look for what should have opened above";
        Said::at(token, format!("this {} closes nothing", token.text), help)
    } else {
        Said::at(token, format!("{} does not belong here", token.text), "remove it")
    }
}

fn replaced_by(tokens: &[Token<'_>], n: usize, text: &str, mark: &str) -> Said {
    let token = &tokens[n];
    if is_closing(token)
        && let Some(opened) = opened(tokens, n, mark)
    {
        let message = format!("{} is closed by {} here", opened.text, token.text);
        return Said::at(token, message, format!("close it with {mark}"));
    }
    Said::at(token, format!("{mark} stands here, not {text}"), format!("write {mark} instead of {text}"))
}

fn place(text: &str, at: usize) -> (usize, usize) {
    let before = &text[..at.min(text.len())];
    let line = before.rsplit('\n').next().unwrap_or_default();
    (before.matches('\n').count() + 1, line.chars().count() + 1)
}
