use rhai::{Dynamic, Map};

use super::super::{Fault, nearest};
use super::{Amount, keys_of};
use crate::quantity::{Dimension, Quantity, UNITS};

/// Reads the keys of a map that a script passes to a word; each must be known and of the right kind.
pub(crate) struct Fields<'a> {
    word: &'static str,
    map: &'a Map,
}

impl<'a> Fields<'a> {
    /// Takes the map of a word, whose keys must all be known.
    pub(crate) fn new(word: &'static str, map: &'a Map) -> Result<Fields<'a>, Fault> {
        match map.keys().find(|key| !knows(word, key)) {
            Some(key) => Err(unknown_key(word, key)),
            None => Ok(Fields { word, map }),
        }
    }

    /// Returns a value, which must be there.
    pub(crate) fn required(&self, key: &str, example: &str) -> Result<&'a Dynamic, Fault> {
        self.map.get(key).ok_or_else(|| {
            Fault::of(format!("{} needs {key}", self.word)).help(format!("write {key}: {example}"))
        })
    }

    /// Returns whether a key is there.
    pub(crate) fn has(&self, key: &str) -> bool {
        self.map.contains_key(key)
    }

    /// Returns a text that must be there and not be empty.
    pub(crate) fn text(&self, key: &str, example: &str) -> Result<String, Fault> {
        text(self.word, key, self.required(key, example)?)
    }

    /// Returns a text that may be left out.
    pub(crate) fn optional_text(&self, key: &str) -> Result<Option<String>, Fault> {
        self.map.get(key).map(|value| text(self.word, key, value)).transpose()
    }

    /// Returns texts that may be left out.
    pub(crate) fn texts(&self, key: &str) -> Result<Vec<String>, Fault> {
        let Some(value) = self.map.get(key) else { return Ok(Vec::new()) };
        let list = value.clone().into_array().map_err(|found| {
            Fault::of(format!("{key} of {} is a list, not {found}", self.word))
                .help(format!("write {key}: [\"...\", \"...\"]"))
        })?;
        list.iter().map(|value| text(self.word, key, value)).collect()
    }

    /// Returns maps that may be left out.
    pub(crate) fn maps(&self, key: &str) -> Result<Vec<Map>, Fault> {
        let Some(value) = self.map.get(key) else { return Ok(Vec::new()) };
        let wrong = |_| {
            Fault::of(format!("{key} of {} is a list of descriptions", self.word))
                .help(format!("write {key}: [#{{ ... }}]"))
        };
        let list = value.clone().into_array().map_err(wrong)?;
        list.into_iter()
            .map(|value| value.try_cast_result::<Map>().map_err(|value| wrong(value.type_name())))
            .collect()
    }

    /// Returns a map that may be left out.
    pub(crate) fn map(&self, key: &str) -> Result<Option<Map>, Fault> {
        let Some(value) = self.map.get(key) else { return Ok(None) };
        let wrong = |_| {
            Fault::of(format!("{key} of {} is a description", self.word))
                .help(format!("write {key}: #{{ ... }}"))
        };
        value.clone().try_cast_result::<Map>().map(Some).map_err(wrong)
    }

    /// Returns a quantity that may be left out.
    pub(crate) fn optional_quantity(
        &self,
        key: &str,
        dimension: Dimension,
    ) -> Result<Option<Quantity>, Fault> {
        self.map
            .get(key)
            .map(|value| quantity(&format!("{key} of {}", self.word), value, dimension))
            .transpose()
    }

    /// Returns a quantity that must be there.
    pub(crate) fn quantity(&self, key: &str, dimension: Dimension) -> Result<Quantity, Fault> {
        let value = self.required(key, &example(dimension))?;
        quantity(&format!("{key} of {}", self.word), value, dimension)
    }

    /// Returns a plain number, zero or above, that may be left out.
    pub(crate) fn number(&self, key: &str) -> Result<Option<f64>, Fault> {
        let Some(value) = self.map.get(key) else { return Ok(None) };
        let number = number(value).filter(|number| number.is_finite() && *number >= 0.0);
        match number {
            Some(number) => Ok(Some(number)),
            None => {
                let found = value.type_name();
                Err(Fault::of(format!("{key} of {} is a plain number, zero or more, not {found}", self.word)))
            }
        }
    }
}

/// Returns whether the description of a word may have this key.
pub(crate) fn knows(word: &str, key: &str) -> bool {
    keys_of(word).iter().any(|known| known.name == key)
}

/// Says that a key is not known, and which one may have been meant.
pub(crate) fn unknown_key(word: &str, key: &str) -> Fault {
    let known: Vec<_> = keys_of(word).iter().map(|known| known.name).collect();
    let fault = Fault::of(format!("{word} knows no key \"{key}\""));
    match nearest(key, known.iter().copied()) {
        Some(near) => fault.help(format!("did you mean \"{near}\"?")),
        None => fault.help(format!("it knows {}", known.join(", "))),
    }
}

/// Returns a number, whole or not; integers serve wherever floats do.
pub(crate) fn number(value: &Dynamic) -> Option<f64> {
    #[expect(clippy::cast_precision_loss, reason = "a script's integers are small")]
    value.as_float().ok().or_else(|| value.as_int().ok().map(|whole| whole as f64))
}

fn text(word: &str, key: &str, value: &Dynamic) -> Result<String, Fault> {
    let text = value
        .clone()
        .into_string()
        .map_err(|found| Fault::of(format!("{key} of {word} is a text in double quotes, not {found}")))?;
    if text.trim().is_empty() {
        return Err(Fault::of(format!("{key} of {word} is empty")).help("write it, or leave the key out"));
    }
    Ok(text)
}

/// Returns a quantity of one dimension; says what to write where it is a bare number or of another kind.
pub(crate) fn quantity(what: &str, value: &Dynamic, dimension: Dimension) -> Result<Quantity, Fault> {
    if let Some(amount) = value.read_lock::<Amount>() {
        let found = amount.quantity.dimension();
        if found == dimension {
            return Ok(amount.quantity);
        }
        return Err(Fault::of(format!("{what} is a {dimension}, not a {found}"))
            .help(format!("write {}", example(dimension))));
    }
    match number(value) {
        Some(number) => {
            Err(Fault::of(format!("{what} needs a unit")).help(format!("write {number}.{}", word(dimension))))
        }
        None => {
            Err(Fault::of(format!("{what} is a {dimension}")).help(format!("write {}", example(dimension))))
        }
    }
}

fn word(dimension: Dimension) -> &'static str {
    UNITS.iter().find(|unit| unit.dimension == dimension).map_or("", |unit| unit.word)
}

fn example(dimension: Dimension) -> String {
    let units: Vec<_> =
        UNITS.iter().filter(|unit| unit.dimension == dimension).map(|unit| unit.word).collect();
    match units.as_slice() {
        [one] => format!("20.{one}"),
        [one, other, ..] => format!("20.{one} or 20.{other}"),
        [] => String::new(),
    }
}
