use std::collections::{BTreeMap, BTreeSet};

use super::super::kind::Kind;
use super::when::When;
use super::{Gatherer, Item};
use crate::record::Wants;

/// Writes when an item is to be filled in, by the numbers of the fields before it; nothing where it always is.
pub(super) fn condition(form: &Gatherer, when: &When, numbers: &BTreeMap<usize, usize>) -> Option<String> {
    match when {
        When::Always => None,
        When::Otherwise => Some("only where the steps before call for it:".to_owned()),
        When::Answers(alternatives) => {
            let one = |answers: &Vec<(usize, BTreeSet<Kind>)>| {
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

fn said(item: &Item, kinds: &BTreeSet<Kind>) -> String {
    let options = match item {
        Item::Asked(question, _) => match &question.wants {
            Wants::Choice { options } => options.clone(),
            _ => Vec::new(),
        },
        _ => Vec::new(),
    };
    let words: Vec<String> = kinds
        .iter()
        .filter_map(|kind| {
            Some(match kind {
                Kind::Yes => "is yes".to_owned(),
                Kind::No => "is no".to_owned(),
                Kind::Pick(n) => format!("is \"{}\"", options.get(*n).map_or("", String::as_str)),
                Kind::Within => "is within its limits".to_owned(),
                Kind::Low => "is below them".to_owned(),
                Kind::High => "is above them".to_owned(),
                Kind::Holds => "holds".to_owned(),
                Kind::Worn => "is worn".to_owned(),
                Kind::Leaks => "leaks".to_owned(),
                Kind::Retest => "is retest".to_owned(),
                Kind::Unjudged => "was read".to_owned(),
                Kind::Cannot => "can't be done".to_owned(),
                Kind::Done | Kind::Rung(_) => return None,
            })
        })
        .collect();
    let all_but_holds = [Kind::Worn, Kind::Leaks, Kind::Retest];
    if kinds.len() == 3 && all_but_holds.iter().all(|kind| kinds.contains(kind)) {
        return "does not hold".to_owned();
    }
    if kinds.len() == 4
        && kinds.contains(&Kind::Holds)
        && all_but_holds.iter().all(|kind| kinds.contains(kind))
    {
        return "was read".to_owned();
    }
    if words.is_empty() { "says so".to_owned() } else { words.join(" or ") }
}
