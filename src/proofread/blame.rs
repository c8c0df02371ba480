use std::collections::{BTreeMap, BTreeSet};

use super::bundles::Bundles;
use super::cover::Wish;
use crate::leak::Verdict;
use crate::procedure::{Aspect, Fault, Program, Statement};

/// What findings hang on: a verdict on a reading should stand behind each that blames something.
#[derive(Debug, Default)]
pub(super) struct Blame {
    /// The findings that hang on verdicts of readings alone, each with the calls that take these.
    on_readings: BTreeMap<usize, BTreeSet<usize>>,
    /// The verdicts that these readings had where something was found.
    verdicts: BTreeMap<(usize, usize), BTreeSet<Verdict>>,
    /// The circuits that were found fault with while their limits are to be found.
    unjudged: BTreeMap<usize, String>,
}

const BLAMING: &str = "ask for the verdicts that blame, as in if r.worn || r.leaks { ... }";

fn is_reading(statement: &Statement) -> bool {
    ["read", "trial"].contains(&statement.word)
}

impl Blame {
    pub(super) fn of(program: &Program) -> Blame {
        let statements = &program.influences().statements;
        let mut on_readings = BTreeMap::new();
        for (n, statement) in statements.iter().enumerate() {
            let hangs_on = &statement.hangs_on;
            let deciding = hangs_on.strands.iter().filter(|strand| strand.aspect != Aspect::Leaving);
            let askers: BTreeSet<usize> = deciding.map(|strand| strand.asker).collect();
            let is_on_readings = askers.iter().all(|asker| is_reading(&statements[*asker]));
            if statement.word == "finding" && !hangs_on.has(Aspect::Figure) && is_on_readings {
                on_readings.insert(n, askers);
            }
        }
        Blame { on_readings, ..Blame::default() }
    }

    /// Takes note of the verdicts behind a finding.
    pub(super) fn found(
        &mut self,
        call: usize,
        circuit: Option<&str>,
        bundles: &Bundles,
        given: &Wish,
        knows_all: impl Fn(usize) -> bool,
    ) {
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
            self.verdicts.entry((call, *asker)).or_default().insert(verdict);
        }
    }

    /// Remarks findings that no verdict stands behind.
    pub(super) fn remarks(&self, program: &Program, has_reached: impl Fn(&Statement) -> bool) -> Vec<Fault> {
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
            let of_call = |(call, _): &&(usize, usize)| *call == n;
            let is_undecided = self.verdicts.keys().filter(of_call).any(|key| {
                let verdicts = &self.verdicts[key];
                let has = |verdict| verdicts.contains(&verdict);
                let fails =
                    has(Verdict::Worn) && has(Verdict::Leaks) || has(Verdict::Open) && has(Verdict::Tight);
                fails && has(Verdict::Retest) && !verdicts.iter().any(|verdict| verdict.is_sound())
            });
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
            } else if is_undecided {
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
