//! The seal of a document: the digest of a record, and the canonical form that signatures are over.

use std::cmp::Ordering;
use std::ops::Range;

use data_encoding::HEXLOWER;
use memchr::memmem;
use serde::Serialize;
use sha2::{Digest, Sha256};

use super::layout::laid_out;
use super::{FORMAT, Record, SignerKey};

/// Returns SHA-256 in lower-case hexadecimal.
pub(crate) fn sha256(bytes: &[u8]) -> String {
    HEXLOWER.encode(&Sha256::digest(bytes))
}

/// Returns the digest of a record: SHA-256 over the text that it is stored as, up to the line of the digest. It stays
/// the same when a record is signed.
pub(crate) fn digest(record: &Record) -> serde_json::Result<String> {
    Ok(digest_of_text(&laid_out(record)?))
}

/// Returns the digest of a record's text; of one without a digest, that of the whole text. No other line begins so:
/// what stands in a record's texts never breaks a line.
pub(crate) fn digest_of_text(text: &[u8]) -> String {
    const LINE: &[u8] = b"\n  \"digest\": ";
    let before = memmem::rfind(text, LINE);
    sha256(&text[..before.map_or(text.len(), |at| at + 1)])
}

impl Record {
    /// Returns whether its digest is that of what is in it. Whoever changes a record can make a new digest: what does
    /// not follow from the procedure and its answers then an audit finds, and what does only a signature shows.
    pub fn is_as_stored(&self) -> bool {
        digest(self).is_ok_and(|found| self.digest == Some(found))
    }
}

/// Returns the bytes that the signature of a record is over: the canonical form of its format, digest and signer.
pub(crate) fn signed_bytes_of(digest: &str, signer: &SignerKey) -> serde_json::Result<Vec<u8>> {
    #[derive(Serialize)]
    struct Signed<'a> {
        digest: &'a str,
        format: &'a str,
        signer: &'a SignerKey,
    }
    canonical(&Signed { digest, format: FORMAT, signer }, &[])
}

/// Writes a document in its canonical form: RFC 8785, JSON Canonicalization Scheme.
///
/// Members stand in the order of their names' UTF-16 code units, numbers as ECMAScript writes doubles, and nothing is
/// written that need not be. `left_out` names members of the outermost object that are passed over.
///
/// The crate of this kind, `serde_json_canonicalizer`, holds each member twice while it writes and takes nine times as
/// long, which an audit of many records would feel; in a test it says that both write the same.
pub(crate) fn canonical(document: &impl Serialize, left_out: &[&str]) -> serde_json::Result<Vec<u8>> {
    Ok(in_order(&laid_out(document)?, left_out))
}

/// Puts the members of a text that the program has laid out in order, and leaves its white space out.
fn in_order(text: &[u8], left_out: &[&str]) -> Vec<u8> {
    let mut sorting = Sorting { text, at: 0, sorted: Vec::with_capacity(text.len()) };
    sorting.value(left_out);
    sorting.sorted
}

/// A text on the way from its layout to its canonical form.
struct Sorting<'a> {
    text: &'a [u8],
    at: usize,
    sorted: Vec<u8>,
}

impl<'a> Sorting<'a> {
    fn value(&mut self, left_out: &[&str]) {
        match self.next() {
            Some(b'{') => self.members(left_out),
            Some(b'[') => self.items(),
            _ => {
                let scalar = self.scalar();
                self.sorted.extend_from_slice(scalar);
            }
        }
    }

    fn items(&mut self) {
        self.sorted.push(b'[');
        self.at += 1;
        while let Some(next) = self.next().filter(|next| *next != b']') {
            if next == b',' {
                self.sorted.push(b',');
                self.at += 1;
            }
            self.value(&[]);
        }
        self.at += 1;
        self.sorted.push(b']');
    }

    /// Writes each member with its comma, and puts them in order once all are there.
    fn members(&mut self, left_out: &[&str]) {
        self.at += 1;
        let begin = self.sorted.len();
        let mut members: Vec<(&'a [u8], Range<usize>)> = Vec::new();
        while let Some(next) = self.next().filter(|next| *next != b'}') {
            self.at += usize::from(next == b',');
            self.next();
            let (name, from) = (self.scalar(), self.sorted.len());
            self.sorted.push(b',');
            self.sorted.extend_from_slice(name);
            self.next();
            self.at += 1;
            self.sorted.push(b':');
            self.value(&[]);
            let bare = name.strip_prefix(b"\"").and_then(|name| name.strip_suffix(b"\"")).unwrap_or_default();
            match left_out.iter().any(|left| left.as_bytes() == bare) {
                true => self.sorted.truncate(from),
                false => members.push((name, from..self.sorted.len())),
            }
        }
        self.at += 1;
        if !members.is_sorted_by(|(one, _), (other, _)| by_name(one, other).is_le()) {
            members.sort_by(|(one, _), (other, _)| by_name(one, other));
            let sorted: Vec<_> = members.iter().map(|(_, range)| &self.sorted[range.clone()]).collect();
            let sorted = sorted.concat();
            self.sorted.truncate(begin);
            self.sorted.extend_from_slice(&sorted);
        }
        match self.sorted.get_mut(begin) {
            Some(comma) => *comma = b'{',
            None => self.sorted.push(b'{'),
        }
        self.sorted.push(b'}');
    }

    /// Takes a text in its quotes, a number or a word.
    fn scalar(&mut self) -> &'a [u8] {
        let rest = self.text.get(self.at..).unwrap_or_default();
        let length = match rest.first() {
            Some(b'"') => {
                let mut end = 1;
                while let Some(mark) = rest[end..].iter().position(|byte| matches!(byte, b'"' | b'\\')) {
                    end += mark + 1;
                    if rest[end - 1] == b'"' {
                        break;
                    }
                    end += 1;
                }
                end
            }
            _ => {
                let is_end =
                    |byte: &u8| matches!(byte, b',' | b'}' | b']' | b':') || byte.is_ascii_whitespace();
                rest.iter().position(is_end).unwrap_or(rest.len())
            }
        };
        self.at += length;
        &rest[..length]
    }

    /// Passes over white space, and returns what comes then.
    fn next(&mut self) -> Option<u8> {
        let rest = self.text.get(self.at..)?;
        let blank = rest.iter().position(|byte| !byte.is_ascii_whitespace())?;
        self.at += blank;
        rest.get(blank).copied()
    }
}

/// Compares two names as they stand in a text by their UTF-16 code units.
fn by_name(one: &[u8], other: &[u8]) -> Ordering {
    let is_plain = |name: &[u8]| name.is_ascii() && !name.contains(&b'\\');
    if is_plain(one) && is_plain(other) {
        // The quote that ends a name is less than all that may stand in one but a space and an exclamation mark.
        let bare = |name: &'_ [u8]| name.len().saturating_sub(1);
        return one[..bare(one)].cmp(&other[..bare(other)]);
    }
    let units = |name: &[u8]| -> Vec<u16> {
        serde_json::from_slice::<String>(name).unwrap_or_default().encode_utf16().collect()
    };
    units(one).cmp(&units(other))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use serde_json::{Value, json};

    use super::canonical;

    fn text(document: &Value) -> String {
        String::from_utf8(canonical(document, &["digest"]).unwrap()).unwrap()
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
            prop_assert_eq!(canonical(&document, &["digest"]).unwrap(), serde_json_canonicalizer::to_vec(&document).unwrap());
        }
    }
}
