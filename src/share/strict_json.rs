use std::fmt;

use serde::de::{self, Deserialize, Deserializer, MapAccess, SeqAccess, Visitor};
use serde_json::{Map, Value};

/// The greatest whole number that every reader of JSON has exactly (RFC 7493, section 2.2).
const LARGEST_EXACT: u64 = (1 << 53) - 1;

/// Reads a JSON document that everybody reads alike (I-JSON, RFC 7493): no key twice in an object, no number that a
/// reader may round, nothing behind the document.
///
/// Of a key that stands twice, readers take the first, the last, or both: a signature could be checked over one and the
/// other be installed.
pub(crate) fn parse_strict(bytes: &[u8]) -> Result<Value, String> {
    serde_json::from_slice::<Strict>(bytes).map(|strict| strict.0).map_err(|error| error.to_string())
}

struct Strict(Value);

impl<'de> Deserialize<'de> for Strict {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Strict, D::Error> {
        deserializer.deserialize_any(StrictReader).map(Strict)
    }
}

struct StrictReader;

impl<'de> Visitor<'de> for StrictReader {
    type Value = Value;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a JSON document")
    }

    fn visit_unit<E: de::Error>(self) -> Result<Value, E> {
        Ok(Value::Null)
    }

    fn visit_bool<E: de::Error>(self, value: bool) -> Result<Value, E> {
        Ok(Value::from(value))
    }

    fn visit_u64<E: de::Error>(self, number: u64) -> Result<Value, E> {
        if number <= LARGEST_EXACT { Ok(Value::from(number)) } else { Err(too_large(number)) }
    }

    fn visit_i64<E: de::Error>(self, number: i64) -> Result<Value, E> {
        if number.unsigned_abs() <= LARGEST_EXACT { Ok(Value::from(number)) } else { Err(too_large(number)) }
    }

    fn visit_f64<E: de::Error>(self, number: f64) -> Result<Value, E> {
        serde_json::Number::from_f64(number).map(Value::Number).ok_or_else(|| too_large(number))
    }

    fn visit_str<E: de::Error>(self, text: &str) -> Result<Value, E> {
        Ok(Value::from(text))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut items: A) -> Result<Value, A::Error> {
        let mut list = Vec::new();
        while let Some(Strict(item)) = items.next_element()? {
            list.push(item);
        }
        Ok(Value::Array(list))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut entries: A) -> Result<Value, A::Error> {
        let mut object = Map::new();
        while let Some(key) = entries.next_key::<String>()? {
            let Strict(value) = entries.next_value()?;
            if object.contains_key(&key) {
                return Err(de::Error::custom(format!("the key \"{key}\" stands twice in one object")));
            }
            object.insert(key, value);
        }
        Ok(Value::Object(object))
    }
}

fn too_large<E: de::Error>(number: impl fmt::Display) -> E {
    de::Error::custom(format!("the number {number} is too large for every reader to have it exactly"))
}

#[cfg(test)]
mod tests {
    use super::parse_strict;

    #[test]
    fn what_readers_could_read_differently_is_refused() {
        for (text, why) in [
            (r#"{"a": 1, "a": 1}"#, "stands twice"),
            (r#"{"a": {"b": 1, "\u0062": 2}}"#, "stands twice"),
            (r#"{"a": 9007199254740992}"#, "too large"),
            (r#"{"a": -9007199254740992}"#, "too large"),
            (r#"{"a": 1e999}"#, "out of range"),
            (r#"{"a": 1} {"#, "trailing"),
            (r#"{"a": "\ud800"}"#, "escape"),
            (r#"{"a": NaN}"#, "expected value"),
            ("{\"a\": \"\u{1}\"}", "control character"),
            ("\u{feff}{}", "expected value"),
        ] {
            let error = parse_strict(text.as_bytes()).unwrap_err();
            assert!(error.contains(why), "{text}: {error}");
        }
        assert!(parse_strict(&[b'[', 0xff, b']']).is_err());
        for (open, close) in [("[", "]"), ("{\"a\":", "}")] {
            let deep = format!("{}1{}", open.repeat(50_000), close.repeat(50_000));
            assert!(parse_strict(deep.as_bytes()).unwrap_err().contains("recursion"));
        }
        for before in ["", "1e", "-1e"] {
            assert!(parse_strict(format!("{before}{}", "9".repeat(100_000)).as_bytes()).is_err());
        }
    }

    #[test]
    fn what_everybody_reads_alike_is_taken() {
        let text = r#"{"a": [1, -1, 1.5, true, null, "x"], "b": {"a": 9007199254740991}}"#;
        assert_eq!(
            parse_strict(text.as_bytes()).unwrap(),
            serde_json::from_str::<serde_json::Value>(text).unwrap()
        );
    }
}
