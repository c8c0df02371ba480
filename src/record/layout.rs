//! How a record is laid out as text: a field a line, and of a list an item a line, so that a person can read it and it
//! takes little room.

use std::io::{self, Write};

use serde::Serialize;
use serde_json::Serializer;
use serde_json::ser::Formatter;

use super::Record;

/// Writes a record as it is stored.
pub(super) fn laid_out(record: &Record) -> serde_json::Result<String> {
    let mut text = Vec::new();
    write(record, &mut text)?;
    text.push(b'\n');
    String::from_utf8(text).map_err(|error| serde_json::Error::io(io::Error::other(error)))
}

/// Returns whether these are the bytes that a record is stored as.
pub(crate) fn is_written_as(record: &Record, bytes: &[u8]) -> bool {
    let mut rest = Rest(bytes);
    write(record, &mut rest).is_ok() && rest.0 == b"\n"
}

fn write(record: &Record, to: impl Write) -> serde_json::Result<()> {
    record.serialize(&mut Serializer::with_formatter(to, Layout::default()))
}

/// What is left of the bytes that a text is compared with while it is written.
struct Rest<'a>(&'a [u8]);

impl Write for Rest<'_> {
    fn write(&mut self, written: &[u8]) -> io::Result<usize> {
        self.0 = self.0.strip_prefix(written).ok_or(io::ErrorKind::InvalidData)?;
        Ok(written.len())
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

impl Formatter for Layout {
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
