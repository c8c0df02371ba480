/// A small generator of repeatable chance: the same seed gives the same rig on every machine and in every version.
///
/// SplitMix64: Steele, Lea and Flood, "Fast splittable pseudorandom number generators", OOPSLA 2014.
#[derive(Debug, Clone)]
pub struct Chance {
    state: u64,
}

impl Chance {
    /// Starts a sequence from a seed.
    pub fn new(seed: u64) -> Chance {
        Chance { state: seed }
    }

    /// Returns the next 64 bits.
    pub fn bits(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.state;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// Returns a number evenly spread from 0 up to, not including, 1.
    pub fn share(&mut self) -> f64 {
        const STEP: f64 = 1.0 / (1u64 << 53) as f64;
        (self.bits() >> 11) as f64 * STEP
    }

    /// Returns a number evenly spread between two limits.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.share()
    }

    /// Returns a number evenly spread within `half_width` of zero.
    pub fn within(&mut self, half_width: f64) -> f64 {
        self.between(-half_width, half_width)
    }
}
