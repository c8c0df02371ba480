use std::collections::{BTreeMap, BTreeSet};
use std::sync::OnceLock;

use rhai::{AST, ASTNode, Engine, Expr, FnCallExpr, FuncInfo, Position};

use super::super::language::{
    Description, Given, KnownValue, Sort, Stands, VOCABULARY, Word, is_general, property_names, with_units,
    word_named,
};
use super::super::{Fault, nearest};
use super::names::{Names, start_of, written_number, written_quantity};
use super::order::is_internal;
use super::pictures::shown_with;
use super::{FileCheck, call, visit};

impl FileCheck<'_> {
    /// Checks that each call is of something known and gets what it takes.
    pub(super) fn calls(&mut self, known: &Callable) {
        visit(self.ast, |path| {
            let Some((call, position)) =
                call(path).filter(|(call, _)| !self.is_full() && !is_internal(call, path))
            else {
                return;
            };
            let is_method = matches!(path.last(), Some(ASTNode::Expr(Expr::MethodCall(..))));
            if !call.namespace.is_empty() {
                self.imports.check_call(call, position, self);
            } else if let Some(word) = word_named(&call.name) {
                self.word_call(word, call, position, is_method);
            } else {
                self.other_call(call, position, is_method, known);
            }
        });
    }

    /// Checks every description that is written out in the call of a word: its keys, and what they hold.
    pub(super) fn descriptions(&mut self) {
        visit(self.ast, |path| {
            if let Some((call, position)) = call(path)
                && call.namespace.is_empty()
                && word_named(&call.name).is_some_and(|word| !word.keys.is_empty())
                && let Some(map) = call.args.iter().find(|argument| matches!(argument, Expr::Map(..)))
                && let KnownValue::Description(description) = value_of(map, &self.names)
            {
                description.judge(&call.name, position, &mut |position, fault| self.add(position, fault));
            }
        });
    }

    fn other_call(&mut self, call: &FnCallExpr, position: Position, is_method: bool, known: &Callable) {
        let name = call.name.as_str();
        let n = call.args.len();
        if is_method && n == 0 && !known.has(name) && property_names().any(|property| property == name) {
            self.report(position, format!("no brackets stand behind .{name}"), format!("write .{name}"));
        } else if !known.has(name) {
            let help = foreign(name).map(str::to_owned).or_else(|| {
                let words = VOCABULARY.iter().map(|word| word.name);
                let near = nearest(name, words).or_else(|| nearest(name, known.names()));
                near.map(|near| format!("did you mean {near}?")).or_else(|| begun(name))
            });
            let fault = Fault::of(format!("there is no word \"{name}\""));
            self.add(position, Fault { help, ..fault });
        } else if !(known.takes(name, n) || is_method && known.takes(name, n + 1)) {
            self.add(position, Fault::of(format!("\"{name}\" does not take {}", arguments(n))));
        }
    }

    fn word_call(&mut self, word: &Word, call: &FnCallExpr, position: Position, is_method: bool) {
        let name = word.name;
        let form = format!("write it like {}", word.form);
        match word.stands {
            Stands::Inside => {
                return self.report(position, format!("{name} stands inside another description"), form);
            }
            Stands::InTest if !is_method && call.args.len() <= 1 => {
                let is_test =
                    call.args.first().is_some_and(|first| self.names.sort_of(first) == Sort::Unknown);
                if !is_test {
                    return self.report(position, format!("{name} belongs to a test, behind its t"), form);
                }
            }
            Stands::Alone if is_method => {
                return self.report(position, format!("{name} stands by itself, not behind a point"), form);
            }
            _ => {}
        }
        // Two texts where one is wanted are one that was not joined, whatever else may stand behind it.
        let is_unjoined = call.args.len() > 1
            && word.takes.iter().any(|wanted| matches!(wanted.as_slice(), [(_, Sort::Text)]))
            && call.args.iter().all(|argument| self.names.sort_of(argument) == Sort::Text)
            && shown_with(call).is_none();
        let wanted = word.takes.iter().find(|wanted| wanted.len() == call.args.len());
        let Some(wanted) = wanted.filter(|_| !is_unjoined) else {
            return self.report(
                position,
                format!("\"{name}\" does not take {}", arguments(call.args.len())),
                self.surplus(word, call).unwrap_or(form),
            );
        };
        for ((what, sort), argument) in wanted.iter().zip(&call.args) {
            if !sort.takes(self.names.sort_of(argument)) {
                let (message, help) = self.mismatch(word, (what, *sort), argument);
                self.report(start_of(argument), message, help);
            }
        }
        if let Some(Expr::StringConstant(text, at)) = call.args.first()
            && text.trim().is_empty()
        {
            self.report(*at, format!("the words of {name} are empty"), "write what the technician reads");
        }
        if name == "ask_choice" {
            self.choices(call);
        }
    }

    /// Says what several things between the brackets were meant to be: one text, or a name in its description.
    fn surplus(&self, word: &Word, call: &FnCallExpr) -> Option<String> {
        let sorts: Vec<_> = call.args.iter().map(|argument| self.names.sort_of(argument)).collect();
        let takes =
            |wanted: &[Sort]| word.takes.iter().any(|w| w.iter().map(|(_, sort)| *sort).eq(wanted.to_vec()));
        match (call.args.first()?, sorts.as_slice()) {
            (_, sorts) if sorts.iter().all(|sort| *sort == Sort::Text) && takes(&[Sort::Text]) => {
                Some("join texts with +, as in \"...\" + \"...\"".to_owned())
            }
            (Expr::StringConstant(text, _), [Sort::Text, Sort::Description])
                if takes(&[Sort::Description]) =>
            {
                Some(format!("put the text into the description, as in #{{ name: \"{text}\", ... }}"))
            }
            _ => None,
        }
    }

    /// Says that an argument is of another sort than the word wants there, and what to write.
    fn mismatch(&self, word: &Word, (what, wanted): (&str, Sort), argument: &Expr) -> (String, String) {
        let name = word.name;
        if let (Sort::Quantity(Some(dimension)), Some(number)) = (wanted, written_number(argument)) {
            let meant = with_units(what, dimension, number);
            return (format!("the {what} of {name} needs a unit"), format!("write {meant}"));
        }
        let help = match argument {
            Expr::StringConstant(text, _) if wanted == Sort::Circuit && self.names.is_circuit(text) => {
                format!("write the circuit's name without quotes, {text}")
            }
            _ => format!("write it like {}", word.form),
        };
        (format!("{name} takes a {wanted} here, not a {}", self.names.sort_of(argument)), help)
    }

    fn choices(&mut self, call: &FnCallExpr) {
        let Some(Expr::Array(items, position)) = call.args.get(1) else { return };
        let help = "write each choice once, as in [\"new\", \"used\"]";
        if items.len() < 2 {
            return self.report(*position, "ask_choice needs two choices or more", help);
        }
        let mut seen = BTreeSet::new();
        for item in items {
            if let Expr::StringConstant(text, at) = item
                && !seen.insert(text.trim().to_lowercase())
            {
                self.report(*at, format!("the choice \"{text}\" stands here twice"), help);
            }
        }
    }
}

/// Returns what is known of a value from the text.
pub(super) fn value_of(expression: &Expr, names: &Names) -> KnownValue {
    match expression {
        Expr::Map(entries, _) => {
            let given = entries.0.iter().map(|(key, value)| Given {
                key: key.name.to_string(),
                key_at: key.pos,
                at: start_of(value),
                value: value_of(value, names),
            });
            KnownValue::Description(Description(given.collect()))
        }
        Expr::Array(items, _) => {
            KnownValue::List(items.iter().map(|item| (start_of(item), value_of(item, names))).collect())
        }
        Expr::StringConstant(text, _) => KnownValue::Text(text.to_string()),
        other => match (written_number(other), written_quantity(other)) {
            (Some(number), _) => KnownValue::Number(number),
            (_, Some((number, unit))) => KnownValue::Quantity(number, unit),
            _ => KnownValue::Other(names.sort_of(other)),
        },
    }
}

/// Names the words that begin with a name, `ask_yes` and its like for `ask`.
fn begun(name: &str) -> Option<String> {
    let start = format!("{name}_");
    let words: Vec<_> =
        VOCABULARY.iter().map(|word| word.name).filter(|word| word.starts_with(&start)).collect();
    (!words.is_empty()).then(|| format!("did you mean {}?", words.join(", ")))
}

/// Says what is written here for a function of other languages.
fn foreign(name: &str) -> Option<&'static str> {
    match name {
        "exit" | "quit" => Some("a procedure ends at its end; put what is left out into if ... { ... }"),
        "sleep" | "pause" => Some("write wait(30.seconds, \"...\")"),
        "input" | "prompt" => Some("write ask_text, ask_yes, ask_choice, ask_number or ask_count"),
        "print" | "println" | "echo" | "log" | "show" | "message" => Some("write say(\"...\")"),
        "warn" | "warning" => Some("write caution(\"...\")"),
        "found" | "find" | "result" => Some("write finding(\"...\")"),
        "rand" | "random" | "now" | "time" | "timestamp" => {
            Some("a procedure has no clock and no dice: the same answers must lead the same way")
        }
        _ => None,
    }
}

fn arguments(n: usize) -> String {
    match n {
        0 => "empty brackets".to_owned(),
        1 => "one thing between its brackets".to_owned(),
        n => format!("{n} things between its brackets"),
    }
}

/// What may be called, each with the numbers of arguments it takes; a receiver counts as the first of them.
#[derive(Debug, Clone)]
pub(super) struct Callable {
    arities: BTreeMap<String, BTreeSet<usize>>,
    /// Every name that the engine answers to, also those that a procedure may not call.
    taken: BTreeSet<String>,
}

impl Callable {
    /// Returns the words and the functions of general use, which are those of every engine that compiles procedures;
    /// they are gathered once.
    pub(super) fn words(engine: &Engine) -> &'static Callable {
        static WORDS: OnceLock<Callable> = OnceLock::new();
        WORDS.get_or_init(|| Callable::words_of(engine))
    }

    fn words_of(engine: &Engine) -> Callable {
        let mut known = Callable { arities: BTreeMap::new(), taken: BTreeSet::new() };
        let registered =
            |function: FuncInfo<'_>| Some((function.metadata.name.to_string(), function.metadata.num_params));
        for (name, n) in engine.collect_fn_metadata(None, registered, true) {
            if word_named(&name).is_some() || is_general(&name) {
                known.add(&name, n);
            }
            known.taken.insert(name);
        }
        // The engine does this one itself, for any number of arguments that a closure may take.
        (1..=4).for_each(|n| known.add("call", n));
        known
    }

    pub(super) fn with_functions_of(&self, ast: &AST) -> Callable {
        let mut known = self.clone();
        for function in ast.iter_functions() {
            known.add(function.name, function.params.len());
        }
        known
    }

    fn add(&mut self, name: &str, n: usize) {
        self.arities.entry(name.to_owned()).or_default().insert(n);
    }

    /// Returns whether the engine has a function of this name, which one of a script would stand in for.
    pub(super) fn is_taken(&self, name: &str) -> bool {
        self.taken.contains(name)
    }

    pub(super) fn has(&self, name: &str) -> bool {
        self.arities.contains_key(name)
    }

    pub(super) fn takes(&self, name: &str, n: usize) -> bool {
        self.arities.get(name).is_some_and(|arities| arities.contains(&n))
    }

    /// Returns the names that an author could mean.
    pub(super) fn names(&self) -> impl Iterator<Item = &str> {
        let plain = |name: &&str| {
            name.starts_with(|c: char| c.is_ascii_lowercase()) && !name.contains(['$', ':', ' '])
        };
        self.arities.keys().map(String::as_str).filter(plain)
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::super::super::language::engine_to_compile;
    use super::super::super::{Stands, VOCABULARY};
    use super::Callable;

    #[test]
    fn the_vocabulary_says_of_each_word_just_the_ways_that_the_engine_knows() {
        let known = Callable::words_of(&engine_to_compile());
        for word in VOCABULARY.iter() {
            let mut said = BTreeSet::new();
            for arguments in &word.takes {
                if word.stands != Stands::InTest {
                    said.insert(arguments.len());
                }
                if matches!(word.stands, Stands::InTest | Stands::Anywhere) {
                    said.insert(arguments.len() + 1);
                }
            }
            let registered = known.arities.get(word.name).cloned().unwrap_or_default();
            assert_eq!(said, registered, "{}", word.name);
        }
    }
}
