use std::collections::{BTreeMap, BTreeSet};

use rhai::{AST, ASTNode, Engine, Expr, FnCallExpr, Namespace, Position, Stmt};

use super::fields::{knows, unknown_key};
use super::hiding::hidden_words;
use super::imports::Imports;
use super::words::property_names;
use super::{Diagnostic, Source, nearest};

/// Names that the engine itself answers to, without a registered function.
const BUILT_IN: &[&str] = &["call", "curry", "type_of", "is_shared", "is_def_var", "is_def_fn"];

/// Checks every name of a compiled procedure against what is known, without running it.
pub(super) fn check(engine: &Engine, source: &Source, compiled: &[AST]) -> Vec<Diagnostic> {
    let words = Known::words_of(engine);
    let (imports, mut found) = Imports::of(source, compiled);
    for (index, (file, ast)) in source.files.iter().zip(compiled).enumerate() {
        found.extend(hidden_words(file, ast, |name| words.natives.contains_key(name)));
        let mut known = words.clone();
        for function in ast.iter_functions() {
            known.scripts.entry(function.name.to_owned()).or_default().insert(function.params.len());
        }
        let mut checker = Checker {
            file: &file.name,
            index,
            known: &known,
            imports: &imports,
            keys: keys_in(ast),
            found: &mut found,
        };
        checker.check_calls(ast);
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
    /// Words, which take what stands before the dot of a method call as their first argument.
    natives: BTreeMap<String, BTreeSet<usize>>,
    /// Functions of the file, which take it as `this`.
    scripts: BTreeMap<String, BTreeSet<usize>>,
}

impl Known {
    fn words_of(engine: &Engine) -> Known {
        let mut natives: BTreeMap<String, BTreeSet<usize>> = BTreeMap::new();
        for signature in engine.gen_fn_signatures(true) {
            let Some((name, rest)) = signature.split_once('(') else { continue };
            let arguments = rest.split_once(')').map_or(rest, |(arguments, _)| arguments);
            let n = if arguments.trim().is_empty() { 0 } else { top_level_commas(arguments) + 1 };
            let name = name.rsplit(' ').next().unwrap_or(name);
            natives.entry(name.to_owned()).or_default().insert(n);
        }
        Known { natives, scripts: BTreeMap::new() }
    }

    fn has(&self, name: &str) -> bool {
        self.natives.contains_key(name) || self.scripts.contains_key(name)
    }

    fn takes(&self, name: &str, n_arguments: usize, is_method: bool) -> bool {
        let takes =
            |known: &BTreeMap<String, BTreeSet<usize>>, n| known.get(name).is_some_and(|ns| ns.contains(&n));
        takes(&self.natives, n_arguments + usize::from(is_method)) || takes(&self.scripts, n_arguments)
    }

    fn names(&self) -> impl Iterator<Item = &str> {
        self.natives.keys().chain(self.scripts.keys()).map(String::as_str).filter(|name| plain(name))
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
    index: usize,
    known: &'a Known,
    imports: &'a Imports<'a>,
    keys: BTreeSet<String>,
    found: &'a mut Vec<Diagnostic>,
}

impl Checker<'_> {
    fn report(&mut self, position: Position, message: impl Into<String>, help: impl Into<Option<String>>) {
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
        let mut borrowed = Vec::new();
        ast.walk(&mut |path: &[ASTNode<'_>]| {
            if let Some((found, position)) = call(path) {
                let method = matches!(path.last(), Some(ASTNode::Expr(Expr::MethodCall(..))));
                calls.push((found.clone(), position, method));
            }
            match path.last() {
                Some(ASTNode::Expr(Expr::Property(names, position))) => {
                    properties.push((names.2.to_string(), *position));
                }
                Some(ASTNode::Expr(Expr::Variable(variable, _, position))) if !variable.2.is_empty() => {
                    borrowed.push((variable.2.clone(), variable.1.to_string(), *position));
                }
                _ => {}
            }
            true
        });
        for (call, position, method) in calls {
            self.check_call(&call, position, method);
        }
        for (name, position) in properties {
            if !self.keys.contains(&name) && property_names().all(|known| known != name) {
                let near = nearest(&name, property_names()).map(|near| format!("did you mean .{near}?"));
                self.report(position, format!("nothing here has a .{name}"), near);
            }
        }
        for (aliases, name, position) in borrowed {
            self.check_borrowed(&aliases, &name, position);
        }
    }

    fn check_call(&mut self, call: &FnCallExpr, position: Position, method: bool) {
        let name = call.name.as_str();
        if call.op_token.is_some() || BUILT_IN.contains(&name) || name.starts_with("anon$") {
            return;
        }
        if !call.namespace.is_empty() {
            return self.check_module_call(call, position);
        }
        // A closure may be kept under a key of a map, and called like a method.
        let is_closure = method && self.keys.contains(name);
        if !self.known.has(name) {
            if !is_closure {
                let near = nearest(name, self.known.names()).map(|near| format!("did you mean {near}?"));
                self.report(position, format!("there is no word \"{name}\""), near);
            }
        } else if !self.known.takes(name, call.args.len(), method) && !is_closure {
            let form = super::VOCABULARY.iter().find(|word| word.name == name);
            let form = form.map(|word| format!("write it like {}", word.form));
            self.report(position, format!("\"{name}\" does not take {} arguments", call.args.len()), form);
        }
        if let [Expr::Map(entries, _)] | [_, Expr::Map(entries, _)] = call.args.as_slice() {
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
        let (name, n_arguments) = (call.name.as_str(), call.args.len());
        let Some(file) = self.module(&call.namespace, position) else { return };
        let lent = self.imports.functions(file);
        if lent.contains(&(name, n_arguments)) {
            return;
        }
        let module = self.imports.name(file);
        if lent.iter().any(|(known, _)| *known == name) {
            let message = format!("\"{name}\" of {module} does not take {n_arguments} arguments");
            self.report(position, message, None);
        } else {
            let near = nearest(name, lent.iter().map(|(known, _)| *known));
            let near = near.map(|near| format!("did you mean {near}?"));
            self.report(position, format!("{module} has no function \"{name}\""), near);
        }
    }

    fn check_borrowed(&mut self, aliases: &Namespace, name: &str, position: Position) {
        let Some(file) = self.module(aliases, position) else { return };
        if !self.imports.constants(file).contains(name) {
            let help = format!("a module lends a constant with export const {name} = ...;");
            self.report(position, format!("{} lends no \"{name}\"", self.imports.name(file)), help);
        }
    }

    fn module(&mut self, aliases: &Namespace, position: Position) -> Option<usize> {
        let path = aliases.path.iter().map(|alias| alias.name.as_str());
        let file = self.imports.resolve(self.index, path);
        if file.is_none() {
            let help = "import it first, as in import \"steps\" as steps".to_owned();
            self.report(position, format!("there is no module \"{aliases}\""), help);
        }
        file
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
        let title = match first {
            Some(Stmt::FnCall(call, _)) => Some(&**call),
            Some(Stmt::Expr(expression)) => match &**expression {
                Expr::FnCall(call, _) => Some(&**call),
                _ => None,
            },
            _ => None,
        };
        let Some(title) = title.filter(|call| call.name == "procedure") else {
            let position = first.map_or(Position::new(1, 1), Stmt::position);
            let help =
                "begin with procedure(#{ title: \"...\", unit: \"...\", version: \"1.0.0\" });".to_owned();
            return self.report(position, "a procedure says first what it is", help);
        };
        for argument in &title.args {
            self.check_quiet(|on_node| argument.walk(&mut Vec::new(), on_node));
        }
    }

    /// Reports the words in something that is evaluated before the first question.
    fn check_quiet(&mut self, walk: impl FnOnce(&mut dyn FnMut(&[ASTNode<'_>]) -> bool) -> bool) {
        let mut words = Vec::new();
        walk(&mut |path: &[ASTNode<'_>]| {
            let called = call(path).filter(|(call, _)| call.namespace.is_empty());
            words.extend(called.map(|(call, position)| (call.name.to_string(), position)));
            true
        });
        words.retain(|(name, _)| super::VOCABULARY.iter().any(|word| word.name == name));
        for (name, position) in words {
            let help = "put it into a function, and call that after procedure(...)".to_owned();
            self.report(position, format!("\"{name}\" would happen before the procedure begins"), help);
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
        let mut top = ast.clone();
        top.clear_functions();
        self.check_quiet(|on_node| top.walk(on_node));
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
