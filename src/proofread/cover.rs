use std::collections::{BTreeMap, BTreeSet};

use super::kind::{AnswerKind, Glimpse, Possible};

/// A look at an answer: the question by its number, what was asked of it, and what was seen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Seen {
    pub(super) question: usize,
    pub(super) property: &'static str,
    pub(super) outcome: Glimpse,
}

/// The kinds of answers that some questions are to get.
pub(super) type Wish = BTreeMap<usize, Vec<AnswerKind>>;

/// The kinds of answers that each question may get, by its number.
pub(super) type Options = [Vec<Possible>];

/// What followed where a script looked, by what it saw.
type Arms = Vec<(Glimpse, Cover)>;

fn arm(arms: &mut Arms, outcome: Glimpse) -> &mut Cover {
    let known = arms.iter().position(|(known, _)| *known == outcome);
    let at = known.unwrap_or_else(|| {
        arms.push((outcome, Cover::Open));
        arms.len() - 1
    });
    &mut arms[at].1
}

/// Which combinations of answers have been tried: a tree of looks, with the walk that came by at each of its ends.
///
/// A walk stands for all combinations with the same outcomes where it looked. So an end is reached by any walk that
/// looked at less than the tree has on the way there.
#[derive(Debug, Default)]
pub(super) enum Cover {
    #[default]
    Open,
    /// Tried, by the walk with this number; or not possible.
    Closed(Option<usize>),
    Look {
        question: usize,
        property: &'static str,
        arms: Arms,
        /// Whether nothing below is left to try.
        is_spent: bool,
    },
}

/// Keeps of the kinds that a question may get those with an outcome; none where that leaves none.
pub(super) fn narrowed(
    options: &[Possible],
    allowed: Option<&Vec<AnswerKind>>,
    property: &str,
    outcome: Glimpse,
) -> Option<Vec<AnswerKind>> {
    let allowed = allowed.map(BTreeSet::from_iter);
    let fits = |possible: &&Possible| {
        allowed.as_ref().is_none_or(|allowed| allowed.contains(&possible.kind))
            && possible.outcome(property) == Some(outcome)
    };
    let kept: Vec<_> = options.iter().filter(fits).map(|possible| possible.kind).collect();
    (!kept.is_empty()).then_some(kept)
}

fn outcomes(options: &[Possible], allowed: Option<&Vec<AnswerKind>>, property: &str) -> Vec<Glimpse> {
    let allowed = allowed.map(BTreeSet::from_iter);
    let fits = |possible: &&Possible| allowed.as_ref().is_none_or(|allowed| allowed.contains(&possible.kind));
    let mut seen = BTreeSet::new();
    let found = options.iter().filter(fits).filter_map(|possible| possible.outcome(property));
    found.filter(|outcome| seen.insert(*outcome)).collect()
}

impl Cover {
    /// Finds answers that lead to what has not been tried, among those that are wished for already; the last look on
    /// the way that can still go another way first. By itself, without other wishes, it takes note of what is spent.
    pub(super) fn wish(
        &mut self,
        options: &Options,
        wish: &mut Wish,
        is_alone: bool,
        fuel: &mut usize,
    ) -> bool {
        let (question, property, arms, is_spent) = match self {
            Cover::Open => return true,
            Cover::Closed(_) => return false,
            Cover::Look { question, property, arms, is_spent } => (*question, *property, arms, is_spent),
        };
        if *is_spent || *fuel == 0 {
            return false;
        }
        *fuel -= 1;
        let before = wish.get(&question).cloned();
        let mut ways = outcomes(&options[question], before.as_ref(), property);
        let known: BTreeSet<Glimpse> = arms.iter().map(|(known, _)| *known).collect();
        ways.sort_by_key(|outcome| !known.contains(outcome));
        for outcome in ways {
            let Some(kept) = narrowed(&options[question], before.as_ref(), property, outcome) else {
                continue;
            };
            wish.insert(question, kept);
            if arm(arms, outcome).wish(options, wish, is_alone, fuel) {
                return true;
            }
            match &before {
                Some(before) => wish.insert(question, before.clone()),
                None => wish.remove(&question),
            };
        }
        *is_spent = is_alone && *fuel > 0;
        false
    }

    /// Has everything looked into again, because questions may get more kinds of answers than before.
    pub(super) fn reopen(&mut self) {
        if let Cover::Look { arms, is_spent, .. } = self {
            *is_spent = false;
            arms.iter_mut().for_each(|(_, below)| below.reopen());
        }
    }

    /// Takes in a walk by what it looked at; returns whether that is new.
    pub(super) fn take_in(
        &mut self,
        options: &Options,
        seen: &[Seen],
        walk: usize,
        n_kept: &mut usize,
    ) -> bool {
        match self {
            Cover::Closed(_) => return false,
            Cover::Open => match seen.split_first() {
                None => *self = Cover::Closed(Some(walk)),
                Some((first, rest)) => {
                    let mut below = Cover::Open;
                    below.take_in(options, rest, walk, n_kept);
                    *n_kept += 1;
                    let arms = vec![(first.outcome, below)];
                    let (question, property) = (first.question, first.property);
                    *self = Cover::Look { question, property, arms, is_spent: false };
                }
            },
            Cover::Look { question, property, arms, .. } => {
                let mut allowed: Option<Vec<AnswerKind>> = None;
                for look in seen.iter().filter(|look| look.question == *question) {
                    allowed = Some(
                        narrowed(&options[*question], allowed.as_ref(), look.property, look.outcome)
                            .unwrap_or_default(),
                    );
                }
                let rest: Vec<Seen> = seen
                    .iter()
                    .filter(|look| (look.question, look.property) != (*question, *property))
                    .copied()
                    .collect();
                let mut is_new = false;
                for outcome in outcomes(&options[*question], allowed.as_ref(), property) {
                    is_new |= arm(arms, outcome).take_in(options, &rest, walk, n_kept);
                }
                return is_new;
            }
        }
        true
    }

    /// Closes what a wish leads to, because no walk can follow it there.
    pub(super) fn give_up(&mut self, wish: &Wish, options: &Options) {
        match self {
            Cover::Open => *self = Cover::Closed(None),
            Cover::Closed(_) => {}
            Cover::Look { question, property, arms, .. } => {
                let wished = wish.get(question);
                for outcome in outcomes(&options[*question], wished, property) {
                    arm(arms, outcome).give_up(wish, options);
                }
            }
        }
    }

    /// Calls back for each end that a walk came by, with the kinds of answers that lead there, until one says that it
    /// has seen enough; returns whether none did.
    pub(super) fn ends(
        &self,
        options: &Options,
        wish: &mut Wish,
        each: &mut impl FnMut(&Wish, Option<usize>) -> bool,
    ) -> bool {
        match self {
            Cover::Open => true,
            Cover::Closed(walk) => each(wish, *walk),
            Cover::Look { question, property, arms, .. } => arms.iter().all(|(outcome, below)| {
                let before = wish.get(question).cloned();
                let Some(kept) = narrowed(&options[*question], before.as_ref(), property, *outcome) else {
                    return true;
                };
                wish.insert(*question, kept);
                let goes_on = below.ends(options, wish, each);
                match before {
                    Some(before) => wish.insert(*question, before),
                    None => wish.remove(question),
                };
                goes_on
            }),
        }
    }

    /// Adds every question that is looked at.
    pub(super) fn questions(&self, into: &mut BTreeSet<usize>) {
        if let Cover::Look { question, arms, .. } = self {
            into.insert(*question);
            arms.iter().for_each(|(_, below)| below.questions(into));
        }
    }
}
