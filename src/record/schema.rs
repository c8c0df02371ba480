use std::sync::LazyLock;

use jsonschema::Validator;
use serde_json::Value;

/// The schema that every record validates against.
pub const RECORD_SCHEMA: &str = include_str!("../../schemas/record.schema.json");

/// The built validator, or why the schema that is built in is no schema.
static VALIDATOR: LazyLock<Result<Validator, String>> = LazyLock::new(|| {
    let schema: Value = serde_json::from_str(RECORD_SCHEMA).map_err(|error| error.to_string())?;
    jsonschema::draft202012::options()
        .should_validate_formats(true)
        .build(&schema)
        .map_err(|error| error.to_string())
});

/// Returns whether a document keeps to the record schema; the short way to that answer.
pub fn is_valid(document: &Value) -> bool {
    VALIDATOR.as_ref().is_ok_and(|validator| validator.is_valid(document))
}

/// Checks a document against the record schema.
///
/// # Errors
/// Every breach, with the place in the document.
pub fn validate(document: &Value) -> Result<(), Vec<String>> {
    let validator = VALIDATOR.as_ref().map_err(|error| vec![error.clone()])?;
    let breaches: Vec<_> = validator
        .iter_errors(document)
        .map(|error| {
            let place = error.instance_path().to_string();
            format!("{}: {error}", if place.is_empty() { "/" } else { &place })
        })
        .collect();
    if breaches.is_empty() { Ok(()) } else { Err(breaches) }
}
