use serde_json::Value;

use crate::air::{STANDARD_PRESSURE, density};
use crate::quantity::Unit;

/// A field of a record, told apart by its JSON pointer (RFC 6901) and the circuit that it belongs to, where it does to one.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Field<'a> {
    pointer: &'a str,
    circuit: Option<&'a str>,
    /// What the pointer says behind circuit and reading.
    rest: &'a str,
    /// Which of the circuit's readings it belongs to, from 0.
    reading: Option<usize>,
}

impl<'a> Field<'a> {
    pub(crate) fn of(pointer: &'a str, circuit: Option<&'a str>) -> Field<'a> {
        let Some((circuit, (_, rest))) = circuit.zip(entry_of("/circuits/", pointer)) else {
            return Field { pointer, circuit: None, rest: pointer, reading: None };
        };
        let reading = entry_of("/readings/", rest);
        let rest = reading.map_or(rest, |(_, rest)| rest);
        Field { pointer, circuit: Some(circuit), rest, reading: reading.map(|(index, _)| index) }
    }

    /// Returns which of the record's circuits a field belongs to, from 0; none where it does to none.
    pub(crate) fn circuit_of(pointer: &str) -> Option<usize> {
        entry_of("/circuits/", pointer).map(|(index, _)| index)
    }

    /// Says which circuit and which of its readings it belongs to; nothing where it belongs to no circuit.
    pub(crate) fn place(&self) -> Option<String> {
        let reading = self.reading.map(|index| format!(", reading {}", index + 1)).unwrap_or_default();
        self.circuit.map(|circuit| format!("circuit \"{circuit}\"{reading}"))
    }

    /// Names it by its place and what it is there, as in `circuit "feed", reading 1: standard reading, lower end`.
    pub(crate) fn name(&self) -> String {
        let mut parts: Vec<String> = Vec::new();
        for part in self.rest.split('/').filter(|part| !part.is_empty() && !LEFT_OUT.contains(part)) {
            match (part.parse::<usize>(), parts.last_mut()) {
                (Ok(index), Some(list)) => {
                    let one = list.strip_suffix('s').unwrap_or(list);
                    *list = format!("{one} {}", index + 1);
                }
                _ => parts.push(word(&part.replace("~1", "/").replace("~0", "~"))),
            }
        }
        let parts = Some(parts.join(", ")).filter(|parts| !parts.is_empty());
        self.place().into_iter().chain(parts).collect::<Vec<_>>().join(": ")
    }

    /// Writes two values of it in the unit in which people read it, with as many decimals as tell them apart.
    pub(crate) fn values(&self, one: &Value, other: &Value) -> [String; 2] {
        /// More digits than any figure has.
        const MOST: usize = 20;
        let measure = self.pointer.rsplit('/').find_map(|key| Measure::of(key, self.pointer));
        let written = |finer| [one, other].map(|value| self.written(value, measure, finer));
        (0..MOST).map(written).find(|[one, other]| one != other).unwrap_or_else(|| written(0))
    }

    fn written(&self, value: &Value, measure: Option<Measure>, finer: usize) -> String {
        match value {
            Value::Null => "nothing".to_owned(),
            Value::Bool(true) => "yes".to_owned(),
            Value::Bool(false) => "no".to_owned(),
            Value::Number(number) => match measure.zip(number.as_f64()) {
                Some((measure, si)) => measure.written(si, finer),
                None => number.to_string(),
            },
            Value::String(text) => format!("\"{text}\""),
            Value::Array(values) if values.is_empty() => "nothing".to_owned(),
            Value::Array(values) => {
                let values = values.iter().map(|value| self.written(value, measure, finer));
                values.collect::<Vec<_>>().join("; ")
            }
            Value::Object(fields) => {
                let fields = fields.iter().map(|(key, value)| {
                    let measure = Measure::of(key, self.pointer).or(measure);
                    format!("{} {}", word(key), self.written(value, measure, finer))
                });
                fields.collect::<Vec<_>>().join(", ")
            }
        }
    }
}

/// Returns which entry of a list a pointer names, and what it says behind that.
fn entry_of<'a>(list: &str, pointer: &'a str) -> Option<(usize, &'a str)> {
    let rest = pointer.strip_prefix(list)?;
    let end = rest.find('/').unwrap_or(rest.len());
    Some((rest[..end].parse().ok()?, &rest[end..]))
}

/// What only holds fields together, or is what its place is.
const LEFT_OUT: [&str; 3] = ["meaning", "circuit", "value"];

/// Fields whose keys are not their words.
const WORDS: &[(&str, &str)] = &[
    ("above", "probability of more than its limits"),
    ("account", "costs"),
    ("air_kg_s", "air through the leak"),
    ("because", "why"),
    ("below", "probability of less than its limits"),
    ("between", "probability of lying between its limits"),
    ("bleed_relative", "bleed valve against the test orifice"),
    ("budget_pa", "standard uncertainty"),
    ("check", "check that covers it"),
    ("does", "repair"),
    ("event", "event of the journal"),
    ("format", "format of the record"),
    ("gap_oil_m3_s", "oil lost through a gap"),
    ("high", "upper end"),
    ("hole_m", "hole"),
    ("hole_oil_m3_s", "oil lost through a hole"),
    ("inlet_relative", "inlet valve against the test orifice"),
    ("is_assumed", "whether it is assumed"),
    ("is_window", "whether a passage is to be open"),
    ("left", "why it was left"),
    ("limits_here", "limits on this bench"),
    ("low", "lower end"),
    ("means", "what its leak does"),
    ("own", "what it has to itself"),
    ("plugged_pa", "plugged point"),
    ("program", "version of the program"),
    ("relative_leak", "leak against the test orifice"),
    ("rig_is_assumed", "whether the rig is assumed"),
    ("set_aside", "whether it was set aside"),
    ("sha256", "SHA-256"),
    ("station_pa", "pressure at the bench"),
    ("summary", "circuits by verdict"),
    ("target_plugged_pa", "where the plugged point belongs"),
    ("target_through_pa", "where the through point belongs"),
    ("through_pa", "through point"),
    ("trial", "whether it is left out of the verdict"),
];

/// How the key of a figure ends, and the word of the unit that people read it in. The first that fits counts.
const UNITS_BY_END: [(&str, &str); 7] = [
    ("_m3_s", "lpm"),
    ("_kg_m3", "kg_m3"),
    ("_m2_s", "cSt"),
    ("_kg_s", ""),
    ("_pa", "inHg"),
    ("_m", "inch"),
    ("_k", "celsius"),
];

/// Returns the words for a key.
fn word(key: &str) -> String {
    if let Some((_, words)) = WORDS.iter().find(|(known, _)| *known == key) {
        return (*words).to_owned();
    }
    let ends = UNITS_BY_END.iter().map(|(end, _)| *end);
    ends.filter_map(|end| key.strip_suffix(end)).next().unwrap_or(key).replace('_', " ")
}

/// What people read a figure in.
#[derive(Clone, Copy)]
struct Measure {
    /// SI in one of it.
    scale: f64,
    /// SI at its zero.
    offset: f64,
    decimals: usize,
    symbol: &'static str,
}

impl Measure {
    /// Returns what the figure of a key is read in, in a field of this pointer; none where that has no unit, or the key around
    /// it says.
    fn of(key: &str, pointer: &str) -> Option<Measure> {
        let word = match key {
            "air_kg_s" => {
                // As the report has it: litres as they are under standard pressure at 20 °C.
                let scale = density(STANDARD_PRESSURE, 293.15) / 60e3;
                return Some(Measure { scale, offset: 0.0, decimals: 2, symbol: "l/min" });
            }
            "relative_leak" | "below" | "between" | "above" => {
                return Some(Measure { scale: 0.01, offset: 0.0, decimals: 1, symbol: "%" });
            }
            "clearance_m" => "thou",
            "elevation_m" => "foot",
            "pressure_pa" if pointer.split('/').any(|key| key == "oil") => "psi",
            _ if key.ends_with("_per_k") => return None,
            _ => UNITS_BY_END.iter().find(|(end, _)| key.ends_with(end))?.1,
        };
        let Unit { scale, offset, decimals, symbol, .. } = *Unit::by_word(word)?;
        Some(Measure { scale, offset, decimals, symbol })
    }

    fn written(&self, si: f64, finer: usize) -> String {
        format!("{:.*} {}", self.decimals + finer, (si - self.offset) / self.scale, self.symbol)
    }
}

#[cfg(test)]
mod tests {
    use serde_json::{Value, json};

    use super::{Field, WORDS};

    #[track_caller]
    fn told(pointer: &str, values: [Value; 2], wanted: [&str; 3]) {
        let field = Field::of(pointer, pointer.starts_with("/circuits/").then_some("feed"));
        let [one, other] = field.values(&values[0], &values[1]);
        assert_eq!([field.name(), one, other], wanted);
    }

    #[test]
    fn a_field_is_told_by_its_place_in_plain_words_and_in_units_of_the_bench() {
        let reading = |field: &str| format!("/circuits/2/readings/1{field}");
        let at = |field: &str| format!("circuit \"feed\", reading 2: {field}");
        for (field, si, name, one, other) in [
            (
                "/meaning/standard_reading_pa/low",
                [84_659.725, 67_727.78],
                "standard reading, lower end",
                "25.00 inHg",
                "20.00 inHg",
            ),
            ("/meaning/hole_m/value", [0.000889, 0.000508], "hole", "0.0350 in", "0.0200 in"),
            ("/meaning/clearance_m/high", [25.4e-6, 50.8e-6], "clearance, upper end", "1.0 thou", "2.0 thou"),
            (
                "/meaning/budget_pa/temperature",
                [3386.389, 0.0],
                "standard uncertainty, temperature",
                "1.00 inHg",
                "0.00 inHg",
            ),
            (
                "/meaning/relative_leak/value",
                [0.5, 0.25],
                "leak against the test orifice",
                "50.0 %",
                "25.0 %",
            ),
            // 1 kg/s is 49 830 l/min at 1.204 kg/m3, the density of air at 101 325 Pa and 20 °C.
            (
                "/meaning/air_kg_s/value",
                [1.204e-4, 2.408e-4],
                "air through the leak",
                "6.00 l/min",
                "12.00 l/min",
            ),
            (
                "/limits_here/lower_pa",
                [50_795.835, 67_727.78],
                "limits on this bench, lower",
                "15.00 inHg",
                "20.00 inHg",
            ),
        ] {
            told(&reading(field), si.map(Value::from), [&at(name), one, other]);
        }
    }

    #[test]
    fn what_is_no_reading_is_told_too() {
        told(
            "/circuits/0/verdict",
            [json!("leaks"), json!("holds")],
            ["circuit \"feed\": verdict", "\"leaks\"", "\"holds\""],
        );
        told(
            "/calibrations/0/plugged_pa",
            [json!(84_659.725), Value::Null],
            ["calibration 1, plugged point", "25.00 inHg", "nothing"],
        );
        told(
            "/air/temperature_k",
            [json!(293.15), json!(303.15)],
            ["air, temperature", "20.0 °C", "30.0 °C"],
        );
        let oil = "/procedure/oil/pressure_pa";
        told(
            oil,
            [json!(689_475.7), json!(1_378_951.4)],
            ["procedure, oil, pressure", "100.0 psi", "200.0 psi"],
        );
        told("/summary/not_tested", [json!(1), json!(0)], ["circuits by verdict, not tested", "1", "0"]);
        told("/rig_is_assumed", [json!(true), json!(false)], ["whether the rig is assumed", "yes", "no"]);
        let here = json!({ "lower_pa": 50_795.835, "upper_pa": 67_727.78 });
        told(
            "/circuits/0/readings/0/limits_here",
            [here, Value::Null],
            [
                "circuit \"feed\", reading 1: limits on this bench",
                "lower 15.00 inHg, upper 20.00 inHg",
                "nothing",
            ],
        );
    }

    #[test]
    fn values_that_differ_are_told_apart_however_near_they_are() {
        told(
            "/barometer/station_pa",
            [json!(101_320.76), json!(101_320.77)],
            ["barometer, pressure at the bench", "29.920000 inHg", "29.920003 inHg"],
        );
    }

    #[test]
    fn every_word_is_of_a_field_of_a_record() {
        let schema = include_str!("../../schemas/record.schema.json");
        for (key, _) in WORDS {
            assert!(schema.contains(&format!("\"{key}\"")), "{key} is in no record");
        }
    }
}
