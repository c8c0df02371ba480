use serde_json::{Map, Number, Value};

/// Writes a document in its canonical form: RFC 8785, JSON Canonicalization Scheme.
///
/// Members stand in the order of their names' UTF-16 code units, numbers as ECMAScript writes doubles, and nothing is
/// written that need not be. `left_out` names a member of the outermost object that is passed over.
pub fn canonical(document: &Value, left_out: &str) -> Vec<u8> {
    let mut text = Vec::new();
    match document {
        Value::Object(fields) => write_object(&mut text, fields, Some(left_out)),
        other => write(&mut text, other),
    }
    text
}

fn write(text: &mut Vec<u8>, value: &Value) {
    match value {
        Value::Null => text.extend(b"null"),
        Value::Bool(true) => text.extend(b"true"),
        Value::Bool(false) => text.extend(b"false"),
        Value::Number(number) => write_number(text, number),
        Value::String(string) => write_string(text, string),
        Value::Array(items) => {
            text.push(b'[');
            for (index, item) in items.iter().enumerate() {
                if index > 0 {
                    text.push(b',');
                }
                write(text, item);
            }
            text.push(b']');
        }
        Value::Object(fields) => write_object(text, fields, None),
    }
}

fn write_object(text: &mut Vec<u8>, fields: &Map<String, Value>, left_out: Option<&str>) {
    let mut members: Vec<(&String, &Value)> =
        fields.iter().filter(|(name, _)| Some(name.as_str()) != left_out).collect();
    // Bytes are in the same order as code units as long as all are ASCII.
    if members.iter().all(|(name, _)| name.is_ascii()) {
        members.sort_unstable_by_key(|(name, _)| name.as_bytes());
    } else {
        members.sort_by(|(one, _), (other, _)| one.encode_utf16().cmp(other.encode_utf16()));
    }
    text.push(b'{');
    for (index, (name, value)) in members.into_iter().enumerate() {
        if index > 0 {
            text.push(b',');
        }
        write_string(text, name);
        text.push(b':');
        write(text, value);
    }
    text.push(b'}');
}

/// Every number is a double, also an integer beyond 2^53.
fn write_number(text: &mut Vec<u8>, number: &Number) {
    match number.as_f64().filter(|number| number.is_finite()) {
        Some(number) => text.extend(ryu_js::Buffer::new().format_finite(number).as_bytes()),
        // serde_json holds no other numbers.
        None => text.extend(b"null"),
    }
}

fn write_string(text: &mut Vec<u8>, string: &str) {
    text.push(b'"');
    let mut rest = string.as_bytes();
    while let Some(at) = rest.iter().position(|byte| *byte < 0x20 || *byte == b'"' || *byte == b'\\') {
        text.extend(&rest[..at]);
        match rest[at] {
            b'"' => text.extend(b"\\\""),
            b'\\' => text.extend(b"\\\\"),
            0x08 => text.extend(b"\\b"),
            b'\t' => text.extend(b"\\t"),
            b'\n' => text.extend(b"\\n"),
            0x0c => text.extend(b"\\f"),
            b'\r' => text.extend(b"\\r"),
            byte => text.extend(format!("\\u{byte:04x}").as_bytes()),
        }
        rest = &rest[at + 1..];
    }
    text.extend(rest);
    text.push(b'"');
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use serde_json::{Value, json};

    use super::canonical;

    fn text(document: &Value) -> String {
        String::from_utf8(canonical(document, "digest")).unwrap()
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
            prop_assert_eq!(canonical(&document, "digest"), serde_json_canonicalizer::to_vec(&document).unwrap());
        }
    }
}
