use std::collections::BTreeSet;

use serde_json::Value;

/// A JSON Schema as these tests read it: where its rules stand, and which of them a document comes by.
pub(crate) struct Schema(pub(crate) Value);

impl Schema {
    /// Returns the place of every property that the schema describes; those of an `if` only ask.
    pub(crate) fn properties(&self) -> BTreeSet<String> {
        let mut found = BTreeSet::new();
        each_place(&self.0, String::new(), &mut |place, value| {
            if let Some(properties) = value.get("properties").and_then(Value::as_object) {
                found.extend(properties.keys().map(|name| format!("{place}/properties/{name}")));
            }
        });
        found
    }

    /// Calls back with every place of the schema and what stands there.
    pub(crate) fn each_place(&self, mut visit: impl FnMut(&str, &Value)) {
        each_place(&self.0, String::new(), &mut visit);
    }

    /// Adds the places of the properties that a document has; panics at one that the schema does not describe.
    pub(crate) fn visit(&self, document: &Value, seen: &mut BTreeSet<String>) {
        self.along("", &self.0, document, seen);
    }

    fn along(&self, place: &str, schema: &Value, value: &Value, seen: &mut BTreeSet<String>) {
        if let Some(target) = schema.get("$ref").and_then(Value::as_str) {
            let place = target.trim_start_matches('#');
            self.along(place, self.0.pointer(place).expect("a definition"), value, seen);
        }
        for (name, described) in schema.get("properties").and_then(Value::as_object).into_iter().flatten() {
            if let Some(inner) = value.get(name) {
                let place = format!("{place}/properties/{name}");
                self.along(&place, described, inner, seen);
                seen.insert(place);
            }
        }
        if let Some(described) = schema.get("additionalProperties").filter(|described| described.is_object())
        {
            for (_, inner) in value.as_object().into_iter().flatten() {
                self.along(&format!("{place}/additionalProperties"), described, inner, seen);
            }
        }
        for inner in value.as_array().into_iter().flatten() {
            if let Some(items) = schema.get("items") {
                self.along(&format!("{place}/items"), items, inner, seen);
            }
        }
        for (n, branch) in schema.get("oneOf").and_then(Value::as_array).into_iter().flatten().enumerate() {
            if self.may_be(branch, value) {
                self.along(&format!("{place}/oneOf/{n}"), branch, value, seen);
            }
        }
        if let Some(other) = schema.get("else").filter(|_| !value.is_string()) {
            self.along(&format!("{place}/else"), other, value, seen);
        }
        for (n, rule) in schema.get("allOf").and_then(Value::as_array).into_iter().flatten().enumerate() {
            let asked = rule.pointer("/if/properties").and_then(Value::as_object).expect("a condition");
            if asked.iter().all(|(name, wanted)| value.get(name) == wanted.get("const")) {
                self.along(&format!("{place}/allOf/{n}/then"), &rule["then"], value, seen);
            }
        }
    }

    /// Returns whether a value is of a branch's type and has what it requires.
    fn may_be(&self, branch: &Value, value: &Value) -> bool {
        if let Some(target) = branch.get("$ref").and_then(Value::as_str) {
            return self.may_be(self.0.pointer(target.trim_start_matches('#')).expect("a definition"), value);
        }
        if let Some(branches) = branch.get("oneOf").and_then(Value::as_array) {
            return branches.iter().any(|branch| self.may_be(branch, value));
        }
        let required = branch.get("required").and_then(Value::as_array).into_iter().flatten();
        let is_there = |name: &Value| name.as_str().is_some_and(|name| value.get(name).is_some());
        match branch.get("type").and_then(Value::as_str) {
            Some("null") => value.is_null(),
            Some("object") => value.is_object() && required.clone().all(is_there),
            _ => !value.is_null() && !value.is_object(),
        }
    }
}

fn each_place(value: &Value, place: String, visit: &mut dyn FnMut(&str, &Value)) {
    visit(&place, value);
    match value {
        Value::Object(fields) => {
            for (name, inner) in fields {
                // What a property is called is no rule, and an `if` only asks.
                if name == "properties" || name == "$defs" {
                    for (name_of, inner) in inner.as_object().into_iter().flatten() {
                        each_place(inner, format!("{place}/{name}/{name_of}"), visit);
                    }
                } else if name != "if" {
                    each_place(inner, format!("{place}/{name}"), visit);
                }
            }
        }
        Value::Array(items) => {
            for (n, inner) in items.iter().enumerate() {
                each_place(inner, format!("{place}/{n}"), visit);
            }
        }
        _ => {}
    }
}
