use std::fmt;

use serde::{Deserialize, Serialize};

/// A kind of quantity: what may be compared with what.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Dimension {
    /// Pressure or vacuum; SI unit Pa.
    Pressure,
    /// Length; SI unit m.
    Length,
    /// Temperature; SI unit K.
    Temperature,
    /// Electrical resistance; SI unit ohm.
    Resistance,
    /// Voltage; SI unit V.
    Voltage,
    /// Electrical current; SI unit A.
    Current,
    /// A span of time; SI unit s.
    Duration,
    /// Volume; SI unit m3.
    Volume,
    /// Volume flow; SI unit m3/s.
    VolumeFlow,
    /// Kinematic viscosity; SI unit m2/s.
    Viscosity,
    /// Density; SI unit kg/m3.
    Density,
    /// What two temperatures differ by; SI unit K.
    TemperatureDifference,
    /// Force; SI unit N.
    Force,
    /// Torque; SI unit N m.
    Torque,
    /// How many there are, without a unit.
    Count,
}

impl Dimension {
    /// The name used in messages: "a length", "a pressure".
    pub fn name(self) -> &'static str {
        match self {
            Dimension::Pressure => "pressure",
            Dimension::Length => "length",
            Dimension::Temperature => "temperature",
            Dimension::Resistance => "resistance",
            Dimension::Voltage => "voltage",
            Dimension::Current => "current",
            Dimension::Duration => "time span",
            Dimension::Volume => "volume",
            Dimension::VolumeFlow => "volume flow",
            Dimension::Viscosity => "viscosity",
            Dimension::Density => "density",
            Dimension::TemperatureDifference => "temperature difference",
            Dimension::Force => "force",
            Dimension::Torque => "torque",
            Dimension::Count => "count",
        }
    }

    /// Returns what one and another of this kind add up to; none where they have no sum.
    pub fn plus(self, other: Dimension) -> Option<Dimension> {
        use Dimension::{Temperature, TemperatureDifference};
        match (self, other) {
            (Temperature, Temperature) => None,
            (Temperature, TemperatureDifference) | (TemperatureDifference, Temperature) => Some(Temperature),
            _ => Some(self).filter(|_| self == other),
        }
    }

    /// Returns what one is less another of this kind; none where that means nothing.
    pub fn minus(self, other: Dimension) -> Option<Dimension> {
        use Dimension::{Temperature, TemperatureDifference};
        match (self, other) {
            (Temperature, Temperature) => Some(TemperatureDifference),
            (Temperature, TemperatureDifference) => Some(Temperature),
            _ => Some(self).filter(|_| self == other),
        }
    }

    /// Returns whether so many times one of it is one of it again: of a temperature that is not so, as its
    /// zero lies elsewhere.
    pub fn has_multiples(self) -> bool {
        self != Dimension::Temperature
    }
}

impl fmt::Display for Dimension {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// A unit of measurement: how it is written and what it is in SI (`si = scale * number + offset`).
#[derive(Debug)]
pub struct Unit {
    /// The word of the procedure language, as in `20.inHg`.
    pub word: &'static str,
    /// What is printed behind a number.
    pub symbol: &'static str,
    /// What may be typed for it besides the word and the symbol; compared without regard to case.
    pub aliases: &'static [&'static str],
    /// The kind of quantity.
    pub dimension: Dimension,
    /// SI units in one of these.
    pub scale: f64,
    /// SI value at zero of this unit; only temperatures have one.
    pub offset: f64,
    /// Decimals worth printing.
    pub decimals: usize,
}

const fn unit(
    word: &'static str,
    symbol: &'static str,
    aliases: &'static [&'static str],
    dimension: Dimension,
    scale: f64,
    decimals: usize,
) -> Unit {
    Unit { word, symbol, aliases, dimension, scale, offset: 0.0, decimals }
}

/// A spelling as it is compared: without regard to case, nor to the sign of a degree.
fn folded(text: &str) -> impl Iterator<Item = char> {
    text.chars().filter(|c| *c != '°').flat_map(char::to_lowercase)
}

/// The inch in m (NIST SP 811, appendix B.8; exact).
pub const INCH: f64 = 0.0254;

/// The conventional inch of mercury in Pa (NIST SP 811, appendix B.8).
pub const INCH_OF_MERCURY: f64 = 3386.389;

/// The pound-force in N: the pound of 0.453 592 37 kg under standard gravity (NIST SP 811, notes 22 and 23; exact).
const POUND_FORCE: f64 = 0.453_592_37 * 9.806_65;

/// Every unit that is read or shown.
///
/// Factors: NIST SP 811 (2008), appendix B.8; the inch of mercury is the conventional one. Gallon and cubic foot are
/// exact multiples of the cubic inch.
pub(crate) const UNITS: &[Unit] = &[
    unit(
        "inHg",
        "inHg",
        &["in hg", "in. hg", "in.hg", "\"hg", "inch hg", "inches hg"],
        Dimension::Pressure,
        INCH_OF_MERCURY,
        2,
    ),
    unit("kPa", "kPa", &[], Dimension::Pressure, 1e3, 2),
    unit("Pa", "Pa", &[], Dimension::Pressure, 1.0, 0),
    unit("hPa", "hPa", &["mbar", "mb"], Dimension::Pressure, 100.0, 1),
    unit("bar", "bar", &[], Dimension::Pressure, 1e5, 3),
    unit("psi", "psi", &["psig", "lbf/in2"], Dimension::Pressure, 6894.757, 1),
    unit("mmHg", "mmHg", &["torr", "mm hg"], Dimension::Pressure, 133.3224, 1),
    unit("inH2O", "inH2O", &["in h2o"], Dimension::Pressure, 249.0889, 1),
    unit("inch", "in", &["inches", "\"", "″", "”"], Dimension::Length, INCH, 4),
    unit("thou", "thou", &["mil"], Dimension::Length, INCH / 1000.0, 1),
    unit("mm", "mm", &[], Dimension::Length, 1e-3, 3),
    unit("um", "µm", &["μm", "micron", "microns"], Dimension::Length, 1e-6, 1),
    unit("cm", "cm", &[], Dimension::Length, 1e-2, 2),
    unit("metre", "m", &["meter", "metres", "meters"], Dimension::Length, 1.0, 1),
    unit("foot", "ft", &["feet", "'"], Dimension::Length, 12.0 * INCH, 0),
    Unit {
        word: "celsius",
        symbol: "°C",
        aliases: &["c", "degc", "deg c"],
        dimension: Dimension::Temperature,
        scale: 1.0,
        offset: 273.15,
        decimals: 1,
    },
    Unit {
        word: "fahrenheit",
        symbol: "°F",
        aliases: &["f", "degf", "deg f"],
        dimension: Dimension::Temperature,
        scale: 5.0 / 9.0,
        offset: 459.67 * 5.0 / 9.0,
        decimals: 1,
    },
    unit("kelvin", "K", &[], Dimension::TemperatureDifference, 1.0, 2),
    unit("ohm", "ohm", &["ohms", "ω", "Ω"], Dimension::Resistance, 1.0, 2),
    unit("kilohm", "kohm", &["kω", "kΩ"], Dimension::Resistance, 1e3, 3),
    unit("volt", "V", &["volts"], Dimension::Voltage, 1.0, 2),
    unit("ampere", "A", &["amp", "amps"], Dimension::Current, 1.0, 3),
    unit("milliampere", "mA", &[], Dimension::Current, 1e-3, 1),
    unit("seconds", "s", &["second", "sec"], Dimension::Duration, 1.0, 0),
    unit("minutes", "min", &["minute"], Dimension::Duration, 60.0, 1),
    unit("millilitre", "ml", &["cc", "cm3", "milliliter"], Dimension::Volume, 1e-6, 1),
    unit("litre", "l", &["liter", "litres", "liters"], Dimension::Volume, 1e-3, 3),
    unit("lpm", "l/min", &[], Dimension::VolumeFlow, 1e-3 / 60.0, 3),
    unit("mlpm", "ml/min", &["cc/min"], Dimension::VolumeFlow, 1e-6 / 60.0, 1),
    unit("gpm", "gpm", &["gal/min"], Dimension::VolumeFlow, 231.0 * INCH * INCH * INCH / 60.0, 3),
    unit("cfm", "cfm", &["ft3/min"], Dimension::VolumeFlow, 1728.0 * INCH * INCH * INCH / 60.0, 2),
    unit("cSt", "cSt", &["mm2/s"], Dimension::Viscosity, 1e-6, 2),
    unit("kg_m3", "kg/m3", &[], Dimension::Density, 1.0, 1),
    unit("newton", "N", &["newtons"], Dimension::Force, 1.0, 1),
    unit("lbf", "lbf", &["lb", "lbs", "pound", "pounds"], Dimension::Force, POUND_FORCE, 2),
    unit("Nm", "N·m", &["n m", "n.m", "n-m"], Dimension::Torque, 1.0, 2),
    unit(
        "lbf_in",
        "lbf·in",
        &[
            "in·lbf",
            "lbf in",
            "in lbf",
            "in-lbf",
            "lb in",
            "lb-in",
            "in lb",
            "in-lb",
            "in-lbs",
            "inch-pounds",
        ],
        Dimension::Torque,
        POUND_FORCE * INCH,
        1,
    ),
    unit(
        "lbf_ft",
        "lbf·ft",
        &[
            "ft·lbf",
            "lbf ft",
            "ft lbf",
            "ft-lbf",
            "lb ft",
            "lb-ft",
            "ft lb",
            "ft-lb",
            "ft-lbs",
            "foot-pounds",
        ],
        Dimension::Torque,
        POUND_FORCE * 12.0 * INCH,
        2,
    ),
];

/// What a number of things is in: nothing.
pub(crate) static COUNT: Unit = unit("", "", &[], Dimension::Count, 1.0, 0);

/// A unit is known by its word.
impl PartialEq for Unit {
    fn eq(&self, other: &Unit) -> bool {
        self.word == other.word
    }
}

impl Unit {
    /// Writes a number in this unit.
    pub fn written(&self, number: impl fmt::Display) -> String {
        format!("{number} {}", self.symbol).trim_end().to_owned()
    }

    /// Returns the unit whose procedure word this is.
    pub fn by_word(word: &str) -> Option<&'static Unit> {
        UNITS.iter().find(|unit| unit.word == word)
    }

    /// Returns the unit that somebody means who types this: word or symbol to the letter, else any spelling in any
    /// case (`mA` and `MA` are not told apart by case alone, so the letter-perfect match comes first).
    pub fn by_text(text: &str) -> Option<&'static Unit> {
        let text = text.trim().trim_end_matches('.');
        UNITS.iter().find(|unit| unit.word == text || unit.symbol == text).or_else(|| {
            let is_meant = |spelling: &str| match spelling.is_ascii() && text.is_ascii() {
                true => spelling.eq_ignore_ascii_case(text),
                false => folded(spelling).eq(folded(text)),
            };
            UNITS.iter().find(|unit| {
                is_meant(unit.word)
                    || is_meant(unit.symbol)
                    || unit.aliases.iter().any(|alias| is_meant(alias))
            })
        })
    }

    /// Converts a number in this unit to SI.
    pub fn to_si(&self, number: f64) -> f64 {
        number * self.scale + self.offset
    }

    /// Converts an SI value to a number in this unit.
    #[expect(clippy::wrong_self_convention, reason = "the counterpart of `to_si`")]
    pub fn from_si(&self, si: f64) -> f64 {
        (si - self.offset) / self.scale
    }
}
