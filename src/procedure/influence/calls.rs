use rhai::{FnCallExpr, Position};

use super::super::language::{Word, word_named};
use super::expressions::steps_of;
use super::{Aspect, Influence, Tracer};

/// Functions that change what stands before their point.
const CHANGING: &[&str] =
    &["clear", "for_each", "insert", "pop", "push", "remove", "replace", "retain", "reverse", "trim"];
/// Functions that walk steps for what is in a list.
const WALKING: &[&str] =
    &["all", "filter", "find", "for_each", "index_of", "map", "reduce", "retain", "some"];
/// Functions and operators that refuse some numbers and texts.
const REFUSING: &[&str] =
    &["/", "%", "**", "parse_float", "parse_int", "sqrt", "sub_string", "remove", "insert"];

/// What stands before the point of a call, and the variable that it is or is a part of.
type Receiver = Option<(Influence, Option<usize>)>;

impl Tracer<'_> {
    pub(super) fn call(&mut self, call: &FnCallExpr, position: Position, receiver: Receiver) -> Influence {
        let mut root = receiver.as_ref().and_then(|(_, root)| *root);
        let mut given = Vec::new();
        let mut steps = Vec::new();
        for (n, argument) in call.args.iter().enumerate() {
            if let Some(written) = steps_of(argument) {
                steps.push(written);
                given.push(Influence::default());
            } else {
                let (value, variable) = self.rooted(argument);
                if n == 0 && receiver.is_none() {
                    root = variable;
                }
                given.push(value);
            }
        }
        let mut with = receiver.as_ref().map_or(Influence::default(), |(value, _)| value.clone());
        given.iter().for_each(|value| {
            with.join(value);
        });
        if let Some(body) = self.function(call) {
            steps.iter().for_each(|steps| self.steps_handed_on(steps));
            return self.called(body, &given, receiver);
        }
        if let Some(word) = word_named(&call.name).filter(|_| call.namespace.is_empty()) {
            return self.word(word, position, &with, &steps, call.args.len());
        }
        let name = call.name.as_str();
        if REFUSING.contains(&name) {
            self.trouble(&with);
        }
        if name == "call" {
            self.walked_elsewhere(&with);
            return with.with(&self.handed_on.returns.clone());
        }
        if WALKING.contains(&name) {
            for steps in &steps {
                let returned = self.walked_here(steps, &with);
                with.join(&returned);
            }
            if steps.is_empty() {
                self.walked_elsewhere(&with);
                with.join(&self.handed_on.returns.clone());
            }
        } else {
            steps.iter().for_each(|steps| self.steps_handed_on(steps));
        }
        if let Some(root) = root.filter(|_| CHANGING.contains(&name)) {
            self.write(root, &with);
        }
        // What becomes a text is looked at as a whole.
        if ["+", "to_string"].contains(&name) { with.asked_for(Aspect::Figure) } else { with }
    }

    /// Returns the body of the function of a procedure that is called.
    fn function(&self, call: &FnCallExpr) -> Option<usize> {
        let file = match call.namespace.path.first() {
            Some(alias) => *self.aliases[self.file].get(alias.name.as_str())?,
            None => self.file,
        };
        self.functions.get(&(file, call.name.to_string(), call.args.len())).copied()
    }

    fn called(&mut self, body: usize, given: &[Influence], receiver: Receiver) -> Influence {
        let here = self.here.clone();
        self.has_grown |= self.bodies[body].hangs_on.join(&here);
        if let Some(parameters) = self.parameters.get(&body).cloned() {
            let this = receiver.as_ref().map_or(Influence::default(), |(value, _)| value.clone());
            for (parameter, value) in parameters.iter().zip(std::iter::once(&this).chain(given)) {
                self.give(*parameter, &value.clone().with(&here));
            }
            if let Some((_, Some(root))) = receiver {
                let this = self.held_by(parameters[0]).clone();
                self.write(root, &this);
            }
        }
        let (asks, reads) = (self.bodies[body].asks.clone(), self.bodies[body].reads.clone());
        self.asks_in(&asks);
        self.reads_here(&reads);
        self.bodies[body].returns.clone()
    }

    fn asks_in(&mut self, asks: &std::collections::BTreeSet<usize>) {
        let home = &mut self.bodies[self.home];
        let before = (home.asks.len(), home.leavings.len());
        home.asks.extend(asks);
        if home.has_changed {
            home.leavings.extend(asks);
        }
        self.has_grown |= (home.asks.len(), home.leavings.len()) > before;
    }

    fn reads_here(&mut self, reads: &Influence) {
        let reads = reads.clone().with(&self.here);
        self.has_grown |= self.bodies[self.home].reads.join(&reads);
    }

    fn word(
        &mut self,
        word: &'static Word,
        position: Position,
        with: &Influence,
        steps: &[(String, usize)],
        n_given: usize,
    ) -> Influence {
        if word.name == "procedure" {
            return Influence::default();
        }
        let number = self.number(word.name, position);
        let here = self.here.clone();
        let statement = &mut self.found.statements[number];
        self.has_grown |= statement.hangs_on.join(&here) | statement.says.join(with);
        let answer = |aspect| {
            let mut asked_with = with.clone();
            if ["ask_number", "ask_count"].contains(&word.name) {
                // Whatever its limits are, a number may lie on each side of them.
                asked_with.strands.retain(|strand| strand.aspect != Aspect::Figure);
            }
            Influence::one(number, aspect).with(&asked_with)
        };
        match word.name {
            "test" => {
                self.trouble(with);
                self.asks_in(&[number].into());
                match steps.first() {
                    Some(steps) => self.tested(number, steps, with),
                    None if n_given > 1 => self.walked_elsewhere(with),
                    None => {}
                }
                Influence::default()
            }
            "circuit" | "section" | "closing" | "say" | "finding" | "calibrate" | "not_fitted" => {
                if word.name == "circuit" {
                    self.trouble(with);
                }
                with.clone()
            }
            "barometer" => answer(Aspect::Figure),
            name => {
                self.asks_in(&[number].into());
                if ["ask_choice", "ask_number", "ask_count", "wait"].contains(&name) {
                    self.trouble(with);
                }
                match name {
                    "read" | "trial" => {
                        if name == "read" {
                            self.reads_here(&Influence::default());
                        }
                        answer(Aspect::Whole)
                    }
                    "ask_number" | "ask_count" => answer(Aspect::Whole),
                    "ask_yes" | "ask_choice" => answer(Aspect::Verdict),
                    "ask_text" => answer(Aspect::Figure),
                    _ => Influence::default(),
                }
            }
        }
    }

    /// Goes through the steps of a test, which are walked where the test is.
    fn tested(&mut self, number: usize, steps: &(String, usize), with: &Influence) {
        let body = self.new_body();
        self.bodies[body].is_test = true;
        self.bodies[body].has_changed = false;
        self.bodies[body].leavings.insert(number);
        let here = self.here.clone();
        let home = std::mem::replace(&mut self.home, body);
        self.steps(body, steps, here, with);
        self.home = home;
        let reads = self.bodies[body].reads.clone();
        self.trouble(&reads);
    }

    /// Goes through steps that are walked here, once for each thing in a list.
    fn walked_here(&mut self, steps: &(String, usize), with: &Influence) -> Influence {
        let body = self.new_body();
        // They come again, and may be left when they have changed something before.
        let home = self.home;
        self.bodies[home].has_changed = true;
        let here = self.here.clone().with(with).with(&self.bodies[body].returns.clone());
        self.steps(body, steps, here, with);
        self.bodies[body].returns.clone()
    }

    /// Takes note that steps are walked here that are written elsewhere.
    fn walked_elsewhere(&mut self, with: &Influence) {
        let here = self.here.clone().with(with);
        self.has_grown |= self.handed_on.hangs_on.join(&here) | self.handed_over.join(with);
        let (asks, reads) = (self.handed_on.asks.clone(), self.handed_on.reads.clone());
        self.asks_in(&asks);
        self.reads_here(&reads);
    }

    /// Goes through steps that get a name or are handed to a function: they are walked wherever such are.
    pub(super) fn steps_handed_on(&mut self, steps: &(String, usize)) {
        let body = self.new_body();
        // Which test walks them is not known, so leaving any is as good as any other.
        (self.bodies[body].is_test, self.bodies[body].has_changed) = (true, true);
        let tests = self.found.statements.iter().enumerate().filter(|(_, found)| found.word == "test");
        self.bodies[body].leavings.extend(tests.map(|(number, _)| number));
        let (here, with) = (self.handed_on.hangs_on.clone(), self.handed_over.clone());
        let home = std::mem::replace(&mut self.home, body);
        self.steps(body, steps, here, &with);
        self.home = home;
        let walked = &self.bodies[body];
        let n_asks = self.handed_on.asks.len();
        self.handed_on.asks.extend(&walked.asks);
        self.has_grown |= self.handed_on.asks.len() > n_asks
            || self.handed_on.returns.join(&walked.returns)
            || self.handed_on.reads.join(&walked.reads);
        let reads = walked.reads.clone();
        self.trouble(&reads);
    }

    fn steps(&mut self, body: usize, (name, taken): &(String, usize), here: Influence, with: &Influence) {
        let mut texts = self.texts.iter().filter(|((file, known, _), _)| *file == self.file && known == name);
        let Some(text) = texts.next().map(|(_, text)| text.clone()) else { return };
        self.open_scope();
        for parameter in text.parameters.iter().skip(*taken) {
            let variable = self.declare(parameter);
            self.give(variable, &with.clone().with(&here));
        }
        let value = self.within(body, here, |tracer| tracer.statements(&text.statements));
        self.has_grown |= self.bodies[body].returns.join(&value);
        self.close_scope();
    }
}
