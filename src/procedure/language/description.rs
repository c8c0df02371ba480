use rhai::{Array, Dynamic, ImmutableString, Map, Position};

use super::super::Fault;
use super::values::{Amount, number, sort_of};
use super::vocabulary::Sort;
use crate::quantity::{Quantity, Unit};

/// A description, `#{ ... }`, that a word takes: as a script's text has it, or as a walk comes by it.
///
/// It is judged here only, for both. What only a walk can tell is of unknown sort in the text, and passes.
#[derive(Debug, Clone, Default)]
pub(crate) struct Description(pub(crate) Vec<Given>);

/// One entry of a description, with where it stands; nowhere on a walk.
#[derive(Debug, Clone)]
pub(crate) struct Given {
    pub(crate) key: String,
    pub(crate) key_at: Position,
    pub(crate) at: Position,
    pub(crate) value: KnownValue,
}

/// A value, as far as it is known.
#[derive(Debug, Clone)]
pub(crate) enum KnownValue {
    Number(f64),
    Text(String),
    /// A number with its unit.
    Quantity(f64, &'static Unit),
    List(Vec<(Position, KnownValue)>),
    Description(Description),
    /// Of this sort only.
    Other(Sort),
}

impl KnownValue {
    fn of(value: &Dynamic) -> KnownValue {
        if let Some(number) = number(value) {
            KnownValue::Number(number)
        } else if let Some(text) = value.read_lock::<ImmutableString>() {
            KnownValue::Text(text.to_string())
        } else if let Some(amount) = value.read_lock::<Amount>() {
            KnownValue::Quantity(amount.unit.from_si(amount.quantity.si()), amount.unit)
        } else if let Some(list) = value.read_lock::<Array>() {
            KnownValue::List(list.iter().map(|item| (Position::NONE, KnownValue::of(item))).collect())
        } else if let Some(map) = value.read_lock::<Map>() {
            KnownValue::Description(Description::of_map(&map))
        } else {
            // Nothing is unknown any more.
            KnownValue::Other(
                Some(sort_of(value)).filter(|sort| *sort != Sort::Unknown).unwrap_or(Sort::Nothing),
            )
        }
    }

    pub(super) fn sort(&self) -> Sort {
        match self {
            KnownValue::Number(_) => Sort::Number,
            KnownValue::Text(_) => Sort::Text,
            KnownValue::Quantity(_, unit) => Sort::Quantity(Some(unit.dimension)),
            KnownValue::List(items) => Sort::of_list(items.iter().map(|(_, item)| item.sort())),
            KnownValue::Description(_) => Sort::Description,
            KnownValue::Other(sort) => *sort,
        }
    }

    /// Returns a quantity of a kind, where it is one.
    pub(super) fn si<T: TryFrom<Quantity>>(&self) -> Option<T> {
        match *self {
            KnownValue::Quantity(number, unit) => T::try_from(Quantity::new(number, unit)?).ok(),
            _ => None,
        }
    }

    pub(super) fn is_text(&self, text: &str) -> bool {
        matches!(self, KnownValue::Text(known) if known == text)
    }
}

impl Description {
    /// Takes the description that a walk gives to a word; anything wrong with it is a fault.
    pub(super) fn of(word: &str, map: &Map) -> Result<Description, Fault> {
        let description = Description::of_map(map);
        let mut first = None;
        description.judge(word, Position::NONE, &mut |_, fault| {
            first.get_or_insert(fault);
        });
        first.map_or(Ok(description), Err)
    }

    fn of_map(map: &Map) -> Description {
        let (key_at, at) = (Position::NONE, Position::NONE);
        let given = |(key, value): (&rhai::Identifier, &Dynamic)| Given {
            key: key.to_string(),
            key_at,
            at,
            value: KnownValue::of(value),
        };
        Description(map.iter().map(given).collect())
    }

    pub(super) fn given(&self, key: &str) -> Option<&Given> {
        self.0.iter().find(|given| given.key == key)
    }

    pub(super) fn text(&self, key: &str) -> Option<String> {
        match &self.given(key)?.value {
            KnownValue::Text(text) => Some(text.clone()),
            _ => None,
        }
    }

    pub(super) fn number(&self, key: &str) -> Option<f64> {
        match self.given(key)?.value {
            KnownValue::Number(number) => Some(number),
            _ => None,
        }
    }

    pub(super) fn quantity(&self, key: &str) -> Option<Quantity> {
        match self.given(key)?.value {
            KnownValue::Quantity(number, unit) => Quantity::new(number, unit),
            _ => None,
        }
    }

    pub(super) fn si<T: TryFrom<Quantity>>(&self, key: &str) -> Option<T> {
        self.given(key)?.value.si()
    }

    pub(super) fn list(&self, key: &str) -> impl Iterator<Item = &KnownValue> {
        let items = self.given(key).map(|given| match &given.value {
            KnownValue::List(items) => items.as_slice(),
            _ => &[],
        });
        items.unwrap_or_default().iter().map(|(_, item)| item)
    }

    pub(super) fn texts(&self, key: &str) -> Vec<String> {
        let text =
            |item: &KnownValue| if let KnownValue::Text(text) = item { Some(text.clone()) } else { None };
        self.list(key).filter_map(text).collect()
    }

    pub(crate) fn part(&self, key: &str) -> Option<&Description> {
        match &self.given(key)?.value {
            KnownValue::Description(part) => Some(part),
            _ => None,
        }
    }

    pub(super) fn asked_unit(&self) -> Option<&'static Unit> {
        Unit::by_text(&self.text("unit")?)
    }
}
