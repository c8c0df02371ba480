/// Which tests are asked about.
///
/// A shop tests again what it has repaired, so its weak circuits would look the better the more it repairs, were the two
/// not kept apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tests {
    /// The first tests of units.
    First,
    /// Those of circuits that were tested again, as after a repair.
    Again,
}

impl Tests {
    /// How it is written in the index.
    pub(super) fn is_again(self) -> bool {
        self == Tests::Again
    }
}
