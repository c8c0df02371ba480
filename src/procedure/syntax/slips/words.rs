use super::super::tokens::{Kind, Token};
use super::Slip;

/// Words of other languages, each with what is written here.
const FOREIGN: &[(&str, &str, &str)] = &[
    ("elif", "write else if", "else if"),
    ("elseif", "write else if", "else if"),
    ("elsif", "write else if", "else if"),
    ("and", "write && for and", "&&"),
    ("or", "write || for or", "||"),
    ("not", "write ! for not, as in !reading.holds", "!"),
    ("otherwise", "write else", "else"),
    ("then", "put what is done between { and }", "{"),
    ("endif", "close it with }", "}"),
    ("function", "a function begins with fn", "fn"),
    ("def", "a function begins with fn", "fn"),
    ("var", "a name is given with let", "let"),
];

/// Words that the language keeps for itself; none can be a name.
const RESERVED: &[&str] = &[
    "go",
    "goto",
    "new",
    "use",
    "with",
    "is",
    "match",
    "case",
    "default",
    "static",
    "shared",
    "sync",
    "async",
    "await",
    "yield",
    "thread",
    "spawn",
    "module",
    "package",
    "public",
    "protected",
    "super",
    "void",
    "null",
    "nil",
    "let",
    "const",
    "if",
    "else",
    "switch",
    "do",
    "while",
    "until",
    "loop",
    "for",
    "in",
    "continue",
    "break",
    "return",
    "throw",
    "try",
    "catch",
    "fn",
    "private",
    "import",
    "export",
    "as",
    "global",
    "this",
    "eval",
    "Fn",
    "call",
    "curry",
    "print",
    "debug",
    "type_of",
    "is_shared",
];

/// Words that begin something, which editors for letters like to begin with a capital.
const SMALL: &[&str] = &["let", "if", "else", "for", "while", "loop", "import", "const"];

/// Words that a procedure has no use for, each with why.
const REFUSED: &[(&str, &str, &str)] = &[
    ("try", "errors can't be caught here", "what goes wrong must stop a procedure; remove try and catch"),
    ("switch", "there is no switch", "write if ... else if ... else"),
    ("eval", "a text can't be run as a script", "write the steps out, or put them into a function"),
    ("print", "there is no print", "use say(\"...\") to tell the technician something"),
    ("debug", "there is no debug", "use say(\"...\") to tell the technician something"),
];

/// Finds words of other languages, names that are reserved, and what comes of writing as on a shell or in a sheet.
pub(super) fn find(tokens: &[Token<'_>]) -> Vec<Slip> {
    let mut found = Vec::new();
    for (n, token) in tokens.iter().enumerate() {
        let before = n.checked_sub(1).map(|before| &tokens[before]);
        let after = tokens.get(n + 1);
        if token.is("#") {
            found.push(comment(tokens, n));
            continue;
        }
        if token.kind != Kind::Word || before.is_some_and(|before| before.is(".")) {
            continue;
        }
        let is_key = after.is_some_and(|after| after.is(":"));
        if let Some(word) =
            SMALL.iter().find(|word| token.text.eq_ignore_ascii_case(word) && token.text != **word)
            && !is_key
            && !is_name(before, after)
            && !after.is_some_and(|after| after.is(".") || after.is("=") || after.is(";"))
        {
            let slip =
                Slip::at(token, format!("\"{}\" is written small", token.text), format!("write {word}"));
            found.push(slip.with(token.start..token.end(), *word));
            continue;
        }
        if is_name(before, after) && RESERVED.contains(&token.text) {
            let help = "choose another name for it".to_owned();
            found.push(renamed(tokens, token, help));
        } else if let Some((_, message, help)) =
            REFUSED.iter().find(|(word, ..)| *word == token.text && !is_key)
        {
            found.push(Slip::at(token, *message, *help));
        } else if let Some((word, help, with)) =
            FOREIGN.iter().find(|(word, ..)| token.text.eq_ignore_ascii_case(word))
            && !is_key
            && !after.is_some_and(|after| after.is("(") && after.start == token.end())
            && !before.is_some_and(|before| before.is("let") || before.is("fn"))
        {
            let is_followed = *word == "then" && after.is_some_and(|after| after.is("{"));
            let (help, with) = if is_followed { ("leave it out", &"") } else { (*help, with) };
            let slip = Slip::at(token, format!("\"{}\" is no word here", token.text), help);
            found.push(slip.with(token.start..token.end(), *with));
        }
    }
    found
}

/// Returns whether a word stands where a name is given to something.
fn is_name(before: Option<&Token<'_>>, after: Option<&Token<'_>>) -> bool {
    let introduced = before.is_some_and(|b| ["let", "const", "fn", "for"].iter().any(|word| b.is(word)))
        || (before.is_some_and(|b| b.is("|")) && after.is_some_and(|a| a.is("|") || a.is(",")));
    let used_up = after.is_some_and(|after| [":", "{"].iter().any(|mark| after.is(mark)));
    introduced && !used_up
}

fn renamed(tokens: &[Token<'_>], token: &Token<'_>, help: String) -> Slip {
    let mut slip = Slip::at(token, format!("\"{}\" is a word of the language, not a name", token.text), help);
    let meant = format!("{}_", &token.text[..token.text.len() - 1]);
    for same in tokens.iter().filter(|same| same.is(token.text)) {
        slip = slip.with(same.start..same.end(), meant.as_str());
    }
    slip
}

/// A `#` that begins no description begins a comment elsewhere.
fn comment(tokens: &[Token<'_>], n: usize) -> Slip {
    let token = &tokens[n];
    if let Some(brace) = tokens.get(n + 1).filter(|next| next.is("{")) {
        let slip = Slip::at(token, "a description begins with #{", "write #{ without a blank");
        return slip.with(token.start..brace.end(), "#{");
    }
    if let [_, bracket, brace, ..] = tokens[n..]
        && bracket.is("(")
        && brace.is("{")
    {
        let slip = Slip::at(token, "a description begins with #{", "write (#{");
        return slip.with(token.start..brace.end(), "(#{");
    }
    if let [_, key, colon, ..] = tokens[n..]
        && key.kind == Kind::Word
        && colon.is(":")
    {
        let slip = Slip::at(token, "a description begins with #{", "write #{ instead of #");
        return slip.with(token.end()..token.end(), "{");
    }
    let last = tokens[n..].iter().take_while(|same| same.line == token.line).last().unwrap_or(token);
    Slip::at(token, "# begins no comment here", "begin a comment with //").with(token.start..last.end(), "")
}
