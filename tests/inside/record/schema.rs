//! The schema of records, generated of the model: fields, kinds and words are the model's; what its types don't say of
//! a value is said here.

use schemars::generate::SchemaSettings;
use serde_json::{Map, Value, json};

use crate::record::{FORMAT, LONGEST_JOB, RECORD_SCHEMA, Record};

/// A SHA-256 in lower-case hexadecimal.
const DIGEST: &str = "^[0-9a-f]{64}$";

#[test]
fn the_schema_of_records_is_what_the_model_gives() {
    let generated = generated();
    if std::env::var_os("SPOOLPROOF_WRITE_SCHEMA").is_some() {
        let file = concat!(env!("CARGO_MANIFEST_DIR"), "/schemas/record.schema.json");
        std::fs::write(file, &generated).unwrap();
    } else {
        assert!(generated == RECORD_SCHEMA, "the model has changed: run this with SPOOLPROOF_WRITE_SCHEMA=1");
    }
}

/// Returns the schema of records as the text of its file.
fn generated() -> String {
    let schema =
        SchemaSettings::draft2020_12().for_serialize().into_generator().into_root_schema_for::<Record>();
    let mut schema = schema.to_value();
    let definitions = schema["$defs"].as_object().cloned().unwrap_or_default();
    inline_numbers(&mut schema, &definitions);
    for (name, definition) in schema["$defs"].as_object_mut().into_iter().flatten() {
        complete(name, definition);
    }
    complete("Record", &mut schema);
    let one_of_these = [
        &["opened"][..],
        &["asked", "wants", "answer"],
        &["retracted"],
        &["jotted"],
        &["photographed"],
        &["taken_over_by"],
        &["did"],
        &["parked"],
        &["resumed"],
        &["finished"],
    ];
    schema["$defs"]["Event"]["oneOf"] = one_of_these.map(|names| json!({ "required": names })).into();
    let root = schema.as_object_mut().unwrap();
    root.insert("$id".to_owned(), json!("urn:spoolproof:record:2"));
    root.insert("title".to_owned(), json!("spoolproof record"));
    serde_json::to_string_pretty(&schema).unwrap() + "\n"
}

/// Returns what a field must keep to beside its type.
fn rule(holder: &str, field: &str) -> Option<Value> {
    Some(match (holder, field) {
        ("Record", "format") => json!({ "const": FORMAT }),
        ("Record", "digest") => json!({ "type": "string", "pattern": DIGEST }),
        (_, "sha256") | ("EarlierRecord", "digest") => json!({ "pattern": DIGEST }),
        ("ProcedureIdentity", "version") => json!({ "pattern": r"^[0-9]+\.[0-9]+\.[0-9]+$" }),
        (_, "fingerprint") => json!({ "pattern": "^[0-9]{5}( [0-9]{5}){5}$" }),
        (_, "job") => json!({ "minLength": 1, "maxLength": LONGEST_JOB }),
        ("Event", "finished") => json!({}),
        ("Event", "jotted") => json!({}),
        ("Event", "retracted") => json!({ "minItems": 1 }),
        (_, "started" | "finished" | "at") => json!({ "format": "date-time" }),
        (_, "rig_is_assumed" | "is_window" | "parked") => json!({ "const": true }),
        // These may be empty: nothing was typed, or the script says nothing.
        ("Answer", "text") | ("Sample", "line") => json!({}),
        ("Exercise", "barometer_pa") => json!({ "minimum": 50_000, "maximum": 110_000 }),
        ("Photo", "width" | "height") => json!({ "minimum": 1 }),
        ("PointMark", "share") => json!({ "minimum": 0, "maximum": 1 }),
        ("Weight" | "PointMark", "weight") => json!({ "minimum": 0 }),
        (_, "is_set") => json!({ "const": true }),
        (_, "confidence") => json!({ "minimum": 0.5, "exclusiveMaximum": 1 }),
        ("Judgement", "verdict") => {
            json!({ "enum": ["holds", "worn", "leaks", "right", "open", "tight", "retest"] })
        }
        ("Judgement", "below" | "between" | "above") | (_, "eccentricity") => {
            json!({ "minimum": 0, "maximum": 1 })
        }
        ("VerdictCounts", "holds" | "worn" | "leaks" | "retest" | "not_tested") => json!({ "minimum": 0 }),
        ("Record", "journal") | ("CalibrationRecord", "readings") | ("Wants", "options") => {
            json!({ "minItems": 2 })
        }
        (_, "files" | "takes" | "samples") | ("Plan", "circuits") => {
            json!({ "minItems": 1 })
        }
        ("Opening", "minutes_ahead") => json!({ "minimum": -1559, "maximum": 1559 }),
        ("Budget", _) => json!({ "minimum": 0 }),
        (_, "tolerance_m" | "ultimate_pa" | "set_to_pa" | "at_s" | "bleed_relative") => {
            json!({ "minimum": 0 })
        }
        (_, "parts" | "hours" | "labour_per_hour" | "replacement" | "total") => json!({ "minimum": 0 }),
        ("Sample", _) | ("Wants", "unit") | (_, "value" | "low" | "high" | "saved" | "elevation_m") => {
            json!({})
        }
        _ => return None,
    })
}

/// Puts numbers with a dimension where they are referred to: to a reader of the schema they are plain numbers.
fn inline_numbers(schema: &mut Value, definitions: &Map<String, Value>) {
    let number = |target: &Value| {
        let name = target.as_str()?.strip_prefix("#/$defs/")?;
        (definitions[name]["type"] == "number").then(|| name.to_owned())
    };
    match schema {
        Value::Object(fields) => {
            if fields.get("$ref").and_then(number).is_some() {
                fields.remove("$ref");
                fields.insert("type".to_owned(), json!("number"));
            }
            if let Some(all) = fields.get_mut("$defs").and_then(Value::as_object_mut) {
                all.retain(|_, definition| definition["type"] != "number");
            }
            fields.values_mut().for_each(|inner| inline_numbers(inner, definitions));
        }
        Value::Array(items) => items.iter_mut().for_each(|inner| inline_numbers(inner, definitions)),
        _ => {}
    }
}

/// Completes the schema of a type and of what stands in it.
fn complete(holder: &str, schema: &mut Value) {
    let Some(fields) = schema.as_object_mut() else { return };
    fields.remove("default");
    if fields.get("format").is_some_and(|format| format != "date-time") {
        fields.remove("format");
    }
    if let Some(Value::String(text)) = fields.get_mut("description") {
        *text = text.replace('`', "");
    }
    for inner in fields.get_mut("items").into_iter() {
        complete(holder, inner);
    }
    for of in ["anyOf", "oneOf"] {
        for inner in fields.get_mut(of).and_then(Value::as_array_mut).into_iter().flatten() {
            complete(holder, inner);
        }
    }
    let required: Vec<Value> = fields.get("required").and_then(Value::as_array).cloned().unwrap_or_default();
    for (name, property) in fields.get_mut("properties").and_then(Value::as_object_mut).into_iter().flatten()
    {
        complete(holder, property);
        if !required.contains(&json!(name)) {
            never_null(property);
        }
        let rule = rule(holder, name);
        restrict(property, rule.as_ref());
    }
    if fields.contains_key("properties") {
        fields.insert("additionalProperties".to_owned(), json!(false));
    }
    if let Some(Value::Array(mut branches)) = fields.remove("anyOf") {
        branches.reverse();
        if branches == [json!({ "type": "null" }), json!({ "type": "number" })] {
            fields.insert("type".to_owned(), json!(["number", "null"]));
        } else {
            fields.insert("oneOf".to_owned(), Value::Array(branches));
        }
    }
    if let Some(Value::Array(branches)) = fields.remove("oneOf") {
        fields.append(&mut one_of(branches));
    }
}

/// What is left out where there is none of it is never null.
fn never_null(property: &mut Value) {
    let Some(fields) = property.as_object_mut() else { return };
    if let Some(Value::Array(types)) = fields.get("type") {
        let one = types.iter().find(|one| *one != "null").cloned();
        fields.insert("type".to_owned(), one.unwrap_or_default());
    }
    if let Some(Value::Array(branches)) = fields.remove("oneOf") {
        let mut branches = branches.into_iter().filter(|branch| branch["type"] != "null");
        fields.extend(branches.next().and_then(|branch| branch.as_object().cloned()).unwrap_or_default());
    }
}

/// Adds a rule to a field, or to the items of a list; where there is none, texts are not empty, counting begins with 1,
/// and numbers are above 0.
fn restrict(property: &mut Value, rule: Option<&Value>) {
    let Some(fields) = property.as_object_mut() else { return };
    if let Some(items) = fields.get_mut("items") {
        restrict(items, None);
        fields.extend(rule.and_then(Value::as_object).cloned().unwrap_or_default());
        return;
    }
    let types = fields.get("type").cloned().unwrap_or_default();
    let is = |kind: &str| types == kind || types.as_array().is_some_and(|all| all.contains(&json!(kind)));
    let usual = match () {
        () if fields.contains_key("const") || fields.contains_key("enum") => json!({}),
        () if is("string") => json!({ "minLength": 1 }),
        () if is("integer") => json!({ "minimum": 1 }),
        () if is("number") => json!({ "exclusiveMinimum": 0 }),
        () => json!({}),
    };
    let added = rule.unwrap_or(&usual).as_object().unwrap();
    if added.contains_key("const") || added.contains_key("enum") {
        fields.retain(|name, _| name == "description");
    }
    fields.extend(added.clone());
}

/// Writes a choice so that a breach in one branch is told as a breach of that branch: words as a list, kinds that a
/// field names as one rule a kind.
fn one_of(branches: Vec<Value>) -> Map<String, Value> {
    let is_words = |branch: &Value| branch.get("const").or(branch.get("enum")).is_some();
    if branches.iter().all(is_words) {
        let words = branches.iter().flat_map(|branch| match &branch["enum"] {
            Value::Array(words) => words.clone(),
            _ => vec![branch["const"].clone()],
        });
        return json!({ "enum": words.collect::<Vec<_>>() }).as_object().unwrap().clone();
    }
    let of_tag = |branch: &Value| branch["properties"].as_object().filter(|all| all.len() == 1).cloned();
    let (words, tagged): (Vec<_>, Vec<_>) = branches.iter().cloned().partition(is_words);
    if tagged.iter().all(|branch| of_tag(branch).is_some() && branch["required"] != json!(null)) {
        let properties: Map<String, Value> = tagged.iter().filter_map(of_tag).flatten().collect();
        let object = json!({ "type": "object", "properties": properties, "additionalProperties": false,
            "minProperties": 1, "maxProperties": 1 });
        return match words.is_empty() {
            true => object,
            false => {
                json!({ "if": { "type": "string" }, "then": one_of(words), "else": object })
            }
        }
        .as_object()
        .unwrap()
        .clone();
    }
    let kind_of = |branch: &Value| {
        let properties = branch.get("properties")?.as_object()?;
        properties.iter().find_map(|(name, of)| Some((name.clone(), of.get("const")?.clone())))
    };
    let kinds: Vec<_> = branches.iter().filter_map(kind_of).collect();
    let of_kinds = match kinds.first() {
        Some((tag, _)) if kinds.len() == branches.len() => {
            let rules = branches.into_iter().zip(&kinds).map(|(mut then, (_, kind))| {
                then["properties"][tag] = json!(true);
                json!({ "if": { "required": [tag], "properties": { tag: { "const": kind } } }, "then": then })
            });
            let rules: Vec<_> = rules.collect();
            let kinds: Vec<_> = kinds.iter().map(|(_, kind)| kind).collect();
            json!({ "type": "object", "required": [tag], "properties": { tag: { "enum": kinds } }, "allOf": rules })
        }
        _ => json!({ "oneOf": branches }),
    };
    of_kinds.as_object().unwrap().clone()
}
