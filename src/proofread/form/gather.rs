use std::collections::HashMap;

use super::super::kind::Kind;
use super::Item;
use super::blanks::Blanks;
use crate::procedure::{Program, Site};

/// A circuit or section, and something in it, told apart from its like by how often it came before.
type Key = (Option<String>, String, u32);

/// What a walk came by.
#[derive(Debug, Default)]
pub(super) struct Way {
    /// The items in order, with the kinds of answers.
    pub(super) steps: Vec<(usize, Option<Kind>)>,
    /// The circuits whose tests were left with `cannot`: what would have come is not known.
    pub(super) left: Vec<String>,
}

/// Gathers the items of many walks into one form.
#[derive(Debug, Default)]
pub(in super::super) struct Gatherer {
    /// The items in the form's order, by their numbers.
    order: Vec<usize>,
    /// Each with the circuit whose test it belongs to.
    items: Vec<(Option<String>, Item)>,
    /// Where each stands in the script.
    sites: Vec<Option<Site>>,
    numbers: HashMap<Key, usize>,
    /// Every walk.
    pub(super) walks: Vec<Way>,
    walk: Way,
    blanks: Blanks,
    counts: HashMap<(Option<String>, String), u32>,
}

impl Gatherer {
    /// Begins a form of a procedure.
    pub(in super::super) fn of(program: &Program) -> Gatherer {
        Gatherer { blanks: Blanks::of(program), ..Gatherer::default() }
    }

    /// Takes in something that a walk was told at a place in the script, with blanks for what was worked out.
    pub(in super::super) fn add_told(&mut self, item: Item, circuit: Option<String>, site: Option<&Site>) {
        let item = match item {
            Item::Said(text) => Item::Said(self.blanks.blanked(&text, site)),
            Item::Found(text) => Item::Found(self.blanks.blanked(&text, site)),
            other => other,
        };
        self.add(item, circuit, None, site);
    }

    /// Takes in an item that a walk has come by, in a circuit or outside, with the kind of its answer.
    pub(in super::super) fn add(
        &mut self,
        item: Item,
        circuit: Option<String>,
        kind: Option<Kind>,
        site: Option<&Site>,
    ) {
        let name = name(&item);
        // The rig is set in several steps; a form has one place for that.
        let last = self.walk.steps.last().map(|(last, _)| &self.items[*last].1);
        let is_again = item == Item::Calibration && last == Some(&Item::Calibration);
        if is_again {
            return;
        }
        let count = self.counts.entry((circuit.clone(), name.clone())).or_insert(0);
        *count += 1;
        let key = (circuit.clone(), name, *count);
        let next = self.items.len();
        let number = *self.numbers.entry(key).or_insert(next);
        if number == next {
            self.items.push((circuit, item));
            self.sites.push(site.cloned());
            let place = self.place(site);
            self.order.insert(place, number);
        }
        self.walk.steps.push((number, kind));
    }

    /// Returns the place of a new item in the form's order: behind the last that this walk came by, and behind what stands
    /// between the two in the script, the other branch of a condition.
    fn place(&self, site: Option<&Site>) -> usize {
        let Some((last, _)) = self.walk.steps.last() else { return 0 };
        let after = self.order.iter().position(|n| n == last).map_or(0, |after| after + 1);
        let last = self.sites[*last].as_ref();
        let is_between = |n: &usize| match (last, self.sites[*n].as_ref(), site) {
            (Some(last), Some(other), Some(site)) => {
                last.file == site.file && other.file == site.file && last < other && other < site
            }
            _ => false,
        };
        after + self.order[after..].iter().take_while(|n| is_between(n)).count()
    }

    /// Takes note that the test of a circuit was left.
    pub(in super::super) fn leave(&mut self, circuit: Option<String>) {
        self.walk.left.extend(circuit);
    }

    /// Ends a walk; one that did not come to its end says nothing of what it did not come by.
    pub(in super::super) fn end_walk(&mut self, is_whole: bool) {
        let walk = std::mem::take(&mut self.walk);
        self.counts.clear();
        if is_whole {
            self.walks.push(walk);
        }
    }

    /// Returns the items in the form's order, each with its number.
    pub(super) fn items(&self) -> impl Iterator<Item = (usize, &Item)> {
        self.order.iter().map(|number| (*number, &self.items[*number].1))
    }

    /// Returns the number of the field of an item that a walk has come by, and counts it.
    pub(super) fn field_of(
        &self,
        item: &Item,
        circuit: Option<String>,
        counts: &mut HashMap<(Option<String>, String), u32>,
    ) -> Option<usize> {
        let name = name(item);
        let count = counts.entry((circuit.clone(), name.clone())).or_insert(0);
        *count += 1;
        let number = *self.numbers.get(&(circuit, name, *count))?;
        let mut fields = self.items().filter(|(_, item)| item.is_field());
        fields.position(|(n, _)| n == number).map(|at| at + 1)
    }

    /// Returns the number of the field where the rig is set first.
    pub(super) fn calibration(&self) -> Option<usize> {
        let mut fields = self.items().filter(|(_, item)| item.is_field());
        fields.position(|(_, item)| *item == Item::Calibration).map(|at| at + 1)
    }

    /// Returns the circuit whose test an item belongs to.
    pub(super) fn circuit(&self, number: usize) -> Option<&str> {
        self.items[number].0.as_deref()
    }

    /// Returns an item by its number.
    pub(super) fn item(&self, number: usize) -> &Item {
        &self.items[number].1
    }
}

fn name(item: &Item) -> String {
    match item {
        Item::Section(text) => format!("section {text}"),
        Item::Circuit(circuit) => format!("circuit {}", circuit.name),
        Item::Said(text) => format!("said {text}"),
        Item::Found(text) => format!("found {text}"),
        Item::Calibration => "calibration".to_owned(),
        Item::Asked(question, _) => format!("{} {}", question.wants.kind(), question.words),
    }
}
