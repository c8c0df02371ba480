use super::super::tokens::Token;

/// How far is looked for what a token goes with, in tokens or brackets: far enough for what people write, and not so far
/// that a large file of nonsense takes the square of its size.
pub(super) const FAR: usize = 400;

/// Returns what closes a bracket, for one that opens.
pub(super) fn closing(token: &Token<'_>) -> Option<&'static str> {
    [("(", ")"), ("[", "]"), ("{", "}"), ("#{", "}")]
        .into_iter()
        .find(|(open, _)| token.is(open))
        .map(|(_, closing)| closing)
}

/// Returns whether a token closes a bracket.
pub(super) fn is_closing(token: &Token<'_>) -> bool {
    [")", "]", "}"].iter().any(|mark| token.is(mark))
}

/// Returns for each token the bracket that it stands in; a bracket stands in the one around it. What closes nothing is
/// passed over.
pub(super) fn enclosing(tokens: &[Token<'_>]) -> Vec<Option<usize>> {
    let mut open: Vec<usize> = Vec::new();
    let mut found = Vec::with_capacity(tokens.len());
    for (n, token) in tokens.iter().enumerate() {
        if is_closing(token) {
            let fits = |at: &usize| closing(&tokens[*at]) == Some(token.text);
            let near = open.iter().rev().take(FAR).position(fits);
            if let Some(depth) = near {
                open.truncate(open.len() - 1 - depth);
            }
            found.push(open.last().copied());
            continue;
        }
        found.push(open.last().copied());
        if closing(token).is_some() {
            open.push(n);
        }
    }
    found
}

/// Returns how many more } there are than blocks and descriptions for them to close.
pub(super) fn too_many(tokens: &[Token<'_>]) -> usize {
    let count =
        |marks: &[&str]| tokens.iter().filter(|token| marks.iter().any(|mark| token.is(mark))).count();
    count(&["}"]).saturating_sub(count(&["{", "#{"]))
}
