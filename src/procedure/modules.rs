use std::cell::RefCell;
use std::collections::HashMap;

use rhai::module_resolvers::ModuleResolver;
use rhai::{AST, Engine, EvalAltResult, Module, Position, Scope, Shared};

use super::source::Import;
use super::{Diagnostic, Source, imports};

/// The modules of a procedure, all read and checked before it runs; there are no others.
///
/// Each is made once, however often it is imported: a module that imports another twice, which imports another twice,
/// would otherwise double the work with each file.
pub(super) struct Modules {
    compiled: HashMap<String, AST>,
    made: RefCell<HashMap<String, Shared<Module>>>,
}

impl Modules {
    /// Takes the compiled modules of a procedure by their file names.
    pub(super) fn new(compiled: impl IntoIterator<Item = (String, AST)>) -> Modules {
        Modules { compiled: compiled.into_iter().collect(), made: RefCell::default() }
    }
}

impl ModuleResolver for Modules {
    fn resolve(
        &self,
        engine: &Engine,
        _: Option<&str>,
        path: &str,
        position: Position,
    ) -> Result<Shared<Module>, Box<EvalAltResult>> {
        let name = file_name(path);
        if let Some(module) = self.made.borrow().get(&name) {
            return Ok(module.clone());
        }
        let Some(ast) = self.compiled.get(&name) else {
            return Err(Box::new(EvalAltResult::ErrorModuleNotFound(path.to_owned(), position)));
        };
        let module = Shared::new(Module::eval_ast_as_new(Scope::new(), ast, engine)?);
        self.made.borrow_mut().insert(name, module.clone());
        Ok(module)
    }
}

/// Checks that every import names a module of the procedure, and that none leads back to itself.
pub(super) fn check(source: &Source) -> Vec<Diagnostic> {
    let mut all = Vec::new();
    for file in &source.files {
        match imports(file) {
            Ok(found) => all.extend(found),
            Err(diagnostic) => return vec![diagnostic],
        }
    }
    let missing = all.iter().filter(|import| source.file(&file_name(&import.path)).is_none());
    let circular = all.iter().filter(|import| leads_to(&all, &file_name(&import.path), &import.file));
    missing
        .map(|import| import.diagnostic(format!("the procedure has no module \"{}\"", import.path)))
        .chain(circular.map(|import| {
            import
                .diagnostic(format!("\"{}\" imports this file in turn, so neither can begin", import.path))
                .help("put what both need into a third module")
        }))
        .collect()
}

/// Returns whether a file is another or imports it, directly or through others.
fn leads_to(imports: &[Import], from: &str, to: &str) -> bool {
    let mut seen = vec![from.to_owned()];
    let mut next = 0;
    while let Some(file) = seen.get(next).cloned() {
        if file == to {
            return true;
        }
        for import in imports.iter().filter(|import| import.file == file) {
            let name = file_name(&import.path);
            if !seen.contains(&name) {
                seen.push(name);
            }
        }
        next += 1;
    }
    false
}

fn file_name(path: &str) -> String {
    format!("{path}.rhai")
}
