use std::collections::BTreeMap;

use crate::procedure::{Kind, Program, Site, tokens};
use crate::quantity::Unit;

/// What a form has in place of a value that is not known before the bench.
const BLANK: &str = "________";
/// What the explorer types where any words do.
const WORDS: &str = "proofread";

/// The texts that are written out in each place of a script that tells something: what stands between them on a walk was
/// worked out.
#[derive(Debug, Default)]
pub(super) struct Blanks(BTreeMap<Site, Vec<String>>);

impl Blanks {
    /// Reads a script's texts.
    pub(super) fn of(program: &Program) -> Blanks {
        let mut written = BTreeMap::new();
        let told = program.sites().filter(|(word, _)| ["finding", "say"].contains(word));
        let files: BTreeMap<&str, _> =
            program.source.files.iter().map(|file| (file.name.as_str(), tokens(&file.text))).collect();
        for (word, site) in told {
            let Some(tokens) = files.get(site.file.as_str()) else { continue };
            let at = tokens.partition_point(|token| (token.line, token.column) < (site.line, site.column));
            let Some(call) = tokens[at..].iter().position(|token| token.is(word)) else { continue };
            let mut depth = 0_usize;
            let mut texts = Vec::new();
            for token in &tokens[at + call + 1..] {
                if token.is("(") {
                    depth += 1;
                } else if token.is(")") {
                    depth = depth.saturating_sub(1);
                } else if matches!(token.kind, Kind::Text { closed: true }) {
                    texts.push(plain(token.text));
                }
                if depth == 0 {
                    break;
                }
            }
            written.insert(site.clone(), texts);
        }
        Blanks(written)
    }

    /// Returns a text that was told at a place, with a blank for each figure in it that was read or typed.
    pub(super) fn blanked(&self, text: &str, site: Option<&Site>) -> String {
        let Some(written) = site.and_then(|site| self.0.get(site)) else { return text.to_owned() };
        let (mut blanked, mut rest) = (String::new(), text);
        for (n, piece) in written.iter().enumerate() {
            // The last text ends it: a full stop is not the point of a figure before it.
            let at = match n + 1 == written.len() && rest.ends_with(piece.as_str()) {
                true => Some(rest.len() - piece.len()),
                false => rest.find(piece.as_str()),
            };
            if let Some(at) = at {
                blanked += worked_out(&rest[..at]);
                blanked += piece;
                rest = &rest[at + piece.len()..];
            }
        }
        blanked + worked_out(rest)
    }
}

/// Returns what stands on a form for a part of a text that the script worked out: what is no figure with its unit was known
/// before.
fn worked_out(part: &str) -> &str {
    let words: Vec<&str> = part.split_whitespace().collect();
    let is_figure = words.windows(2).any(|pair| {
        let unit = pair[1].trim_end_matches([',', '.', ';', ')']);
        pair[0].trim_start_matches('(').parse::<f64>().is_ok() && Unit::by_text(unit).is_some()
    });
    if is_figure || part.trim() == WORDS { BLANK } else { part }
}

/// Returns what a text in quotes says.
fn plain(quoted: &str) -> String {
    let inside = quoted.get(1..quoted.len().saturating_sub(1)).unwrap_or_default();
    inside.replace("\\\"", "\"").replace("\\\\", "\\")
}

#[cfg(test)]
mod tests {
    use super::worked_out;

    #[test]
    fn a_figure_with_its_unit_becomes_a_blank_and_a_port_stays() {
        for part in ["14.003 mm", "0.6061 in", "24.5 inHg, hole 0.0047 in", "proofread"] {
            assert_eq!(worked_out(part), "________", "{part}");
        }
        for part in ["", "3A", "4C or 4D", "2 of them"] {
            assert_eq!(worked_out(part), part);
        }
    }
}
