use std::collections::{BTreeMap, BTreeSet};

use super::gather::{Gatherer, Item, Way};
use super::kind::AnswerKind;
use crate::record::Wants;

/// Writes when an item is to be filled in, by the numbers of the fields before it; nothing where it always is.
pub(super) fn condition(form: &Gatherer, when: &When, numbers: &BTreeMap<usize, usize>) -> Option<String> {
    match when {
        When::Always => None,
        When::Otherwise => Some("only where the steps before call for it:".to_owned()),
        When::Answers(alternatives) => {
            let one = |answers: &Vec<(usize, BTreeSet<AnswerKind>)>| {
                let parts = answers.iter().map(|(question, kinds)| {
                    let number = numbers.get(question).copied().unwrap_or_default();
                    format!("{number} {}", said(form.item(*question), kinds))
                });
                parts.collect::<Vec<_>>().join(" and ")
            };
            let alternatives: Vec<_> = alternatives.iter().map(one).collect();
            Some(format!("if {}:", alternatives.join(", or if ")))
        }
    }
}

fn said(item: &Item, kinds: &BTreeSet<AnswerKind>) -> String {
    let rest: Vec<_> = kinds.iter().filter(|kind| !AnswerKind::NOT_SOUND.contains(kind)).collect();
    if kinds.len() == rest.len() + AnswerKind::NOT_SOUND.len() {
        match rest.as_slice() {
            [] => return "does not hold".to_owned(),
            [AnswerKind::Holds] => return "was read".to_owned(),
            _ => {}
        }
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
            AnswerKind::Holds => "holds".to_owned(),
            AnswerKind::Worn => "is worn".to_owned(),
            AnswerKind::Leaks => "leaks".to_owned(),
            AnswerKind::Right => "is right".to_owned(),
            AnswerKind::Open => "is too open".to_owned(),
            AnswerKind::Tight => "is too tight".to_owned(),
            AnswerKind::Retest => "is retest".to_owned(),
            AnswerKind::Unjudged => "was read".to_owned(),
            AnswerKind::Cannot => "can't be done".to_owned(),
            AnswerKind::Done | AnswerKind::Rung(_) => return None,
        })
    };
    let words: Vec<String> = kinds.iter().filter_map(said).collect();
    if words.is_empty() { "says so".to_owned() } else { words.join(" or ") }
}

/// Kinds of answers to some questions, which lead somewhere together.
type Together = Vec<(usize, BTreeSet<AnswerKind>)>;

/// When an item of a form is come by.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum When {
    /// On every way.
    Always,
    /// Where all of one of these have come true: a question has got one of these kinds of answers.
    Answers(Vec<Together>),
    /// Where more than two answers call for it.
    Otherwise,
}

/// The most alternatives that a form puts before somebody.
const MOST_ALTERNATIVES: usize = 3;

/// Finds out when an item is come by, from the walks that came by it and those that did not.
pub(super) fn when(form: &Gatherer, item: usize) -> When {
    let circuit = form.circuit(item);
    let (mut with, mut without) = (Vec::new(), Vec::new());
    let is_left = |walk: &&Way| circuit.is_some_and(|circuit| walk.left.iter().any(|left| left == circuit));
    for walk in form.walks.iter().filter(|walk| !is_left(walk)) {
        let at = walk.steps.iter().position(|(n, _)| *n == item);
        let seen = &walk.steps[..at.unwrap_or(walk.steps.len())];
        let answers: BTreeMap<usize, AnswerKind> = seen
            .iter()
            .filter_map(|(n, kind)| kind.filter(|kind| *kind != AnswerKind::Done).map(|kind| (*n, kind)))
            .collect();
        if at.is_some() { with.push(answers) } else { without.push(answers) }
    }
    if without.is_empty() {
        return When::Always;
    }
    let askers: BTreeSet<usize> = with.iter().flat_map(BTreeMap::keys).copied().collect();
    // The nearest question that tells them apart, then the nearest two.
    let mut nearest: Vec<usize> = form.items().map(|(n, _)| n).filter(|n| askers.contains(n)).collect();
    nearest.reverse();
    let in_circuit = |wanted: Option<&str>| -> Vec<usize> {
        nearest.iter().copied().filter(|n| form.circuit(*n) == wanted).collect()
    };
    let same_test = in_circuit(circuit);
    let single = |question: &usize| {
        // A question after which it always comes is asked for the same reason; that reason is to be told.
        let leading: BTreeSet<_> = with.iter().filter_map(|answers| answers.get(question)).collect();
        let mut others = without.iter().filter_map(|answers| answers.get(question));
        let tells = others.any(|kind| !leading.contains(kind));
        tells.then(|| told_apart(&with, &without, &[*question])).flatten()
    };
    if let Some(kinds) = same_test.iter().find_map(single) {
        return When::Answers(kinds);
    }
    for (n, first) in same_test.iter().enumerate() {
        for second in &same_test[n + 1..] {
            if let Some(kinds) = told_apart(&with, &without, &[*second, *first]) {
                return When::Answers(kinds);
            }
        }
    }
    let elsewhere = if circuit.is_some() { in_circuit(None) } else { nearest.clone() };
    elsewhere.iter().find_map(single).map_or(When::Otherwise, When::Answers)
}

/// Returns the answers to some questions that lead to an item, where no such answers also lead by it.
fn told_apart(
    with: &[BTreeMap<usize, AnswerKind>],
    without: &[BTreeMap<usize, AnswerKind>],
    questions: &[usize],
) -> Option<Vec<Together>> {
    // None where a question was not asked.
    let got = |answers: &BTreeMap<usize, AnswerKind>| -> Vec<Option<AnswerKind>> {
        questions.iter().map(|question| answers.get(question).copied()).collect()
    };
    let leading: BTreeSet<_> = with.iter().map(got).collect();
    if without.iter().any(|answers| leading.contains(&got(answers))) {
        return None;
    }
    // What hangs on figures rather than verdicts can't be told by kinds.
    if leading.iter().flatten().any(|kind| matches!(kind, Some(AnswerKind::Rung(_)))) {
        return None;
    }
    let leading: Vec<Vec<AnswerKind>> =
        leading.iter().map(|kinds| kinds.iter().copied().collect()).collect::<Option<_>>()?;
    let [first, rest @ ..] = questions else { return None };
    let Some(second) = rest.first() else {
        return Some(vec![vec![(*first, leading.iter().map(|kinds| kinds[0]).collect())]]);
    };
    // For each answer to the first question those to the second; first answers with the same ones go together.
    let mut seconds: BTreeMap<AnswerKind, BTreeSet<AnswerKind>> = BTreeMap::new();
    for kinds in &leading {
        seconds.entry(kinds[0]).or_default().insert(kinds[1]);
    }
    let mut alternatives: Vec<(BTreeSet<AnswerKind>, BTreeSet<AnswerKind>)> = Vec::new();
    for (kind, second) in seconds {
        match alternatives.iter_mut().find(|(_, known)| *known == second) {
            Some((firsts, _)) => {
                firsts.insert(kind);
            }
            None => alternatives.push((BTreeSet::from([kind]), second)),
        }
    }
    let told = alternatives.into_iter().map(|(a, b)| vec![(*first, a), (*second, b)]).collect::<Vec<_>>();
    (told.len() <= MOST_ALTERNATIVES).then_some(told)
}
