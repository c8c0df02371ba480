//! How a record is laid out as text: a field a line, and of a list an item a line, so that a person can read it and it
//! takes little room. Numbers are written as ECMAScript writes doubles, as the canonical form has them: it is this text
//! with its members in order and its white space left out.

use std::io::{self, Write};

use serde::Serialize;
use serde_json::Serializer;
use serde_json::ser::{CompactFormatter, Formatter};

use super::Record;

/// Writes a document as a record is stored.
pub(super) fn laid_out(document: &impl Serialize) -> serde_json::Result<Vec<u8>> {
    let mut text = Vec::new();
    write(document, &mut text)?;
    text.push(b'\n');
    Ok(text)
}

/// Returns whether these are the bytes that a record is stored as.
pub(crate) fn is_written_as(record: &Record, bytes: &[u8]) -> bool {
    let mut rest = Rest(bytes);
    write(record, &mut rest).is_ok() && rest.0 == b"\n"
}

fn write(document: &impl Serialize, to: impl Write) -> serde_json::Result<()> {
    document.serialize(&mut Serializer::with_formatter(to, Layout::default()))
}

/// What is left of the bytes that a text is compared with while it is written.
struct Rest<'a>(&'a [u8]);

impl Write for Rest<'_> {
    fn write(&mut self, written: &[u8]) -> io::Result<usize> {
        self.write_all(written).map(|()| written.len())
    }

    fn write_all(&mut self, written: &[u8]) -> io::Result<()> {
        self.0 = self.0.strip_prefix(written).ok_or(io::ErrorKind::InvalidData)?;
        Ok(())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

/// Breaks lines in the outermost object and in the lists that are its fields.
#[derive(Default)]
struct Layout {
    depth: usize,
}

const FIELD: usize = 1;
const ITEM: usize = 2;

impl Layout {
    fn begin<W: ?Sized + Write>(&self, writer: &mut W, level: usize, first: bool) -> io::Result<()> {
        let comma: &[u8] = if first { b"" } else { b"," };
        writer.write_all(comma)?;
        if self.depth == level { writer.write_all(&b"\n    "[..=2 * level]) } else { Ok(()) }
    }

    fn end<W: ?Sized + Write>(&mut self, writer: &mut W, level: usize) -> io::Result<()> {
        self.depth -= 1;
        if self.depth + 1 == level { writer.write_all(&b"\n    "[..2 * level - 1]) } else { Ok(()) }
    }
}

/// The least whole number that a double need not be.
const BEYOND_DOUBLES: u64 = 1 << 53;

impl Formatter for Layout {
    fn write_f64<W: ?Sized + Write>(&mut self, writer: &mut W, value: f64) -> io::Result<()> {
        writer.write_all(ryu_js::Buffer::new().format_finite(value).as_bytes())
    }

    fn write_u64<W: ?Sized + Write>(&mut self, writer: &mut W, value: u64) -> io::Result<()> {
        match value {
            BEYOND_DOUBLES.. => self.write_f64(writer, value as f64),
            _ => CompactFormatter.write_u64(writer, value),
        }
    }

    fn write_i64<W: ?Sized + Write>(&mut self, writer: &mut W, value: i64) -> io::Result<()> {
        match value.unsigned_abs() {
            BEYOND_DOUBLES.. => self.write_f64(writer, value as f64),
            _ => CompactFormatter.write_i64(writer, value),
        }
    }

    fn begin_object<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.depth += 1;
        writer.write_all(b"{")
    }

    fn begin_object_key<W: ?Sized + Write>(&mut self, writer: &mut W, first: bool) -> io::Result<()> {
        self.begin(writer, FIELD, first)
    }

    fn begin_object_value<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        let colon: &[u8] = if self.depth == FIELD { b": " } else { b":" };
        writer.write_all(colon)
    }

    fn end_object<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.end(writer, FIELD)?;
        writer.write_all(b"}")
    }

    fn begin_array<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.depth += 1;
        writer.write_all(b"[")
    }

    fn begin_array_value<W: ?Sized + Write>(&mut self, writer: &mut W, first: bool) -> io::Result<()> {
        self.begin(writer, ITEM, first)
    }

    fn end_array<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.end(writer, ITEM)?;
        writer.write_all(b"]")
    }
}
