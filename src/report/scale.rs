use super::markup::Markup;
use super::svg::{Drawing, fill};
use crate::leak::{Estimate, Limits};
use crate::quantity::{INCH_OF_MERCURY, Unit, shown};
use crate::tell::{CircuitStory, ReadingStory, TAKES_DIFFER, limits, range};

const FULL: f64 = 30.0 * INCH_OF_MERCURY;
/// Where the scale begins and how long it is, in units of the drawing.
pub(super) const LEFT: f64 = 6.0;
pub(super) const LENGTH: f64 = 300.0;
/// Height of the row of one reading, and of the numbers.
const ROW: f64 = 13.0;
const NUMBERS: f64 = 12.0;

/// Draws a circuit's readings on a scale of 0 to 30 inHg, with the zones that its limits make, the intervals of the
/// readings, and an earlier reading where there is one.
pub(super) fn scale(circuit: &CircuitStory, unit: &Unit) -> Markup {
    let before = circuit.before.as_ref().and_then(|before| before.deciding);
    let readings = circuit.readings.iter().map(|reading| (reading.standard, reading.limits, "reading"));
    let before_it = before.into_iter().map(|before| (Some(before), circuit.limits, "earlier"));
    let needles: Vec<_> = before_it.chain(readings).collect();
    let height = ROW * needles.len() as f64;
    let mut drawing = Drawing::default();
    for (row, (_, limits, _)) in needles.iter().enumerate() {
        limits.iter().for_each(|limits| zones(&mut drawing, limits, ROW * row as f64, ROW));
    }
    drawing.line("axis", (LEFT, height), (LEFT + LENGTH, height));
    numbers(&mut drawing, unit, height);
    for (row, (standard, _, class)) in needles.iter().enumerate() {
        // Takes of which no two agree leave their row empty.
        standard.iter().for_each(|standard| drawing.group(class, needle(standard, ROW * (row as f64 + 0.5))));
    }
    let size = (LENGTH + 2.0 * LEFT, height + NUMBERS);
    drawing.picture("scale", size, &described(circuit, before.as_ref(), unit))
}

/// Draws the zones of one row.
pub(super) fn zones(drawing: &mut Drawing, limits: &Limits, top: f64, height: f64) {
    let (lower, upper) = (x(limits.lower().si()), x(limits.upper().si()));
    let edges = [(LEFT, lower), (lower, upper), (upper, LEFT + LENGTH)];
    for ((from, to), verdict) in edges.into_iter().zip(limits.verdicts()) {
        drawing.rectangle("", (from, top), (to - from, height), fill(verdict));
    }
    for limit in [lower, upper] {
        drawing.line("limit", (limit, top), (limit, top + height));
    }
}

/// Draws the numbers of the scale in a unit, at steps of 1, 2 or 5 times a power of ten.
fn numbers(drawing: &mut Drawing, unit: &Unit, height: f64) {
    let full = unit.from_si(FULL);
    let rough = full / 6.0;
    let power = 10.0_f64.powf(rough.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0].map(|n| n * power).into_iter().find(|step| *step >= rough * 0.99);
    let step = step.unwrap_or(full);
    let n_steps = (full / step + 1e-6).floor() as usize;
    for tick in 0..=n_steps {
        let value = tick as f64 * step;
        let at = x(unit.to_si(value));
        drawing.line("axis", (at, height), (at, height + 2.5));
        let text = shown(value, 2);
        let below = height + NUMBERS - 1.5;
        if tick == n_steps {
            drawing.text("end", (at + LEFT, below), &format!("{text} {}", unit.symbol));
        } else {
            drawing.text("middle", (at, below), &text);
        }
    }
}

/// Draws a reading: a diamond, and a bar with ends over its interval.
pub(super) fn needle(standard: &Estimate, middle: f64) -> Drawing {
    let (low, value, high) = (x(standard.low), x(standard.value), x(standard.high));
    let mut needle = Drawing::default();
    needle.line("halo", (low - 1.0, middle), (high + 1.0, middle));
    needle.line("interval", (low, middle), (high, middle));
    for end in [low, high] {
        needle.line("interval", (end, middle - 3.0), (end, middle + 3.0));
    }
    needle.sign("", (value - 3.2, middle), "l3.2 -4.6 l3.2 4.6 l-3.2 4.6 z");
    needle
}

fn x(pa: f64) -> f64 {
    LEFT + (pa / FULL).clamp(0.0, 1.0) * LENGTH
}

/// Says what the drawing shows, for those who hear it.
fn described(circuit: &CircuitStory, before: Option<&Estimate>, unit: &Unit) -> String {
    let mut said = "Scale from 0 to 30 inHg.".to_owned();
    if let Some(of) = &circuit.limits {
        said += &format!(" {}.", limits(of, unit));
    }
    if let Some(before) = before {
        said += &format!(" Before: {}.", range(before, unit));
    }
    for ReadingStory { label, standard, limits: own, is_apart, .. } in &circuit.readings {
        let label = label.as_ref().map(|label| format!(", {label}")).unwrap_or_default();
        said += &match standard {
            Some(standard) => format!(" Standard reading{label}: {}.", range(standard, unit)),
            None => format!(" No standard reading{label}: {TAKES_DIFFER}."),
        };
        if let Some(own) = own.as_ref().filter(|_| *is_apart) {
            said += &format!(" {}.", limits(own, unit));
        }
    }
    if circuit.readings.is_empty() {
        said += " No reading.";
    }
    said
}
