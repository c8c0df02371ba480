use super::markup::Markup;
use super::svg::{Drawing, PICTURE_LEFT as LEFT, PICTURE_WIDTH as WIDTH, fill, legend};
use crate::console::Screen;
use crate::leak::{Limits, Verdict};
use crate::quantity::{INCH_OF_MERCURY, Unit, shown};
use crate::tell::mark;

/// How readings spread over the scale of 0 to 30 inHg.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Histogram {
    /// How many readings lie in each step: where it begins, in Pa, and their number.
    pub(crate) bins: Vec<(f64, u64)>,
    pub(crate) limits: Option<Limits>,
}

/// How many readings of a bar leak, lie between the limits, and hold by the limits; all hold where there are none.
type Zones = [u64; 3];

/// What a bar stands for, 1 inHg in Pa. Bars are centred on whole inches of mercury, where readings like to be.
const STEP: f64 = INCH_OF_MERCURY;
/// Bars of the whole scale.
const N_BARS: usize = 31;

impl Histogram {
    /// Returns how many readings are nearest to each inch of mercury of the scale, by the side of the limits they lie
    /// on and in all, and the most of one inch.
    fn bars(&self) -> ([Zones; N_BARS], [u64; N_BARS], u64) {
        let mut bars = [Zones::default(); N_BARS];
        for (from, n) in &self.bins {
            let at = ((from / STEP).max(0.0) + 0.5 + 1e-6) as usize;
            bars[at.min(N_BARS - 1)][self.zone(*from)] += n;
        }
        let all = bars.map(|zones| zones.iter().sum::<u64>());
        (bars, all, all.iter().copied().max().unwrap_or(0).max(1))
    }

    /// Shows the histogram as lines of text, an inch of mercury each, from the first to the last that has readings.
    pub(super) fn show(&self, screen: &mut Screen, unit: &Unit) {
        let width = screen.width().saturating_sub(30).max(10);
        let (bars, all, most) = self.bars();
        let first = all.iter().position(|n| *n > 0).unwrap_or(0);
        let last = all.iter().rposition(|n| *n > 0).unwrap_or(0);
        for at in first..=last {
            let [from, to] = edges(at).map(|edge| shown(unit.from_si(edge), 1));
            let (bar, n) = (self.bar(&bars[at], width as f64 / most as f64), all[at]);
            screen.line(&format!("{from:>6} to {to:>4} {}  {bar} {n}", unit.symbol));
        }
        if self.limits.is_some() {
            let legend = self.legend().map(|(verdict, word)| format!("{} {word}", mark(verdict)));
            screen.line(&format!("  {}", legend.join(", ")));
        }
    }

    pub(super) fn drawn(&self, unit: &Unit) -> Markup {
        const HEIGHT: f64 = 150.0;
        let (bars, all, most) = self.bars();
        let step = (WIDTH - LEFT - 10.0) / N_BARS as f64;
        let x = |pa: f64| LEFT + (pa / STEP + 0.5) * step;
        let mut drawing = Drawing::default();
        for (index, zones) in bars.iter().enumerate() {
            let mut top = HEIGHT;
            let fills = self.verdicts().map(fill);
            for (n, fill) in zones.iter().zip(fills).filter(|(n, _)| **n > 0) {
                let height = (HEIGHT - 14.0) * *n as f64 / most as f64;
                top -= height;
                drawing.rectangle("bar", (LEFT + index as f64 * step, top), (step, height), fill);
            }
        }
        if let Some(limits) = &self.limits {
            let (lower, upper) = (x(limits.lower().si()), x(limits.upper().si()));
            let [at_lower, _, at_upper] = limits.verdicts().map(Verdict::word);
            for (limit, word, class, from) in
                [(lower, at_lower, "end", lower - 3.0), (upper, at_upper, "", upper + 3.0)]
            {
                drawing.line("limit", (limit, 12.0), (limit, HEIGHT));
                drawing.text(class, (from, 10.0), word);
            }
        }
        drawing.line("axis", (LEFT, HEIGHT), (WIDTH - 10.0, HEIGHT));
        for tick in 0..=6_u32 {
            let pa = 5.0 * f64::from(tick) * STEP;
            drawing.line("axis", (x(pa), HEIGHT), (x(pa), HEIGHT + 4.0));
            drawing.text("middle", (x(pa), HEIGHT + 14.0), &shown(unit.from_si(pa), 1));
        }
        drawing.text("end", (LEFT - 5.0, HEIGHT), unit.symbol);
        drawing.text("end", (LEFT - 5.0, 20.0), &format!("most: {most}"));
        let said = all.iter().enumerate().filter(|(_, n)| **n > 0).map(|(index, n)| {
            let [from, to] = edges(index).map(|edge| shown(unit.from_si(edge), 1));
            format!("{n} from {from} to {to} {}", unit.symbol)
        });
        let said = format!("Readings: {}.", said.collect::<Vec<_>>().join(", "));
        let mut picture = drawing.picture("picture", (WIDTH, HEIGHT + 18.0), &said);
        picture.extend(self.limits.is_some().then(|| {
            let zones = self.legend();
            legend(&zones.each_ref().map(|(verdict, word)| (*verdict, word.as_str())), "")
        }));
        picture
    }

    /// Draws a bar in the marks of its zones, at least one for each zone that has readings.
    fn bar(&self, zones: &Zones, scale: f64) -> String {
        let marks = if self.limits.is_some() { self.verdicts().map(mark) } else { ['#'; 3] };
        let part = |(n, mark): (&u64, char)| {
            let length = if *n > 0 { ((*n as f64 * scale).round() as usize).max(1) } else { 0 };
            mark.to_string().repeat(length)
        };
        zones.iter().zip(marks).map(part).collect()
    }

    /// The verdicts of the three zones; one that holds has all readings where there are no limits.
    fn verdicts(&self) -> [Verdict; 3] {
        self.limits.map_or([Verdict::Leaks, Verdict::Worn, Verdict::Holds], |limits| limits.verdicts())
    }

    fn legend(&self) -> [(Verdict, String); 3] {
        let [lower, middle, upper] = self.verdicts();
        [
            (lower, format!("at or below {lower}")),
            (middle, "between the limits".to_owned()),
            (upper, format!("at or above {upper}")),
        ]
    }

    /// The zone in which a step of readings begins.
    fn zone(&self, from: f64) -> usize {
        // A reading at a limit begins its step there, but for the last bit.
        let at = from + 1e-6 * STEP;
        match &self.limits {
            Some(limits) if at <= limits.lower().si() + 2e-6 * STEP => 0,
            Some(limits) if at < limits.upper().si() => 1,
            _ => 2,
        }
    }
}

/// Returns where a bar begins and ends, in Pa.
fn edges(at: usize) -> [f64; 2] {
    let middle = at as f64 * STEP;
    [(middle - STEP / 2.0).max(0.0), middle + STEP / 2.0]
}
