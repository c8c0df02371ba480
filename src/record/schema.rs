use std::sync::LazyLock;

use jsonschema::Validator;
use serde_json::Value;

/// The schema that every record validates against.
pub const RECORD_SCHEMA: &str = include_str!("../../schemas/record.schema.json");

static RECORD: LazyLock<Schema> = LazyLock::new(|| Schema::new(RECORD_SCHEMA));

/// A schema (JSON Schema 2020-12) that is built in, or why its text is none.
pub struct Schema(Result<Validator, String>);

impl Schema {
    /// Builds a schema of its text.
    pub fn new(text: &str) -> Schema {
        let build = || {
            let schema: Value = serde_json::from_str(text).map_err(|error| error.to_string())?;
            jsonschema::draft202012::options()
                .should_validate_formats(true)
                .build(&schema)
                .map_err(|error| error.to_string())
        };
        Schema(build())
    }

    /// Checks a document against the schema.
    ///
    /// # Errors
    /// Every breach, with the place in the document.
    pub fn check(&self, document: &Value) -> Result<(), Vec<String>> {
        let validator = self.0.as_ref().map_err(|error| vec![error.clone()])?;
        let breaches: Vec<_> = validator
            .iter_errors(document)
            .map(|error| {
                let place = error.instance_path().to_string();
                format!("{}: {error}", if place.is_empty() { "/" } else { &place })
            })
            .collect();
        if breaches.is_empty() { Ok(()) } else { Err(breaches) }
    }
}

/// Returns whether a document keeps to the record schema; the short way to that answer.
pub fn is_valid(document: &Value) -> bool {
    RECORD.0.as_ref().is_ok_and(|validator| validator.is_valid(document))
}

/// Checks a document against the record schema.
///
/// # Errors
/// Every breach, with the place in the document.
pub fn validate(document: &Value) -> Result<(), Vec<String>> {
    RECORD.check(document)
}
