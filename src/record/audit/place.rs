use std::fmt;

/// A place in the text of a record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Place {
    /// The line, from 1.
    pub line: usize,
    /// The column in bytes, from 1.
    pub column: usize,
    /// The field that the place lies in, as a JSON pointer (RFC 6901); empty for the whole document.
    pub field: String,
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}, column {}", self.line, self.column)?;
        if self.field.is_empty() { Ok(()) } else { write!(f, ", in {}", self.field) }
    }
}

impl Place {
    /// Finds the place of a byte. Damaged text is read as far as it goes, so the field is the likeliest one.
    pub(super) fn of(bytes: &[u8], offset: usize) -> Place {
        let before = &bytes[..offset.min(bytes.len())];
        let line_start = before.iter().rposition(|byte| *byte == b'\n').map_or(0, |at| at + 1);
        let n_lines = before.iter().filter(|byte| **byte == b'\n').count();
        Place { line: n_lines + 1, column: before.len() - line_start + 1, field: field(bytes, offset) }
    }

    /// Finds the place of a line and a column, both from 1.
    pub(super) fn at(bytes: &[u8], line: usize, column: usize) -> Place {
        let start: usize =
            bytes.split_inclusive(|byte| *byte == b'\n').take(line.saturating_sub(1)).map(<[u8]>::len).sum();
        Place { line, column, field: field(bytes, start + column.saturating_sub(1)) }
    }
}

/// What a value sits in: under a key, once the key has been read, or in an array, at an index.
enum Level {
    Object { key: Option<String>, in_value: bool },
    Array { index: usize },
}

/// Returns the pointer to the value that a byte belongs to; a key belongs to its value.
fn field(bytes: &[u8], offset: usize) -> String {
    let mut levels: Vec<Level> = Vec::new();
    let mut at = 0;
    while at < bytes.len() && at <= offset {
        match bytes[at] {
            b'{' => levels.push(Level::Object { key: None, in_value: false }),
            b'[' => levels.push(Level::Array { index: 0 }),
            b'}' | b']' if at < offset => drop(levels.pop()),
            b',' if at < offset => match levels.last_mut() {
                Some(Level::Object { key, in_value }) => (*key, *in_value) = (None, false),
                Some(Level::Array { index }) => *index += 1,
                None => {}
            },
            b':' => {
                if let Some(Level::Object { in_value, .. }) = levels.last_mut() {
                    *in_value = true;
                }
            }
            b'"' => {
                let end = string_end(bytes, at + 1);
                if let Some(Level::Object { key: key @ None, in_value: false }) = levels.last_mut() {
                    *key = Some(String::from_utf8_lossy(&bytes[at + 1..end]).into_owned());
                }
                at = end;
            }
            _ => {}
        }
        at += 1;
    }
    levels.iter().fold(String::new(), |pointer, level| match level {
        Level::Object { key: Some(key), .. } => {
            format!("{pointer}/{}", key.replace('~', "~0").replace('/', "~1"))
        }
        Level::Object { key: None, .. } => pointer,
        Level::Array { index } => format!("{pointer}/{index}"),
    })
}

/// Returns where the string ends whose first character is at `at`: at its closing quote, or at the text's end.
fn string_end(bytes: &[u8], mut at: usize) -> usize {
    while at < bytes.len() && bytes[at] != b'"' {
        at += if bytes[at] == b'\\' { 2 } else { 1 };
    }
    at.min(bytes.len())
}

#[cfg(test)]
mod tests {
    use super::Place;

    #[test]
    fn a_byte_is_found_in_the_field_that_it_belongs_to() {
        let text = "{\n  \"a\": [1, {\"b/c\": \"x\\\"y\"}],\n  \"d\": 2\n}";
        let field = |part: &str| Place::of(text.as_bytes(), text.find(part).unwrap()).field;
        assert_eq!(field("1,"), "/a/0");
        assert_eq!(field("y\"}"), "/a/1/b~1c");
        assert_eq!(field("2"), "/d");
        assert_eq!(field("\"d"), "/d");
        assert_eq!(Place::of(text.as_bytes(), text.len() - 3).line, 3);
    }
}
