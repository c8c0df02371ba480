//! An answer, and whether it fits its question.

use std::fmt;

use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::{HoseOn, Question, RigStep, Wants};
use crate::air::{AirTemperature, Barometer, BarometerSource};
use crate::quantity::{Dimension, Entry, INCH_OF_MERCURY, Length, Pressure, Quantity, Temperature, Unit};
use crate::rig::gauge::Sample;

/// What a desk answers to a question.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Answer {
    /// A caution was acknowledged, or something was done.
    Confirmed,
    /// Whether it was yes.
    Yes(bool),
    /// One of the options, as the question wrote it.
    Choice(String),
    /// Free text or the technician's name, as typed, trimmed.
    Text(String),
    /// A measured quantity or a reading of the gauge.
    Quantity {
        /// The value as entered.
        entry: Entry,
        /// What a gauge that reads itself sent, where it offered the value.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        samples: Vec<Sample>,
    },
    /// A reading of the gauge with a valve at its stop, before the gauge showed what it should.
    AtStop(Entry),
    /// The barometer.
    Barometer {
        /// As entered.
        entered: String,
        /// What was entered and the station pressure that follows.
        barometer: Barometer,
    },
    /// The temperature of the air.
    AirTemperature {
        /// As entered; none where nobody knew it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        entered: Option<String>,
        /// What follows.
        air: AirTemperature,
    },
    /// Why it could not be done.
    Unable(String),
    /// By what it is known that the unit does not have the circuit under test.
    NotFitted(String),
}

/// Why an answer does not fit its question: a full sentence that says what to do.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("{0}")]
pub struct Refusal(String);

fn refuse<T>(why: impl Into<String>) -> Result<T, Refusal> {
    Err(Refusal(why.into()))
}

impl Question {
    /// Reads an answer as typed.
    pub fn read(&self, text: &str) -> Result<Answer, Refusal> {
        let text = text.trim();
        let answer = match &self.wants {
            Wants::Acknowledgement if text.eq_ignore_ascii_case("ok") => Answer::Confirmed,
            Wants::Acknowledgement => return refuse("Read the caution, then type ok."),
            Wants::Ready if ["", "ok", "done", "ready"].contains(&text.to_lowercase().as_str()) => {
                Answer::Confirmed
            }
            Wants::Ready => {
                return refuse(
                    "Press Enter when it is done, or say why it can't be: cannot, and the reason.",
                );
            }
            Wants::Yes => match yes_or_no(text) {
                Some(yes) => Answer::Yes(yes),
                None => return refuse("Type yes or no."),
            },
            Wants::Wait { .. } if text.is_empty() => Answer::Confirmed,
            Wants::Wait { .. } => return refuse("Press Enter when the time has passed."),
            Wants::Choice { options } | Wants::Decision { options, .. } => {
                Answer::Choice(choose(options, text)?)
            }
            Wants::Text if text.is_empty() => return refuse("Type a few words."),
            Wants::Text | Wants::Technician => Answer::Text(text.to_owned()),
            Wants::Number { .. } | Wants::Reading { .. } => {
                let Some(unit) = self.unit() else { return refuse("This question names no known unit.") };
                if let Some(text) = text.strip_suffix("stop").filter(|_| self.has_stop()) {
                    let entry = Entry::parse(text, unit).map_err(|error| Refusal(sentence(&error)))?;
                    let answer = Answer::AtStop(entry);
                    self.accepts(&answer)?;
                    return Ok(answer);
                }
                Answer::Quantity {
                    entry: Entry::parse(text, unit).map_err(|error| Refusal(sentence(&error)))?,
                    samples: Vec::new(),
                }
            }
            Wants::Barometer => read_barometer(text)?,
            Wants::AirTemperature => read_air(text)?,
        };
        self.accepts(&answer)?;
        Ok(answer)
    }

    /// Reads again what was typed for an answer; none where the answer holds nothing but that, as a quantity does. What
    /// a gauge sent beside it is taken as it is.
    pub(crate) fn read_again(&self, answer: &Answer) -> Result<Option<Answer>, Refusal> {
        match answer {
            Answer::Barometer { entered, .. } => self.read(entered).map(Some),
            Answer::AirTemperature { entered, .. } => {
                self.read(entered.as_deref().unwrap_or_default()).map(Some)
            }
            other => self.accepts(other).map(|()| None),
        }
    }

    /// Checks that an answer, typed or kept, fits this question.
    pub fn accepts(&self, answer: &Answer) -> Result<(), Refusal> {
        match (&self.wants, answer) {
            (Wants::Technician, Answer::Text(text)) if text.is_empty() => {
                refuse("Type your name or initials; the record carries it.")
            }
            (Wants::Acknowledgement | Wants::Ready | Wants::Wait { .. }, Answer::Confirmed)
            | (Wants::Yes, Answer::Yes(_))
            | (Wants::Text | Wants::Technician, Answer::Text(_))
            | (Wants::Barometer, Answer::Barometer { .. })
            | (Wants::AirTemperature, Answer::AirTemperature { .. }) => Ok(()),
            (Wants::Choice { options } | Wants::Decision { options, .. }, Answer::Choice(chosen))
                if options.contains(chosen) =>
            {
                Ok(())
            }
            (Wants::Number { .. }, Answer::Quantity { entry, .. }) => match self.unit() {
                Some(unit) if unit.dimension == entry.dimension() => Ok(()),
                _ => refuse("The answer is in a unit of another kind of quantity."),
            },
            (Wants::Reading { on, deepest_pa, .. }, Answer::Quantity { entry, .. }) => {
                self.reading_fits(on, *deepest_pa, entry)
            }
            (Wants::Reading { on, deepest_pa, .. }, Answer::AtStop(entry)) if self.has_stop() => {
                self.reading_fits(on, *deepest_pa, entry)
            }
            (_, Answer::Unable(why) | Answer::NotFitted(why)) if why.is_empty() => {
                refuse("Say why: cannot, or not fitted, and the reason.")
            }
            (_, Answer::Unable(_)) => self.may_be_left(),
            (_, Answer::NotFitted(_)) if self.circuit.is_none() => {
                refuse("No circuit is under test here. Say it at the circuit that the unit does not have.")
            }
            (_, Answer::NotFitted(_)) => self.may_be_left(),
            _ => refuse("The answer is of another kind than the question."),
        }
    }

    fn reading_fits(&self, on: &HoseOn, deepest_pa: f64, entry: &Entry) -> Result<(), Refusal> {
        let shown = |si: f64| match (self.unit(), Pressure::from_si(si)) {
            (Some(unit), Some(pressure)) => pressure.in_unit(unit),
            _ => format!("{si} Pa"),
        };
        if entry.dimension() != Dimension::Pressure {
            return refuse("A reading is a vacuum, in inHg or kPa.");
        }
        if entry.si < 0.0 {
            return refuse(
                "A vacuum reading is not negative. Check the dial's zero with the hose open, then read again.",
            );
        }
        if entry.si <= deepest_pa {
            return Ok(());
        }
        refuse(match on {
            HoseOn::Circuit { .. } => format!(
                "No circuit can read higher than the plugged hose, and more than {} is more than eye and needle make of it. Read \
                 again; if it stays, the rig has moved: plug the hose, look, and set the rig again.",
                shown(deepest_pa)
            ),
            HoseOn::Rig(_) | HoseOn::Check(_) => {
                "No vacuum is that much higher than the barometer. Read the dial again, and check its zero."
                    .to_owned()
            }
        })
    }

    /// Reads an answer that somebody types now, where a number that can only be a slip is refused. One that stands in a
    /// record is an answer all the same.
    pub fn read_typed(&self, text: &str) -> Result<Answer, Refusal> {
        let answer = self.read(text)?;
        if let (Wants::Number { low, high, .. }, Answer::Quantity { entry, .. }) = (&self.wants, &answer) {
            plausible(&[*low, *high], entry)?;
        }
        Ok(answer)
    }

    /// Returns whether a valve may come to its stop here.
    pub fn has_stop(&self) -> bool {
        matches!(self.wants, Wants::Reading { on: HoseOn::Rig(RigStep::Set(_)), .. })
    }

    /// Checks whether a technician may say `cannot` here.
    fn may_be_left(&self) -> Result<(), Refusal> {
        match self.wants {
            Wants::Acknowledgement => {
                refuse("A caution can't be left out. Park the session if the work can't go on safely.")
            }
            Wants::Decision { .. } => refuse("Choose one; leaving it as it is is a decision too."),
            Wants::Technician | Wants::Barometer => {
                refuse("The record needs this. Park the session if you don't have it.")
            }
            Wants::AirTemperature => refuse("Press Enter where nobody knows it."),
            Wants::Reading { on: HoseOn::Rig(_) | HoseOn::Check(_), .. } => refuse(
                "Nothing can be judged on a rig that isn't set. Park the session and set the rig first.",
            ),
            Wants::Yes | Wants::Choice { .. } if self.circuit.is_none() => {
                refuse("What comes next depends on this answer. Answer it, or park the session.")
            }
            _ => Ok(()),
        }
    }
}

/// Reads yes or no; none where it is neither.
pub(crate) fn yes_or_no(text: &str) -> Option<bool> {
    match text.to_lowercase().as_str() {
        "y" | "yes" => Some(true),
        "n" | "no" => Some(false),
        _ => None,
    }
}

fn choose(options: &[String], text: &str) -> Result<String, Refusal> {
    if let Some(option) = text.parse::<usize>().ok().and_then(|n| options.get(n.wrapping_sub(1))) {
        return Ok(option.clone());
    }
    let folded = text.to_lowercase();
    if let Some(option) = options.iter().find(|option| option.to_lowercase() == folded) {
        return Ok(option.clone());
    }
    let mut starting = options.iter().filter(|option| option.to_lowercase().starts_with(&folded));
    match (starting.next(), starting.next()) {
        (Some(option), None) if !folded.is_empty() => Ok(option.clone()),
        _ => refuse(format!("Type a number from 1 to {}, or the words of one choice.", options.len())),
    }
}

/// More than any barometer shows, in Pa: a decimal point that was left out.
const BEYOND_ALL_AIR: f64 = 40.0 * INCH_OF_MERCURY;

/// Refuses what can only be a slip, unless a limit allows for it.
fn plausible(limits: &[Option<f64>], entry: &Entry) -> Result<(), Refusal> {
    let is_allowed = |beyond: fn(f64) -> bool| limits.iter().flatten().any(|limit| beyond(*limit));
    let is_signed = matches!(
        entry.dimension(),
        Dimension::Temperature | Dimension::TemperatureDifference | Dimension::Voltage | Dimension::Current
    );
    if entry.si < 0.0 && !is_signed && !is_allowed(|limit| limit <= 0.0) {
        return refuse("This can't be below zero. Give the number without a sign, or read again.");
    }
    let is_vacuum = entry.unit.word == "inHg";
    if is_vacuum && entry.si > BEYOND_ALL_AIR && !is_allowed(|limit| limit > BEYOND_ALL_AIR) {
        return refuse("That is more than any barometer shows. Look for the decimal point, or read again.");
    }
    Ok(())
}

/// Reads `29.1 inHg` (station pressure), `5280 ft` (elevation) or `30.11 inHg at 5577 ft` (altimeter setting).
fn read_barometer(text: &str) -> Result<Answer, Refusal> {
    const HOW: &str = "Type the station pressure with its unit (29.1 inHg), the elevation (5280 ft), or a weather \
                       report's figure with the elevation (30.11 inHg at 5577 ft).";
    let pressure = |text: &str| match Unit::by_text("inHg").map(|unit| Entry::parse(text, unit)) {
        Some(Ok(entry)) => entry.quantity().and_then(|q| Pressure::try_from(q).ok()),
        _ => None,
    };
    let length = |text: &str| {
        let metres = Unit::by_text("m")?;
        let has_unit = text.chars().any(char::is_alphabetic);
        let entry = Entry::parse(text, metres).ok().filter(|_| has_unit)?;
        entry.quantity().and_then(|q: Quantity| Length::try_from(q).ok())
    };
    let barometer = match text.split_once(" at ") {
        Some((setting, elevation)) => match (pressure(setting), length(elevation)) {
            (Some(setting), Some(elevation)) => BarometerSource::AltimeterSetting { setting, elevation },
            _ => return refuse(HOW),
        },
        None => match (length(text), pressure(text)) {
            (Some(elevation), _) => BarometerSource::Elevation { elevation },
            (None, Some(pressure)) => BarometerSource::Station { pressure },
            (None, None) => return refuse(HOW),
        },
    };
    match Barometer::new(barometer) {
        Ok(barometer) => Ok(Answer::Barometer { entered: text.to_owned(), barometer }),
        Err(error) => refuse(format!("{} {HOW}", sentence(&error))),
    }
}

/// Reads `22 C` or `72 F`; nothing takes 20 °C.
fn read_air(text: &str) -> Result<Answer, Refusal> {
    const HOW: &str = "Type it with its unit, as in 22 C or 72 F, or press Enter where nobody knows it.";
    if text.is_empty() {
        return Ok(Answer::AirTemperature { entered: None, air: AirTemperature::ASSUMED });
    }
    let has_unit = text.chars().any(char::is_alphabetic);
    if !has_unit && let Ok(bare) = text.replace(',', ".").parse::<f64>() {
        // What is no shop's temperature in degrees Celsius is meant in degrees Fahrenheit.
        let meant = if bare > 50.0 { format!("{text} F") } else { format!("{text} C or {text} F") };
        return refuse(format!("\"{text}\" lacks its unit: type {meant}; Enter where nobody knows it."));
    }
    let entry = Unit::by_word("celsius").and_then(|unit| Entry::parse(text, unit).ok());
    let quantity = entry.filter(|_| has_unit).and_then(|entry| entry.quantity());
    let Some(temperature) = quantity.and_then(|quantity| Temperature::try_from(quantity).ok()) else {
        return refuse(HOW);
    };
    if !(253.15..=323.15).contains(&temperature.si()) {
        return refuse(format!("That is not the temperature of a shop (-20 to 50 °C, -4 to 122 °F). {HOW}"));
    }
    Ok(Answer::AirTemperature { entered: Some(text.to_owned()), air: AirTemperature::read(temperature) })
}

/// Makes a sentence of an error's text, which starts low and ends without a period.
fn sentence(error: &impl fmt::Display) -> String {
    let text = error.to_string();
    let mut letters = text.chars();
    let first = letters.next().map(|c| c.to_uppercase().to_string()).unwrap_or_default();
    format!("{first}{}.", letters.as_str().trim_end_matches('.'))
}
