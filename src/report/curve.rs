//! The curve of a rig, readings against holes: as a table, and as a sheet for the wall.

use super::markup::{Markup, element, plain};
use super::svg::Drawing;
use crate::console::Screen;
use crate::leak::{Bench, CurveRow, Estimate, ExpectationError, curve, curve_line};
use crate::quantity::{INCH, INCH_OF_MERCURY, Length};
use crate::tell::orifice_kind;

#[derive(Debug, Clone)]
pub(crate) struct CurveSheet {
    bench: Bench,
    /// The drilled holes, the smallest first.
    rows: Vec<CurveRow>,
    /// Holes so close to each other that their readings make a line.
    line: Vec<(Length, Estimate)>,
}

/// Points of the line; three a millimetre on the printed sheet.
const N_POINTS: u32 = 600;

impl CurveSheet {
    /// The widest hole shown: a little more than the widest drill.
    const WIDEST: Length = Length::constant(0.065 * INCH);

    pub(crate) fn new(bench: &Bench) -> Result<CurveSheet, ExpectationError> {
        let rows = curve(bench)?;
        Ok(CurveSheet { bench: *bench, rows, line: curve_line(bench, CurveSheet::WIDEST, N_POINTS)? })
    }

    /// Says which rig it is: its two points, orifice and barometer.
    fn rig(&self) -> String {
        let calibration = &self.bench.calibration;
        let orifice = calibration.orifice();
        format!(
            "{} plugged, {} through a {} {}, barometer {}",
            calibration.plugged(),
            calibration.through(),
            orifice.diameter(),
            orifice_kind(orifice.kind()),
            calibration.barometer(),
        )
    }

    /// Says what the readings rest on, and where the range of single readings is shown.
    fn basis(&self, range: &str) -> String {
        let dial = self.bench.dial;
        format!(
            "Holes are of the test orifice's kind. Of 100 rigs like this one 95 read {range} \
             (dial of grade {}, {} with marks every {}).",
            dial.grade(),
            dial.span(),
            dial.smallest_division(),
        )
    }

    /// Shows the curve as a table for people.
    pub(crate) fn show(&self, screen: &mut Screen) {
        screen.say(&format!("Readings against holes: {}.", self.rig()));
        screen.line("");
        screen.line(" drill     hole              leak   reading  (95 % of them)    standard   air");
        screen.line("           in      mm        -      inHg                       inHg       l/min");
        for row in &self.rows {
            let reading = &row.reading_pa;
            screen.line(&format!(
                " {:>5}  {:.4}  {:.3}  {:>8.4}  {:>8.2}  ({:.2} to {:.2}){}  {:>8.2}  {:>8.2}",
                row.drill.name,
                row.drill.inches,
                row.drill.diameter().si() * 1e3,
                row.leak,
                in_hg(reading.value),
                in_hg(reading.low),
                in_hg(reading.high),
                pad(reading.low, reading.high),
                in_hg(row.standard_reading_pa),
                row.air_standard_flow_m3_s * 60e3,
            ));
        }
        screen.line("");
        screen.say(&self.basis("in the range given"));
    }

    /// Draws the curve as a picture (SVG 1.1) of an A4 sheet across, to be printed and hung beside the rig.
    pub(crate) fn svg(&self) -> String {
        let (left, top, right, bottom) = FIELD;
        let calibration = &self.bench.calibration;
        let highest = (in_hg(calibration.plugged().si()) / 5.0 + 0.02).ceil() * 5.0;
        let across = Axis::new(0.0, inches(CurveSheet::WIDEST), left, right);
        let up = Axis::new(0.0, highest, bottom, top);
        let mut drawing = Drawing::default();
        drawing.rectangle("", (0.0, 0.0), SHEET, "#fff");
        grid(&mut drawing, &across, highest);
        points(&mut drawing, self, &across, &up);
        labels(&mut drawing, self);
        let size = format!("0 0 {} {}", SHEET.0, SHEET.1);
        let attributes = [
            ("xmlns", "http://www.w3.org/2000/svg"),
            ("width", "297mm"),
            ("height", "210mm"),
            ("viewBox", &size),
        ];
        let title = plain("title", format!("Readings against holes: {}", self.rig()));
        let content = [title, plain("style", Markup::trusted(STYLE)), drawing.into_markup()];
        element("svg", &attributes, content).into_string() + "\n"
    }
}

fn inches(length: Length) -> f64 {
    length.si() / INCH
}

fn in_hg(pascal: f64) -> f64 {
    pascal / INCH_OF_MERCURY
}

/// Blanks that keep the columns behind a range of readings in line.
fn pad(low: f64, high: f64) -> String {
    let digits = |pascal: f64| if in_hg(pascal) < 9.995 { 4 } else { 5 };
    " ".repeat(10 - digits(low) - digits(high))
}

/// Width and height of the sheet: A4 across, in units of a 96th of an inch.
const SHEET: (f64, f64) = (1122.0, 793.0);

/// The corners of the field that the curve is drawn in.
const FIELD: (f64, f64, f64, f64) = (92.0, 140.0, 1030.0, 676.0);

const STYLE: &str = "\
text{font-family:Helvetica,Arial,sans-serif;font-size:13px;fill:#111}\
.title{font-size:26px;font-weight:bold}\
.small{font-size:12px;fill:#333}\
.middle{text-anchor:middle}.end{text-anchor:end}\
.drill{font-size:10.5px}\
.grid{stroke:#ccc;stroke-width:0.7}.fine{stroke:#e6e6e6;stroke-width:0.5}\
.frame{stroke:#111;stroke-width:1.2;fill:none}\
.band{fill:#9cc3e6;stroke:none;opacity:0.6}\
.curve{stroke:#0b3d70;stroke-width:2.4;fill:none;stroke-linejoin:round}\
.point{fill:#0b3d70}.own{fill:#fff;stroke:#b3261e;stroke-width:2.2}\
.mark{stroke:#b3261e;stroke-width:1.2;stroke-dasharray:6 4}.red{fill:#b3261e}";

/// A linear scale from numbers to places on the sheet, and the marks along it.
struct Axis {
    from: f64,
    to: f64,
    start: f64,
    end: f64,
}

impl Axis {
    /// Maps `from` to the place `start` and `to` to the place `end`.
    fn new(from: f64, to: f64, start: f64, end: f64) -> Axis {
        Axis { from, to, start, end }
    }

    fn place(&self, number: f64) -> f64 {
        self.start + (number - self.from) / (self.to - self.from) * (self.end - self.start)
    }

    /// Multiples of a step within the axis.
    fn marks(&self, step: f64) -> impl Iterator<Item = f64> {
        let first = (self.from / step).ceil() as i64;
        let last = (self.to / step + 1e-9).floor() as i64;
        (first..=last).map(move |count| count as f64 * step)
    }
}

fn grid(drawing: &mut Drawing, across: &Axis, highest: f64) {
    let (left, top, right, bottom) = FIELD;
    let up = Axis::new(0.0, highest, bottom, top);
    for hole in across.marks(0.001) {
        drawing.line("fine", (across.place(hole), top), (across.place(hole), bottom));
    }
    for vacuum in up.marks(1.0) {
        drawing.line("fine", (left, up.place(vacuum)), (right, up.place(vacuum)));
    }
    for hole in across.marks(0.005) {
        let x = across.place(hole);
        drawing.line("grid", (x, top), (x, bottom));
        drawing.text("middle", (x, bottom + 18.0), &format!("{hole:.3}"));
    }
    for vacuum in up.marks(5.0) {
        let y = up.place(vacuum);
        drawing.line("grid", (left, y), (right, y));
        drawing.text("end", (left - 8.0, y + 4.5), &format!("{vacuum:.0}"));
    }
    // The same axes in millimetres along the top and in kilopascals at the right.
    let millimetres = Axis::new(0.0, inches(CurveSheet::WIDEST) * 25.4, left, right);
    for hole in millimetres.marks(0.2) {
        let x = millimetres.place(hole);
        drawing.line("frame", (x, top), (x, top - 5.0));
        drawing.text("middle", (x, top - 9.0), &format!("{hole:.1}"));
    }
    let kilopascals = Axis::new(0.0, highest * INCH_OF_MERCURY / 1e3, bottom, top);
    for vacuum in kilopascals.marks(10.0) {
        let y = kilopascals.place(vacuum);
        drawing.line("frame", (right, y), (right + 5.0, y));
        drawing.text("", (right + 9.0, y + 4.5), &format!("{vacuum:.0}"));
    }
    drawing.path("frame", [(left, top), (right, top), (right, bottom), (left, bottom), (left, top)]);
}

fn points(drawing: &mut Drawing, sheet: &CurveSheet, across: &Axis, up: &Axis) {
    let place = |hole: f64, pascal: f64| (across.place(hole), up.place(in_hg(pascal)));
    let upper = sheet.line.iter().map(|(hole, reading)| place(inches(*hole), reading.high));
    let lower = sheet.line.iter().rev().map(|(hole, reading)| place(inches(*hole), reading.low));
    drawing.path("band", upper.chain(lower));

    let calibration = &sheet.bench.calibration;
    let (left, _, _, bottom) = FIELD;
    let own = inches(calibration.orifice().diameter());
    if calibration.orifice().diameter() <= CurveSheet::WIDEST {
        let (x, y) = place(own, calibration.through().si());
        drawing.line("mark", (x, bottom), (x, y));
        drawing.line("mark", (left, y), (x, y));
    }
    let readings = sheet.line.iter().map(|(hole, reading)| place(inches(*hole), reading.value));
    drawing.path("curve", std::iter::once(place(0.0, calibration.plugged().si())).chain(readings));

    for row in &sheet.rows {
        let (x, y) = place(row.drill.inches, row.reading_pa.value);
        drawing.dot("point", (x, y), 3.2);
        // Numbers stand above the curve and fractions below it, so that neighbours do not cover each other; where there
        // is no room below, the fraction stands above and to the right.
        let above = place(row.drill.inches, row.reading_pa.high).1 - 7.0;
        let below = place(row.drill.inches, row.reading_pa.low).1 + 9.0;
        let (class, at) = match (row.drill.name.contains('/'), below < bottom - 35.0) {
            (false, _) => ("drill", (x + 4.0, above)),
            (true, true) => ("drill end", (x + 3.0, below)),
            (true, false) => ("drill", (x + 14.0, above)),
        };
        let sign = if row.drill.name.contains('/') { "" } else { "#" };
        drawing.turned_text(class, at, -70.0, &format!("{sign}{}", row.drill.name));
    }
    if calibration.orifice().diameter() <= CurveSheet::WIDEST {
        drawing.dot("own", place(own, calibration.through().si()), 6.0);
        let y = place(own, calibration.through().si()).1;
        let through = format!("through the test orifice: {}", calibration.through());
        drawing.text("red", (left + 10.0, y - 8.0), &through);
    }
    let (x, y) = place(0.0, calibration.plugged().si());
    drawing.text("red", (x + 10.0, y - 8.0), &format!("no leak: {}", calibration.plugged()));
}

fn labels(drawing: &mut Drawing, sheet: &CurveSheet) {
    let (left, top, right, bottom) = FIELD;
    drawing.text("title", (left, 48.0), "What the gauge shows for a hole");
    drawing.text("small", (left, 74.0), &format!("This rig: {}.", sheet.rig()));
    let (middle, height) = ((left + right) / 2.0, (top + bottom) / 2.0);
    drawing.text("middle", (middle, bottom + 42.0), "bore of the hole, in; drills are marked on the curve");
    drawing.text("middle", (middle, top - 30.0), "bore of the hole, mm");
    drawing.turned_text("middle", (left - 46.0, height), -90.0, "vacuum, inHg");
    drawing.turned_text("middle", (right + 52.0, height), -90.0, "vacuum, kPa");
    drawing.text("small", (left, bottom + 74.0), &sheet.basis("in the blue band"));
    drawing.text(
        "small",
        (left, bottom + 92.0),
        "A leak of another shape that reads the same passes as much air as this hole. It holds for this calibration only.",
    );
}
