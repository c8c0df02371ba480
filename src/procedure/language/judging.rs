use rhai::Position;

use super::super::{Fault, nearest};
use super::meant::{example, in_written_unit, meant, with_units};
use super::vocabulary::{Key, Sort, keys_of};
use super::{Description, Given, KnownValue};
use crate::leak::{ContextError, LeakKind, Limits, LimitsError, MeasuredBy, Seal};
use crate::quantity::{Dimension, Pressure, Quantity, Temperature, UNITS, Unit};
use crate::record::MOST_OF_A_FIGURE;

/// What `limits` of a circuit says in place of `holds` and `leaks`.
const TO_BE_FOUND: &str = "to be found";
/// The limits of what is to hold, and the words that take them.
const LIMITS: [&str; 2] = ["holds", "leaks"];
const JUDGED: [&str; 3] = ["circuit", "read", "trial"];

/// Takes what is wrong with a description, and where.
type Found<'a> = &'a mut dyn FnMut(Position, Fault);

impl Description {
    /// Judges the description of a word: its keys, what they hold, and what that means together.
    pub(crate) fn judge(&self, word: &str, at: Position, found: Found<'_>) {
        let keys = keys_of(word);
        let is_limit = |key: &str| JUDGED.contains(&word) && LIMITS.contains(&key);
        let is_later =
            |given: &Given| word == "circuit" && is_limit(&given.key) && given.value.is_text(TO_BE_FOUND);
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
        if let (Some(ports), None) = (self.given("ports"), self.given("picture")) {
            let fault = Fault::of("ports lie on a picture, and none is named");
            found(ports.key_at, fault.help("write picture: \"body.png\", before ports"));
        }
        // Said of both, it is still one slip.
        let later = self.0.iter().find(|given| is_later(given));
        if let Some(given) = later {
            let fault = Fault::of("that limits are to be found stands in a line of its own");
            found(given.at, fault.help("write limits: \"to be found\" in place of holds and leaks"));
        }
        let is_settled = later.is_some() || ["limits", "between"].iter().any(|key| self.given(key).is_some());
        // Of two limits neither is of use alone.
        let is_half = LIMITS.iter().any(|limit| self.given(limit).is_some());
        let is_needed =
            |key: &Key| if is_limit(key.name) { (key.needed || is_half) && !is_settled } else { key.needed };
        for key in keys.iter().filter(|key| is_needed(key)) {
            if self.given(key.name).is_none() && !meant.contains(&key.name) {
                let or = if is_limit(key.name) && key.needed { ", or limits: \"to be found\"" } else { "" };
                let help = format!("write {}: {}{or}", key.name, example(key));
                found(at, Fault::of(format!("{word} needs {}", key.name)).help(help));
            }
        }
        self.judge_whole(word, at, found);
    }

    /// Judges what keys mean together.
    fn judge_whole(&self, word: &str, at: Position, found: Found<'_>) {
        match word {
            word if JUDGED.contains(&word) => {
                self.judge_limits(found);
                self.judge_leak(found);
            }
            "ask_number" => self.judge_asked(found),
            "ask_count" => self.judge_counted(found),
            "procedure" => self.judge_version(found),
            "land" => {
                self.judge_land(found);
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
            ContextError::Lands(_) => ("lands", String::new()),
            ContextError::Expansion(_) => ("valve", String::new()),
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
            (Sort::Description, KnownValue::Description(inner)) if name == "ports" => {
                inner.judge_ports(found)
            }
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
            (Sort::Number, KnownValue::Number(number)) if !(0.0..=MOST_OF_A_FIGURE).contains(number) => {
                let which = match *number > 0.0 {
                    true => format!("0 to {MOST_OF_A_FIGURE}"),
                    false => format!("zero or more, not {number}"),
                };
                found(at, wrong(&format!("is a plain number, {which}")));
            }
            (wanted, value) if !wanted.takes(value.sort()) => {
                let fault = wrong(&format!("is a {wanted}, not a {}", value.sort()));
                let meant = meant(key, value).unwrap_or_else(|| example(key));
                found(at, fault.help(format!("write {name}: {meant}")));
            }
            _ => {}
        }
    }

    /// Judges where ports are said to lie.
    fn judge_ports(&self, found: Found<'_>) {
        for port in &self.0 {
            let is_list =
                |sort: Sort| matches!(sort, Sort::Unknown | Sort::List(Sort::Unknown | Sort::Number));
            let is_known = matches!(port.value, KnownValue::List(_)) || !is_list(port.value.sort());
            if is_known && port.value.point().is_none() {
                let fault = Fault::of(format!("where port {} lies is not two whole numbers", port.key));
                let help = "write the pixels from the left edge and from the upper edge, as in [412, 230]";
                found(port.at, fault.help(help));
            }
        }
    }

    fn judge_limits(&self, found: Found<'_>) {
        if let Some(Given { at, value: KnownValue::Text(text), .. }) = self.given("limits") {
            return self.judge_to_be_found(*at, text, found);
        }
        if let Some(between) = self.given("between") {
            return self.judge_window(between, found);
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
                    LimitsError::Order { .. } | LimitsError::Window { .. } => found(leaks.at, fault),
                }
            }
            Some(Ok(limits)) if is_mixed => {
                let other = Quantity::new(*leaks_number, holds_unit).and_then(|q| Pressure::try_from(q).ok());
                // Of the two, inHg is what limits are mostly given in.
                let is_likely = holds_unit.word == "inHg"
                    && other.is_some_and(|other| Limits::new(limits.upper(), other).is_ok());
                let help = match is_likely {
                    true => in_one("leaks", *leaks_number, holds_unit),
                    false => "give both limits in one unit".to_owned(),
                };
                found(leaks.at, mixed.help(help));
            }
            _ => {}
        }
    }

    fn judge_to_be_found(&self, at: Position, text: &str, found: Found<'_>) {
        let is_given = LIMITS.iter().any(|limit| self.given(limit).is_some());
        if text != TO_BE_FOUND {
            let help = format!("write holds: 20.inHg, leaks: 15.inHg, or limits: \"{TO_BE_FOUND}\"");
            found(at, Fault::of(format!("limits of circuit is not \"{text}\"")).help(help));
        } else if is_given || self.given("between").is_some() {
            let fault = Fault::of("limits are to be found, and given as well");
            found(at, fault.help("leave the line with limits out once they are known"));
        }
    }

    /// Judges what a leak is said to be, and what seals.
    fn judge_leak(&self, found: Found<'_>) {
        self.judge_word("kind", LeakKind::ALL.map(LeakKind::word), found);
        self.judge_word("seal", Seal::ALL.map(Seal::word), found);
        if let (Some(seal), Some(_)) = (self.given("seal"), self.given("land")) {
            let fault = Fault::of("what seals by touching has no clearance around a land");
            found(
                seal.at,
                fault.help("keep land for a valve in its bore, or seal for a lip or an elastomer"),
            );
        }
    }

    /// Judges what a land is said to be besides its size.
    fn judge_land(&self, found: Found<'_>) {
        self.judge_word("measured", MeasuredBy::ALL.map(MeasuredBy::word), found);
        if let Some(Given { at, value: KnownValue::Number(number), .. }) = self.given("lands")
            && (number.fract() != 0.0 || !(1.0..=9.0).contains(number))
        {
            let fault = Fault::of(format!("lands counts the equal lands in a row, 1 to 9, not {number}"));
            found(*at, fault.help("write lands: 2"));
        }
        let metals = [self.given("valve"), self.given("bore")];
        for given in metals.into_iter().flatten() {
            let is_known = given.value.sort() == Sort::Unknown || self.expansion(&given.key).is_some();
            if !is_known {
                let said = match &given.value {
                    KnownValue::Text(text) => format!("\"{text}\""),
                    _ => given.key.clone(),
                };
                let fault = Fault::of(format!("{said} is no metal whose expansion is known here"));
                let help = "write \"steel\", \"aluminium\", or how much it grows in millionths per kelvin, as in 18.5";
                found(given.at, fault.help(help));
            }
        }
        if let [Some(given), None] | [None, Some(given)] = metals {
            let fault = Fault::of("how a clearance grows takes the metals of both valve and bore");
            found(given.key_at, fault.help("write valve: \"steel\", bore: \"aluminium\""));
        }
    }

    /// Judges a text that is one of a few.
    fn judge_word<const N: usize>(&self, key: &str, known: [&str; N], found: Found<'_>) {
        if let Some(Given { at, value: KnownValue::Text(text), .. }) = self.given(key)
            && !known.contains(&text.as_str())
        {
            let words = known.map(|word| format!("\"{word}\"")).join(" or ");
            found(*at, Fault::of(format!("{key} is not \"{text}\"")).help(format!("write {words}")));
        }
    }

    fn judge_window(&self, between: &Given, found: Found<'_>) {
        if LIMITS.iter().any(|limit| self.given(limit).is_some()) {
            let fault = Fault::of("it is to hold or to be open, not both");
            let help =
                "keep holds and leaks for what is to hold, or between for a passage that is to be open";
            return found(between.at, fault.help(help));
        }
        match (&between.value, self.limits()) {
            (KnownValue::List(items), _) if items.len() != 2 => {
                let fault = Fault::of("between takes two standard readings");
                found(between.at, fault.help("write between: [8.inHg, 12.inHg]"));
            }
            (_, Some(Err(error))) => found(between.at, limits_fault(&error)),
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

    /// Judges the limits of `ask_count`.
    fn judge_counted(&self, found: Found<'_>) {
        let [low, high] = ["low", "high"].map(|key| self.given(key));
        for given in [low, high].into_iter().flatten() {
            if let KnownValue::Number(number) = given.value
                && number.fract() != 0.0
            {
                let fault = Fault::of(format!("{} of ask_count is a whole number, not {number}", given.key));
                found(given.at, fault.help("to measure, write ask_number and a unit"));
            }
        }
        match (self.number("low"), self.number("high"), low, high) {
            (Some(0.0), _, Some(low), _) => {
                found(low.at, Fault::of("no count is below 0").help("leave low out"));
            }
            (Some(fewest), Some(most), _, Some(high)) if fewest > most => {
                found(high.at, Fault::of("low is above high").help("swap the two"));
            }
            _ => {}
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
}

fn limits_fault(error: &LimitsError) -> Fault {
    match error {
        LimitsError::Range(limit) => Fault::of(format!("a limit of {limit} is not a standard reading"))
            .help("it lies above 0 and below 25 inHg, which a circuit without any leak reads"),
        LimitsError::Order { holds, leaks } => Fault::of(format!(
            "a circuit cannot leak at {leaks} and hold only from {holds}: more vacuum is less leak"
        ))
        .help("the limit for leaking must not be above that for holding, so swap the two"),
        LimitsError::Window { from, to } => Fault::of(format!("nothing reads between {from} and {to}"))
            .help("the smaller vacuum stands first, so swap the two"),
    }
}
