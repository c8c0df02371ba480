use super::super::tokens::Token;
use super::Slip;
use super::open::{closing, is_closing};

/// Finds `)};` in place of `});`, and a bracket of the wrong kind among those that end a statement.
pub(super) fn find(tokens: &[Token<'_>]) -> Vec<Slip> {
    let mut open: Vec<usize> = Vec::new();
    let mut found = Vec::new();
    let mut n = 0;
    while n < tokens.len() {
        if closing(&tokens[n]).is_some() {
            open.push(n);
        } else if is_closing(&tokens[n]) {
            let line = tokens[n].line;
            let run = tokens[n..].iter().take_while(|token| is_closing(token) && token.line == line).count();
            found.extend(wrong_way(tokens, &open, n..n + run));
            open.truncate(open.len().saturating_sub(run));
            n += run;
            continue;
        }
        n += 1;
    }
    found
}

fn wrong_way(tokens: &[Token<'_>], open: &[usize], run: std::ops::Range<usize>) -> Option<Slip> {
    let length = run.len();
    // With as many as are open, one is of the wrong kind; with fewer, one is missing.
    if open.len() != length || length < 2 || !tokens.get(run.end).is_none_or(|after| after.is(";")) {
        return None;
    }
    let wanted: Vec<_> = open.iter().rev().filter_map(|at| closing(&tokens[*at])).collect();
    let there: Vec<_> = tokens[run.clone()].iter().map(|token| token.text).collect();
    let wrong: Vec<_> = (0..length).filter(|at| wanted[*at] != there[*at]).collect();
    let first = &tokens[run.start + wrong.first()?];
    if let [one, other] = wrong[..]
        && other == one + 1
        && wanted[one] == there[other]
        && wanted[other] == there[one]
    {
        let pair = [wanted[one], wanted[other]].concat();
        let message = format!("{}{} stand the wrong way round", there[one], there[other]);
        let second = &tokens[run.start + other];
        let slip = Slip::at(first, message, format!("write {pair}"));
        return Some(slip.with(first.start..second.end(), pair));
    }
    let [one] = wrong[..] else { return None };
    let opening = &tokens[open[length - 1 - one]];
    let message = format!("{} is closed by {} here", opening.text, there[one]);
    let slip = Slip::at(first, message, format!("close it with {}", wanted[one]));
    Some(slip.with(first.start..first.end(), wanted[one]))
}
