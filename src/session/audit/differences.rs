use serde_json::Value;

use super::fault::RecordFault;

/// Adds every field of a record, but for its digest, that is not what was worked out again.
pub(super) fn differences(place: &str, stated: &Value, found: &Value, faults: &mut Vec<RecordFault>) {
    match (stated, found) {
        (Value::Object(stated), Value::Object(found)) => {
            let more = stated.keys().filter(|key| !found.contains_key(*key));
            for key in found.keys().chain(more) {
                let field = format!("{place}/{}", key.replace('~', "~0").replace('/', "~1"));
                if field != "/digest" {
                    let stated = stated.get(key).unwrap_or(&Value::Null);
                    differences(&field, stated, found.get(key).unwrap_or(&Value::Null), faults);
                }
            }
        }
        (Value::Array(stated), Value::Array(found)) if stated.len() == found.len() => {
            for (index, (stated, found)) in stated.iter().zip(found).enumerate() {
                differences(&format!("{place}/{index}"), stated, found, faults);
            }
        }
        // A whole number is the same with and without a point.
        (Value::Number(stated), Value::Number(found)) if stated.as_f64() == found.as_f64() => {}
        _ if stated == found => {}
        _ => faults.push(RecordFault::Differs {
            field: place.to_owned(),
            stated: short(stated),
            found: short(found),
        }),
    }
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
