use serde_json::Value;

use super::fault::RecordFault;
use crate::tell::Field;

/// Adds every field of a record, but for its digest, that is not what was worked out again.
pub(super) fn differences(stated: &Value, found: &Value, faults: &mut Vec<RecordFault>) {
    compare("", stated, found, &mut |field, stated, found_there| {
        faults.push(RecordFault::Differs {
            circuit: circuit_of(field, found),
            field: field.to_owned(),
            stated: stated.clone(),
            found: found_there.clone(),
        });
    });
}

fn compare(place: &str, stated: &Value, found: &Value, differs: &mut impl FnMut(&str, &Value, &Value)) {
    match (stated, found) {
        (Value::Object(stated), Value::Object(found)) => {
            let more = stated.keys().filter(|key| !found.contains_key(*key));
            for key in found.keys().chain(more) {
                let field = format!("{place}/{}", key.replace('~', "~0").replace('/', "~1"));
                if field != "/digest" {
                    let stated = stated.get(key).unwrap_or(&Value::Null);
                    compare(&field, stated, found.get(key).unwrap_or(&Value::Null), differs);
                }
            }
        }
        (Value::Array(stated), Value::Array(found)) if stated.len() == found.len() => {
            for (index, (stated, found)) in stated.iter().zip(found).enumerate() {
                compare(&format!("{place}/{index}"), stated, found, differs);
            }
        }
        // A whole number is the same with and without a point.
        (Value::Number(stated), Value::Number(found)) if stated.as_f64() == found.as_f64() => {}
        _ if stated == found => {}
        _ => differs(place, stated, found),
    }
}

/// Returns the name of the circuit that a field belongs to, where it does to one.
fn circuit_of(field: &str, record: &Value) -> Option<String> {
    let index = Field::circuit_of(field)?;
    record["circuits"].get(index)?["circuit"]["name"].as_str().map(str::to_owned)
}
