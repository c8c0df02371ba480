use super::super::tokens::{Kind, Token};
use super::Slip;
use super::open::{FAR, closing, is_closing};

/// Finds `if`, `else`, `for` and `while` whose `{` or `}` was forgotten.
pub(super) fn find(tokens: &[Token<'_>]) -> Vec<Slip> {
    let mut found = Vec::new();
    for (n, token) in tokens.iter().enumerate() {
        let is_key = tokens.get(n + 1).is_some_and(|after| after.is(":"));
        if token.is("else") && !is_key {
            found.extend(around_else(tokens, n));
        } else if ["if", "while", "for", "fn"].iter().any(|word| token.is(word)) && !is_key {
            found.extend(head(tokens, n));
        }
    }
    found
}

fn around_else(tokens: &[Token<'_>], n: usize) -> Vec<Slip> {
    let token = &tokens[n];
    let mut found = Vec::new();
    let before = n.checked_sub(1).map(|before| &tokens[before]);
    // An else stands as far in as its if, and so does the } between them.
    let closes_inner = |before: &Token<'_>| {
        let first = tokens.partition_point(|other| other.line < before.line);
        before.is("}") && before.line < token.line && tokens[first].column > token.column
    };
    if before.is_some_and(|before| before.is(";") || closes_inner(before)) {
        let goes_on = tokens.get(n + 1).is_some_and(|next| next.is("if"));
        let help = if goes_on { "write } else if ... {" } else { "write } else {" };
        let slip = Slip::at(token, "a } is missing before this else", help);
        found.push(slip.with(token.start..token.start, "} "));
    }
    if !tokens.get(n + 1).is_some_and(|next| next.is("{") || next.is("if")) {
        let slip = Slip::at(token, "a { is missing behind this else", "write } else {");
        found.push(slip.with(token.end()..token.end(), " {"));
    }
    found
}

/// Looks for the `{` behind a condition, which stands on the condition's last line.
fn head(tokens: &[Token<'_>], n: usize) -> Option<Slip> {
    let mut open: Vec<&Token<'_>> = Vec::new();
    for at in n + 1..tokens.len().min(n + FAR) {
        let (token, before) = (&tokens[at], &tokens[at - 1]);
        if token.is("{") {
            let bracket = open.first().filter(|bracket| bracket.is("("))?;
            if before.is("|") || before.is("||") || before.is(":") || before.is(",") || before.is("(") {
                return None;
            }
            let message = "this ( is never closed";
            let slip = Slip::at(bracket, message, "close it with ) before the {");
            return Some(slip.with(before.end()..before.end(), ")".repeat(open.len())));
        }
        if closing(token).is_some() {
            open.push(token);
        } else if is_closing(token) {
            open.pop()?;
        }
        let is_ended = open.is_empty()
            && !is_closing(token)
            && token.line > before.line
            && !joins(before)
            && !joins(token);
        if is_ended && at > n + 1 {
            let message = format!("a {{ is missing behind this {}", tokens[n].text);
            let slip = Slip::at(&tokens[n], message, "put a { at the end of its line");
            return Some(slip.with(before.end()..before.end(), " {"));
        }
        if token.is(";") {
            return None;
        }
    }
    None
}

/// Returns whether what stands on both sides of a token belongs together.
fn joins(token: &Token<'_>) -> bool {
    const JOINING: &[&str] =
        &["&&", "||", "==", "!=", "<", ">", "<=", ">=", "+", "-", "*", "/", ".", "!", "(", "["];
    (token.kind == Kind::Mark && JOINING.contains(&token.text)) || token.is("in")
}
