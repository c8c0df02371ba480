//! A sheet that is drawn on in ink, finer than it is printed, so that slanted lines come out smooth. Only sums,
//! products and square roots: the same drawing comes out on every machine.

use super::letters::letter;

type At = (f64, f64);

/// How much finer than its pixels a sheet is drawn on, in each direction.
const FINE: usize = 3;
/// The shades of a printed sheet.
const SHADES: u32 = 15;

pub(super) const BLACK: u8 = 255;
pub(super) const PALE: u8 = 30;
pub(super) const PAPER: u8 = 0;

pub(super) struct Canvas {
    pub(super) width: usize,
    pub(super) height: usize,
    ink: Vec<u8>,
}

impl Canvas {
    pub(super) fn new(width: usize, height: usize) -> Canvas {
        Canvas { width, height, ink: vec![PAPER; width * height * FINE * FINE] }
    }

    /// Inks what lies within a box, in pixels, and fulfils a condition.
    fn ink_where(&mut self, (from, to): (At, At), ink: u8, is_in: impl Fn(At) -> bool) {
        let fine = |value: f64, most: usize| ((value * FINE as f64).max(0.0) as usize).min(most);
        let (wide, high) = (self.width * FINE, self.height * FINE);
        for y in fine(from.1, high)..fine(to.1 + 1.0, high) {
            for x in fine(from.0, wide)..fine(to.0 + 1.0, wide) {
                let at = ((x as f64 + 0.5) / FINE as f64, (y as f64 + 0.5) / FINE as f64);
                if is_in(at) {
                    self.ink[y * wide + x] = ink;
                }
            }
        }
    }

    /// Draws a line through points, this many pixels wide, with round ends.
    pub(super) fn line(&mut self, points: &[At], width: f64) {
        self.stroke(points, width, BLACK);
    }

    /// Takes ink away along a line.
    pub(super) fn lighten(&mut self, points: &[At], width: f64) {
        self.stroke(points, width, PAPER);
    }

    fn stroke(&mut self, points: &[At], width: f64, ink: u8) {
        let reach = width / 2.0;
        for pair in points.windows(2) {
            let ((x1, y1), (x2, y2)) = (pair[0], pair[1]);
            let around = ((x1.min(x2) - reach, y1.min(y2) - reach), (x1.max(x2) + reach, y1.max(y2) + reach));
            let (dx, dy) = (x2 - x1, y2 - y1);
            let length = dx * dx + dy * dy;
            self.ink_where(around, ink, |(x, y)| {
                let along = if length == 0.0 { 0.0 } else { ((x - x1) * dx + (y - y1) * dy) / length };
                let along = along.clamp(0.0, 1.0);
                let (ex, ey) = (x - x1 - along * dx, y - y1 - along * dy);
                ex * ex + ey * ey <= reach * reach
            });
        }
    }

    /// Draws a line that comes back to where it began.
    pub(super) fn outline(&mut self, points: &[At], width: f64) {
        let closed: Vec<_> = points.iter().chain(points.first()).copied().collect();
        self.line(&closed, width);
    }

    pub(super) fn rectangle(&mut self, (x1, y1): At, (x2, y2): At, ink: u8) {
        self.ink_where(((x1, y1), (x2, y2)), ink, |(x, y)| (x1..=x2).contains(&x) && (y1..=y2).contains(&y));
        self.outline(&[(x1, y1), (x2, y1), (x2, y2), (x1, y2)], 2.0);
    }

    /// Draws a hole: a ring this many pixels wide around paper.
    pub(super) fn hole(&mut self, (cx, cy): At, radius: f64, width: f64) {
        let (outer, inner) = (radius + width / 2.0, radius - width / 2.0);
        let around = ((cx - outer, cy - outer), (cx + outer, cy + outer));
        let square = move |(x, y): At| (x - cx) * (x - cx) + (y - cy) * (y - cy);
        self.ink_where(around, BLACK, |at| square(at) <= outer * outer);
        self.ink_where(around, PAPER, |at| square(at) <= inner * inner);
    }

    /// Writes letters of this height, on paper, with the upper left corner of the first at a place.
    pub(super) fn write(&mut self, (x, y): At, height: f64, text: &str) {
        let unit = height / 6.0;
        let width = width_of(text, height);
        self.ink_where(((x - unit, y - unit), (x + width + unit, y + height + unit)), PAPER, |_| true);
        for (n, c) in text.chars().enumerate() {
            for stroke in letter(c) {
                let place = |(right, down): &At| (x + (n as f64 * 5.5 + right) * unit, y + down * unit);
                self.line(&stroke.iter().map(place).collect::<Vec<_>>(), height / 8.0);
            }
        }
    }

    /// Returns the shades of the printed sheet, row by row: 15 is white.
    pub(super) fn shades(&self) -> Vec<u8> {
        let wide = self.width * FINE;
        let shade = |x: usize, y: usize| {
            let fine = (0..FINE * FINE).map(|n| (y * FINE + n / FINE) * wide + x * FINE + n % FINE);
            let ink: u32 = fine.map(|at| u32::from(self.ink[at])).sum();
            let full = (FINE * FINE) as u32 * u32::from(BLACK);
            (SHADES - (ink * SHADES + full / 2) / full) as u8
        };
        (0..self.height)
            .flat_map(|y| (0..self.width).map(move |x| (x, y)))
            .map(|(x, y)| shade(x, y))
            .collect()
    }
}

/// Returns how wide letters of this height are written.
pub(super) fn width_of(text: &str, height: f64) -> f64 {
    (text.chars().count() as f64 * 5.5 - 1.5) * height / 6.0
}
