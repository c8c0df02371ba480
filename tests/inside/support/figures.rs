//! Shorthand for quantities, numbers and texts, a reader of reference tables, a source of reproducible draws.

use std::path::{Path, PathBuf};

use crate::quantity::{INCH_OF_MERCURY, Pressure, Temperature};
use crate::rig::{Calibration, Orifice};

/// A text in one line, without its breaks.
pub(crate) fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Lines as somebody types them.
pub(crate) fn lines(lines: &[&str]) -> String {
    lines.iter().map(|line| format!("{line}\n")).collect()
}

/// The parts of a text between strokes: what is typed, one after the other.
pub(crate) fn keyed(text: &str) -> Vec<&str> {
    text.split('|').map(str::trim).collect()
}

/// The files below a folder of the project with this ending, by name.
pub(crate) fn files(folder: &str, ending: &str) -> Vec<PathBuf> {
    fn visit(folder: &Path, ending: &str, found: &mut Vec<PathBuf>) {
        for entry in std::fs::read_dir(folder).expect("a folder") {
            let path = entry.expect("a file").path();
            if path.is_dir() {
                visit(&path, ending, found);
            } else if path.extension().is_some_and(|extension| extension == ending) {
                found.push(path);
            }
        }
    }
    let mut found = Vec::new();
    visit(&Path::new(env!("CARGO_MANIFEST_DIR")).join(folder), ending, &mut found);
    found.sort();
    found
}

/// Inches of mercury.
pub(crate) fn inhg(number: f64) -> Pressure {
    Pressure::constant(number * INCH_OF_MERCURY)
}

/// A pressure in inches of mercury.
pub(crate) fn in_hg(pressure: Pressure) -> f64 {
    pressure.si() / INCH_OF_MERCURY
}

/// Degrees Celsius.
pub(crate) fn celsius(number: f64) -> Temperature {
    Temperature::constant(number + 273.15)
}

/// A rig with the usual orifice at 20 °C, calibrated to these readings in inHg, under this many Pa.
pub(crate) fn rig(plugged: f64, through: f64, barometer: f64) -> Calibration {
    let barometer = Pressure::constant(barometer);
    Calibration::new(inhg(plugged), inhg(through), Orifice::STANDARD, barometer, celsius(20.0))
        .expect("a calibration")
}

/// Asserts that a value is the expected one within a relative tolerance.
#[track_caller]
pub(crate) fn close(found: f64, expected: f64, relative: f64) {
    assert!((found - expected).abs() <= relative * expected.abs(), "{found} is not {expected} to {relative}");
}

/// Asserts that a value is the expected one within an absolute tolerance.
#[track_caller]
pub(crate) fn near(found: f64, expected: f64, absolute: f64) {
    assert!((found - expected).abs() <= absolute, "{found} is not {expected} to {absolute}");
}

/// A reference table: comma-separated, `#` before what it says of itself, then a line of names.
pub(crate) struct Table {
    names: Vec<String>,
    rows: Vec<Vec<String>>,
}

impl Table {
    /// Reads a table of `tests/reference`.
    pub(crate) fn read(name: &str) -> Table {
        let path = format!("{}/tests/reference/{name}", env!("CARGO_MANIFEST_DIR"));
        let text = std::fs::read_to_string(path).expect("a reference table");
        let mut lines = text.lines().filter(|line| !line.starts_with('#') && !line.is_empty());
        let cells = |line: &str| line.split(',').map(str::to_owned).collect::<Vec<_>>();
        let names = cells(lines.next().expect("a line of names"));
        let rows: Vec<_> = lines.map(cells).collect();
        assert!(!rows.is_empty(), "{name} has no rows");
        Table { names, rows }
    }

    /// Its rows.
    pub(crate) fn rows(&self) -> impl Iterator<Item = Row<'_>> {
        self.rows.iter().map(|cells| Row { names: &self.names, cells })
    }
}

/// A row of a reference table.
pub(crate) struct Row<'a> {
    names: &'a [String],
    cells: &'a [String],
}

impl Row<'_> {
    /// The text in a column.
    pub(crate) fn text(&self, name: &str) -> &str {
        let place = self.names.iter().position(|known| known == name).expect("a known column");
        &self.cells[place]
    }

    /// The number in a column.
    pub(crate) fn number(&self, name: &str) -> f64 {
        self.text(name).parse().expect("a number")
    }
}

/// Reproducible draws: SplitMix64 (Steele, Lea and Flood, 2014).
pub(crate) struct Draws(pub(crate) u64);

impl Draws {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Uniform between 0 and 1, both excluded.
    pub(crate) fn unit(&mut self) -> f64 {
        ((self.next() >> 11) as f64 + 0.5) / (1u64 << 53) as f64
    }

    /// One of the whole numbers below this one.
    pub(crate) fn below(&mut self, n: usize) -> usize {
        (self.next() >> 33) as usize % n
    }

    /// Uniform within a limit either way.
    pub(crate) fn within(&mut self, limit: f64) -> f64 {
        limit * (2.0 * self.unit() - 1.0)
    }

    /// Normal with this standard deviation (Box and Muller).
    pub(crate) fn normal(&mut self, deviation: f64) -> f64 {
        let radius = (-2.0 * self.unit().ln()).sqrt();
        deviation * radius * (std::f64::consts::TAU * self.unit()).cos()
    }
}

/// Returns which seeds a test goes through: the usual ones, or those that `SPOOLPROOF_SEEDS=0-2000` names.
pub(crate) fn seeds(usual: std::ops::Range<u64>) -> std::ops::Range<u64> {
    let Ok(wanted) = std::env::var("SPOOLPROOF_SEEDS") else { return usual };
    let ends = wanted.split_once('-').and_then(|(from, to)| Some((from.parse().ok()?, to.parse().ok()?)));
    let (from, to) = ends.unwrap_or_else(|| panic!("{wanted} is no range of seeds"));
    from..to
}
