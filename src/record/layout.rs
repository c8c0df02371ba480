//! How a record is laid out as text: a field a line, and of a list an item a line, so that a person can read it and it
//! takes little room. Numbers are written as ECMAScript writes doubles, as the canonical form has them: it is this text
//! with its members in order and its white space left out.
//!
//! An audit writes each record again, so this goes straight through: names and plain texts are written in one piece, which
//! the serializer of `serde_json` looks through byte by byte. Tests say that but for white space both write the same.

use std::fmt::{Display, Write};

use serde::ser::{
    Error as _, Serialize, SerializeMap, SerializeSeq, SerializeStruct, SerializeStructVariant,
    SerializeTuple, SerializeTupleStruct, SerializeTupleVariant, Serializer,
};
use serde_json::{Error, Result, Value};

use super::escape::{first_escaped, is_plain};
use super::sink::{Rest, Sink};

/// Writes a document as a record is stored.
pub(super) fn laid_out(document: &impl Serialize) -> Result<Vec<u8>> {
    let mut layout = Layout::to(Vec::new());
    document.serialize(&mut layout)?;
    layout.text.push(b'\n');
    Ok(layout.text)
}

/// Returns whether these are the bytes that a document is stored as.
pub(crate) fn is_written_as(document: &impl Serialize, bytes: &[u8]) -> bool {
    let mut layout = Layout::to(Rest(bytes));
    document.serialize(&mut layout).is_ok() && layout.text.0 == b"\n"
}

/// A document that is being written. Lines are broken in the outermost object and in the lists that are its fields.
struct Layout<T> {
    text: T,
    depth: usize,
    /// Where what is written as a text by itself, as a time is, is written first.
    word: String,
}

const FIELD: usize = 1;
const ITEM: usize = 2;

impl<T: Sink> Layout<T> {
    fn to(text: T) -> Layout<T> {
        Layout { text, depth: 0, word: String::with_capacity(64) }
    }

    fn begin(&mut self, bracket: &[u8; 1]) -> Result<()> {
        self.depth += 1;
        self.text.put_mark(bracket)
    }

    /// Begins an item of the list under way.
    fn item(&mut self, is_first: bool) -> Result<()> {
        match (self.depth == ITEM, is_first) {
            (true, true) => self.text.put_mark(b"\n    "),
            (true, false) => self.text.put_mark(b",\n    "),
            (false, true) => Ok(()),
            (false, false) => self.text.put_mark(b","),
        }
    }

    /// Begins a member of the object under way by its name, which needs no escapes.
    fn member(&mut self, is_first: bool, name: &str) -> Result<()> {
        let (text, name) = (&mut self.text, name.as_bytes());
        match (self.depth == FIELD, is_first) {
            (true, true) => text.put_between(b"\n  \"", name, b"\": "),
            (true, false) => text.put_between(b",\n  \"", name, b"\": "),
            (false, true) => text.put_between(b"\"", name, b"\":"),
            (false, false) => text.put_between(b",\"", name, b"\":"),
        }
    }

    fn end_list(&mut self) -> Result<()> {
        self.depth -= 1;
        if self.depth == FIELD { self.text.put_mark(b"\n  ]") } else { self.text.put_mark(b"]") }
    }

    fn end_object(&mut self) -> Result<()> {
        self.depth -= 1;
        if self.depth == 0 { self.text.put_mark(b"\n}") } else { self.text.put_mark(b"}") }
    }

    fn parts<'a>(&'a mut self, bracket: &[u8; 1]) -> Result<Parts<'a, T>> {
        self.begin(bracket)?;
        Ok(Parts { layout: self, is_first: true })
    }

    /// Writes a text in which something is to be escaped, as a procedure is: between its escapes in one piece.
    fn escaped(&mut self, text: &str) -> Result<()> {
        self.text.put_mark(b"\"")?;
        let mut rest = text;
        while let Some(at) = first_escaped(rest.as_bytes()) {
            self.text.put(&rest.as_bytes()[..at])?;
            let (mark, behind) = rest[at..].split_at(1);
            match mark {
                "\"" => self.text.put_mark(b"\\\"")?,
                "\\" => self.text.put_mark(b"\\\\")?,
                "\n" => self.text.put_mark(b"\\n")?,
                _ => self.text.put(serde_json::to_string(mark)?.trim_matches('"').as_bytes())?,
            }
            rest = behind;
        }
        self.text.put(rest.as_bytes())?;
        self.text.put_mark(b"\"")
    }

    /// Begins an object of one member, whose value are parts.
    fn parts_of_variant<'a>(&'a mut self, variant: &str, bracket: &[u8; 1]) -> Result<Parts<'a, T>> {
        self.begin(b"{")?;
        self.member(true, variant)?;
        self.parts(bracket)
    }
}

/// The items of a list or the members of an object.
struct Parts<'a, T> {
    layout: &'a mut Layout<T>,
    is_first: bool,
}

impl<T: Sink> Parts<'_, T> {
    fn item(&mut self, value: &(impl Serialize + ?Sized)) -> Result<()> {
        self.layout.item(std::mem::take(&mut self.is_first))?;
        value.serialize(&mut *self.layout)
    }

    fn member(&mut self, name: &str, value: &(impl Serialize + ?Sized)) -> Result<()> {
        self.layout.member(std::mem::take(&mut self.is_first), name)?;
        value.serialize(&mut *self.layout)
    }
}

/// Writes numbers of some types as those of another that they are or come nearest to.
macro_rules! written_as {
    ($by:ident($other:ty): $($written:ident($number:ty)),+) => {
        $(fn $written(self, value: $number) -> Result<()> {
            self.$by(value as $other)
        })+
    };
}

impl<'a, T: Sink> Serializer for &'a mut Layout<T> {
    type Ok = ();
    type Error = Error;
    type SerializeSeq = Parts<'a, T>;
    type SerializeTuple = Parts<'a, T>;
    type SerializeTupleStruct = Parts<'a, T>;
    type SerializeTupleVariant = Parts<'a, T>;
    type SerializeMap = Parts<'a, T>;
    type SerializeStruct = Parts<'a, T>;
    type SerializeStructVariant = Parts<'a, T>;

    fn serialize_bool(self, value: bool) -> Result<()> {
        if value { self.text.put_mark(b"true") } else { self.text.put_mark(b"false") }
    }

    written_as! { serialize_f64(f64): serialize_i8(i8), serialize_i16(i16), serialize_i32(i32), serialize_i64(i64), serialize_f32(f32) }

    written_as! { serialize_u64(u64): serialize_u8(u8), serialize_u16(u16), serialize_u32(u32) }

    fn serialize_u64(self, value: u64) -> Result<()> {
        /// Up to this a double holds every whole number.
        const MOST: u64 = 1 << f64::MANTISSA_DIGITS;
        if value <= MOST { self.text.whole(value) } else { self.serialize_f64(value as f64) }
    }

    fn serialize_f64(self, value: f64) -> Result<()> {
        if value.is_finite() { self.text.number(value) } else { self.text.put_mark(b"null") }
    }

    fn serialize_char(self, value: char) -> Result<()> {
        self.serialize_str(value.encode_utf8(&mut [0; 4]))
    }

    fn serialize_str(self, value: &str) -> Result<()> {
        match is_plain(value.as_bytes()) {
            true => self.text.put_between(b"\"", value.as_bytes(), b"\""),
            false => self.escaped(value),
        }
    }

    fn collect_str<D: Display + ?Sized>(self, value: &D) -> Result<()> {
        let mut word = std::mem::take(&mut self.word);
        word.clear();
        write!(word, "{value}").map_err(Error::custom)?;
        self.serialize_str(&word)?;
        self.word = word;
        Ok(())
    }

    fn serialize_bytes(self, value: &[u8]) -> Result<()> {
        self.collect_seq(value)
    }

    fn serialize_none(self) -> Result<()> {
        self.text.put_mark(b"null")
    }

    fn serialize_some<V: Serialize + ?Sized>(self, value: &V) -> Result<()> {
        value.serialize(self)
    }

    fn serialize_unit(self) -> Result<()> {
        self.text.put_mark(b"null")
    }

    fn serialize_unit_struct(self, _: &'static str) -> Result<()> {
        self.text.put_mark(b"null")
    }

    fn serialize_unit_variant(self, _: &'static str, _: u32, variant: &'static str) -> Result<()> {
        self.serialize_str(variant)
    }

    fn serialize_newtype_struct<V: Serialize + ?Sized>(self, _: &'static str, value: &V) -> Result<()> {
        value.serialize(self)
    }

    fn serialize_newtype_variant<V: Serialize + ?Sized>(
        self,
        _: &'static str,
        _: u32,
        variant: &'static str,
        value: &V,
    ) -> Result<()> {
        self.begin(b"{")?;
        self.member(true, variant)?;
        value.serialize(&mut *self)?;
        self.end_object()
    }

    fn serialize_seq(self, _: Option<usize>) -> Result<Parts<'a, T>> {
        self.parts(b"[")
    }

    fn serialize_tuple(self, _: usize) -> Result<Parts<'a, T>> {
        self.parts(b"[")
    }

    fn serialize_tuple_struct(self, _: &'static str, _: usize) -> Result<Parts<'a, T>> {
        self.parts(b"[")
    }

    fn serialize_tuple_variant(
        self,
        _: &'static str,
        _: u32,
        variant: &'static str,
        _: usize,
    ) -> Result<Parts<'a, T>> {
        self.parts_of_variant(variant, b"[")
    }

    fn serialize_map(self, _: Option<usize>) -> Result<Parts<'a, T>> {
        self.parts(b"{")
    }

    fn serialize_struct(self, _: &'static str, _: usize) -> Result<Parts<'a, T>> {
        self.parts(b"{")
    }

    fn serialize_struct_variant(
        self,
        _: &'static str,
        _: u32,
        variant: &'static str,
        _: usize,
    ) -> Result<Parts<'a, T>> {
        self.parts_of_variant(variant, b"{")
    }
}

/// Writes parts that are told one by one by a method of one of these traits, and what ends them.
macro_rules! parts {
    ($kind:ident, $part:ident($($name:ident: $names:ty)?) as $written:ident, $($end:ident),+) => {
        impl<T: Sink> $kind for Parts<'_, T> {
            type Ok = ();
            type Error = Error;

            fn $part<V: Serialize + ?Sized>(&mut self, $($name: $names,)? value: &V) -> Result<()> {
                self.$written($($name,)? value)
            }

            fn end(self) -> Result<()> {
                $(self.layout.$end()?;)+
                Ok(())
            }
        }
    };
}

parts!(SerializeSeq, serialize_element() as item, end_list);
parts!(SerializeTuple, serialize_element() as item, end_list);
parts!(SerializeTupleStruct, serialize_field() as item, end_list);
parts!(SerializeTupleVariant, serialize_field() as item, end_list, end_object);
parts!(SerializeStruct, serialize_field(name: &'static str) as member, end_object);
parts!(SerializeStructVariant, serialize_field(name: &'static str) as member, end_object, end_object);

impl<T: Sink> SerializeMap for Parts<'_, T> {
    type Ok = ();
    type Error = Error;

    fn serialize_key<K: Serialize + ?Sized>(&mut self, key: &K) -> Result<()> {
        let Value::String(name) = serde_json::to_value(key)? else {
            return Err(Error::custom("a name that is no text"));
        };
        let quoted = serde_json::to_string(&name)?;
        self.layout.member(std::mem::take(&mut self.is_first), &quoted[1..quoted.len() - 1])
    }

    fn serialize_value<V: Serialize + ?Sized>(&mut self, value: &V) -> Result<()> {
        value.serialize(&mut *self.layout)
    }

    fn end(self) -> Result<()> {
        self.layout.end_object()
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use serde::Serialize;
    use serde_json::json;

    use super::{is_written_as, laid_out};

    fn text(document: &impl Serialize) -> String {
        String::from_utf8(laid_out(document).unwrap()).unwrap()
    }

    #[derive(Serialize)]
    enum Kind {
        Plain,
        Of(f64),
        Two(u8, i64),
        Named { name: char, none: Option<u32> },
    }

    #[test]
    fn fields_and_the_items_of_their_lists_stand_on_lines_of_their_own() {
        let document =
            json!({ "list": [1, [2, 3], { "a": [] }], "nothing": [], "object": { "b": "\"\n\u{e9}" } });
        let wanted = "{\n  \"list\": [\n    1,\n    [2,3],\n    {\"a\":[]}\n  ],\n  \"nothing\": [\n  ],\n  \
                      \"object\": {\"b\":\"\\\"\\n\u{e9}\"}\n}\n";
        assert_eq!(text(&document), wanted);
    }

    #[test]
    fn every_kind_of_value_is_written_as_by_another() {
        let kinds = [Kind::Plain, Kind::Of(0.5), Kind::Two(3, -4), Kind::Named { name: '"', none: None }];
        let document = BTreeMap::from([("a \"name\"", (kinds, f64::NAN, true, (), "\\"))]);
        let written: String = text(&document).split_whitespace().collect();
        let other: String = serde_json::to_string(&document).unwrap().split_whitespace().collect();
        assert_eq!(written, other);
    }

    #[test]
    fn a_text_is_taken_for_a_documents_only_where_it_is_written_for_it_byte_by_byte() {
        let kinds = [Kind::Plain, Kind::Of(0.25), Kind::Two(120, -4), Kind::Named { name: '\n', none: None }];
        let texts = ["", "a", "a \"name\" of some length\n", "no escapes in it at all", "\u{e9}\u{1}"];
        let numbers = [0.0, -0.5, 1e-7, 84_659.7, 1e21, 9_007_199_254_740_993.0];
        let document =
            BTreeMap::from([("a \"name\"", (kinds, texts, numbers, [u64::MAX, 0, 10], f64::NAN, true))]);
        let written = laid_out(&document).unwrap();
        assert!(is_written_as(&document, &written));
        for at in 0..written.len() {
            let mut other = written.clone();
            other[at] ^= 1;
            assert!(!is_written_as(&document, &other), "{at}");
            other.remove(at);
            assert!(!is_written_as(&document, &other), "without {at}");
            assert!(!is_written_as(&document, &written[..at]), "up to {at}");
        }
        assert!(!is_written_as(&document, &[&written[..], b" "].concat()));
    }
}
