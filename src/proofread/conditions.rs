use std::collections::{BTreeMap, BTreeSet};

use super::bundles::Bundle;
use super::cover::Wish;
use super::desk::Mind;
use super::gather::{Gatherer, Item};
use super::kind::AnswerKind;
use crate::leak::Verdict;
use crate::procedure::{Aspect, Program, Statement};
use crate::record::Wants;

/// Kinds of answers to some questions, which lead somewhere together.
type Together = BTreeMap<usize, BTreeSet<AnswerKind>>;

/// When an item of a form is come by.
#[derive(Debug, Clone, PartialEq)]
enum When {
    /// On every way.
    Always,
    /// Where all of one of these have come true: a question has got one of these kinds of answers.
    Answers(Vec<Together>),
    /// A form can't say it: it hangs on these questions, or on what is worked out.
    Computed(BTreeSet<usize>),
}

/// The most alternatives that a form puts before somebody, and the most answers in each.
const MOST_ALTERNATIVES: usize = 3;
const MOST_ANSWERS: usize = 4;
/// More ends of a search than these make no condition that anybody reads.
const MOST_ENDS: usize = 2_000;

/// Writes when an item is to be filled in, by the numbers of the fields before it; nothing where it always is.
pub(super) fn condition(
    program: &Program,
    mind: &Mind,
    form: &Gatherer,
    item: usize,
    numbers: &BTreeMap<usize, usize>,
) -> Option<String> {
    let call = form.site(item).and_then(|site| mind.calls.get(site));
    let Some(call) = call else {
        let is_always = *form.item(item) == Item::Calibration
            || form.walks.values().all(|came_by| came_by.contains(item));
        return (!is_always).then(|| computed(&[]));
    };
    let number = |question: &usize| form.item_of(*question).and_then(|item| numbers.get(&item).copied());
    match when(mind, form, &program.influences().statements[*call], item) {
        When::Always => None,
        When::Answers(alternatives)
            if alternatives.iter().flat_map(BTreeMap::keys).all(|q| number(q).is_some()) =>
        {
            let one = |answers: &Together| {
                let parts = answers.iter().map(|(question, kinds)| {
                    let said =
                        form.item_of(*question).map_or(String::new(), |item| said(form.item(item), kinds));
                    (number(question).unwrap_or_default(), said)
                });
                let mut parts: Vec<_> = parts.collect();
                parts.sort();
                let parts: Vec<_> =
                    parts.into_iter().map(|(number, said)| format!("{number} {said}")).collect();
                parts.join(" and ")
            };
            let alternatives: Vec<_> = alternatives.iter().map(one).collect();
            Some(format!("if {}:", alternatives.join(", or if ")))
        }
        When::Answers(alternatives) => {
            let fields: BTreeSet<usize> =
                alternatives.iter().flat_map(BTreeMap::keys).filter_map(&number).collect();
            Some(computed(&fields.into_iter().collect::<Vec<_>>()))
        }
        When::Computed(questions) => {
            let fields: BTreeSet<usize> = questions.iter().filter_map(number).collect();
            Some(computed(&fields.into_iter().collect::<Vec<_>>()))
        }
    }
}

fn computed(fields: &[usize]) -> String {
    const FOR_COMPUTER: &str = "for the bench with a computer only";
    match fields {
        [] => format!("{FOR_COMPUTER}:"),
        [one] => format!("{FOR_COMPUTER}; it may depend on {one}:"),
        [first @ .., last] if fields.len() <= 8 => {
            let first: Vec<_> = first.iter().map(usize::to_string).collect();
            format!("{FOR_COMPUTER}; it may depend on {} and {last}:", first.join(", "))
        }
        _ => format!("{FOR_COMPUTER}; it may depend on {} fields:", fields.len()),
    }
}

/// Finds out when an item is come by, from a search that exhausted what decides it.
fn when(mind: &Mind, form: &Gatherer, statement: &Statement, item: usize) -> When {
    let circuit = form.circuit(item);
    let deciding = mind.bundles.deciding(&statement.hangs_on);
    if deciding.is_empty() && statement.hangs_on.is_none() {
        return When::Always;
    }
    let own = deciding.iter().find(|bundle| bundle.circuit.as_deref() == circuit);
    let Some(bundle) = own.or_else(|| deciding.iter().find(|bundle| bundle.circuit.is_none())) else {
        return When::Computed(BTreeSet::new());
    };
    let questions = || {
        let looked_at = form.looked_at(bundle.set, &bundle.circuit, &bundle.cover);
        looked_at.iter().copied().filter(|question| form.item_of(*question).is_some()).collect()
    };
    if !form.weighs(0) {
        return When::Computed(questions());
    }
    let Some(came_by) = ways(mind, form, bundle, item) else { return When::Computed(questions()) };
    let alternatives = simplified(came_by, |question, kinds| {
        // A test that was left is over, whatever else would come.
        let is_elsewhere = mind.bundles.questions[*question].1.as_deref() != circuit;
        let may_be_left = is_elsewhere && mind.bundles.takes(bundle, *question, Aspect::Leaving);
        let mut seen =
            mind.bundles.options[*question].iter().filter(|possible| may_be_left || !possible.ends_test);
        seen.all(|possible| kinds.contains(&possible.kind))
    });
    match alternatives.as_slice() {
        [] => When::Computed(questions()),
        [one] if one.is_empty() => When::Always,
        all if all.len() <= MOST_ALTERNATIVES && all.iter().all(|one| one.len() <= MOST_ANSWERS) => {
            let is_figure = |kind: &AnswerKind| matches!(kind, AnswerKind::Value(_));
            match all.iter().flat_map(BTreeMap::values).flatten().any(is_figure) {
                true => When::Computed(questions()),
                false => When::Answers(alternatives),
            }
        }
        _ => When::Computed(questions()),
    }
}

/// Returns the answers that lead to an item, each way by itself; none where some may be unknown.
fn ways(mind: &Mind, form: &Gatherer, bundle: &Bundle, item: usize) -> Option<Vec<Together>> {
    let circuit = form.circuit(item);
    let mut came_by: Vec<Together> = Vec::new();
    let (mut n_ends, mut is_known) = (0, true);
    let is_seen = bundle.cover.ends(&mind.bundles.options, &mut Wish::new(), &mut |wish, walk| {
        n_ends += 1;
        let may_go_on = n_ends <= MOST_ENDS && form.weighs(wish.len() + 1);
        // On paper every test is made, and whoever can't do something says so.
        let is_left_out = |(question, kinds): (&usize, &Vec<AnswerKind>)| {
            kinds[..] == [AnswerKind::Cannot] && form.item_of(*question).is_none()
        };
        if wish.iter().any(is_left_out) {
            return may_go_on;
        }
        match walk.and_then(|walk| form.walks.get(&walk)) {
            Some(items) if items.contains(item) => {
                let is_said = |(question, kinds): &(&usize, &Vec<AnswerKind>)| {
                    // Whatever else is filled in of a test tells that what came before it was done.
                    let of = &mind.bundles.questions[**question].1;
                    let is_told = |(other, kinds): (&usize, &Vec<AnswerKind>)| {
                        other != *question
                            && mind.bundles.questions[*other].1 == *of
                            && kinds[..] != [AnswerKind::Cannot]
                    };
                    kinds[..] != [AnswerKind::Done] || of.as_deref() != circuit && !wish.iter().any(is_told)
                };
                // A walk stands for every answer to what it did not ask; on paper that field is empty.
                let is_asked =
                    |question: &usize| form.item_of(*question).is_none_or(|asked| items.contains(asked));
                let said = wish.iter().filter(is_said).filter(|(question, _)| is_asked(question));
                came_by.push(said.map(|(q, kinds)| (*q, kinds.iter().copied().collect())).collect());
            }
            Some(_) => {}
            None => is_known = false,
        }
        may_go_on && is_known
    });
    (is_seen && mind.bundles.shows(bundle)).then_some(came_by)
}

/// Brings alternatives together that differ in the answers to one question only, until none do; the same answers
/// lead there as before.
fn simplified(
    mut alternatives: Vec<Together>,
    are_all: impl Fn(&usize, &BTreeSet<AnswerKind>) -> bool,
) -> Vec<Together> {
    let whole = |one: &mut Together| one.retain(|question, kinds| !are_all(question, kinds));
    alternatives.iter_mut().for_each(whole);
    loop {
        let mut pair = None;
        'search: for (n, first) in alternatives.iter().enumerate() {
            for (m, second) in alternatives.iter().enumerate().skip(n + 1) {
                if let Some(both) = joined(first, second) {
                    pair = Some((n, m, both));
                    break 'search;
                }
            }
        }
        let Some((n, m, mut both)) = pair else { return alternatives };
        whole(&mut both);
        alternatives.swap_remove(m);
        alternatives[n] = both;
    }
}

/// Returns what two alternatives are together, where that is one alternative.
fn joined(first: &Together, second: &Together) -> Option<Together> {
    let within = |a: &Together, b: &Together| {
        b.iter().all(|(question, kinds)| a.get(question).is_some_and(|own| own.is_subset(kinds)))
    };
    if within(first, second) {
        return Some(second.clone());
    }
    if within(second, first) {
        return Some(first.clone());
    }
    if !first.keys().eq(second.keys()) {
        return None;
    }
    let mut differing = first.iter().filter(|(question, kinds)| second.get(question) != Some(kinds));
    let (question, kinds) = differing.next()?;
    if differing.next().is_some() {
        return None;
    }
    let mut both = first.clone();
    both.insert(*question, kinds.union(second.get(question)?).copied().collect());
    Some(both)
}

fn said(item: &Item, kinds: &BTreeSet<AnswerKind>) -> String {
    let not_sound = [Verdict::Worn, Verdict::Leaks, Verdict::Retest].map(AnswerKind::Read);
    let rest: Vec<_> =
        kinds.iter().filter(|kind| !not_sound.contains(kind) && **kind != AnswerKind::Cannot).collect();
    let is_undecided = not_sound.iter().all(|kind| kinds.contains(kind));
    match rest.as_slice() {
        [] if is_undecided => return "does not hold".to_owned(),
        [AnswerKind::Read(Verdict::Holds)] if is_undecided => return "was read".to_owned(),
        _ => {}
    }
    let option = |n: usize| match item {
        Item::Asked(question) => match &question.wants {
            Wants::Choice { options } => options.get(n).map_or("", String::as_str),
            _ => "",
        },
        _ => "",
    };
    let said = |kind: &AnswerKind| {
        Some(match kind {
            AnswerKind::Yes => "is yes".to_owned(),
            AnswerKind::No => "is no".to_owned(),
            AnswerKind::Pick(n) => format!("is \"{}\"", option(*n)),
            AnswerKind::Within => "is within its limits".to_owned(),
            AnswerKind::Low => "is below them".to_owned(),
            AnswerKind::High => "is above them".to_owned(),
            AnswerKind::Read(Verdict::Unjudged) => "was read".to_owned(),
            AnswerKind::Read(verdict @ (Verdict::Holds | Verdict::Leaks)) => verdict.to_string(),
            AnswerKind::Read(verdict) => format!("is {verdict}"),
            AnswerKind::Cannot => "can't be done".to_owned(),
            AnswerKind::Done => "is done".to_owned(),
            AnswerKind::Value(_) => return None,
        })
    };
    let words: Vec<String> = kinds.iter().filter_map(said).collect();
    words.join(" or ")
}
