use super::declared::value_of;
use super::writer::{inside_quotes, quoted};
use crate::procedure::{Fault, Kind, Program, Source, Title, tokens};

/// A procedure that is copied: its text stays as it stands, and only what it is called is put in anew.
#[derive(Debug, Clone)]
pub(crate) struct Original {
    /// Its name and version.
    pub named: String,
    pub title: Title,
    /// The names of its circuits, and whether they have limits.
    pub circuits: Vec<(String, bool)>,
    source: Source,
}

impl Original {
    /// Takes a procedure; none where what it is called does not stand where it can be changed.
    pub(crate) fn of(program: &Program) -> Result<Option<Original>, Fault> {
        let circuits = &program.outline()?.circuits;
        let original = Original {
            named: format!("{} {}", program.source.id, program.title.version),
            title: program.title.clone(),
            circuits: circuits.iter().map(|known| (known.name.clone(), known.limits.is_some())).collect(),
            source: program.source.clone(),
        };
        let unit = original.title.unit.as_ref().map(|unit| format!("other than {unit}"));
        Ok(original.retitled(unit.as_deref(), "Another title").is_some().then_some(original))
    }

    /// Returns the title of what comes after its tests, where it says so: what is added stands before that.
    pub(crate) fn closing(&self) -> Option<&str> {
        closing(&self.source.files.first()?.text).map(|(_, title)| title)
    }

    /// Returns the files that lie beside its own, modules and pictures, each with its bytes.
    pub(crate) fn beside(&self) -> impl Iterator<Item = (&str, &[u8])> {
        let modules =
            self.source.files.iter().skip(1).map(|file| (file.name.as_str(), file.bytes.as_slice()));
        let pictures = self.source.pictures.iter();
        modules
            .chain(pictures.filter_map(|picture| Some((picture.name.as_str(), picture.picture()?.bytes()))))
    }

    /// Returns one of its texts for a unit: where it names its own, it names that one.
    pub(crate) fn renamed(&self, text: &str, unit: &str) -> String {
        self.title.unit.as_ref().map_or(text.to_owned(), |old| with_word(text, old, unit))
    }

    /// Returns its text under a title, for a unit, at version 1.0.0; none where that can't be put in.
    pub(super) fn retitled(&self, unit: Option<&str>, title: &str) -> Option<String> {
        let first = self.source.files.first()?;
        let pieces = tokens(&first.text);
        let values = [("title", Some(title)), ("unit", unit), ("version", Some("1.0.0"))];
        let mut edits = Vec::new();
        for (key, value) in values.into_iter().filter_map(|(key, value)| Some((key, value?))) {
            let value_there = value_of(&pieces, key)?;
            let (start, end) = (value_there.first()?.start, value_there.last()?.end());
            edits.push((start, end, quoted(value, "    ")));
        }
        // In a script the names stand in its texts, with what has to be escaped.
        if let (Some(old), Some(new)) = (&self.title.unit, unit) {
            let (old, new) = (inside_quotes(old), inside_quotes(new));
            let in_texts = pieces.iter().filter(|piece| matches!(piece.kind, Kind::Text { .. }));
            edits.extend(in_texts.map(|text| (text.start, text.end(), with_word(text.text, &old, &new))));
        }
        // Of two edits of one place the first is meant.
        edits.sort_by_key(|(start, ..)| *start);
        let (mut text, mut from) = (String::new(), 0);
        for (start, end, new) in edits.into_iter() {
            if start >= from {
                text += first.text.get(from..start)?;
                text += &new;
                from = end;
            }
        }
        text += first.text.get(from..)?;
        let copy = Program::compile(self.source.reworded(&text, None).ok()?).ok()?;
        let is_meant =
            copy.title.title == title && copy.title.unit.as_deref() == unit && copy.title.version == "1.0.0";
        is_meant.then_some(text)
    }
}

/// Returns where a procedure says that its tests are over, and the title of what comes then.
pub(super) fn closing(text: &str) -> Option<(usize, &str)> {
    let pieces = tokens(text);
    let at = pieces.windows(3).find(|at| at[0].text == "closing" && at[1].is("("))?;
    let (start, title) = (at[0].start, at[2].text.trim_matches('"'));
    // What is said of it stands above it.
    let mut at = text[..start].rfind('\n').map_or(0, |end| end + 1);
    while let Some(above) = text[..at].strip_suffix('\n') {
        let line = above.rfind('\n').map_or(0, |end| end + 1);
        if !above[line..].trim_start().starts_with("//") {
            break;
        }
        at = line;
    }
    Some((at, title))
}

/// Returns a text in which one name has become another, wherever it stands as words.
fn with_word(text: &str, old: &str, new: &str) -> String {
    let is_edge = |c: Option<char>| c.is_none_or(|c| !c.is_alphanumeric());
    let (mut renamed, mut from) = (String::new(), 0);
    for (at, _) in text.match_indices(old).filter(|_| !old.trim().is_empty()) {
        let end = at + old.len();
        if is_edge(text[..at].chars().next_back()) && is_edge(text[end..].chars().next()) {
            renamed += &text[from..at];
            renamed += new;
            from = end;
        }
    }
    renamed + &text[from..]
}

#[cfg(test)]
mod tests {
    use super::with_word;

    #[test]
    fn a_name_is_another_where_it_stands_as_words_and_nowhere_else() {
        assert_eq!(
            with_word("The M2's feed, M2, M20 and AM2.", "M2", "M3"),
            "The M3's feed, M3, M20 and AM2."
        );
        assert_eq!(with_word("clutch (M2)", "M2", "M2 M2"), "clutch (M2 M2)");
    }
}
