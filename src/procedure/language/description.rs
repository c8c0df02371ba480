use rhai::{Dynamic, Map, Position};

use super::super::{Fault, Title, nearest};
use super::meant::{example, in_written_unit, meant, with_units};
use super::values::{Amount, number, sort_of};
use super::vocabulary::{Key, Sort, keys_of};
use crate::leak::{ContextError, Land, Limits, LimitsError, OilState};
use crate::oil::{Oil, TYPICAL_DENSITY, ViscosityPoint, Walther};
use crate::quantity::{
    Dimension, Length, Pressure, Quantity, Temperature, UNITS, Unit, Viscosity, VolumeFlow,
};
use crate::record::{Circuit, Repair};

/// What `limits` of a circuit says in place of `holds` and `leaks`.
const TO_BE_FOUND: &str = "to be found";
const LIMITS: [&str; 2] = ["holds", "leaks"];

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
        } else if let Ok(text) = value.clone().into_string() {
            KnownValue::Text(text)
        } else if let Some(amount) = value.read_lock::<Amount>() {
            KnownValue::Quantity(amount.unit.from_si(amount.quantity.si()), amount.unit)
        } else if let Ok(list) = value.clone().into_array() {
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

    fn sort(&self) -> Sort {
        match self {
            KnownValue::Number(_) => Sort::Number,
            KnownValue::Text(_) => Sort::Text,
            KnownValue::Quantity(_, unit) => Sort::Quantity(Some(unit.dimension)),
            KnownValue::List(items) => Sort::of_list(items.iter().map(|(_, item)| item.sort())),
            KnownValue::Description(_) => Sort::Description,
            KnownValue::Other(sort) => *sort,
        }
    }

    fn is_text(&self, text: &str) -> bool {
        matches!(self, KnownValue::Text(known) if known == text)
    }
}

/// Takes what is wrong with a description, and where.
type Found<'a> = &'a mut dyn FnMut(Position, Fault);

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

    /// Judges the description of a word: its keys, what they hold, and what that means together.
    pub(crate) fn judge(&self, word: &str, at: Position, found: Found<'_>) {
        let keys = keys_of(word);
        let is_limit = |key: &str| word == "circuit" && LIMITS.contains(&key);
        let is_later = |given: &Given| is_limit(&given.key) && given.value.is_text(TO_BE_FOUND);
        let mut meant = Vec::new();
        for given in &self.0 {
            let Some(key) = keys.iter().find(|key| key.name == given.key) else {
                let near = nearest(&given.key, keys.iter().map(|key| key.name));
                meant.extend(near);
                let known = keys.iter().map(|key| key.name).collect::<Vec<_>>().join(", ");
                let help =
                    near.map_or(format!("it knows {known}"), |near| format!("did you mean \"{near}\"?"));
                found(given.key_at, Fault::of(format!("{word} knows no key \"{}\"", given.key)).help(help));
                continue;
            };
            if !is_later(given) {
                self.judge_value(word, key, given, found);
            }
        }
        // Said of both, it is still one slip.
        let later = self.0.iter().find(|given| is_later(given));
        if let Some(given) = later {
            let fault = Fault::of("that limits are to be found stands in a line of its own");
            found(given.at, fault.help("write limits: \"to be found\" in place of holds and leaks"));
        }
        let is_open = later.is_some() || word == "circuit" && self.given("limits").is_some();
        for key in keys.iter().filter(|key| key.needed && !(is_open && is_limit(key.name))) {
            if self.given(key.name).is_none() && !meant.contains(&key.name) {
                let or = if is_limit(key.name) { ", or limits: \"to be found\"" } else { "" };
                let help = format!("write {}: {}{or}", key.name, example(key));
                found(at, Fault::of(format!("{word} needs {}", key.name)).help(help));
            }
        }
        match word {
            "circuit" => self.judge_limits(found),
            "ask_number" => self.judge_asked(found),
            "procedure" => self.judge_version(found),
            "land" => {
                let fits = |other: &Description| matches!(other.land(), Some(Ok(_)));
                self.judge_sizes(self.land().and_then(Result::err), at, fits, found);
            }
            "oil" => {
                let made = self.fluid().and_then(Result::err).map(Fault::of);
                made.into_iter().for_each(|fault| found(at, fault));
                let fits = |other: &Description| matches!(other.oil(), Some(Ok(_)));
                self.judge_sizes(self.oil().and_then(Result::err), at, fits, found);
            }
            _ => {}
        }
    }

    /// Reports a size that cannot be, at the entry that it stands in.
    fn judge_sizes(
        &self,
        error: Option<ContextError>,
        at: Position,
        fits: impl Fn(&Description) -> bool,
        found: Found<'_>,
    ) {
        let Some(error) = error else { return };
        let (key, shown) = match error {
            ContextError::Diameter(diameter) => ("diameter", diameter.to_string()),
            ContextError::Length(length) => ("length", length.to_string()),
            ContextError::Eccentricity(_) => ("eccentricity", String::new()),
            ContextError::Pressure(pressure) => ("pressure", pressure.to_string()),
            ContextError::Delivery(delivery) => ("delivery", delivery.to_string()),
            ContextError::Oil(_) => {
                ("temperature", self.si("temperature").map_or(String::new(), |t: Temperature| t.to_string()))
            }
        };
        let fault = Fault::of(error.to_string());
        let Some(given) = self.given(key) else { return found(at, fault) };
        found(given.at, in_written_unit(fault, given, &shown, |value| fits(&self.with(key, value))));
    }

    /// Returns the description with another value behind a key.
    fn with(&self, key: &str, value: KnownValue) -> Description {
        let mut other = self.clone();
        let changed = other.0.iter_mut().find(|given| given.key == key);
        changed.into_iter().for_each(|given| given.value = value.clone());
        other
    }

    fn judge_value(&self, word: &str, key: &Key, given: &Given, found: Found<'_>) {
        let (name, at) = (key.name, given.at);
        let wrong = |what: &str| Fault::of(format!("{name} of {word} {what}"));
        let is_blank = |value: &KnownValue| matches!(value, KnownValue::Text(text) if text.trim().is_empty());
        match (key.sort, &given.value) {
            (Sort::Description, KnownValue::Description(inner)) => inner.judge(name, given.key_at, found),
            (Sort::List(of), KnownValue::List(items)) => {
                for (at, item) in items {
                    match item {
                        KnownValue::Description(inner) if *of == Sort::Description => {
                            inner.judge(name, *at, found)
                        }
                        item if !of.takes(item.sort()) => {
                            let fault = wrong(&format!("is a {}, with a {} in it", key.sort, item.sort()));
                            return found(*at, fault.help(format!("write {name}: {}", example(key))));
                        }
                        item if is_blank(item) => {
                            found(*at, wrong("has an empty text in it").help("leave it out"))
                        }
                        _ => {}
                    }
                }
            }
            (Sort::Text, value) if is_blank(value) => {
                found(at, wrong("is empty").help("write it, or leave the key out"));
            }
            (Sort::Quantity(dimension), KnownValue::Number(number)) => {
                let meant = match (self.asked_unit(), dimension) {
                    (Some(unit), None) => format!("{number}.{}", unit.word),
                    (_, dimension) => with_units(name, dimension.unwrap_or(Dimension::Pressure), *number),
                };
                found(at, wrong("needs a unit").help(format!("write {meant}")));
            }
            (Sort::Number, KnownValue::Number(number)) if !number.is_finite() || *number < 0.0 => {
                found(at, wrong(&format!("is a plain number, zero or more, not {number}")));
            }
            (wanted, value) if !wanted.takes(value.sort()) => {
                let fault = wrong(&format!("is a {wanted}, not a {}", value.sort()));
                let meant = meant(key, value).unwrap_or_else(|| example(key));
                found(at, fault.help(format!("write {name}: {meant}")));
            }
            _ => {}
        }
    }

    fn judge_limits(&self, found: Found<'_>) {
        if let Some(Given { at, value: KnownValue::Text(text), .. }) = self.given("limits") {
            let is_given = LIMITS.iter().any(|limit| self.given(limit).is_some());
            if text != TO_BE_FOUND {
                let help = format!("write holds: 20.inHg, leaks: 15.inHg, or limits: \"{TO_BE_FOUND}\"");
                found(*at, Fault::of(format!("limits of circuit is not \"{text}\"")).help(help));
            } else if is_given {
                let fault = Fault::of("limits are to be found, and given as well");
                found(*at, fault.help("leave the line with limits out once holds and leaks are known"));
            }
            return;
        }
        let [Some(holds), Some(leaks)] = LIMITS.map(|limit| self.given(limit)) else { return };
        let (KnownValue::Quantity(holds_number, holds_unit), KnownValue::Quantity(leaks_number, leaks_unit)) =
            (&holds.value, &leaks.value)
        else {
            return;
        };
        // On a walk they may well come by different ways.
        let is_mixed = holds_unit != leaks_unit && !holds.at.is_none();
        let mixed =
            Fault::of(format!("holds is in {} and leaks in {}", holds_unit.symbol, leaks_unit.symbol));
        let in_one = |key: &str, number: f64, unit: &Unit| {
            let (symbol, word) = (unit.symbol, unit.word);
            format!(
                "give both limits in one unit; if {number} {symbol} is meant, write {key}: {number}.{word}"
            )
        };
        match self.limits() {
            Some(Err(_)) if is_mixed => {
                found(holds.at, mixed.help(in_one("holds", *holds_number, leaks_unit)));
            }
            Some(Err(error)) => {
                let is_holds = matches!(error, LimitsError::Range(limit) if self.si("holds") == Some(limit));
                let fault = limits_fault(&error);
                match error {
                    LimitsError::Range(limit) => {
                        let given = if is_holds { holds } else { leaks };
                        let fits = |value| matches!(self.with(&given.key, value).limits(), Some(Ok(_)));
                        found(given.at, in_written_unit(fault, given, &limit.to_string(), fits));
                    }
                    LimitsError::Order { .. } => found(leaks.at, fault),
                }
            }
            Some(Ok(limits)) if is_mixed => {
                let other = Quantity::new(*leaks_number, holds_unit).and_then(|q| Pressure::try_from(q).ok());
                // Of the two, inHg is what limits are mostly given in.
                let is_likely = holds_unit.word == "inHg"
                    && other.is_some_and(|other| Limits::new(limits.holds(), other).is_ok());
                let help = match is_likely {
                    true => in_one("leaks", *leaks_number, holds_unit),
                    false => "give both limits in one unit".to_owned(),
                };
                found(leaks.at, mixed.help(help));
            }
            _ => {}
        }
    }

    /// Judges the limits of `ask_number` by its unit and each other.
    fn judge_asked(&self, found: Found<'_>) {
        let Some(Given { at, value: KnownValue::Text(text), .. }) = self.given("unit") else { return };
        let Some(unit) = self.asked_unit() else {
            let near = nearest(text, UNITS.iter().map(|unit| unit.symbol));
            let usual = || "write it like \"mm\", \"psi\" or \"ohm\"".to_owned();
            let help = near.map_or_else(usual, |near| format!("did you mean \"{near}\"?"));
            return found(*at, Fault::of(format!("\"{text}\" is no known unit")).help(help));
        };
        for given in ["low", "high"].iter().filter_map(|key| self.given(key)) {
            if let Sort::Quantity(Some(dimension)) = given.value.sort()
                && dimension != unit.dimension
            {
                let asked = format!("but the answer is asked for in {}", unit.symbol);
                let fault = Fault::of(format!("{} is a {dimension}, {asked}", given.key));
                found(given.at, fault.help(format!("write it as in 20.{}", unit.word)));
            }
        }
        if let (Some(low), Some(high)) = (self.quantity("low"), self.quantity("high"))
            && low.dimension() == high.dimension()
            && low.si() > high.si()
        {
            let at = self.given("high").map_or(Position::NONE, |high| high.at);
            found(at, Fault::of("low is above high").help("swap the two"));
        }
    }

    fn judge_version(&self, found: Found<'_>) {
        let number = |part: &&str| part.len() <= 6 && part.parse::<u32>().is_ok() && !part.starts_with('+');
        if let Some(Given { at, value: KnownValue::Text(text), .. }) = self.given("version")
            && !(text.split('.').count() == 3 && text.split('.').all(|part| number(&part)))
        {
            let fault = Fault::of("a version is three numbers with points between");
            found(*at, fault.help("write it as in \"1.0.0\""));
        }
    }

    fn given(&self, key: &str) -> Option<&Given> {
        self.0.iter().find(|given| given.key == key)
    }

    pub(super) fn text(&self, key: &str) -> Option<String> {
        match &self.given(key)?.value {
            KnownValue::Text(text) => Some(text.clone()),
            _ => None,
        }
    }

    fn number(&self, key: &str) -> Option<f64> {
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

    fn si<T: TryFrom<Quantity>>(&self, key: &str) -> Option<T> {
        T::try_from(self.quantity(key)?).ok()
    }

    fn list(&self, key: &str) -> impl Iterator<Item = &KnownValue> {
        let items = self.given(key).map(|given| match &given.value {
            KnownValue::List(items) => items.as_slice(),
            _ => &[],
        });
        items.unwrap_or_default().iter().map(|(_, item)| item)
    }

    fn texts(&self, key: &str) -> Vec<String> {
        let text =
            |item: &KnownValue| if let KnownValue::Text(text) = item { Some(text.clone()) } else { None };
        self.list(key).filter_map(text).collect()
    }

    fn part(&self, key: &str) -> Option<&Description> {
        match &self.given(key)?.value {
            KnownValue::Description(part) => Some(part),
            _ => None,
        }
    }

    pub(super) fn asked_unit(&self) -> Option<&'static Unit> {
        Unit::by_text(&self.text("unit")?)
    }

    /// Makes the circuit that was described.
    pub(super) fn circuit(&self) -> Circuit {
        let repairs = self.list("repairs").filter_map(|item| match item {
            KnownValue::Description(repair) => Some(Repair {
                does: repair.text("does").unwrap_or_default(),
                parts: repair.number("parts"),
                hours: repair.number("hours"),
            }),
            _ => None,
        });
        Circuit {
            name: self.text("name").unwrap_or_default(),
            port: self.text("port"),
            set_up: self.text("set_up"),
            limits: self.limits().and_then(Result::ok),
            symptoms: self.texts("symptoms"),
            means: self.text("means"),
            land: self.part("land").and_then(Description::land).and_then(Result::ok),
            repairs: repairs.collect(),
        }
    }

    /// Makes the title that was declared.
    pub(super) fn title(&self) -> Title {
        Title {
            title: self.text("title").unwrap_or_default(),
            unit: self.text("unit"),
            version: self.text("version").unwrap_or_default(),
            symptoms: self.texts("symptoms"),
            replacement: self.number("replacement"),
            oil: self.part("oil").and_then(Description::oil).and_then(Result::ok),
        }
    }

    /// Makes the limits, where both are known.
    fn limits(&self) -> Option<Result<Limits, LimitsError>> {
        Some(Limits::new(self.si("holds")?, self.si("leaks")?))
    }

    /// Makes the land, where its size is known.
    fn land(&self) -> Option<Result<Land, ContextError>> {
        let (diameter, length): (Length, Length) = (self.si("diameter")?, self.si("length")?);
        let eccentricity = self.number("eccentricity").unwrap_or(0.0);
        Some(Land::new(diameter, length, eccentricity))
    }

    /// Makes the oil at work, where its state is known.
    fn oil(&self) -> Option<Result<OilState, ContextError>> {
        let (pressure, temperature): (Pressure, Temperature) =
            (self.si("pressure")?, self.si("temperature")?);
        let delivery: Option<VolumeFlow> = self.si("delivery");
        Some(OilState::new(self.fluid()?.ok()?, pressure, temperature, delivery))
    }

    /// Makes the oil of its two viscosities, or a typical one where they are not given; none where they are not known.
    fn fluid(&self) -> Option<Result<Oil, String>> {
        let at = |celsius: f64, viscosity_m2_s| ViscosityPoint {
            temperature_k: Temperature::constant(celsius + 273.15),
            viscosity_m2_s,
        };
        Some(match (self.given("viscosity_40"), self.given("viscosity_100")) {
            (None, None) => Oil::typical().map_err(|error| error.to_string()),
            (Some(_), Some(_)) => {
                let (cold, hot): (Viscosity, Viscosity) =
                    (self.si("viscosity_40")?, self.si("viscosity_100")?);
                let walther =
                    Walther::new([at(40.0, cold), at(100.0, hot)]).map_err(|error| error.to_string());
                walther.and_then(|law| Oil::new(law, TYPICAL_DENSITY).map_err(|error| error.to_string()))
            }
            _ => Err("oil needs both viscosity_40 and viscosity_100, or neither".to_owned()),
        })
    }
}

fn limits_fault(error: &LimitsError) -> Fault {
    match error {
        LimitsError::Range(limit) => Fault::of(format!("a limit of {limit} is not a standard reading"))
            .help("it lies above 0 and below 25 inHg, which a circuit without any leak reads"),
        LimitsError::Order { holds, leaks } => Fault::of(format!(
            "a circuit cannot leak at {leaks} and hold only from {holds}: more vacuum is less leak"
        ))
        .help("the limit for leaking must not be above that for holding, so swap the two"),
    }
}
