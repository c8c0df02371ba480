use super::super::tokens::Token;
use super::Slip;
use super::open::{closing, is_closing};

/// Finds `)};` in place of `});`: two that stand the wrong way round among those that end a statement.
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
    // With fewer than are open, one is missing.
    if open.len() != length || length < 2 || !tokens.get(run.end).is_none_or(|after| after.is(";")) {
        return None;
    }
    let wanted: Vec<_> = open.iter().rev().filter_map(|at| closing(&tokens[*at])).collect();
    let there: Vec<_> = tokens[run.clone()].iter().map(|token| token.text).collect();
    let wrong: Vec<_> = (0..length).filter(|at| wanted[*at] != there[*at]).collect();
    let [one, other] = wrong[..] else { return None };
    if other != one + 1 || wanted[one] != there[other] || wanted[other] != there[one] {
        return None;
    }
    let pair = [wanted[one], wanted[other]].concat();
    let (first, second) = (&tokens[run.start + one], &tokens[run.start + other]);
    let message = format!("{}{} stand the wrong way round", there[one], there[other]);
    let slip = Slip::at(first, message, format!("write {pair}"));
    Some(slip.with(first.start..second.end(), pair))
}
