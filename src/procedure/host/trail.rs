use std::cell::RefCell;
use std::collections::BTreeSet;
use std::rc::Rc;

/// A place in a script that calls a word.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Site {
    /// The file, relative to the procedure's folder.
    pub file: String,
    /// The line, from 1.
    pub line: usize,
    /// The column in characters, from 1.
    pub column: usize,
}

/// The places that walks have come by, for whoever wants to know which were never reached.
#[derive(Debug, Clone, Default)]
pub struct Trail(Rc<RefCell<Steps>>);

#[derive(Debug, Default)]
struct Steps {
    seen: BTreeSet<Site>,
    here: Option<Site>,
}

impl Trail {
    /// Takes note of a place.
    pub(crate) fn step(&self, site: Site) {
        let mut steps = self.0.borrow_mut();
        if !steps.seen.contains(&site) {
            steps.seen.insert(site.clone());
        }
        steps.here = Some(site);
    }

    /// Returns the place that a walk stands at.
    pub fn here(&self) -> Option<Site> {
        self.0.borrow().here.clone()
    }

    /// Returns how many places have been seen.
    pub fn n_seen(&self) -> usize {
        self.0.borrow().seen.len()
    }

    /// Returns whether a place has been seen.
    pub fn has_seen(&self, site: &Site) -> bool {
        self.0.borrow().seen.contains(site)
    }
}
