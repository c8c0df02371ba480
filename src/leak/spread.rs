use std::sync::LazyLock;

use libm::exp;

use crate::stats::normal_below;

/// A distribution of errors: a normal one and a rectangular one, added.
///
/// Where one error known only by its limits (a gauge's grade) outweighs the rest, the sum is not normal and 1.96
/// standard deviations cover too much (JCGM 100, G.2.2). The distribution function of the sum is exact.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// Standard deviation of the normal part.
    pub normal: f64,
    /// Half-width of the rectangular part.
    pub rectangle: f64,
}

/// Share of the probability in every interval.
const COVERAGE: f64 = 0.95;

/// Probability beyond either end of an interval without bounds.
const TAIL: f64 = (1.0 - COVERAGE) / 2.0;

/// A part whose deviation is less than this of the other's is lost in it.
const NEGLIGIBLE: f64 = 1e-3;

/// The normal density at its centre: 1/sqrt(2 pi).
const CENTRAL_DENSITY: f64 = 0.398_942_280_401_432_7;

/// Deviations of the normal part beyond which nothing is left of it: 5e-7 either side.
const NOTHING_LEFT: f64 = 4.9;

impl Spread {
    /// Returns the standard deviation of the sum.
    pub fn deviation(&self) -> f64 {
        (self.normal * self.normal + self.rectangle * self.rectangle / 3.0).sqrt()
    }

    /// Returns the probability that the error is at most this.
    pub fn below(&self, error: f64) -> f64 {
        // The sum is symmetric, and on its lower side nothing cancels.
        if error > 0.0 { 1.0 - self.tail(error).0 } else { self.tail(-error).0 }
    }

    /// The probability of an error beyond one that is not negative, and the density there.
    fn tail(&self, error: f64) -> (f64, f64) {
        if error > self.rectangle + 40.0 * self.normal {
            return (0.0, 0.0);
        }
        if self.rectangle <= NEGLIGIBLE * self.normal {
            let deviation = self.deviation();
            let z = -error / deviation;
            return if deviation > 0.0 { (normal_below(z), density(z) / deviation) } else { (0.0, 0.0) };
        }
        let height = 0.5 / self.rectangle;
        if self.normal <= NEGLIGIBLE * NEGLIGIBLE * self.rectangle {
            let inside = self.rectangle - error;
            return if inside > 0.0 { (inside * height, height) } else { (0.0, 0.0) };
        }
        let near = (self.rectangle - error) / self.normal;
        let far = (-self.rectangle - error) / self.normal;
        let (below_near, below_far) = (normal_below(near), normal_below(far));
        // The integral of the normal distribution function is z Phi(z) + phi(z).
        let whole = near * below_near + density(near) - far * below_far - density(far);
        ((whole * self.normal * height).clamp(0.0, 0.5), (below_near - below_far) * height)
    }

    /// Returns the shortest interval that holds 95 % of the probability left between two bounds, between which the
    /// centre lies.
    ///
    /// The density falls off on both sides of the centre, so this is the centre give or take one width, cut at the
    /// bounds.
    pub fn interval(&self, centre: f64, lowest: f64, highest: f64) -> (f64, f64) {
        let (down, up) = (centre - lowest, highest - centre);
        let reach = self.rectangle + NOTHING_LEFT * self.normal;
        let width = if down >= reach && up >= reach { self.half_width() } else { self.cut_width(down, up) };
        (centre - width.min(down), centre + width.min(up))
    }

    /// The half-width of the interval without bounds.
    fn half_width(&self) -> f64 {
        let deviation = self.deviation();
        if deviation == 0.0 { 0.0 } else { deviation * coverage_factor(self.normal / deviation) }
    }

    /// The half-width of the interval whose sides are cut at these distances from the centre.
    fn cut_width(&self, down: f64, up: f64) -> f64 {
        let (nearer, farther) = (down.min(up).max(0.0), down.max(up).max(0.0));
        let cut = self.tail(nearer).0;
        let lost =
            if farther > self.rectangle + NOTHING_LEFT * self.normal { 0.0 } else { self.tail(farther).0 };
        let kept = COVERAGE * (1.0 - cut - lost);
        // Either both ends are within the bounds, or the nearer side is whole and the other makes up for it.
        let both = (1.0 - kept) / 2.0;
        let tail = if both >= cut { both } else { 1.0 - kept - cut };
        // The tail wanted is between 2.5 and 5 %, where a normal half-width goes as 1.96 - 0.455 ln(tail/0.025).
        let log_tail = 2.0 * (tail - TAIL) / (tail + TAIL);
        self.width_of_tail(tail, self.half_width() * (1.0 - 0.232 * log_tail), farther)
    }

    /// The error beyond which this probability lies, at most `widest`, from a guess.
    fn width_of_tail(&self, wanted: f64, guess: f64, widest: f64) -> f64 {
        let (mut narrow, mut wide) = (0.0, widest.min(self.rectangle + 40.0 * self.normal));
        let mut width = guess.clamp(0.0, wide);
        for _ in 0..100 {
            let (tail, density) = self.tail(width);
            let excess = tail - wanted;
            if excess > 0.0 {
                narrow = width
            } else {
                wide = width
            }
            let newton = width + excess / density;
            width = if newton >= narrow && newton <= wide { newton } else { 0.5 * (narrow + wide) };
            // One more step of Newton's would move the tail by some ten squares of this.
            if excess.abs() < 1e-5 || wide - narrow <= 1e-13 * wide {
                break;
            }
        }
        width
    }
}

const N_STEPS: usize = 256;

/// 95 % half-width over standard deviation, for normal parts from none to all of the deviation.
static FACTORS: LazyLock<[f64; N_STEPS + 1]> = LazyLock::new(|| {
    std::array::from_fn(|step| {
        let normal = step as f64 / N_STEPS as f64;
        let share = 1.0 - normal * normal;
        let spread = Spread { normal, rectangle: (3.0 * share).sqrt() };
        spread.width_of_tail(TAIL, 1.96 - 0.3 * share * share, f64::INFINITY)
    })
});

/// Interpolates [`FACTORS`].
fn coverage_factor(normal: f64) -> f64 {
    let place = normal * N_STEPS as f64;
    let step = (place as usize).min(N_STEPS - 1);
    FACTORS[step] + (FACTORS[step + 1] - FACTORS[step]) * (place - step as f64)
}

fn density(z: f64) -> f64 {
    exp(-z * z / 2.0) * CENTRAL_DENSITY
}
