use std::collections::{HashMap, HashSet, VecDeque};

use super::kind::AnswerKind;
use super::report::Typing;

/// Answers this near each other within one scope are tried in every combination of two.
const NEAR: usize = 4;

/// Where questions belong together: the test of one circuit, or a section outside the tests.
pub(super) type ScopeName = (Option<String>, Option<String>);

/// What tells a question from others: its scope, kind and words, and whether it is asked the first, second or a later time.
pub(super) type Asked = (ScopeName, &'static str, String, u32);

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) struct Choice {
    /// The question, by its number in the notebook.
    pub(super) question: usize,
    pub(super) kind: AnswerKind,
}

/// How a walk chooses its answers.
#[derive(Debug, Clone, Default)]
pub(super) enum Policy {
    /// These answers, else the plainest.
    Fixed(Vec<Choice>),
    /// Whichever of these kinds comes first, else the plainest that is not avoided.
    Alike(&'static [AnswerKind]),
    /// What has not been tried.
    #[default]
    Novel,
}

/// Something that is still to be tried: these answers in the scope.
#[derive(Debug, Clone)]
struct Untried {
    script: Vec<Choice>,
    pair: Option<(Choice, Choice)>,
}

#[derive(Debug, Default)]
struct Scope {
    singles: VecDeque<Untried>,
    pairs: VecDeque<Untried>,
    /// What this walk has chosen in the scope so far.
    path: Vec<Choice>,
    /// What this walk is to choose in the scope.
    script: HashMap<usize, AnswerKind>,
    is_entered: bool,
}

/// What the explorer knows: the questions it has met, what it has answered, and what it still wants to try.
#[derive(Debug, Default)]
pub(super) struct Notebook {
    numbers: HashMap<Asked, usize>,
    /// Every question that was met: its scope and the kinds of answers it may get.
    questions: Vec<(usize, Vec<AnswerKind>)>,
    scope_numbers: HashMap<ScopeName, usize>,
    scopes: Vec<Scope>,
    tried: HashSet<Choice>,
    tried_pairs: HashSet<(Choice, Choice)>,
    banned: HashSet<Choice>,
    policy: Policy,
    pub(super) choices: Vec<Choice>,
    pub(super) lines: Vec<Typing>,
    pub(super) n_answers: usize,
}

impl Notebook {
    pub(super) fn begin(&mut self, policy: Policy) {
        self.policy = policy;
        self.choices.clear();
        self.lines.clear();
        for scope in &mut self.scopes {
            scope.path.clear();
            scope.script.clear();
            scope.is_entered = false;
        }
    }

    pub(super) fn choose(&mut self, asked: Asked, kinds: &[AnswerKind]) -> AnswerKind {
        let scope = self.scope(asked.0.clone());
        self.enter(scope);
        let question = self.question(asked, scope, kinds);
        let kind = self.pick(question, scope, kinds);
        let choice = Choice { question, kind };
        self.tried.insert(choice);
        if kind.decides() {
            for earlier in self.near(scope) {
                self.tried_pairs.insert((earlier, choice));
            }
        }
        self.scopes[scope].path.push(choice);
        self.choices.push(choice);
        kind
    }

    pub(super) fn has_goals(&self) -> bool {
        self.scopes.iter().any(|scope| {
            let is_open = |goal: &Untried| !self.is_reached(goal);
            scope.singles.iter().any(is_open) || scope.pairs.iter().any(is_open)
        })
    }

    /// Has the explorer avoid an answer from now on, because what follows it fails; returns whether another is left.
    pub(super) fn ban(&mut self, choice: Choice) -> bool {
        self.banned.insert(choice);
        let (_, kinds) = &self.questions[choice.question];
        kinds.iter().any(|kind| !self.banned.contains(&Choice { kind: *kind, ..choice }))
    }

    pub(super) fn scope_of(&self, choice: Choice) -> usize {
        self.questions[choice.question].0
    }

    pub(super) fn is_plain(&self, choice: Choice) -> bool {
        self.questions[choice.question].1.first() == Some(&choice.kind)
    }

    /// Returns how many questions were met, and how many kinds of answers they may get.
    pub(super) fn n_questions(&self) -> (usize, usize) {
        (self.questions.len(), self.questions.iter().map(|(_, kinds)| kinds.len()).sum())
    }

    pub(super) fn n_tried(&self) -> usize {
        self.tried.len()
    }

    fn scope(&mut self, name: ScopeName) -> usize {
        let next = self.scopes.len();
        let scope = *self.scope_numbers.entry(name).or_insert(next);
        if scope == next {
            self.scopes.push(Scope::default());
        }
        scope
    }

    /// Takes up the scope's next goal when a walk first comes to it.
    fn enter(&mut self, n: usize) {
        if std::mem::replace(&mut self.scopes[n].is_entered, true) || !matches!(self.policy, Policy::Novel) {
            return;
        }
        loop {
            let scope = &mut self.scopes[n];
            let Some(goal) = scope.singles.pop_front().or_else(|| scope.pairs.pop_front()) else { return };
            if !self.is_reached(&goal) {
                self.scopes[n].script = goal.script.iter().map(|c| (c.question, c.kind)).collect();
                return;
            }
        }
    }

    fn is_reached(&self, goal: &Untried) -> bool {
        match goal.pair {
            Some(pair) => self.tried_pairs.contains(&pair),
            None => goal.script.last().is_none_or(|last| self.tried.contains(last)),
        }
    }

    /// Returns the number of a question; one that was not met before brings its goals along.
    fn question(&mut self, asked: Asked, scope: usize, kinds: &[AnswerKind]) -> usize {
        let next = self.questions.len();
        let question = *self.numbers.entry(asked).or_insert(next);
        if question < next {
            return question;
        }
        self.questions.push((scope, kinds.to_vec()));
        let path = self.scopes[scope].path.clone();
        for kind in kinds {
            let mut script = path.clone();
            script.push(Choice { question, kind: *kind });
            self.scopes[scope].singles.push_back(Untried { script, pair: None });
        }
        for earlier in self.near(scope) {
            let kinds_before = self.questions[earlier.question].1.clone();
            for before in kinds_before.into_iter().filter(|kind| kind.decides()) {
                for kind in kinds.iter().filter(|kind| kind.decides()) {
                    let first = Choice { kind: before, ..earlier };
                    let second = Choice { question, kind: *kind };
                    let replaced =
                        |choice: &Choice| if choice.question == first.question { first } else { *choice };
                    let mut script: Vec<_> = path.iter().map(replaced).collect();
                    script.push(second);
                    self.scopes[scope].pairs.push_back(Untried { script, pair: Some((first, second)) });
                }
            }
        }
        question
    }

    /// Returns the last few choices of this walk in a scope that a script can tell apart.
    fn near(&self, scope: usize) -> Vec<Choice> {
        let deciding = self.scopes[scope].path.iter().rev().filter(|choice| choice.kind.decides());
        deciding.take(NEAR).copied().collect()
    }

    /// Picks an answer of the kinds that a question may get; none that is avoided while there is another.
    fn pick(&self, question: usize, scope: usize, kinds: &[AnswerKind]) -> AnswerKind {
        let is_allowed = |kind: &AnswerKind| !self.banned.contains(&Choice { question, kind: *kind });
        let is_possible = |kind: &AnswerKind| kinds.contains(kind);
        let mut allowed = kinds.iter().copied().filter(is_allowed);
        let picked = match &self.policy {
            Policy::Fixed(choices) => {
                let fixed = choices.iter().find(|choice| choice.question == question);
                fixed.map(|choice| choice.kind).filter(is_possible)
            }
            Policy::Alike(wanted) => {
                let wanted = wanted.iter().copied().find(is_possible);
                wanted.filter(is_allowed).or_else(|| allowed.next())
            }
            Policy::Novel => {
                let scripted = self.scopes[scope].script.get(&question).copied().filter(is_possible);
                // What brings most that has not been tried, the plainer one of equals.
                scripted.or_else(|| allowed.rev().max_by_key(|kind| self.novelty(question, scope, *kind)))
            }
        };
        picked.or(kinds.first().copied()).unwrap_or(AnswerKind::Done)
    }

    /// Counts what an answer brings that has not been tried: itself above all, then pairs with those near it.
    fn novelty(&self, question: usize, scope: usize, kind: AnswerKind) -> usize {
        let choice = Choice { question, kind };
        let is_new = |earlier: &&Choice| !self.tried_pairs.contains(&(**earlier, choice));
        let pairs = if kind.decides() { self.near(scope).iter().filter(is_new).count() } else { 0 };
        usize::from(!self.tried.contains(&choice)) * 100 + pairs
    }
}
