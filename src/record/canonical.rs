use std::cmp::Ordering;
use std::io::{self, Write};

use serde::Serialize;
use serde_json::ser::{CharEscape, CompactFormatter, Formatter, Serializer};

/// Writes a document in its canonical form: RFC 8785, JSON Canonicalization Scheme.
///
/// Members stand in the order of their names' UTF-16 code units, numbers as ECMAScript writes doubles, and nothing is
/// written that need not be. `left_out` names a member of the outermost object that is passed over.
///
/// # Errors
/// Where a part of the document is no JSON.
pub fn canonical(document: &impl Serialize, left_out: &str) -> serde_json::Result<Vec<u8>> {
    let mut writer = Writer { left_out, ..Writer::default() };
    document.serialize(&mut Serializer::with_formatter(io::sink(), &mut writer))?;
    Ok(writer.text)
}

/// Writes into a text of its own, since members that are out of order have to be moved.
#[derive(Default)]
struct Writer<'a> {
    text: Vec<u8>,
    left_out: &'a str,
    /// The objects that are open.
    open: Vec<Open>,
    /// The members of the open objects so far, those of the outermost first.
    members: Vec<Member>,
    /// Where members are put in order.
    ordered: Vec<u8>,
}

/// An object that is open.
struct Open {
    /// Where its members begin in the text.
    start: usize,
    /// Where they begin among all members.
    first: usize,
}

/// Where a member stands in the text: its name in quotes, then a colon and its value.
#[derive(Clone, Copy)]
struct Member {
    start: usize,
    name_end: usize,
    end: usize,
}

impl Writer<'_> {
    fn put(&mut self, text: &[u8]) -> io::Result<()> {
        self.text.extend_from_slice(text);
        Ok(())
    }

    /// Every number is a double, also an integer beyond 2^53.
    fn number(&mut self, number: f64) -> io::Result<()> {
        self.put(ryu_js::Buffer::new().format_finite(number).as_bytes())
    }

    fn name(&self, member: &Member) -> &[u8] {
        &self.text[member.start..member.name_end]
    }

    /// Puts the members of the innermost object in order, and passes over the one that is left out.
    fn order(&mut self, object: &Open) {
        let is_outermost = self.open.is_empty();
        let mut members = self.members.split_off(object.first);
        let is_in_order = members.is_sorted_by(|one, other| is_before(self.name(one), self.name(other)));
        if is_in_order && !is_outermost {
            return;
        }
        if !is_in_order {
            members.sort_by(|one, other| match is_before(self.name(one), self.name(other)) {
                true => Ordering::Less,
                false => Ordering::Greater,
            });
        }
        let left_out = |name: &[u8]| is_outermost && text_of(name).as_deref() == Some(self.left_out);
        members.retain(|member| !left_out(self.name(member)));
        self.ordered.clear();
        for member in members {
            if !self.ordered.is_empty() {
                self.ordered.push(b',');
            }
            self.ordered.extend_from_slice(&self.text[member.start..member.end]);
        }
        self.text.truncate(object.start);
        self.text.extend_from_slice(&self.ordered);
    }
}

/// Whether one name, in quotes, stands before another. Plain ASCII is in the order of its bytes, the closing quote
/// aside.
fn is_before(one: &[u8], other: &[u8]) -> bool {
    let is_plain = |name: &[u8]| name.iter().all(|byte| byte.is_ascii() && *byte != b'\\');
    if is_plain(one) && is_plain(other) {
        return one[..one.len() - 1] < other[..other.len() - 1];
    }
    let units = |name: &[u8]| text_of(name).map(|text| text.encode_utf16().collect::<Vec<u16>>());
    units(one) < units(other)
}

/// Reads a name that stands in quotes.
fn text_of(name: &[u8]) -> Option<String> {
    serde_json::from_slice(name).ok()
}

/// Writes the methods that take a number of some type.
macro_rules! numbers {
    ($($method:ident: $number:ty,)*) => {
        $(fn $method<W: ?Sized + Write>(&mut self, _: &mut W, number: $number) -> io::Result<()> {
            self.number(number as f64)
        })*
    };
}

impl Formatter for &mut Writer<'_> {
    numbers! {
        write_i8: i8, write_i16: i16, write_i32: i32, write_i64: i64, write_i128: i128,
        write_u8: u8, write_u16: u16, write_u32: u32, write_u64: u64, write_u128: u128,
        write_f32: f32, write_f64: f64,
    }

    fn write_null<W: ?Sized + Write>(&mut self, _: &mut W) -> io::Result<()> {
        self.put(b"null")
    }

    fn write_bool<W: ?Sized + Write>(&mut self, _: &mut W, value: bool) -> io::Result<()> {
        self.put(if value { b"true" } else { b"false" })
    }

    fn begin_string<W: ?Sized + Write>(&mut self, _: &mut W) -> io::Result<()> {
        self.put(b"\"")
    }

    fn end_string<W: ?Sized + Write>(&mut self, _: &mut W) -> io::Result<()> {
        self.put(b"\"")
    }

    fn write_string_fragment<W: ?Sized + Write>(&mut self, _: &mut W, fragment: &str) -> io::Result<()> {
        self.put(fragment.as_bytes())
    }

    /// What has to be escaped, and how, is the same in the standard.
    fn write_char_escape<W: ?Sized + Write>(&mut self, _: &mut W, escape: CharEscape) -> io::Result<()> {
        CompactFormatter.write_char_escape(&mut self.text, escape)
    }

    fn begin_array<W: ?Sized + Write>(&mut self, _: &mut W) -> io::Result<()> {
        self.put(b"[")
    }

    fn end_array<W: ?Sized + Write>(&mut self, _: &mut W) -> io::Result<()> {
        self.put(b"]")
    }

    fn begin_array_value<W: ?Sized + Write>(&mut self, _: &mut W, first: bool) -> io::Result<()> {
        if first { Ok(()) } else { self.put(b",") }
    }

    fn begin_object<W: ?Sized + Write>(&mut self, _: &mut W) -> io::Result<()> {
        self.put(b"{")?;
        self.open.push(Open { start: self.text.len(), first: self.members.len() });
        Ok(())
    }

    fn end_object<W: ?Sized + Write>(&mut self, _: &mut W) -> io::Result<()> {
        if let Some(object) = self.open.pop() {
            self.order(&object);
        }
        self.put(b"}")
    }

    fn begin_object_key<W: ?Sized + Write>(&mut self, _: &mut W, first: bool) -> io::Result<()> {
        if !first {
            self.put(b",")?;
        }
        let start = self.text.len();
        self.members.push(Member { start, name_end: start, end: start });
        Ok(())
    }

    fn end_object_key<W: ?Sized + Write>(&mut self, _: &mut W) -> io::Result<()> {
        if let Some(member) = self.members.last_mut() {
            member.name_end = self.text.len();
        }
        Ok(())
    }

    fn begin_object_value<W: ?Sized + Write>(&mut self, _: &mut W) -> io::Result<()> {
        self.put(b":")
    }

    fn end_object_value<W: ?Sized + Write>(&mut self, _: &mut W) -> io::Result<()> {
        if let Some(member) = self.members.last_mut() {
            member.end = self.text.len();
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use serde_json::{Value, json};

    use super::canonical;

    fn text(document: &Value) -> String {
        String::from_utf8(canonical(document, "digest").unwrap()).unwrap()
    }

    /// RFC 8785, section 3.2.2 and 3.2.3: its example and its order of names.
    #[test]
    fn the_examples_of_the_standard_come_out_as_printed_there() {
        let example: Value = serde_json::from_str(
            r#"{ "numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],
                 "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/", "literals": [null, true, false] }"#,
        )
        .unwrap();
        assert_eq!(
            text(&example),
            concat!(
                r#"{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],"#,
                r#""string":"€$\u000f\nA'B\"\\\\\"/"}"#
            )
        );
        let names = json!({ "\u{20ac}": 1, "\r": 2, "\u{fb33}": 3, "1": 4, "\u{1f600}": 5, "\u{80}": 6, "\u{f6}": 7 });
        let order: Vec<char> = text(&names).chars().filter(char::is_ascii_digit).collect();
        // "\r" 2, "1" 1 and 4, U+0080 6, U+00F6 7, U+20AC 1, U+1F600 5, U+FB33 3.
        assert_eq!(order.iter().collect::<String>(), "2146715 3".replace(' ', ""));
    }

    #[test]
    fn the_member_that_is_left_out_is_left_out_at_the_top_only() {
        assert_eq!(text(&json!({ "digest": 1, "a": { "digest": 2 } })), r#"{"a":{"digest":2}}"#);
    }

    fn anything() -> impl Strategy<Value = Value> {
        let leaf = prop_oneof![
            Just(Value::Null),
            any::<bool>().prop_map(Value::from),
            any::<f64>().prop_filter("finite", |number| number.is_finite()).prop_map(Value::from),
            any::<i32>().prop_map(Value::from),
            "\\PC*".prop_map(Value::from),
            any::<String>().prop_map(Value::from),
        ];
        leaf.prop_recursive(3, 32, 6, |inner| {
            prop_oneof![
                prop::collection::vec(inner.clone(), 0..6).prop_map(Value::from),
                prop::collection::btree_map(any::<String>(), inner, 0..6)
                    .prop_map(|fields| Value::Object(fields.into_iter().collect())),
            ]
        })
    }

    proptest! {
        /// The crate `serde_json_canonicalizer`, which passes the test data of the standard's authors.
        #[test]
        fn any_document_comes_out_as_from_another_implementation(document in anything()) {
            let fields = serde_json::Map::from_iter([("a".to_owned(), document)]);
            let document = Value::Object(fields);
            prop_assert_eq!(canonical(&document, "digest").unwrap(), serde_json_canonicalizer::to_vec(&document).unwrap());
        }
    }
}
