use super::super::tokens::{Kind, Token};
use super::Slip;

/// Finds texts in the wrong quotes, texts that are not closed, and characters that word processors put in.
pub(super) fn find(tokens: &[Token<'_>]) -> Vec<Slip> {
    let mut found: Vec<Slip> = Vec::new();
    for (n, token) in tokens.iter().enumerate() {
        // The second line of a text goes with the first.
        if !found.last().is_some_and(|slip| slip.covered_lines().skip(1).any(|line| line == token.line)) {
            found.extend(one(tokens, n, token));
        }
    }
    found
}

fn one(tokens: &[Token<'_>], n: usize, token: &Token<'_>) -> Option<Slip> {
    match token.kind {
        Kind::Text { closed } => quoted(tokens, n, token, closed),
        Kind::Mark => mark(token).or_else(|| unquoted(tokens, n)),
        _ => None,
    }
}

fn quoted(tokens: &[Token<'_>], n: usize, token: &Token<'_>, closed: bool) -> Option<Slip> {
    let open = token.text.chars().next()?;
    if let Some(slip) = doubled(tokens, n) {
        return Some(slip);
    }
    if !closed && let Some(slip) = over_two_lines(tokens, n).or_else(|| never_opened(tokens, n)) {
        return Some(slip);
    }
    let before = n.checked_sub(1).and_then(|before| tokens.get(before));
    if open == '"' && before.is_some_and(|b| b.kind == Kind::Number && b.end() == token.start) {
        let number = before.map_or("", |before| before.text);
        let rest = after_quote(token.text);
        let (unit, rest) = rest.strip_prefix("Hg").map_or(("inch", rest), |rest| ("inHg", rest));
        return Some(
            Slip::at(token, "inches are not marked by a quote here", format!("write {number}.{unit}"))
                .with(token.start..token.end(), format!(".{unit}{rest}"))
                .covering_its_line(),
        );
    }
    if !closed {
        let slip = Slip::at(token, "this text is not closed on its line", "close it with \" where it ends");
        // What follows it on the line was most likely not meant to be in it.
        let tail = token
            .text
            .rfind(['"', '\''])
            .filter(|at| *at > 0)
            .unwrap_or_else(|| token.text.trim_end_matches([',', ';', ')', ']', '}', '{', ' ']).len());
        let (inside, tail) = token.text[open.len_utf8()..].split_at(tail.saturating_sub(open.len_utf8()));
        let slip = slip.with(token.start..token.end(), format!("\"{}\"{tail}", escaped(inside)));
        return Some(slip.covering_its_line());
    }
    if open == '"' || open == '`' {
        return quote_inside(tokens, n);
    }
    let inside = &token.text[open.len_utf8()..];
    let inside = &inside[..inside.char_indices().next_back()?.0];
    if open == '\'' {
        if inside.chars().count() == 1 {
            return None;
        }
        let slip = Slip::at(token, "texts stand in double quotes", format!("write \"{inside}\""));
        return Some(slip.with(token.start..token.end(), format!("\"{}\"", escaped(inside))));
    }
    let help = "use straight quotes, \"like these\"; word processors turn them into curly ones";
    let slip = Slip::at(token, format!("the quote {open} does not begin a text"), help);
    Some(slip.with(token.start..token.end(), format!("\"{}\"", escaped(inside))))
}

/// Explains words in quotes inside a text, `"the "big" valve"`: they stand outside the two texts around them.
fn quote_inside(tokens: &[Token<'_>], n: usize) -> Option<Slip> {
    let before = &tokens[n];
    let inside = tokens[n + 1..].iter().take_while(|token| token.kind == Kind::Word).count();
    let (first, last) = (tokens.get(n + 1)?, tokens.get(n + inside)?);
    let behind = tokens.get(n + inside + 1).filter(|behind| behind.kind == Kind::Text { closed: true })?;
    if inside == 0 || first.start != before.end() || behind.start != last.end() || behind.line != before.line
    {
        return None;
    }
    let quote = before.end() - 1;
    let column = before.column + before.text.chars().count() - 1;
    let at = Token { text: "\"", start: quote, column, ..*before };
    let slip = Slip::at(&at, "this quote ends the text", "write \\\" for a quote inside a text");
    let slip = slip.with(quote..quote, "\\").with(behind.start..behind.start, "\\");
    Some(slip.covering_its_line())
}

/// Explains a quote that stands twice behind a text.
fn doubled(tokens: &[Token<'_>], n: usize) -> Option<Slip> {
    let (token, before) = (&tokens[n], &tokens[n.checked_sub(1)?]);
    let tail = token.text.strip_prefix('"')?;
    let is_twice = before.kind == (Kind::Text { closed: true })
        && token.kind == (Kind::Text { closed: false })
        && before.end() == token.start
        && is_tail(tail);
    is_twice.then(|| {
        let slip = Slip::at(token, "this quote is one too many", "remove it");
        slip.with(token.start..token.end(), tail).covering_its_line()
    })
}

/// Explains a text that is closed on the line below the one on which it begins.
fn over_two_lines(tokens: &[Token<'_>], n: usize) -> Option<Slip> {
    let token = &tokens[n];
    let below = tokens.partition_point(|other| other.line <= token.line);
    let end = tokens.partition_point(|other| other.line <= token.line + 1);
    let last = tokens[below..end].last()?;
    let tail = last.text.strip_prefix('"')?;
    let is_closed = last.kind == (Kind::Text { closed: false }) && is_tail(tail) && !tail.trim().is_empty();
    let inside = token.text.strip_prefix('"')?;
    if !is_closed || is_tail(inside) || token.text.ends_with([';', '{', '}']) {
        return None;
    }
    let first = &tokens[below];
    let slip = Slip::at(
        token,
        "this text is not closed on its line",
        "join the two lines, or write \" + at the end and \" before the rest",
    );
    let slip = slip.with(token.end()..token.end(), "\" +").with(first.start..first.start, "\"");
    Some(slip.covering_two_lines())
}

/// Returns whether nothing stands here but what ends an entry or a call.
fn is_tail(text: &str) -> bool {
    text.chars().all(|c| c.is_whitespace() || ",;)]}{".contains(c))
}

/// Explains a quote that closes a text whose first quote was forgotten: nothing stands behind it but what ends an entry or
/// a call, and words before it.
fn never_opened(tokens: &[Token<'_>], n: usize) -> Option<Slip> {
    let token = &tokens[n];
    let tail = token.text.strip_prefix('"')?;
    if !is_tail(tail) {
        return None;
    }
    let line = tokens.partition_point(|other| other.line < token.line);
    let begins = |at: usize| at == line || [",", "{", "#{"].iter().any(|mark| tokens[at - 1].is(mark));
    // A colon ends a key, or stands in the text.
    let stops = |at: usize| match tokens[at].kind {
        Kind::Text { .. } => true,
        Kind::Word | Kind::Number => false,
        Kind::Mark if tokens[at].is(":") => at > line && tokens[at - 1].kind == Kind::Word && begins(at - 1),
        Kind::Mark => at == line || tokens[at].is("(") || tokens[at].is("["),
    };
    let start = (line..n).rev().find(|at| stops(*at)).map_or(line, |at| at + 1);
    let first = tokens[start..n].first().filter(|first| first.kind != Kind::Mark)?;
    // 0.5" is an inch mark, 1.0.0" a version.
    if let [number] = tokens[start..n]
        && number.kind == Kind::Number
        && number.end() == token.start
    {
        return None;
    }
    if let Some(slip) = start.checked_sub(1).and_then(|at| inch_mark(&tokens[at], first)) {
        return Some(slip);
    }
    let slip = Slip::at(first, "this text has no quote before it", "put \" before it");
    let slip = slip.with(first.start..first.start, "\"").with(token.start..token.end(), format!("\"{tail}"));
    Some(slip.covering_its_line())
}

/// Explains a quote inside a text, most often for inches: the text ends there, and goes on without a quote.
fn inch_mark(before: &Token<'_>, first: &Token<'_>) -> Option<Slip> {
    let inside = before.text.strip_suffix('"').filter(|_| before.kind == Kind::Text { closed: true })?;
    if before.line != first.line {
        return None;
    }
    if let Some(comma) = inside.trim_end().strip_suffix(',') {
        let slip = Slip::at(before, "this text has no quote behind it", "put \" before the comma");
        let at = before.start + comma.len();
        return Some(slip.with(at..at, "\"").covering_its_line());
    }
    let quote = Token {
        text: "\"",
        start: before.end() - 1,
        column: before.column + inside.chars().count(),
        ..*before
    };
    let is_number = inside.ends_with(|c: char| c.is_ascii_digit());
    let help =
        if is_number { "write inch, or \\\" for the mark" } else { "write \\\" for a quote inside a text" };
    let slip = Slip::at(&quote, "this quote ends the text", help);
    Some(slip.with(quote.start..quote.start, "\\").covering_its_line())
}

/// Finds a text of several words that stands without quotes behind a key.
fn unquoted(tokens: &[Token<'_>], n: usize) -> Option<Slip> {
    let colon = &tokens[n];
    if !colon.is(":") || n == 0 || tokens[n - 1].kind != Kind::Word {
        return None;
    }
    let same_line = tokens.get(n + 1..)?.iter().take_while(|token| token.line == colon.line);
    let words: Vec<_> = same_line
        .take_while(|token| matches!(token.kind, Kind::Word | Kind::Number) || token.is("-"))
        .collect();
    let (Some(first), Some(last)) = (words.first(), words.last()) else { return None };
    let behind = tokens.get(n + 1 + words.len());
    let ends = behind.is_none_or(|behind| {
        behind.line > colon.line || [",", "}", ")", "]", ";"].iter().any(|mark| behind.is(mark))
    });
    // Of two words side by side neither can be a name in a sum or a condition.
    let is_plain = |token: &Token<'_>| {
        token.kind == Kind::Word
            && !["if", "fn", "and", "or", "not", "else"].iter().any(|word| token.is(word))
    };
    let is_text = words.windows(2).any(|pair| is_plain(pair[0]) && is_plain(pair[1]));
    // A text that is not closed is the last thing on its line.
    let line_end = tokens.partition_point(|token| token.line <= colon.line);
    let has_quote =
        tokens[..line_end].last().is_some_and(|token| matches!(token.kind, Kind::Text { closed: false }));
    let is_quantity = first.kind == Kind::Number && last.text.eq_ignore_ascii_case("hg");
    if !ends || !is_text || has_quote || is_quantity {
        return None;
    }
    let slip = Slip::at(first, "a text stands in double quotes", "put a \" before and behind it");
    Some(slip.with(first.start..first.start, "\"").with(last.end()..last.end(), "\""))
}

fn after_quote(text: &str) -> &str {
    text.strip_prefix('"').unwrap_or(text)
}

fn escaped(inside: &str) -> String {
    inside.replace('"', "'")
}

fn mark(token: &Token<'_>) -> Option<Slip> {
    let (message, help, with) = match token.text {
        "\u{A0}" => (
            "a blank that is none stands here",
            "retype the blank; it was copied from a web page or document",
            " ",
        ),
        "\u{FEFF}" | "\u{200B}" => {
            ("an invisible character stands here", "delete it and what is next to it, and retype", "")
        }
        "–" | "—" | "−" => ("this dash is no minus sign", "write -", "-"),
        "×" => ("this sign does not multiply", "write *", "*"),
        "≤" => ("this sign does not compare", "write <=", "<="),
        "≥" => ("this sign does not compare", "write >=", ">="),
        "≠" => ("this sign does not compare", "write !=", "!="),
        "°" => ("a degree sign can't stand here", "write 93.celsius or 200.fahrenheit", " "),
        "½" | "¼" | "¾" => {
            ("a fraction sign can't stand here", "write decimals with a point, as in 18.5", " ")
        }
        "”" | "’" | "»" => (
            "this quote closes no text",
            "use straight quotes, \"like these\"; word processors turn them into curly ones",
            "",
        ),
        _ => return None,
    };
    Some(Slip::at(token, message, help).with(token.start..token.end(), with))
}
