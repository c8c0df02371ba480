use std::collections::{BTreeMap, BTreeSet};
use std::sync::OnceLock;

use rhai::{AST, Engine};

use super::super::language::{GENERAL, word_named};

/// What may be called, each with the numbers of arguments it takes; a receiver counts as the first of them.
#[derive(Debug, Clone)]
pub(super) struct Known {
    arities: BTreeMap<String, BTreeSet<usize>>,
    /// Every name that the engine answers to, also those that a procedure may not call.
    taken: BTreeSet<String>,
}

impl Known {
    /// Returns the words and the functions of general use, which are those of every engine that compiles procedures;
    /// they are gathered once.
    pub(super) fn words(engine: &Engine) -> &'static Known {
        static WORDS: OnceLock<Known> = OnceLock::new();
        WORDS.get_or_init(|| Known::words_of(engine))
    }

    fn words_of(engine: &Engine) -> Known {
        let mut known = Known { arities: BTreeMap::new(), taken: BTreeSet::new() };
        for signature in engine.gen_fn_signatures(true) {
            let Some((name, rest)) = signature.split_once('(') else { continue };
            let arguments = rest.split_once(')').map_or(rest, |(arguments, _)| arguments);
            let n = if arguments.trim().is_empty() { 0 } else { top_level_commas(arguments) + 1 };
            let name = name.rsplit(' ').next().unwrap_or(name);
            known.taken.insert(name.to_owned());
            if word_named(name).is_some() || GENERAL.contains(&name) {
                known.add(name, n);
            }
        }
        // The engine does this one itself, for any number of arguments that a closure may take.
        (1..=4).for_each(|n| known.add("call", n));
        known
    }

    /// Returns this and the functions of a file.
    pub(super) fn with_functions_of(&self, ast: &AST) -> Known {
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

    /// Returns whether there is a function of this name.
    pub(super) fn has(&self, name: &str) -> bool {
        self.arities.contains_key(name)
    }

    /// Returns whether a function takes so many arguments.
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

fn top_level_commas(arguments: &str) -> usize {
    let mut depth = 0_i32;
    arguments
        .chars()
        .filter(|c| {
            depth += i32::from("<([".contains(*c)) - i32::from(">)]".contains(*c));
            *c == ',' && depth == 0
        })
        .count()
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::super::super::language::engine_to_compile;
    use super::super::super::{Stands, VOCABULARY};
    use super::Known;

    #[test]
    fn the_vocabulary_says_of_each_word_just_the_ways_that_the_engine_knows() {
        let known = Known::words_of(&engine_to_compile());
        for word in VOCABULARY {
            let mut said = BTreeSet::new();
            for arguments in word.takes {
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
