//! What is shown cannot move a cursor or reorder a line.

use super::clean;

#[test]
fn escapes_and_bidirectional_controls_become_visible_dots() {
    assert_eq!(clean("a\u{1b}[2Jb\u{202e}c\rd\u{9b}e"), "a·[2Jb·c·d·e");
}

#[test]
fn a_document_means_the_same_with_its_hidden_characters_escaped() {
    let document = serde_json::json!({ "a\u{9b}": "x\u{202e}y\u{e0001}\u{7f}" });
    let shown = super::escaped(&format!("{document:#}"));
    assert_eq!(super::hidden(&shown), None);
    assert_eq!(serde_json::from_str::<serde_json::Value>(&shown).unwrap(), document);
}

#[test]
fn ordinary_text_and_line_feeds_pass_unchanged() {
    assert_eq!(clean("Größe 0,5 µm\n½ in"), "Größe 0,5 µm\n½ in");
}
