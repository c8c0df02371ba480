use std::collections::{BTreeMap, BTreeSet};

use super::bundles::Bundles;
use super::cover::Wish;
use super::kind::{AnswerKind, Glimpse, LEFT, aspect};
use crate::leak::Verdict;
use crate::procedure::{Aspect, Fault, Influence, Program, Statement};

/// What a walk saw of all that a finding hangs on.
type Path = BTreeMap<(usize, &'static str), Glimpse>;

/// What findings hang on: a verdict on a reading should stand behind each that blames something.
#[derive(Debug, Default)]
pub(super) struct Blame {
    /// The findings that hang on verdicts of readings alone, each with the calls that take these.
    on_readings: BTreeMap<usize, BTreeSet<usize>>,
    /// The circuits that were found fault with while their limits are to be found.
    unjudged: BTreeMap<usize, String>,
    /// What each finding hangs on.
    hangs_on: BTreeMap<usize, Influence>,
    /// The ways by a finding and those past it, in the test of a circuit or outside.
    ways: BTreeMap<(usize, Option<String>), Ways>,
    /// What was found on the walk at hand.
    found: BTreeSet<(usize, Option<String>)>,
}

#[derive(Debug, Default)]
struct Ways {
    by: BTreeSet<Path>,
    past: BTreeSet<Path>,
}

/// More ways by or past a finding than these are not compared.
const MOST_WAYS: usize = 100;

const BLAMING: &str = "ask for the verdicts that blame, as in if r.worn || r.leaks { ... }";

fn is_reading(statement: &Statement) -> bool {
    ["read", "trial"].contains(&statement.word)
}

/// Returns whether a walk goes the same way where this reading is undecided; not where the script asks for just that.
fn is_as_undecided(path: &Path, question: usize, bundles: &Bundles) -> bool {
    let mut options = bundles.options[question].iter();
    let Some(retest) = options.find(|possible| possible.kind == AnswerKind::Read(Verdict::Retest)) else {
        return false;
    };
    looks_at(path, question).all(|(property, outcome)| {
        !["retest", "verdict"].contains(&property) && retest.outcome(property) == Some(outcome)
    })
}

/// Returns what of an answer was looked at on a way.
fn looks_at(path: &Path, question: usize) -> impl Iterator<Item = (&'static str, Glimpse)> {
    path.range((question, "")..(question + 1, "")).map(|((_, property), outcome)| (*property, *outcome))
}

/// Returns whether two ways part at an answer, and all others that both look at can be the same on both.
fn is_decided_by(question: usize, by: &Path, past: &Path, bundles: &Bundles) -> bool {
    let is_one_answer = |of: usize| {
        let mut options = bundles.options[of].iter();
        options.any(|possible| {
            let mut looks = looks_at(by, of).chain(looks_at(past, of));
            looks.all(|(property, outcome)| possible.outcome(property) == Some(outcome))
        })
    };
    !is_one_answer(question) && by.keys().all(|(of, _)| *of == question || is_one_answer(*of))
}

impl Blame {
    pub(super) fn of(program: &Program) -> Blame {
        let statements = &program.influences().statements;
        let (mut on_readings, mut all) = <(BTreeMap<_, _>, BTreeMap<_, _>)>::default();
        for (n, statement) in statements.iter().enumerate() {
            let hangs_on = &statement.hangs_on;
            let deciding = hangs_on.strands.iter().filter(|strand| strand.aspect != Aspect::Leaving);
            let askers: BTreeSet<usize> = deciding.map(|strand| strand.asker).collect();
            let is_on_readings = askers.iter().all(|asker| is_reading(&statements[*asker]));
            if statement.word == "finding" && !hangs_on.has(Aspect::Figure) && is_on_readings {
                on_readings.insert(n, askers);
            }
            if statement.word == "finding" && !hangs_on.is_none() && !hangs_on.is_all {
                all.insert(n, hangs_on.clone());
            }
        }
        Blame { on_readings, hangs_on: all, ..Blame::default() }
    }

    /// Takes note of the verdicts behind a finding.
    pub(super) fn found(
        &mut self,
        call: usize,
        circuit: Option<&str>,
        bundles: &Bundles,
        given: &Wish,
        looks: &[(usize, &'static str)],
    ) {
        let key = (call, circuit.map(str::to_owned));
        if self.ways.get(&key).is_none_or(|ways| ways.by.len() < MOST_WAYS)
            && let Some(path) = self.path(call, circuit, looks, bundles, given)
        {
            self.ways.entry(key.clone()).or_default().by.insert(path);
        }
        self.found.insert(key);
        let knows_all = |question: usize| {
            ["holds", "worn", "leaks", "retest"].iter().all(|verdict| looks.contains(&(question, *verdict)))
        };
        let Some(askers) = self.on_readings.get(&call) else { return };
        for (question, kinds) in given {
            let (asker, of, _) = &bundles.questions[*question];
            if !askers.contains(asker) || of.as_deref() != circuit {
                continue;
            }
            let given = bundles.options[*question].iter().find(|possible| kinds.contains(&possible.kind));
            let Some(verdict) = given.and_then(|possible| possible.verdict) else { continue };
            // Whoever has asked for each verdict knows that it has none.
            if verdict == Verdict::Unjudged && !knows_all(*question) {
                self.unjudged.entry(call).or_insert_with(|| of.clone().unwrap_or_default());
            }
        }
    }

    /// Takes note of what the walk at hand passed by, if it was a whole one.
    pub(super) fn end_walk(
        &mut self,
        is_whole: bool,
        looks: &[(usize, &'static str)],
        bundles: &Bundles,
        given: &Wish,
    ) {
        let found = std::mem::take(&mut self.found);
        if !is_whole {
            return;
        }
        let mut by_call: BTreeMap<usize, Vec<_>> = BTreeMap::new();
        for look in looks {
            by_call.entry(bundles.questions[look.0].0).or_default().push(*look);
        }
        let is_left = |(question, at): &&(usize, &str)| {
            *at == LEFT && given.get(question).is_some_and(|kinds| kinds[..] == [AnswerKind::Cannot])
        };
        let left = looks.iter().filter(is_left).map(|(question, _)| &bundles.questions[*question].1);
        let left: BTreeSet<&Option<String>> = left.filter(|circuit| circuit.is_some()).collect();
        for (call, on) in &self.hangs_on {
            let askers: BTreeSet<usize> = on.strands.iter().map(|strand| strand.asker).collect();
            let own: Vec<_> =
                askers.iter().filter_map(|asker| by_call.get(asker)).flatten().copied().collect();
            let sees_far = on.strands.iter().any(|strand| strand.is_far);
            let of_looks = own.iter().map(|(question, _)| bundles.questions[*question].1.clone());
            let circuits: BTreeSet<Option<String>> = of_looks.chain([None]).collect();
            for circuit in circuits {
                // What was left out may have cut this short.
                let is_cut = left.contains(&circuit) || sees_far && !left.is_empty();
                let key = (*call, circuit);
                let is_enough = self.ways.get(&key).is_some_and(|ways| ways.past.len() >= MOST_WAYS);
                if is_cut || is_enough || found.contains(&key) {
                    continue;
                }
                if let Some(path) = self.path(*call, key.1.as_deref(), &own, bundles, given) {
                    self.ways.entry(key).or_default().past.insert(path);
                }
            }
        }
    }

    /// Returns what looks saw of that which a finding hangs on in the test of a circuit.
    fn path(
        &self,
        call: usize,
        circuit: Option<&str>,
        looks: &[(usize, &'static str)],
        bundles: &Bundles,
        given: &Wish,
    ) -> Option<Path> {
        let on = self.hangs_on.get(&call)?;
        let own = looks.iter().filter(|look| bundles.is_part(on, circuit, look.0, aspect(look.1)));
        let path: Path = own
            .filter_map(|look| bundles.seen(*look, given))
            .map(|seen| ((seen.question, seen.property), seen.outcome))
            .collect();
        Some(path).filter(|path| !path.is_empty())
    }

    /// Returns whether an undecided reading leads to a finding that another verdict on it leads past, all else being
    /// equal, and no other verdict asked for is true.
    fn is_undecided(&self, call: usize, bundles: &Bundles) -> bool {
        let blames = |((_, property), outcome): (&(usize, &str), &Glimpse)| {
            ["worn", "leaks", "open", "tight", "retest"].contains(property) && *outcome == Glimpse::Is(true)
        };
        let ways = self.ways.iter().filter(|((of, _), _)| *of == call);
        ways.flat_map(|(_, ways)| ways.by.iter().map(|by| (by, &ways.past))).any(|(by, past)| {
            let questions: BTreeSet<usize> = by.keys().map(|(question, _)| *question).collect();
            let mut undecided =
                questions.into_iter().filter(|question| is_as_undecided(by, *question, bundles));
            !by.iter().any(blames)
                && undecided
                    .any(|question| past.iter().any(|past| is_decided_by(question, by, past, bundles)))
        })
    }

    /// Remarks findings that no verdict stands behind.
    pub(super) fn remarks(
        &self,
        program: &Program,
        bundles: &Bundles,
        has_reached: impl Fn(&Statement) -> bool,
    ) -> Vec<Fault> {
        let statements = &program.influences().statements;
        let mut remarks = Vec::new();
        for (n, statement) in statements.iter().enumerate() {
            if statement.word != "finding" || !has_reached(statement) {
                continue;
            }
            let mut remark = |message: String, help: &str| {
                remarks.push(Fault::at_site(&statement.site, message).help(help).warning());
            };
            let strands = &statement.hangs_on.strands;
            let by_hand = |strand: &&crate::procedure::Strand| {
                strand.aspect == Aspect::Figure && is_reading(&statements[strand.asker])
            };
            if let Some(name) = self.unjudged.get(&n) {
                let message = format!(
                    "this is found whatever \"{name}\" reads: while its limits are to be found no verdict is true of a \
                     reading, so that whatever asks for none of them is done"
                );
                remark(message, &format!("{BLAMING}, in place of if !r.holds {{ ... }}"));
            } else if strands.iter().any(|strand| by_hand(&strand)) {
                remark(
                    "this hangs on a figure of a reading, compared by hand: that does not know how far the gauge can be \
                     trusted"
                        .to_owned(),
                    "let the circuit's limits judge it, and ask .holds, .worn or .leaks",
                );
            } else if self.is_undecided(n, bundles) {
                remark(
                    "this is found as well where a reading before it decides nothing (retest)".to_owned(),
                    BLAMING,
                );
            } else if statement.hangs_on.is_none() && statement.says.is_none() {
                remark(
                    "this is found whatever is read and answered".to_owned(),
                    "put it under a condition, or say(\"...\") it",
                );
            }
        }
        remarks
    }
}
