use std::collections::{BTreeMap, BTreeSet};

use rhai::{AST, ASTNode, Engine, Expr, FnCallExpr, Position, Stmt};

use super::closures::{is_internal, kept_closure};
use super::fields::{knows, unknown_key};
use super::words::{GENERAL, is_word, property_names};
use super::{Diagnostic, Source, nearest};

/// The most faults that are reported of one procedure: more are of no use to anybody, and each costs a comparison with
/// all before it.
const MOST_FAULTS: usize = 20;

/// Checks every name of a compiled procedure against what is known, without running it.
pub(super) fn check(engine: &Engine, source: &Source, compiled: &[AST]) -> Vec<Diagnostic> {
    let words = Known::words_of(engine);
    let in_modules = compiled.iter().skip(1).flat_map(AST::iter_functions).map(|f| f.name).collect();
    let mut found = Vec::new();
    for (index, (file, ast)) in source.files.iter().zip(compiled).enumerate() {
        let mut known = words.clone();
        for function in ast.iter_functions() {
            if words.taken.contains(function.name) && found.len() < MOST_FAULTS {
                found.push(function_hides_word(&file.name, &file.text, function.name));
            }
            known.add(function.name, function.params.len());
        }
        let keys = keys_in(ast);
        let mut checker =
            Checker { file: &file.name, known: &known, in_modules: &in_modules, keys, found: &mut found };
        checker.check_calls(ast);
        checker.check_values(ast);
        checker.check_ending(ast);
        if index == 0 {
            checker.check_opening(ast);
        } else {
            checker.check_module(ast);
        }
    }
    found
}

/// Counts the calls of a word in a file.
pub(super) fn count_calls(ast: &AST, word: &str) -> usize {
    let mut n = 0;
    ast.walk(&mut |path: &[ASTNode<'_>]| {
        n += usize::from(call(path).is_some_and(|(call, _)| call.name == word && call.namespace.is_empty()));
        true
    });
    n
}

/// What may be called, each with the numbers of arguments it takes.
#[derive(Clone)]
struct Known {
    arities: BTreeMap<String, BTreeSet<usize>>,
    /// Every name that the engine answers to, also those that a procedure may not call.
    taken: BTreeSet<String>,
}

impl Known {
    fn words_of(engine: &Engine) -> Known {
        let mut known = Known { arities: BTreeMap::new(), taken: BTreeSet::new() };
        for signature in engine.gen_fn_signatures(true) {
            let Some((name, rest)) = signature.split_once('(') else { continue };
            let arguments = rest.split_once(')').map_or(rest, |(arguments, _)| arguments);
            let n = if arguments.trim().is_empty() { 0 } else { top_level_commas(arguments) + 1 };
            let name = name.rsplit(' ').next().unwrap_or(name);
            known.taken.insert(name.to_owned());
            if is_word(name) || GENERAL.contains(&name) {
                known.add(name, n);
            }
        }
        known
    }

    fn add(&mut self, name: &str, n: usize) {
        self.arities.entry(name.to_owned()).or_default().insert(n);
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

struct Checker<'a> {
    file: &'a str,
    known: &'a Known,
    in_modules: &'a BTreeSet<&'a str>,
    keys: BTreeSet<String>,
    found: &'a mut Vec<Diagnostic>,
}

impl Checker<'_> {
    fn report(&mut self, position: Position, message: impl Into<String>, help: impl Into<Option<String>>) {
        if self.found.len() >= MOST_FAULTS {
            return;
        }
        let diagnostic = Diagnostic::new(self.file, position, message);
        let diagnostic = Diagnostic { help: help.into(), ..diagnostic };
        // The walk comes by some nodes twice, once as a statement and once as its expression.
        if !self.found.contains(&diagnostic) {
            self.found.push(diagnostic);
        }
    }

    fn check_calls(&mut self, ast: &AST) {
        let mut calls: Vec<(FnCallExpr, Position, bool)> = Vec::new();
        let mut properties = Vec::new();
        ast.walk(&mut |path: &[ASTNode<'_>]| {
            if let Some((found, position)) = call(path)
                && !is_internal(found, path)
            {
                let method = matches!(path.last(), Some(ASTNode::Expr(Expr::MethodCall(..))));
                calls.push((found.clone(), position, method));
            }
            if let Some(ASTNode::Expr(Expr::Property(names, position))) = path.last() {
                properties.push((names.2.to_string(), *position));
            }
            true
        });
        for (call, position, method) in calls {
            if self.found.len() >= MOST_FAULTS {
                return;
            }
            self.check_call(&call, position, method);
        }
        for (name, position) in properties {
            if self.found.len() >= MOST_FAULTS {
                return;
            }
            if !self.keys.contains(&name) && property_names().all(|known| known != name) {
                let near = nearest(&name, property_names()).map(|near| format!("did you mean .{near}?"));
                self.report(position, format!("nothing here has a .{name}"), near);
            }
        }
    }

    fn check_call(&mut self, call: &FnCallExpr, position: Position, method: bool) {
        let name = call.name.as_str();
        if !call.namespace.is_empty() {
            return self.check_module_call(call, position);
        }
        let n_arguments = call.args.len() + usize::from(method);
        match self.known.arities.get(name) {
            None => {
                let near = nearest(name, self.known.arities.keys().map(String::as_str).filter(|k| plain(k)));
                let near = near.map(|near| format!("did you mean {near}?"));
                self.report(position, format!("there is no word \"{name}\""), near);
            }
            Some(arities) if !arities.contains(&n_arguments) && !arities.contains(&call.args.len()) => {
                let form = super::VOCABULARY.iter().find(|word| word.name == name);
                let form = form.map(|word| format!("write it like {}", word.form));
                self.report(
                    position,
                    format!("\"{name}\" does not take {} arguments", call.args.len()),
                    form,
                );
            }
            Some(_) => {}
        }
        if let [Expr::Map(entries, _)] = call.args.as_slice() {
            self.check_keys(name, &entries.0);
        } else if let [_, Expr::Map(entries, _)] = call.args.as_slice() {
            self.check_keys(name, &entries.0);
        }
    }

    /// Checks the keys of a description, and of the descriptions inside it.
    fn check_keys(&mut self, word: &str, entries: &[(rhai::Ident, Expr)]) {
        if super::VOCABULARY.iter().all(|known| known.name != word || known.keys.is_empty()) {
            return;
        }
        for (key, value) in entries {
            if !knows(word, &key.name) {
                self.report(key.pos, unknown_key(word, &key.name), None);
                continue;
            }
            match value {
                Expr::Map(inner, _) => self.check_keys(&key.name, &inner.0),
                Expr::Array(items, _) => {
                    for item in items {
                        if let Expr::Map(inner, _) = item {
                            self.check_keys(&key.name, &inner.0);
                        }
                    }
                }
                _ => {}
            }
        }
    }

    fn check_module_call(&mut self, call: &FnCallExpr, position: Position) {
        let alias = call.namespace.to_string();
        let name = call.name.as_str();
        // Which file an alias stands for is settled when it is imported; a name that no module has is wrong anyhow.
        if !self.in_modules.contains(name) {
            let help = "a module's functions are called as alias::name(...)".to_owned();
            self.report(
                position,
                format!("no module of this procedure has a function \"{name}\" ({alias})"),
                help,
            );
        }
    }

    /// Values that a script could not be held to: a closure that outlives the word it is given to keeps what it has
    /// seen, out of sight of every limit, and a number too large to be one compares with nothing.
    fn check_values(&mut self, ast: &AST) {
        let mut found = Vec::new();
        ast.walk(&mut |path: &[ASTNode<'_>]| {
            if let Some(position) = kept_closure(path) {
                let help = "write it inside the brackets of test, map, filter or the like; steps that are used twice \
                            are a function: fn steps(t) { ... }";
                found.push((position, "a closure |...| can't be kept in a variable or handed on", help));
            }
            if let Some(ASTNode::Expr(Expr::FloatConstant(number, position))) = path.last()
                && !number.is_finite()
            {
                found.push((*position, "this number is too large", "write a smaller one"));
            }
            found.len() < MOST_FAULTS
        });
        for (position, message, help) in found {
            self.report(position, message, help.to_owned());
        }
    }

    /// A `return` outside a function would end the procedure early and leave a unit that looks finished.
    fn check_ending(&mut self, ast: &AST) {
        let mut returns = Vec::new();
        let mut top = ast.clone();
        top.clear_functions();
        top.walk(&mut |path: &[ASTNode<'_>]| {
            if let Some(ASTNode::Stmt(Stmt::Return(_, flags, position))) = path.last()
                && !flags.intersects(rhai::ASTFlags::BREAK)
            {
                returns.push(*position);
            }
            true
        });
        for position in returns {
            let help = "use if ... else ... around the steps, or put them in a function".to_owned();
            self.report(
                position,
                "return here would end the procedure early, as if the unit were finished",
                help,
            );
        }
    }

    fn check_opening(&mut self, ast: &AST) {
        let first = ast.statements().iter().find(|s| !matches!(s, Stmt::Noop(_) | Stmt::Import(..)));
        let opens = match first {
            Some(Stmt::FnCall(call, _)) => call.name == "procedure",
            Some(Stmt::Expr(expression)) => {
                matches!(&**expression, Expr::FnCall(call, _) if call.name == "procedure")
            }
            _ => false,
        };
        if !opens {
            let position = first.map_or(Position::new(1, 1), Stmt::position);
            let help =
                "begin with procedure(#{ title: \"...\", unit: \"...\", version: \"1.0.0\" });".to_owned();
            self.report(position, "a procedure says first what it is", help);
        }
    }

    /// A module is evaluated before any question; what it did at its top level would be out of order.
    fn check_module(&mut self, ast: &AST) {
        for statement in ast.statements() {
            let quiet =
                matches!(statement, Stmt::Noop(_) | Stmt::Import(..) | Stmt::Export(..) | Stmt::Var(..));
            if !quiet {
                let help =
                    "put it into a function, fn name() { ... }, and call that from the procedure".to_owned();
                self.report(statement.position(), "a module holds functions and constants only", help);
            }
        }
    }
}

fn call<'a>(path: &[ASTNode<'a>]) -> Option<(&'a FnCallExpr, Position)> {
    match path.last()? {
        ASTNode::Expr(Expr::FnCall(call, position) | Expr::MethodCall(call, position))
        | ASTNode::Stmt(Stmt::FnCall(call, position)) => Some((call, *position)),
        _ => None,
    }
}

/// Returns the keys of every map written in a file, which may stand behind a dot.
fn keys_in(ast: &AST) -> BTreeSet<String> {
    let mut keys = BTreeSet::new();
    ast.walk(&mut |path: &[ASTNode<'_>]| {
        if let Some(ASTNode::Expr(Expr::Map(entries, _))) = path.last() {
            keys.extend(entries.0.iter().map(|(key, _)| key.name.to_string()));
        }
        true
    });
    keys
}

fn plain(name: &str) -> bool {
    name.starts_with(|c: char| c.is_ascii_lowercase()) && !name.contains(['$', ':', ' '])
}

fn function_hides_word(file: &str, text: &str, name: &str) -> Diagnostic {
    let place = |(index, line): (usize, &str)| {
        let function = line.find("fn ")?;
        let at = function + line[function..].find(name)?;
        Some((index + 1, line[..at].chars().count() + 1))
    };
    let (line, column) = text.lines().enumerate().find_map(place).unwrap_or((1, 1));
    Diagnostic::at(
        file,
        line,
        column,
        format!("\"{name}\" is a word of the language and can't be defined again"),
    )
    .help("choose another name for the function")
}
