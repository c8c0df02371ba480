use libm::{erfc, exp};
use serde::{Deserialize, Serialize};

use std::f64::consts::{FRAC_1_SQRT_2, PI};

/// A distribution of errors: a normal one and a rectangular one, added.
///
/// Where one error known only by its limits (a gauge's grade) outweighs the rest, the sum is not normal and 1.96 standard
/// deviations cover too much (JCGM 100, G.2.2). The distribution function of the sum is exact.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Spread {
    /// Standard deviation of the normal part.
    pub normal: f64,
    /// Half-width of the rectangular part.
    pub rectangle: f64,
}

/// Below this the smaller part is lost in the larger.
const NEGLIGIBLE: f64 = 1e-3;

impl Spread {
    /// Returns the standard deviation of the sum.
    pub fn deviation(&self) -> f64 {
        (self.normal * self.normal + self.rectangle * self.rectangle / 3.0).sqrt()
    }

    /// Returns the probability that the error is at most this.
    pub fn below(&self, error: f64) -> f64 {
        if self.rectangle <= NEGLIGIBLE * self.normal {
            let deviation = self.deviation();
            if deviation == 0.0 {
                return if error >= 0.0 { 1.0 } else { 0.0 };
            }
            return normal_below(error / deviation);
        }
        if self.normal <= NEGLIGIBLE * NEGLIGIBLE * self.rectangle {
            return ((error / self.rectangle + 1.0) / 2.0).clamp(0.0, 1.0);
        }
        // The sum is symmetric; on its lower side nothing cancels.
        if error > 0.0 {
            return 1.0 - self.below(-error);
        }
        let integral = |z: f64| z * normal_below(z) + exp(-z * z / 2.0) / (2.0 * PI).sqrt();
        let upper = integral((error + self.rectangle) / self.normal);
        let lower = integral((error - self.rectangle) / self.normal);
        ((upper - lower) * self.normal / (2.0 * self.rectangle)).clamp(0.0, 1.0)
    }

    /// Returns the shortest interval around `centre` that holds a share of the probability left between two bounds, of
    /// which the centre is never outside.
    ///
    /// The density falls off on both sides of the centre, so this is the centre give or take one width, cut at the
    /// bounds.
    pub fn interval(&self, centre: f64, lowest: f64, highest: f64, share: f64) -> (f64, f64) {
        let (down, up) = ((centre - lowest).max(0.0), (highest - centre).max(0.0));
        let inside = |width: f64| self.below(width.min(up)) - self.below(-width.min(down));
        let widest = (down.max(up)).min(self.rectangle + 9.0 * self.normal);
        let wanted = share * inside(widest);
        let (mut narrow, mut wide) = (0.0, widest);
        let (mut narrow_excess, mut wide_excess) = (-wanted, inside(widest) - wanted);
        // Regula falsi of the Illinois kind: the probability rises with the width.
        let mut width = widest.min(2.0 * self.deviation());
        for _ in 0..60 {
            let excess = inside(width) - wanted;
            if excess.abs() < 1e-12 || wide - narrow <= 1e-12 * widest {
                break;
            }
            if excess < 0.0 {
                (narrow, narrow_excess, wide_excess) = (width, excess, wide_excess / 2.0);
            } else {
                (wide, wide_excess, narrow_excess) = (width, excess, narrow_excess / 2.0);
            }
            width = (narrow * wide_excess - wide * narrow_excess) / (wide_excess - narrow_excess);
        }
        (centre - width.min(down), centre + width.min(up))
    }
}

fn normal_below(z: f64) -> f64 {
    0.5 * erfc(-z * FRAC_1_SQRT_2)
}
