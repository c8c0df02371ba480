use super::notebook::{Choice, Policy};
use super::walking::{Walked, Walker};

/// The most walks that go into finding a shorter way to one fault.
const MOST_WALKS: usize = 40;

/// Finds a plainer way to the same fault: as many answers as can be are the plainest ones.
pub(super) fn shrink(walker: &mut Walker<'_>, walked: Walked, only: Option<&[String]>) -> Walked {
    let mut best = walked;
    let mut walks = MOST_WALKS;
    let mut try_without = |walker: &mut Walker<'_>, best: &mut Walked, drop: &dyn Fn(Choice) -> bool| {
        let kept: Vec<_> = best.choices.iter().copied().filter(|choice| !drop(*choice)).collect();
        if kept.len() == best.choices.len() || walks == 0 {
            return;
        }
        walks -= 1;
        let again = walker.walk(Policy::Fixed(kept), only.map(<[String]>::to_vec));
        if is_same(&again, best) {
            *best = again;
        }
    };
    // First everything outside the scope of the last choice, then each choice that is not plain.
    if let Some(last) = best.choices.last().copied() {
        let (here, notebook) = (walker.mind.borrow().notebook.scope_of(last), walker.mind.clone());
        try_without(walker, &mut best, &|choice| notebook.borrow().notebook.scope_of(choice) != here);
    }
    for choice in best.choices.clone().into_iter().rev() {
        let is_plain = walker.mind.borrow().notebook.is_plain(choice);
        if !is_plain && best.choices.contains(&choice) {
            try_without(walker, &mut best, &|other| other == choice);
        }
    }
    best
}

fn is_same(a: &Walked, b: &Walked) -> bool {
    a.fault == b.fault && a.untested == b.untested
}
