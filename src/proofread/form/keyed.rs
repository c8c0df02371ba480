use std::collections::BTreeMap;

use super::{FormError, Gatherer, Item};

/// What a form's head has for the shop's own use: it may be keyed in, and answers nothing.
const FOR_THE_SHOP: [&str; 4] = ["date", "unit no.", "gauge", "orifice"];

/// Fields of a form's head and foot.
const NAMED: [&str; 5] = ["technician", "barometer", "plugged", "through", "check"];

/// What stands for a tick.
const TICKS: [&str; 5] = ["x", "ok", "yes", "y", "done"];

/// What was keyed in of a form.
pub(super) struct Keyed(BTreeMap<String, Vec<Value>>);

/// A value of a field.
struct Value {
    /// The line that it stands on, from 1.
    line: usize,
    text: String,
    /// Whether a question asked for it.
    is_used: bool,
}

impl Keyed {
    /// Reads the lines of a form, each field with its values.
    pub(super) fn of(form: &str) -> Result<Keyed, FormError> {
        let mut fields: BTreeMap<String, Vec<Value>> = BTreeMap::new();
        for (n, line) in form.lines().enumerate() {
            let (text, line) = (line.trim(), n + 1);
            if text.is_empty() || text.starts_with('#') {
                continue;
            }
            let (field, values) = text.split_once(':').ok_or(FormError::Line(line))?;
            let field = field.trim().to_lowercase();
            let known = fields.entry(field.clone()).or_default();
            if let Some(first) = known.first().filter(|_| field != "check") {
                return Err(FormError::Field(format!(
                    "field {field} stands on line {} and on line {line}; write what was read again behind a semicolon, as \
                     in 12: 15.2; 15.4, or put its own number before the other",
                    first.line
                )));
            }
            let values = values.split(';');
            known.extend(values.map(|value| Value { line, text: value.trim().to_owned(), is_used: false }));
        }
        Ok(Keyed(fields))
    }

    /// Checks that every field stands on the form.
    pub(super) fn belong_on(&self, form: &Gatherer) -> Result<(), FormError> {
        let n_fields = form.items().filter(|(_, item)| item.is_field()).count();
        for (field, values) in &self.0 {
            let is_number = field.parse().is_ok_and(|number: usize| (1..=n_fields).contains(&number));
            let is_named = NAMED.iter().chain(&FOR_THE_SHOP).any(|named| named == field);
            if !is_number && !is_named {
                return Err(FormError::Field(format!(
                    "line {}: the form has no field \"{field}\"; its fields go from 1 to {n_fields}, besides {}",
                    values.first().map_or(0, |value| value.line),
                    NAMED.join(", ")
                )));
            }
        }
        Ok(())
    }

    /// Returns the value of a field that stands at a place in it, from 0; it has been asked for then.
    pub(super) fn value(&mut self, field: &str, place: usize) -> Option<String> {
        let value = self.0.get_mut(field)?.get_mut(place).filter(|value| !value.text.is_empty())?;
        value.is_used = true;
        Some(value.text.clone())
    }

    /// Says of every value that no question asked for that it is left out, in the order of the lines; what is only ticked
    /// is no answer.
    pub(super) fn left_out(&self, form: &Gatherer) -> Vec<String> {
        let fields: Vec<&Item> = form.items().map(|(_, item)| item).filter(|item| item.is_field()).collect();
        let is_ticked = |field: &str| {
            let item = field.parse().ok().and_then(|number: usize| fields.get(number.checked_sub(1)?));
            item.is_some_and(|item| item.is_ticked())
        };
        let mut left: Vec<(usize, String)> = Vec::new();
        for (field, values) in self.0.iter().filter(|(field, _)| !FOR_THE_SHOP.contains(&field.as_str())) {
            let was_asked = values.iter().any(|value| value.is_used);
            let is_tick = |text: &str| is_ticked(field) && TICKS.contains(&text.to_lowercase().as_str());
            let lost = values.iter().filter(|value| !value.is_used && !value.text.is_empty());
            for value in lost.filter(|value| !is_tick(&value.text)) {
                let why = if is_ticked(field) {
                    "there is nothing to fill in; look whose number that was to be"
                } else if was_asked {
                    "what stands before it decides"
                } else {
                    "no answer before it leads there"
                };
                left.push((value.line, format!("line {}: field {field}, {}: {why}", value.line, value.text)));
            }
        }
        left.sort();
        left.into_iter().map(|(_, text)| text).collect()
    }
}
