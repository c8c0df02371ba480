use std::cell::{Cell, RefCell};
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::rc::Rc;

use super::cover::Cover;
use crate::procedure::{Program, Site};
use crate::quantity::Unit;
use crate::record::{Asker, Circuit, HoseOn, Question, Told, Wants};

/// One thing on a form.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Item {
    Section(String),
    Circuit(Box<Circuit>),
    /// Something to read.
    Said(String),
    /// A conclusion to tick where it applies.
    Found(String),
    Calibration,
    Asked(Box<Question>),
}

impl Item {
    /// Returns what a form has for something told.
    pub(super) fn told(told: &Told, circuits: impl Fn(&str) -> Option<Circuit>) -> Option<Item> {
        match told {
            Told::Section { title } => Some(Item::Section(title.clone())),
            Told::Said { text } => Some(Item::Said(text.clone())),
            Told::Found { text, .. } => Some(Item::Found(text.clone())),
            Told::NotFitted { circuit, why } => Some(Item::Said(format!("{circuit}: not fitted ({why})."))),
            Told::Began { circuit } => circuits(circuit).map(|circuit| Item::Circuit(Box::new(circuit))),
            Told::Described { .. } | Told::Passed { .. } | Told::Ended { .. } => None,
        }
    }

    /// Returns what a form has for a question; what the runner asks once for all stands at its head.
    pub(super) fn asked(question: &Question) -> Option<Item> {
        if question.asker == Asker::Runner {
            return match &question.wants {
                Wants::Reading { on: HoseOn::Rig(_), .. } => Some(Item::Calibration),
                _ => None,
            };
        }
        Some(Item::Asked(Box::new(question.clone())))
    }
}

/// A circuit or section, and something in it, told apart from its like by how often it came before.
type ItemName = (Option<String>, String, u32);

/// The items that a walk came by, in order.
type Way = Vec<usize>;

/// The items that a walk came by, a bit for each.
#[derive(Debug, Default)]
pub(super) struct CameBy(Vec<u64>);

impl CameBy {
    fn of(way: &[usize]) -> CameBy {
        let mut bits = vec![0; way.iter().max().map_or(0, |last| last / 64 + 1)];
        way.iter().for_each(|item| bits[item / 64] |= 1 << (item % 64));
        CameBy(bits)
    }

    pub(super) fn contains(&self, item: usize) -> bool {
        self.0.get(item / 64).is_some_and(|bits| bits & 1 << (item % 64) != 0)
    }
}

/// The most items of a form, and the most bytes of all their words: more than anybody prints.
const MOST_ITEMS: usize = 4_000;
const MOST_BYTES: usize = 1 << 20;
/// The most answers that are weighed for the conditions of a whole form.
const MOST_WEIGHED: usize = 2_000_000;

/// Gathers the items of many walks into one form.
#[derive(Debug, Default)]
pub(super) struct Gatherer {
    /// The items in the form's order, by their numbers.
    order: Vec<usize>,
    /// Each with the circuit whose test it belongs to.
    items: Vec<(Option<String>, Item)>,
    /// Where each stands in the script.
    sites: Vec<Option<Site>>,
    numbers: HashMap<ItemName, usize>,
    /// The items behind questions.
    questions: HashMap<usize, usize>,
    /// What whole walks came by.
    pub(super) walks: HashMap<usize, CameBy>,
    n_bytes: usize,
    /// Whether there was more than a form can hold.
    pub(super) is_full: bool,
    walk: Way,
    /// The texts that are written out at each place.
    written: BTreeMap<Site, Vec<String>>,
    counts: HashMap<(Option<String>, String), u32>,
    n_weighed: Cell<usize>,
    /// The questions that were looked at, of each bundle of answers that decide together.
    looked_at: RefCell<HashMap<BundleName, Rc<BTreeSet<usize>>>>,
}

/// What tells bundles apart: their set of strands, and the circuit of their test.
type BundleName = (usize, Option<String>);

impl Gatherer {
    pub(super) fn of(program: &Program) -> Gatherer {
        let told = program.sites().filter(|(word, _)| ["finding", "say"].contains(word));
        let written = told.map(|(_, site)| (site.clone(), program.pieces_at(site).to_vec())).collect();
        Gatherer { written, ..Gatherer::default() }
    }

    /// Takes in something that a walk was told at a place in the script, with blanks for what was worked out.
    pub(super) fn add_told(&mut self, item: Item, circuit: Option<String>, site: Option<&Site>) {
        let written = site.and_then(|site| self.written.get(site));
        let blanks = |text: String| written.map_or(text.clone(), |written| blanked(&text, written));
        let item = match item {
            Item::Said(text) => Item::Said(blanks(text)),
            Item::Found(text) => Item::Found(blanks(text)),
            other => other,
        };
        self.add(item, circuit, None, site);
    }

    /// Takes in an item that a walk has come by, in a circuit or outside, with the question that it is.
    pub(super) fn add(
        &mut self,
        item: Item,
        circuit: Option<String>,
        question: Option<usize>,
        site: Option<&Site>,
    ) {
        let name = name(&item);
        // The rig is set in several steps; a form has one place for that.
        let last = self.walk.last().map(|last| &self.items[*last].1);
        let is_again = item == Item::Calibration && last == Some(&Item::Calibration);
        if is_again {
            return;
        }
        let count = self.counts.entry((circuit.clone(), name.clone())).or_insert(0);
        *count += 1;
        let key = (circuit.clone(), name, *count);
        let next = self.items.len();
        if !self.numbers.contains_key(&key) {
            if next == MOST_ITEMS || self.n_bytes > MOST_BYTES {
                self.is_full = true;
                return;
            }
            self.n_bytes += key.1.len();
        }
        let number = *self.numbers.entry(key).or_insert(next);
        if number == next {
            self.items.push((circuit, item));
            self.sites.push(site.cloned());
            let place = self.place(number, site);
            self.order.insert(place, number);
        }
        if let Some(question) = question {
            self.questions.insert(question, number);
        }
        self.walk.push(number);
    }

    /// Returns the place of a new item in the form's order: behind the last that this walk came by, and behind what
    /// stands between the two in the script, the other branch of a condition.
    fn place(&self, item: usize, site: Option<&Site>) -> usize {
        let Some(last) = self.walk.last() else { return 0 };
        let after = self.order.iter().position(|n| n == last).map_or(0, |after| after + 1);
        let last = self.sites[*last].as_ref();
        let is_between = |n: &usize| match (last, self.sites[*n].as_ref(), site) {
            (Some(last), Some(other), Some(site)) => {
                last.file == site.file && other.file == site.file && last < other && other < site
            }
            _ => false,
        };
        after
            + self.order[after..]
                .iter()
                .take_while(|n| {
                    // What stands outside all tests comes after those before it, whichever walk left them out.
                    let is_here = self.circuit(item).is_none_or(|own| self.circuit(**n) == Some(own));
                    is_here && is_between(n)
                })
                .count()
    }

    /// Ends a walk; one that did not come to its end says nothing of what it did not come by.
    pub(super) fn end_walk(&mut self, walk: usize, is_whole: bool) {
        let items = std::mem::take(&mut self.walk);
        self.counts.clear();
        if is_whole {
            self.walks.insert(walk, CameBy::of(&items));
        }
    }

    /// Returns the questions that were looked at in a bundle.
    pub(super) fn looked_at(
        &self,
        set: usize,
        circuit: &Option<String>,
        cover: &Cover,
    ) -> Rc<BTreeSet<usize>> {
        let mut known = self.looked_at.borrow_mut();
        let looked_at = known.entry((set, circuit.clone())).or_insert_with(|| {
            let mut questions = BTreeSet::new();
            cover.questions(&mut questions);
            Rc::new(questions)
        });
        Rc::clone(looked_at)
    }

    /// Counts answers that are weighed; returns whether more may be.
    pub(super) fn weighs(&self, n: usize) -> bool {
        self.n_weighed.set(self.n_weighed.get() + n);
        self.n_weighed.get() <= MOST_WEIGHED
    }

    pub(super) fn item_of(&self, question: usize) -> Option<usize> {
        self.questions.get(&question).copied()
    }

    /// Returns the place in the script that an item comes from.
    pub(super) fn site(&self, number: usize) -> Option<&Site> {
        self.sites[number].as_ref()
    }

    /// Returns the items in the form's order, each with its number.
    pub(super) fn items(&self) -> impl Iterator<Item = (usize, &Item)> {
        self.order.iter().map(|number| (*number, &self.items[*number].1))
    }

    pub(super) fn circuit(&self, number: usize) -> Option<&str> {
        self.items[number].0.as_deref()
    }

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
        Item::Asked(question) => format!("{} {}", question.wants.kind(), question.words),
    }
}

/// What a form has in place of a value that is not known before the bench.
const BLANK: &str = "________";
/// What the explorer types where any words do.
const WORDS: &str = "proofread";

/// Returns a text that was told, with a blank for each figure in it that was read or typed; what stands between the
/// texts that are written out was worked out.
fn blanked(text: &str, written: &[String]) -> String {
    let (mut blanked, mut rest) = (String::new(), text);
    for (n, piece) in written.iter().enumerate() {
        // The last text ends it: a full stop is not the point of a figure before it.
        let at = match n + 1 == written.len() && rest.ends_with(piece.as_str()) {
            true => Some(rest.len() - piece.len()),
            false => rest.find(piece.as_str()),
        };
        if let Some(at) = at {
            blanked += worked_out(&rest[..at]);
            blanked += piece;
            rest = &rest[at + piece.len()..];
        }
    }
    blanked + worked_out(rest)
}

/// Returns what stands on a form for a part of a text that the script worked out: what is no figure with its
/// unit was known before.
fn worked_out(part: &str) -> &str {
    let words: Vec<&str> = part.split_whitespace().collect();
    let is_figure = words.windows(2).any(|pair| {
        let unit = pair[1].trim_end_matches([',', '.', ';', ')']);
        pair[0].trim_start_matches('(').parse::<f64>().is_ok() && Unit::by_text(unit).is_some()
    });
    if is_figure || part.trim() == WORDS { BLANK } else { part }
}

#[cfg(test)]
mod tests {
    use super::worked_out;

    #[test]
    fn a_figure_with_its_unit_becomes_a_blank_and_a_port_stays() {
        for part in ["14.003 mm", "0.6061 in", "24.5 inHg, hole 0.0047 in", "proofread"] {
            assert_eq!(worked_out(part), "________", "{part}");
        }
        for part in ["", "3A", "4C or 4D", "2 of them"] {
            assert_eq!(worked_out(part), part);
        }
    }
}
