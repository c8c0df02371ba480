use std::collections::{BTreeMap, BTreeSet};

use rhai::{AST, ASTFlags, ASTNode, Expr, FnAccess, FnCallExpr, Namespace, Position, Stmt};

use super::super::syntax::Parsed;
use super::super::{Fault, Source, is_plain_name, nearest};
use super::{FileCheck, visit};

/// Which file every alias of every file stands for, and what each file lends to others.
pub(super) struct Imports<'a> {
    source: &'a Source,
    parsed: &'a [Parsed],
    /// For each file, its imports, each with the place of the file that it stands for.
    imports: Vec<Vec<(Option<usize>, Import)>>,
}

impl<'a> Imports<'a> {
    pub(super) fn of(source: &'a Source, parsed: &'a [Parsed]) -> Imports<'a> {
        let of_file = |parsed: &Parsed| {
            let place = |import: &Import| {
                let name = format!("{}.rhai", import.path.as_ref()?);
                source.files.iter().position(|file| file.name == name)
            };
            let found = parsed.ast.as_ref().map(imports_in).unwrap_or_default();
            found.into_iter().map(|import| (place(&import), import)).collect()
        };
        Imports { source, parsed, imports: parsed.iter().map(of_file).collect() }
    }

    /// Reports what is wrong with the imports of a file: one that leads nowhere, or back to the file itself, which
    /// would be evaluated without end.
    pub(super) fn check(&self, faults: &mut FileCheck<'_>) {
        for (place, Import { path, position, .. }) in &self.imports[faults.index] {
            match place {
                None => {
                    let (message, help) = not_there(path.as_deref());
                    faults.report(*position, message, help);
                }
                Some(place) if self.leads_to(*place, faults.index) => {
                    let help = "put what both need into a third file, and import that in both";
                    let message = "this import goes round in a circle: the module needs this file itself";
                    faults.report(*position, message, help);
                }
                Some(_) => {}
            }
        }
    }

    pub(super) fn check_call(&self, call: &FnCallExpr, position: Position, faults: &mut FileCheck<'_>) {
        let (name, n_arguments) = (call.name.as_str(), call.args.len());
        let Some(file) = self.resolve(&call.namespace, position, faults) else { return };
        let lent = self.functions(file);
        if lent.contains(&(name, n_arguments)) {
            return;
        }
        let module = self.name(file);
        if lent.iter().any(|(known, _)| *known == name) {
            let message = format!("\"{name}\" of {module} does not take {n_arguments} arguments");
            faults.add(position, Fault::of(message));
        } else {
            let near = nearest(name, lent.iter().map(|(known, _)| *known));
            let near = near.map(|near| format!("did you mean {near}?"));
            let fault = Fault::of(format!("{module} has no function \"{name}\""));
            faults.add(position, Fault { help: near, ..fault });
        }
    }

    /// Checks every constant that a file takes from its modules.
    pub(super) fn check_constants(&self, faults: &mut FileCheck<'_>) {
        visit(faults.ast, |path| {
            if let Some(ASTNode::Expr(Expr::Variable(variable, _, position))) = path.last()
                && !variable.2.is_empty()
            {
                let (aliases, name, position) = (&variable.2, variable.1.as_str(), *position);
                let file = self.resolve(aliases, position, faults);
                if let Some(file) = file.filter(|file| !self.constants(*file).contains(name)) {
                    let help = format!("a module lends a constant with export const {name} = ...;");
                    faults.report(position, format!("{} lends no \"{name}\"", self.name(file)), help);
                }
            }
        });
    }

    fn leads_to(&self, from: usize, to: usize) -> bool {
        let mut seen = vec![from];
        let mut next = 0;
        while let Some(file) = seen.get(next).copied() {
            if file == to {
                return true;
            }
            let more = self.imports[file].iter().filter_map(|(place, _)| *place);
            let more: Vec<_> = more.filter(|place| !seen.contains(place)).collect();
            seen.extend(more);
            next += 1;
        }
        false
    }

    fn resolve(&self, aliases: &Namespace, position: Position, faults: &mut FileCheck<'_>) -> Option<usize> {
        let mut file = faults.index;
        for alias in &aliases.path {
            let known = self.imports[file].iter().find(|(_, known)| known.alias == alias.name.as_str());
            match known {
                Some((place, _)) => file = (*place)?,
                None => {
                    let help = "import it first, as in import \"steps\" as steps";
                    faults.report(position, format!("there is no module \"{aliases}\""), help);
                    return None;
                }
            }
        }
        Some(file)
    }

    fn name(&self, file: usize) -> &'a str {
        self.source.files.get(file).map_or("", |file| file.name.as_str())
    }

    fn ast(&self, file: usize) -> Option<&'a AST> {
        self.parsed.get(file)?.ast.as_ref()
    }

    fn functions(&self, file: usize) -> Vec<(&'a str, usize)> {
        let functions = self.ast(file).into_iter().flat_map(AST::iter_functions);
        let public = functions.filter(|function| function.access == FnAccess::Public);
        public.map(|function| (function.name, function.params.len())).collect()
    }

    fn constants(&self, file: usize) -> BTreeSet<String> {
        let statements = self.ast(file).map_or(&[][..], AST::statements);
        let lent = statements.iter().filter_map(|statement| match statement {
            Stmt::Var(variable, flags, _) if flags.intersects(ASTFlags::EXPORTED) => Some(&variable.0),
            Stmt::Export(names, _) if names.1.name.is_empty() => Some(&names.0),
            Stmt::Export(names, _) => Some(&names.1),
            _ => None,
        });
        lent.map(|name| name.name.to_string()).collect()
    }
}

/// Says why no file stands for an import.
fn not_there(path: Option<&str>) -> (String, String) {
    match path {
        None => {
            let help = "write the module's name in quotes, as in import \"steps\" as steps";
            ("the name of a module is computed here".to_owned(), help.to_owned())
        }
        Some(module) if is_plain_name(module) => {
            let message = format!("there is no module \"{module}\" in the procedure's folder");
            (message, format!("put {module}.rhai beside the procedure"))
        }
        Some(module) => {
            let help = "name a file beside the procedure without its ending, as in import \"steps\" as steps";
            (format!("\"{module}\" is not a module of the procedure's own folder"), help.to_owned())
        }
    }
}

#[derive(Debug)]
pub(crate) struct Import {
    /// What it names; none where that is computed.
    pub(crate) path: Option<String>,
    pub(crate) alias: String,
    position: Position,
}

/// Returns the imports of a file, in their order.
pub(crate) fn imports_in(ast: &AST) -> Vec<Import> {
    let mut found = BTreeMap::new();
    visit(ast, |path| {
        if let Some(ASTNode::Stmt(Stmt::Import(parts, position))) = path.last() {
            let path = match &parts.0 {
                Expr::StringConstant(path, _) => Some(path.to_string()),
                _ => None,
            };
            let import = Import { path, alias: parts.1.name.to_string(), position: *position };
            found.insert((position.line(), position.position()), import);
        }
    });
    found.into_values().collect()
}
