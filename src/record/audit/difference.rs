use serde_json::Value;

use super::Fault;

/// Adds every field of a record, but for its digest, that is not what was worked out again.
pub(super) fn differences(stated: &Value, found: &Value, faults: &mut Vec<Fault>) {
    let without_digest = |value: &Value| {
        let mut value = value.clone();
        value.as_object_mut().map(|fields| fields.remove("digest"));
        value
    };
    compare("", &without_digest(stated), &without_digest(found), faults);
}

fn compare(place: &str, stated: &Value, found: &Value, faults: &mut Vec<Fault>) {
    match (stated, found) {
        (Value::Object(stated_fields), Value::Object(found_fields)) => {
            for (key, found) in found_fields {
                let stated = stated_fields.get(key).unwrap_or(&Value::Null);
                compare(&below(place, key), stated, found, faults);
            }
            for (key, stated) in stated_fields {
                if !found_fields.contains_key(key) {
                    differs(&below(place, key), stated, &Value::Null, faults);
                }
            }
        }
        (Value::Array(stated_items), Value::Array(found_items))
            if stated_items.len() == found_items.len() =>
        {
            for (index, (stated, found)) in stated_items.iter().zip(found_items).enumerate() {
                compare(&below(place, &index.to_string()), stated, found, faults);
            }
        }
        _ if stated == found => {}
        _ => differs(place, stated, found, faults),
    }
}

fn below(place: &str, key: &str) -> String {
    format!("{place}/{}", key.replace('~', "~0").replace('/', "~1"))
}

fn differs(place: &str, stated: &Value, found: &Value, faults: &mut Vec<Fault>) {
    faults.push(Fault::Differs { field: place.to_owned(), stated: short(stated), found: short(found) });
}

/// Writes a value, a long one by its beginning.
fn short(value: &Value) -> String {
    const MOST: usize = 120;
    let text = value.to_string();
    match text.char_indices().nth(MOST) {
        Some((end, _)) => format!("{}...", &text[..end]),
        None => text,
    }
}
