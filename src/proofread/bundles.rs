use std::collections::{BTreeMap, BTreeSet};

use super::cover::{Cover, Seen, Wish};
use super::kind::{Glimpse, LEFT, Possible, aspect};
use crate::procedure::{Aspect, Influence, Strand};

/// A question as it comes again on other walks: by the call that asks it, the circuit under test, and how often it was
/// asked there before.
type QuestionKey = (usize, Option<String>, u32);

/// Answers that decide together: those of one set of strands, in the test of one circuit.
#[derive(Debug)]
pub(super) struct Bundle {
    /// The place of the set among all.
    pub(super) set: usize,
    pub(super) circuit: Option<String>,
    pub(super) cover: Cover,
    /// How many ways that lead apart have been tried.
    pub(super) n_ways: usize,
    /// Whether everything was tried that can be.
    pub(super) is_spent: bool,
    /// Whether that shows what is not possible: no walk failed to follow what was wished for.
    pub(super) is_exact: bool,
}

/// Everything that decides, and what of it has been tried.
#[derive(Debug, Default)]
pub(super) struct Bundles {
    sets: Vec<Influence>,
    /// The calls whose answers belong to each.
    askers: Vec<BTreeSet<usize>>,
    /// The sets that a call belongs to.
    sets_of: BTreeMap<usize, Vec<usize>>,
    pub(super) all: Vec<Bundle>,
    known: BTreeSet<(usize, Option<String>)>,
    /// How many looks are kept.
    pub(super) n_kept: usize,
    pub(super) questions: Vec<QuestionKey>,
    numbers: BTreeMap<QuestionKey, usize>,
    pub(super) options: Vec<Vec<Possible>>,
    /// Questions whose kinds of answers are not the same on all walks.
    pub(super) shifting: BTreeSet<usize>,
}

/// Looking for something untried takes no more steps than this beside what another bundle wishes for.
const FUEL: usize = 200;
/// More combinations of figures than these are tried only where a statement has not been reached.
const MOST_WAYS_BY_FIGURES: usize = 40;

impl Bundles {
    /// Opens no bundle yet; there is one barometer, wherever it is asked for.
    pub(super) fn new(mut sets: Vec<Influence>, n_calls: usize, barometers: &BTreeSet<usize>) -> Bundles {
        let mut sets_of: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        let mut askers_of = Vec::new();
        for (n, set) in sets.iter_mut().enumerate() {
            let first = |strand: &Strand| match barometers.first() {
                Some(first) if barometers.contains(&strand.asker) => Strand { asker: *first, ..*strand },
                _ => *strand,
            };
            set.strands = set.strands.iter().map(first).collect();
            let askers: BTreeSet<usize> = match set.is_all {
                true => (0..n_calls).collect(),
                false => set.strands.iter().map(|strand| strand.asker).collect(),
            };
            for asker in &askers {
                sets_of.entry(*asker).or_default().push(n);
            }
            askers_of.push(askers);
        }
        Bundles { sets, askers: askers_of, sets_of, ..Bundles::default() }
    }

    /// Returns the number of a question, and takes note of the kinds of answers that it may get.
    pub(super) fn question(&mut self, asked: QuestionKey, kinds: &[Possible]) -> usize {
        let next = self.questions.len();
        let number = *self.numbers.entry(asked.clone()).or_insert(next);
        if number == next {
            self.join(&asked);
            self.questions.push(asked);
            self.options.push(kinds.to_vec());
        } else {
            let known = &mut self.options[number];
            if known.iter().any(|known| !kinds.iter().any(|other| other.is_like(known))) {
                self.shifting.insert(number);
            }
            let n_known = known.len();
            for other in kinds {
                if known.iter().all(|known| known.kind != other.kind) {
                    known.push(other.clone());
                }
            }
            if known.len() > n_known {
                self.reopen();
            }
        }
        number
    }

    fn reopen(&mut self) {
        for bundle in &mut self.all {
            bundle.cover.reopen();
            bundle.is_spent = false;
        }
    }

    /// Opens the bundles that a question belongs to.
    fn join(&mut self, (asker, circuit, _): &QuestionKey) {
        for set in self.sets_of.get(asker).into_iter().flatten() {
            let of = &self.sets[*set];
            let is_near =
                of.is_all || of.strands.iter().any(|strand| strand.asker == *asker && !strand.is_far);
            let circuit = circuit.clone().filter(|_| is_near && !of.is_all);
            if self.known.insert((*set, circuit.clone())) {
                let cover = Cover::Open;
                self.all.push(Bundle {
                    set: *set,
                    circuit,
                    cover,
                    n_ways: 0,
                    is_spent: false,
                    is_exact: true,
                });
            }
        }
    }

    /// Returns whether a look at an answer belongs to a bundle.
    pub(super) fn takes(&self, bundle: &Bundle, question: usize, aspect: Aspect) -> bool {
        self.is_part(&self.sets[bundle.set], bundle.circuit.as_deref(), question, aspect)
    }

    /// Returns whether what hangs on a set in the test of a circuit hangs on a look at an answer.
    pub(super) fn is_part(
        &self,
        set: &Influence,
        under_test: Option<&str>,
        question: usize,
        aspect: Aspect,
    ) -> bool {
        let (asker, circuit, _) = &self.questions[question];
        let is_near = circuit.is_none() || circuit.as_deref() == under_test;
        let has = |is_far| set.strands.contains(&Strand { asker: *asker, is_far, aspect });
        set.is_all || has(true) || is_near && has(false)
    }

    /// Returns the bundles that have something left to try. Figures are never all tried: there is an end of it where
    /// nothing more is wanted of them.
    pub(super) fn open(&self, is_wanted: impl Fn(usize) -> bool) -> impl Iterator<Item = usize> {
        let is_enough = move |n: usize| {
            let bundle = &self.all[n];
            bundle.n_ways >= MOST_WAYS_BY_FIGURES
                && !is_wanted(n)
                && self.sets[bundle.set].has(Aspect::Figure)
        };
        (0..self.all.len()).filter(move |n| !self.all[*n].is_spent && !is_enough(*n))
    }

    pub(super) fn set_of(&self, bundle: usize) -> &Influence {
        &self.sets[self.all[bundle].set]
    }

    /// Returns what a bundle wishes to try next; none where it has nothing left.
    pub(super) fn wish_of(&mut self, n: usize) -> Option<Wish> {
        let mut wish = Wish::new();
        let bundle = &mut self.all[n];
        if bundle.cover.wish(&self.options, &mut wish, true, &mut { usize::MAX }) {
            return Some(wish);
        }
        bundle.is_spent = true;
        None
    }

    /// Adds what other bundles wish to try, as far as it goes together.
    pub(super) fn wish_along(&mut self, first: usize, wish: &mut Wish) {
        for (n, bundle) in self.all.iter_mut().enumerate() {
            if n != first && !bundle.is_spent {
                bundle.cover.wish(&self.options, wish, false, &mut { FUEL });
            }
        }
    }

    /// Takes in a walk: what it looked at, and what was left out on it. One that fell short counts for one bundle only.
    pub(super) fn take_in(
        &mut self,
        looks: &[(usize, &'static str)],
        given: &Wish,
        walk: usize,
        only: Option<usize>,
    ) {
        let seen: Vec<Seen> = looks.iter().filter_map(|look| self.seen(*look, given)).collect();
        let is_left = |seen: &&Seen| seen.property == LEFT && seen.outcome == Glimpse::Is(true);
        let left = seen.iter().filter(is_left).map(|seen| seen.question);
        // Outside the tests nothing ends where something is left out.
        let left: Vec<usize> = left.filter(|question| self.questions[*question].1.is_some()).collect();
        let mut by_call: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for (n, seen) in seen.iter().enumerate() {
            by_call.entry(self.questions[seen.question].0).or_default().push(n);
        }
        for n in 0..self.all.len() {
            let bundle = &self.all[n];
            if bundle.is_spent || only.is_some_and(|only| only != n) {
                continue;
            }
            // What was left out cut this short by an answer that is none of the bundle's.
            let sees_far = self.sets[bundle.set].strands.iter().any(|strand| strand.is_far);
            let is_cut = left.iter().any(|question| {
                (sees_far || self.questions[*question].1 == bundle.circuit)
                    && !self.takes(bundle, *question, Aspect::Leaving)
            });
            if is_cut {
                continue;
            }
            let askers = &self.askers[bundle.set];
            let mut own: Vec<usize> =
                askers.iter().filter_map(|asker| by_call.get(asker)).flatten().copied().collect();
            own.sort_unstable();
            let own: Vec<Seen> = own
                .into_iter()
                .map(|n| seen[n])
                .filter(|seen| self.takes(bundle, seen.question, aspect(seen.property)))
                .collect();
            let bundle = &mut self.all[n];
            bundle.n_ways += usize::from(bundle.cover.take_in(&self.options, &own, walk, &mut self.n_kept));
        }
    }

    pub(super) fn seen(&self, (question, property): (usize, &'static str), given: &Wish) -> Option<Seen> {
        let kind = given.get(&question)?.first()?;
        let possible = self.options[question].iter().find(|possible| possible.kind == *kind)?;
        Some(Seen { question, property, outcome: possible.outcome(property)? })
    }

    /// Gives up what a bundle wished for, because no walk can follow it there.
    pub(super) fn give_up(&mut self, n: usize, wish: &Wish) {
        let bundle = &mut self.all[n];
        bundle.cover.give_up(wish, &self.options);
        bundle.is_exact = false;
    }

    /// Returns the bundles that together show whether something that hangs on this can happen.
    pub(super) fn deciding(&self, on: &Influence) -> Vec<&Bundle> {
        if on.is_none() {
            return Vec::new();
        }
        // Whatever holds all strands holds the first.
        let holding: Vec<usize> = match on.strands.first() {
            Some(first) => self.sets_of.get(&first.asker).cloned().unwrap_or_default(),
            None => (0..self.sets.len()).collect(),
        };
        let holding = holding.into_iter().filter(|n| on.is_in(&self.sets[*n]));
        let set = holding.min_by_key(|n| (self.sets[*n].is_all, self.sets[*n].strands.len()));
        self.all.iter().filter(|bundle| Some(bundle.set) == set).collect()
    }

    /// Returns whether what no walk of a bundle came by is impossible.
    pub(super) fn shows(&self, bundle: &Bundle) -> bool {
        let aspects = [Aspect::Verdict, Aspect::Leaving, Aspect::Figure];
        let is_part = |question: &usize| aspects.iter().any(|aspect| self.takes(bundle, *question, *aspect));
        bundle.is_spent && bundle.is_exact && !self.shifting.iter().any(is_part)
    }
}
