use super::Sort;
use crate::quantity::Dimension;

/// A word of the procedure language, as its authors are told of it and as the checks know it.
#[derive(Debug)]
pub struct Word {
    /// The word.
    pub name: &'static str,
    /// Where it may stand.
    pub stands: Stands,
    /// What it takes, one list for each way of calling it.
    pub takes: &'static [&'static [(&'static str, Sort)]],
    /// What it gives.
    pub gives: Sort,
    /// How it is written.
    pub form: &'static str,
    /// What it does, in a sentence or two.
    pub does: &'static str,
    /// The keys of the description that it takes.
    pub keys: &'static [Key],
}

/// Where a word may stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stands {
    /// By itself.
    Alone,
    /// By itself or behind the `t` of a test.
    Anywhere,
    /// Behind the `t` of a test.
    InTest,
    /// As a key of another word's description, never by itself.
    Inside,
}

/// A key of a description.
#[derive(Debug)]
pub struct Key {
    /// The key.
    pub name: &'static str,
    /// What it holds.
    pub sort: Sort,
    /// Whether it can't be left out.
    pub needed: bool,
    /// What it means.
    pub means: &'static str,
}

/// Something that may be asked behind a point.
#[derive(Debug)]
pub struct Property {
    /// What it is asked of.
    pub of: Sort,
    /// Its name.
    pub name: &'static str,
    /// What it gives.
    pub gives: Sort,
    /// What it means.
    pub means: &'static str,
}

/// A key that can't be left out.
pub(super) const fn needed(name: &'static str, sort: Sort, means: &'static str) -> Key {
    Key { name, sort, needed: true, means }
}

/// A key that may be left out.
pub(super) const fn key(name: &'static str, sort: Sort, means: &'static str) -> Key {
    Key { name, sort, needed: false, means }
}

/// A quantity of one dimension.
pub(super) const fn of(dimension: Dimension) -> Sort {
    Sort::Quantity(Some(dimension))
}
