use std::f64::consts::TAU;

use super::Chance;
use crate::quantity::INCH_OF_MERCURY;
use crate::rig::Dial;

/// What the error of a simulated dial is like.
///
/// Each kind stays inside its grade at every place of the scale, rising and falling, whatever it is made of: ASME
/// B40.100 (2005) 2.3 has hysteresis and repeatability inside the grade, EN 837-1 and the German Eichordnung (annex 16,
/// 3.1 to 3.4) have it hold for rising and for falling pressure at every point. Only friction comes on top (B40.100
/// 2.3), until the dial is tapped. Where a standard gives a bound only, what is inside is taken as evenly spread (JCGM
/// 100 4.3.7): the largest error over the scale is an even share of what the bound leaves.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum DialKind {
    /// An offset and a gain: what an instrument of a linear spring and a pointer set by hand has.
    Straight,
    /// A whole wave over the scale upon that: a test up and down takes five places or more, and ten for the finer
    /// classes, since the error between two places does not follow from theirs.
    SShaped,
    /// 0.15 inHg between rising and falling, or as much as the limit of error where that is less: the difference may
    /// reach the limit (Eichordnung, annex 16).
    SmallHysteresis,
    /// The same with 0.3 inHg.
    LargeHysteresis,
    /// Straight, with a fifth of the variance its own at each reading: repeatability, which the grade includes.
    Scattered,
    /// S-shaped, with 0.15 inHg between rising and falling, and a fifth of the variance of its own at each reading.
    Mixed,
}

impl DialKind {
    pub(crate) const ALL: [DialKind; 6] = [
        DialKind::Straight,
        DialKind::SShaped,
        DialKind::SmallHysteresis,
        DialKind::LargeHysteresis,
        DialKind::Scattered,
        DialKind::Mixed,
    ];

    /// From rising to falling, in Pa, where the limit of error allows it.
    fn hysteresis_pa(self) -> f64 {
        match self {
            DialKind::SmallHysteresis | DialKind::Mixed => 0.15 * INCH_OF_MERCURY,
            DialKind::LargeHysteresis => 0.3 * INCH_OF_MERCURY,
            DialKind::Straight | DialKind::SShaped | DialKind::Scattered => 0.0,
        }
    }

    fn is_wavy(self) -> bool {
        matches!(self, DialKind::SShaped | DialKind::Mixed)
    }

    /// How much of the limit of error is left to what differs from reading to reading.
    ///
    /// Both parts are evenly spread, over a third and over two thirds of it: variances of 1 to 4.
    fn scatter(self) -> f64 {
        if matches!(self, DialKind::Scattered | DialKind::Mixed) { 1.0 / 3.0 } else { 0.0 }
    }
}

/// The movement of one dial: how its needle stands off the true vacuum. Pressures are in Pa of vacuum.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Movement {
    dial: Dial,
    /// The error at either end of the scale.
    ends: [f64; 2],
    /// How high the wave is that lies upon the line between them.
    wave: f64,
    /// From rising to falling.
    hysteresis: f64,
    /// The share of the limit of error within which the error differs from reading to reading.
    scatter: f64,
    /// How far friction holds the needle back on top of all that, until the dial is tapped.
    friction: f64,
}

impl Movement {
    /// One that shows the true vacuum.
    pub(crate) fn perfect(dial: Dial) -> Movement {
        Movement { dial, ends: [0.0; 2], wave: 0.0, hysteresis: 0.0, scatter: 0.0, friction: 0.0 }
    }

    /// Draws a movement of this kind, as its grade allows.
    pub(crate) fn draw(kind: DialKind, dial: Dial, chance: &mut Chance) -> Movement {
        const PLACES: u32 = 512;
        let (outer, middle) = dial.grade().limits();
        let least = outer.min(middle) * dial.span().si();
        let mut movement = Movement {
            ends: [chance.within(1.0), chance.within(1.0)],
            wave: if kind.is_wavy() { chance.within(1.0) } else { 0.0 },
            hysteresis: kind.hysteresis_pa().min(least),
            scatter: kind.scatter(),
            // A tap may move the needle by half the limit (from memory).
            friction: chance.between(0.0, 0.5 * least),
            ..Movement::perfect(dial)
        };
        let share_taken = |n: u32| {
            let vacuum = f64::from(n) / f64::from(PLACES) * dial.span().si();
            let room = movement.limit(vacuum) * (1.0 - movement.scatter) - 0.5 * movement.hysteresis;
            movement.curve(vacuum).abs() / room
        };
        let most = (0..=PLACES).map(share_taken).fold(f64::MIN_POSITIVE, f64::max);
        let scale = chance.share() / most;
        movement.ends = movement.ends.map(|end| end * scale);
        movement.wave *= scale;
        movement
    }

    /// Returns what it shows midway between rising and falling, scatter left out.
    pub(super) fn midway(&self, vacuum: f64) -> f64 {
        vacuum + self.curve(vacuum)
    }

    /// Returns how far its needle may stay behind on its way: half the hysteresis, and the friction
    /// where nobody taps it.
    pub(super) fn slack(&self, is_tapped: bool) -> f64 {
        0.5 * self.hysteresis + if is_tapped { 0.0 } else { self.friction }
    }

    /// Returns by how much it is off this time beyond what it always is.
    pub(super) fn scatter(&self, vacuum: f64, chance: &mut Chance) -> f64 {
        if self.scatter == 0.0 { 0.0 } else { chance.within(self.scatter * self.limit(vacuum)) }
    }

    fn curve(&self, vacuum: f64) -> f64 {
        let place = vacuum / self.dial.span().si();
        self.ends[0] * (1.0 - place) + self.ends[1] * place + self.wave * libm::sin(TAU * place)
    }

    /// The limit of error that the grade sets here: one in the middle half of the scale, one outside it.
    fn limit(&self, vacuum: f64) -> f64 {
        let (outer, middle) = self.dial.grade().limits();
        let span = self.dial.span().si();
        let in_the_middle = (0.25 * span..=0.75 * span).contains(&vacuum);
        (if in_the_middle { middle } else { outer }) * span
    }
}
