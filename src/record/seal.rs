//! The seal of a document: the digest of its canonical form.

use data_encoding::HEXLOWER;
use serde_json::{Value, json};
use sha2::{Digest, Sha256};

use super::{FORMAT, Record, SignerKey};

/// Returns SHA-256 in lower-case hexadecimal.
pub(crate) fn sha256(bytes: &[u8]) -> String {
    HEXLOWER.encode(&Sha256::digest(bytes))
}

/// What a record says of itself, which its digest is not over.
const SEALS: [&str; 3] = ["digest", "signer", "signature"];

/// Returns the digest of a record: SHA-256 over its canonical form without digest, signer and signature. It stays the same
/// when a record is signed.
pub(crate) fn digest(document: &Value) -> serde_json::Result<String> {
    Ok(sha256(&canonical(document, &SEALS)?))
}

impl Record {
    /// Returns whether its digest is that of what is in it. Whoever changes a record can make a new digest: what does not
    /// follow from the procedure and its answers then an audit finds, and what does only a signature shows.
    pub fn is_as_stored(&self) -> bool {
        let found = serde_json::to_value(self).and_then(|document| digest(&document));
        found.is_ok_and(|found| self.digest == Some(found))
    }
}

/// Returns the bytes that the signature of a record is over: the canonical form of its format, digest and signer.
pub(crate) fn signed_bytes_of(digest: &str, signer: &SignerKey) -> serde_json::Result<Vec<u8>> {
    canonical(&json!({ "format": FORMAT, "digest": digest, "signer": signer }), &[])
}

/// Writes a document in its canonical form: RFC 8785, JSON Canonicalization Scheme.
///
/// Members stand in the order of their names' UTF-16 code units, numbers as ECMAScript writes doubles, and nothing is
/// written that need not be. `left_out` names members of the outermost object that are passed over.
///
/// The crate of this kind, `serde_json_canonicalizer`, holds each member twice while it writes and takes nine times as
/// long, which an audit of many records would feel; in a test it says that both write the same.
pub(crate) fn canonical(document: &Value, left_out: &[&str]) -> serde_json::Result<Vec<u8>> {
    let mut text = Vec::new();
    write(document, left_out, &mut text)?;
    Ok(text)
}

fn write(value: &Value, left_out: &[&str], text: &mut Vec<u8>) -> serde_json::Result<()> {
    match value {
        Value::Object(members) => {
            let mut members: Vec<_> =
                members.iter().filter(|(name, _)| !left_out.contains(&name.as_str())).collect();
            members.sort_by(|(one, _), (other, _)| one.encode_utf16().cmp(other.encode_utf16()));
            text.push(b'{');
            for (index, (name, value)) in members.into_iter().enumerate() {
                text.extend((index > 0).then_some(b','));
                serde_json::to_writer(&mut *text, name)?;
                text.push(b':');
                write(value, &[], text)?;
            }
            text.push(b'}');
        }
        Value::Array(items) => {
            text.push(b'[');
            for (index, item) in items.iter().enumerate() {
                text.extend((index > 0).then_some(b','));
                write(item, &[], text)?;
            }
            text.push(b']');
        }
        // Every number is a double, also an integer beyond 2^53.
        Value::Number(number) => {
            let number = number.as_f64().unwrap_or_default();
            text.extend_from_slice(ryu_js::Buffer::new().format_finite(number).as_bytes());
        }
        // What has to be escaped in a text, and how, is the same in the standard.
        Value::String(_) | Value::Bool(_) | Value::Null => serde_json::to_writer(text, value)?,
    }
    Ok(())
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
