//! Quantities as flags: a unit may be written; a bare number is in the usual unit of its flag.

use clap::Args;
use clap::builder::{PossibleValue, PossibleValuesParser, TypedValueParser};

use super::status::Failure;
use crate::air::{Barometer, BarometerSource};
use crate::leak::{LeakKind, METALS, MeasuredBy};
use crate::quantity::{
    Entry, Length, Pressure, Quantity, Temperature, Unit, Viscosity, VolumeFlow, parse_number,
};
use crate::rig::{Drill, OrificeKind};

fn quantity(text: &str, word: &str) -> Result<Quantity, String> {
    let unit = Unit::by_word(word).ok_or_else(|| format!("{word} is no unit"))?;
    let entry = Entry::parse(text, unit).map_err(|error| error.to_string())?;
    entry.quantity().ok_or_else(|| format!("\"{text}\" is not a finite number"))
}

fn typed<T: TryFrom<Quantity>>(text: &str, word: &str) -> Result<T, String> {
    T::try_from(quantity(text, word)?).map_err(|_| format!("\"{text}\" is of another kind"))
}

/// A vacuum or a barometer, bare in inHg.
pub(super) fn vacuum(text: &str) -> Result<Pressure, String> {
    typed(text, "inHg")
}

/// An absolute pressure, never bare: pumps' plates have it in Pa, mbar or Torr, and the gauge in inHg.
pub(super) fn absolute(text: &str) -> Result<Pressure, String> {
    match parse_number(text.trim()) {
        Ok(_) => Err(format!(
            "\"{text}\" lacks its unit: write it as the pump's plate has it, as in 100 Pa or 1 mbar"
        )),
        Err(_) => vacuum(text),
    }
}

/// A pressure of oil or of a hose's rating, bare in psi.
pub(super) fn pressure(text: &str) -> Result<Pressure, String> {
    typed(text, "psi")
}

/// A bore or a land, bare in inches; `#76` is the drill of that number.
pub(super) fn length(text: &str) -> Result<Length, String> {
    if text.trim().starts_with('#') {
        let drill = Drill::by_name(text).ok_or_else(|| format!("{text} is not among drills #80 to #53"))?;
        return Ok(drill.diameter());
    }
    typed(text, "inch")
}

/// An elevation, bare in feet.
pub(super) fn elevation(text: &str) -> Result<Length, String> {
    typed(text, "foot")
}

/// A pump's speed, bare in cubic feet a minute.
pub(super) fn volume_flow(text: &str) -> Result<VolumeFlow, String> {
    typed(text, "cfm")
}

/// A temperature of air or oil, bare in degrees Celsius.
pub(super) fn temperature(text: &str) -> Result<Temperature, String> {
    typed(text, "celsius")
}

/// A length as in [`length`], with the unit that it was given in.
pub(super) fn bore(text: &str) -> Result<(Length, &'static Unit), String> {
    let inch = Unit::by_word("inch").ok_or("inch is no unit")?;
    if text.trim().starts_with('#') {
        return Ok((length(text)?, inch));
    }
    let entry = Entry::parse(text, inch).map_err(|error| error.to_string())?;
    Ok((length(text)?, entry.unit))
}

/// How the hole of an orifice is made.
pub(super) fn orifice_kind() -> impl TypedValueParser<Value = OrificeKind> {
    let plug = "Drilled through something at least as thick as the hole is wide";
    let words = [
        PossibleValue::new("plug").help(plug),
        PossibleValue::new("plate").help("Drilled through a thin, sharp-edged sheet"),
    ];
    let kind = |word: String| if word == "plug" { OrificeKind::Plug } else { OrificeKind::Plate };
    PossibleValuesParser::new(words).map(kind)
}

/// A kinematic viscosity, bare in cSt.
pub(super) fn viscosity(text: &str) -> Result<Viscosity, String> {
    typed(text, "cSt")
}

/// A thermal expansion in 1/K: a metal's, or so many millionths.
pub(super) fn expansion(text: &str) -> Result<f64, String> {
    if let Some(metal) = METALS.iter().find(|metal| metal.name == text) {
        return Ok(metal.expansion_per_k);
    }
    let millionths = parse_number(text);
    millionths.map(|number| number * 1e-6).map_err(|_| {
        format!("\"{text}\" is no metal that is known here; write steel, aluminium or millionths per kelvin")
    })
}

/// How the size of a land is known.
pub(super) fn measured_by() -> impl TypedValueParser<Value = MeasuredBy> {
    let words = MeasuredBy::ALL.map(MeasuredBy::word);
    let by = |word: String| MeasuredBy::ALL.into_iter().find(|by| by.word() == word).unwrap_or_default();
    PossibleValuesParser::new(words).map(by)
}

/// What a leak is.
pub(super) fn leak_kind() -> impl TypedValueParser<Value = LeakKind> {
    let words = [
        PossibleValue::new(LeakKind::Gap.word()).help("A clearance around a land, as of a worn bore"),
        PossibleValue::new(LeakKind::Hole.word())
            .help("An opening such as a nick, a crack or a missing ball"),
    ];
    let kind = |word: String| if word == LeakKind::Gap.word() { LeakKind::Gap } else { LeakKind::Hole };
    PossibleValuesParser::new(words).map(kind)
}

pub(super) fn yes_or_no() -> impl TypedValueParser<Value = bool> {
    PossibleValuesParser::new(["yes", "no"]).map(|word| word == "yes")
}

/// The air at the bench: the barometer's own reading, or the elevation, alone or with a weather report's figure;
/// without any the shop's elevation, and where that is not known 101 325 Pa.
#[derive(Debug, Clone, Default, PartialEq, Args)]
pub(super) struct AirArguments {
    /// The barometer at the bench, not reduced to sea level, as in 29.1inHg
    #[arg(long, value_name = "P", value_parser = vacuum, conflicts_with_all = ["elevation", "altimeter"])]
    pub(super) barometer: Option<Pressure>,
    /// The elevation of the bench, as in 5280ft or 1610m
    #[arg(long, value_name = "H", value_parser = elevation, allow_hyphen_values = true)]
    pub(super) elevation: Option<Length>,
    /// The barometer of a weather report, reduced to sea level (altimeter setting); it needs the
    /// elevation, here or of the shop
    #[arg(long, value_name = "P", value_parser = vacuum)]
    pub(super) altimeter: Option<Pressure>,
}

impl AirArguments {
    /// Returns the barometer that is said, or that of the shop's elevation where nothing is.
    pub(super) fn barometer(&self, of_shop: Option<Length>) -> Result<Barometer, Failure> {
        let source = match (self.barometer, self.elevation.or(of_shop), self.altimeter) {
            (Some(pressure), _, _) => BarometerSource::Station { pressure },
            (None, Some(elevation), Some(setting)) => {
                BarometerSource::AltimeterSetting { setting, elevation }
            }
            (None, Some(elevation), None) => BarometerSource::Elevation { elevation },
            (None, None, Some(_)) => {
                return Err(Failure::wrong(
                    "a weather report's figure needs the elevation: --elevation 4300ft",
                ));
            }
            (None, None, None) => BarometerSource::Standard,
        };
        Barometer::new(source).map_err(Failure::wrong)
    }
}
