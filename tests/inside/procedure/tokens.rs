//! A script's text taken apart, and places in it put back to where they were before it was mended.

use crate::procedure::{Kind, Mended, tokens};

#[test]
fn a_quantity_is_a_number_a_point_and_a_unit() {
    let found: Vec<_> = tokens("holds: 12.7.mm, // not \"this\"").iter().map(|token| token.text).collect();
    assert_eq!(found, ["holds", ":", "12.7", ".", "mm", ","]);
}

#[test]
fn lines_and_columns_are_counted_in_characters_from_one() {
    let found = tokens("say(\"µ\");\n  ready(\"x\")");
    let place = |n: usize| (found[n].text, found[n].line, found[n].column);
    assert_eq!(place(3), (")", 1, 8));
    assert_eq!(place(5), ("ready", 2, 3));
}

#[test]
fn a_text_that_is_not_closed_ends_with_its_line() {
    let found = tokens("say(\"open);\nsay(\"b\");");
    assert_eq!(found[2].kind, Kind::Text { closed: false });
    assert_eq!(found[2].text, "\"open);");
    assert_eq!(found[3].text, "say");
}

#[test]
fn curly_quotes_open_and_close_a_text() {
    let found = tokens("say(“hello”);");
    assert_eq!(found[2].text, "“hello”");
}

#[test]
fn a_column_behind_two_changes_is_found_in_the_original() {
    let original = "elif a and b { }";
    let mut mended = Mended::new(original);
    mended.replace(7..10, "&&");
    mended.replace(0..4, "else if");
    assert_eq!(mended.text(), "else if a && b { }");
    let column_of = |text: &str, what: &str| text.find(what).unwrap() + 1;
    for what in ["a &", "b {"] {
        let found = mended.original_column(1, column_of(mended.text(), what));
        assert_eq!(found, column_of(original, &what[..1]), "{what}");
    }
}
