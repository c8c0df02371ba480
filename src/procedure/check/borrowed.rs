use rhai::{AST, ASTNode, Expr, FnCallExpr, Namespace, Position};

use super::super::imports::Imports;
use super::super::nearest;
use super::Faults;
use super::calls::arguments;

/// What a file takes from the modules that it imports.
pub(super) struct Borrowed<'a> {
    imports: &'a Imports<'a>,
    /// The place of the file.
    file: usize,
}

impl<'a> Borrowed<'a> {
    /// Takes the imports of a procedure, to check one file of it.
    pub(super) fn new(imports: &'a Imports<'a>, file: usize) -> Borrowed<'a> {
        Borrowed { imports, file }
    }

    /// Checks a call of a module's function.
    pub(super) fn check_call(&self, call: &FnCallExpr, position: Position, faults: &mut Faults<'_>) {
        let (name, n) = (call.name.as_str(), call.args.len());
        let Some(file) = self.module(&call.namespace, position, faults) else { return };
        let lent = self.imports.functions(file);
        if lent.contains(&(name, n)) {
            return;
        }
        let module = self.imports.name(file);
        if lent.iter().any(|(known, _)| *known == name) {
            faults.report(position, format!("\"{name}\" of {module} does not take {}", arguments(n)), None);
        } else {
            let near = nearest(name, lent.iter().map(|(known, _)| *known));
            let near = near.map(|near| format!("did you mean {near}?"));
            faults.report(position, format!("{module} has no function \"{name}\""), near);
        }
    }

    /// Checks every constant that is taken from a module.
    pub(super) fn check_values(&self, ast: &AST, faults: &mut Faults<'_>) {
        let mut used = Vec::new();
        ast.walk(&mut |path: &[ASTNode<'_>]| {
            match path.last() {
                Some(ASTNode::Expr(Expr::Variable(variable, _, position))) if !variable.2.is_empty() => {
                    used.push((variable.2.clone(), variable.1.to_string(), *position));
                }
                _ => {}
            }
            true
        });
        for (aliases, name, position) in used {
            if faults.is_full() {
                return;
            }
            let Some(file) = self.module(&aliases, position, faults) else { continue };
            if !self.imports.constants(file).contains(&name) {
                let help = format!("a module lends a constant with export const {name} = ...;");
                let message = format!("{} lends no \"{name}\"", self.imports.name(file));
                faults.report(position, message, Some(help));
            }
        }
    }

    fn module(&self, aliases: &Namespace, position: Position, faults: &mut Faults<'_>) -> Option<usize> {
        let place = self.imports.resolve(self.file, aliases.path.iter().map(|alias| alias.name.as_str()));
        if place.is_none() {
            let help = "a module's functions are called as alias::name(...)".to_owned();
            faults.report(position, format!("there is no module \"{aliases}\""), Some(help));
        }
        place
    }
}
