use std::collections::{BTreeMap, BTreeSet};

use rhai::{AST, ASTFlags, ASTNode, Expr, FnAccess, Position, Stmt};

use super::{Diagnostic, Source};

/// Which file every alias of every file stands for, and what each file lends to others.
pub(super) struct Imports<'a> {
    source: &'a Source,
    compiled: &'a [&'a AST],
    /// For each file, its aliases with the places of the files that they stand for.
    aliases: Vec<BTreeMap<String, usize>>,
}

/// One `import` statement.
struct Import {
    /// The place of the file that it names.
    file: usize,
    position: Position,
}

impl<'a> Imports<'a> {
    /// Follows every import, and reports those that lead nowhere or round in a circle.
    pub(super) fn of(source: &'a Source, compiled: &'a [&'a AST]) -> (Imports<'a>, Vec<Diagnostic>) {
        let mut found = Vec::new();
        let mut aliases = Vec::new();
        let mut graph = Vec::new();
        for (file, ast) in source.files.iter().zip(compiled) {
            let mut names = BTreeMap::new();
            let mut edges = Vec::new();
            for (path, alias, position) in statements(ast) {
                let name = path.map(|path| format!("{path}.rhai"));
                let place = name.and_then(|name| source.files.iter().position(|file| file.name == name));
                match place {
                    Some(place) => {
                        names.insert(alias, place);
                        edges.push(Import { file: place, position });
                    }
                    None => found
                        .push(Diagnostic::new(&file.name, position, "there is no such module").help(
                        "name a file of the procedure's folder in quotes, as in import \"steps\" as steps",
                    )),
                }
            }
            aliases.push(names);
            graph.push(edges);
        }
        found.extend(circle(source, &graph));
        (Imports { source, compiled, aliases }, found)
    }

    /// Returns the place of the file that a path of aliases leads to from a file.
    pub(super) fn resolve<'n>(&self, from: usize, path: impl Iterator<Item = &'n str>) -> Option<usize> {
        let mut at = from;
        for alias in path {
            at = *self.aliases.get(at)?.get(alias)?;
        }
        Some(at)
    }

    /// Returns the name of a file.
    pub(super) fn name(&self, file: usize) -> &'a str {
        self.source.files.get(file).map_or("", |file| file.name.as_str())
    }

    /// Returns the functions that a file lends, each with the number of its arguments.
    pub(super) fn functions(&self, file: usize) -> Vec<(&'a str, usize)> {
        let functions = self.compiled.get(file).into_iter().flat_map(|ast| ast.iter_functions());
        let public = functions.filter(|function| function.access == FnAccess::Public);
        public.map(|function| (function.name, function.params.len())).collect()
    }

    /// Returns the constants and variables that a file lends.
    pub(super) fn constants(&self, file: usize) -> BTreeSet<String> {
        let statements = self.compiled.get(file).map_or(&[][..], |ast| ast.statements());
        let lent = statements.iter().filter_map(|statement| match statement {
            Stmt::Var(variable, flags, _) if flags.intersects(ASTFlags::EXPORTED) => Some(&variable.0),
            Stmt::Export(names, _) if names.1.name.is_empty() => Some(&names.0),
            Stmt::Export(names, _) => Some(&names.1),
            _ => None,
        });
        lent.map(|name| name.name.to_string()).collect()
    }
}

/// Returns the path (where it is a plain text), the alias and the position of each import in a file.
fn statements(ast: &AST) -> Vec<(Option<String>, String, Position)> {
    let mut found = Vec::new();
    ast.walk(&mut |path: &[ASTNode<'_>]| {
        if let Some(ASTNode::Stmt(Stmt::Import(parts, position))) = path.last() {
            let path = match &parts.0 {
                Expr::StringConstant(path, _) => Some(path.to_string()),
                _ => None,
            };
            found.push((path, parts.1.name.to_string(), *position));
        }
        true
    });
    found
}

/// Reports the import that closes a circle, if there is one: a module in it would be evaluated without end.
fn circle(source: &Source, graph: &[Vec<Import>]) -> Option<Diagnostic> {
    fn visit(
        at: usize,
        graph: &[Vec<Import>],
        trail: &mut Vec<usize>,
        done: &mut [bool],
    ) -> Option<(usize, Position)> {
        trail.push(at);
        for import in &graph[at] {
            if trail.contains(&import.file) {
                return Some((at, import.position));
            }
            if !done[import.file]
                && let Some(found) = visit(import.file, graph, trail, done)
            {
                return Some(found);
            }
        }
        trail.pop();
        done[at] = true;
        None
    }
    let mut done = vec![false; graph.len()];
    let (file, position) = visit(0, graph, &mut Vec::new(), &mut done)?;
    let message = "this import goes round in a circle: the module needs this file itself";
    let help = "put what both need into a third file, and import that in both";
    Some(Diagnostic::new(&source.files[file].name, position, message).help(help))
}
