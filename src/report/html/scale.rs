use super::markup::{Markup, element, void};
use crate::leak::{Estimate, Limits};
use crate::quantity::{INCH_OF_MERCURY, Unit, shown};
use crate::report::{CircuitStory, ReadingStory};
use crate::session::screens::range;

/// End of the scale: 30 inHg.
const FULL: f64 = 30.0 * INCH_OF_MERCURY;
/// Where the scale begins and how long it is, in units of the drawing.
const LEFT: f64 = 6.0;
const LENGTH: f64 = 300.0;
/// Height of the row of one reading, and of the numbers.
const ROW: f64 = 13.0;
const NUMBERS: f64 = 12.0;

/// Draws a circuit's readings on a scale of 0 to 30 inHg, with the zones that its limits make, the intervals of the
/// readings, and an earlier reading where there is one. Zones differ in hatching and not in colour alone.
pub(super) fn scale(circuit: &CircuitStory, unit: &Unit) -> Markup {
    let earlier = circuit.earlier.as_ref().and_then(|earlier| earlier.standard);
    let rows = circuit.readings.len().max(1) + usize::from(earlier.is_some());
    let height = ROW * rows as f64;
    let mut drawing = zones(circuit.limits.as_ref(), height);
    drawing.push(numbers(unit, height));
    let mut middle = ROW / 2.0;
    if let Some(earlier) = earlier {
        drawing.push(needle(&earlier, middle, "earlier"));
        middle += ROW;
    }
    for reading in &circuit.readings {
        drawing.push(needle(&reading.standard, middle, "reading"));
        middle += ROW;
    }
    let size = format!("0 0 {} {}", LENGTH + 2.0 * LEFT, height + NUMBERS);
    let said = described(circuit, earlier.as_ref(), unit);
    element("svg", &[("class", "scale"), ("viewBox", &size), ("role", "img"), ("aria-label", &said)], drawing)
}

/// Draws the hatchings that every scale refers to; stands once on a page.
pub(super) fn hatchings() -> Markup {
    Markup::trusted(concat!(
        r#"<svg width="0" height="0" class="hidden" aria-hidden="true" focusable="false"><defs>"#,
        r##"<pattern id="leaks" width="4" height="4" patternUnits="userSpaceOnUse"><rect width="4" height="4" fill="#f3c9a5" />"##,
        r##"<path d="M-1,1 l2,-2 M0,4 l4,-4 M3,5 l2,-2" stroke="#5a3a1a" stroke-width="0.9" /></pattern>"##,
        r##"<pattern id="worn" width="5" height="5" patternUnits="userSpaceOnUse"><rect width="5" height="5" fill="#f7f0d6" />"##,
        r##"<circle cx="2.5" cy="2.5" r="0.8" fill="#5a5a3a" /></pattern>"##,
        r##"<pattern id="holds" width="4" height="4" patternUnits="userSpaceOnUse"><rect width="4" height="4" fill="#dcebf7" /></pattern>"##,
        "</defs></svg>"
    ))
}

/// Draws a sample of a zone for the legend.
pub(super) fn sample(zone: &str) -> Markup {
    let fill = format!("url(#{zone})");
    let rectangle = void(
        "rect",
        &[("x", "0.5"), ("y", "0.5"), ("width", "27"), ("height", "11"), ("fill", &fill), ("stroke", "#000")],
    );
    element("svg", &[("class", "sample"), ("viewBox", "0 0 28 12"), ("aria-hidden", "true")], rectangle)
}

fn zones(limits: Option<&Limits>, height: f64) -> Markup {
    let axis = line(LEFT, height, LEFT + LENGTH, height, "axis");
    let Some(limits) = limits else { return axis };
    let (leaks, holds) = (x(limits.leaks().si()), x(limits.holds().si()));
    let zone = |from: f64, to: f64, name: &str| {
        void(
            "rect",
            &[
                ("x", &number(from)),
                ("y", "0.5"),
                ("width", &number(to - from)),
                ("height", &number(height - 0.5)),
                ("fill", &format!("url(#{name})")),
            ],
        )
    };
    let mut drawn = zone(LEFT, leaks, "leaks");
    drawn.push(zone(leaks, holds, "worn"));
    drawn.push(zone(holds, LEFT + LENGTH, "holds"));
    for limit in [leaks, holds] {
        drawn.push(line(limit, 0.5, limit, height, "limit"));
    }
    drawn.push(axis);
    drawn
}

/// Draws the numbers of the scale in a unit, at steps of 1, 2 or 5 times a power of ten.
fn numbers(unit: &Unit, height: f64) -> Markup {
    let full = unit.from_si(FULL);
    let rough = full / 6.0;
    let power = 10.0_f64.powf(rough.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0].map(|n| n * power).into_iter().find(|step| *step >= rough * 0.99);
    let step = step.unwrap_or(full);
    let n_steps = (full / step + 1e-6).floor() as usize;
    let mut drawn = Markup::default();
    for tick in 0..=n_steps {
        let value = tick as f64 * step;
        let at = x(unit.to_si(value));
        drawn.push(line(at, height, at, height + 2.5, "axis"));
        let text =
            if tick == n_steps { format!("{} {}", shown(value, 2), unit.symbol) } else { shown(value, 2) };
        let anchor = if tick == n_steps { "end" } else { "middle" };
        let at = if tick == n_steps { at + LEFT } else { at };
        drawn.push(element(
            "text",
            &[("x", &number(at)), ("y", &number(height + NUMBERS - 1.5)), ("text-anchor", anchor)],
            text.as_str(),
        ));
    }
    drawn
}

/// Draws a reading: a diamond, and a bar with ends over its interval.
fn needle(standard: &Estimate, middle: f64, class: &str) -> Markup {
    let (low, value, high) = (x(standard.low), x(standard.value), x(standard.high));
    let diamond = format!("M{} {middle} l3.2 -4.6 l3.2 4.6 l-3.2 4.6 z", number(value - 3.2),);
    element(
        "g",
        &[("class", class)],
        [
            line(low - 1.0, middle, high + 1.0, middle, "halo"),
            line(low, middle, high, middle, "interval"),
            line(low, middle - 3.0, low, middle + 3.0, "interval"),
            line(high, middle - 3.0, high, middle + 3.0, "interval"),
            void("path", &[("d", &diamond)]),
        ],
    )
}

/// Draws a line of a class.
pub(super) fn line(x1: f64, y1: f64, x2: f64, y2: f64, class: &str) -> Markup {
    let [x1, y1, x2, y2] = [x1, y1, x2, y2].map(number);
    void("line", &[("class", class), ("x1", &x1), ("y1", &y1), ("x2", &x2), ("y2", &y2)])
}

fn x(pa: f64) -> f64 {
    LEFT + (pa / FULL).clamp(0.0, 1.0) * LENGTH
}

/// Writes a number of a drawing.
pub(super) fn number(value: f64) -> String {
    shown(value, 2)
}

/// Says what the drawing shows, for those who hear it.
fn described(circuit: &CircuitStory, earlier: Option<&Estimate>, unit: &Unit) -> String {
    let mut said = "Scale from 0 to 30 inHg.".to_owned();
    if let Some(limits) = &circuit.limits {
        let (leaks, holds) = (limits.leaks().in_unit(unit), limits.holds().in_unit(unit));
        said += &format!(" Leaks at {leaks} and less, holds at {holds} and deeper.");
    }
    if let Some(earlier) = earlier {
        said += &format!(" Before: {}.", range(earlier, unit));
    }
    for ReadingStory { label, standard, .. } in &circuit.readings {
        let label = label.as_ref().map(|label| format!(", {label}")).unwrap_or_default();
        said += &format!(" Standard reading{label}: {}.", range(standard, unit));
    }
    if circuit.readings.is_empty() {
        said += " No reading.";
    }
    said
}
