use std::cell::RefCell;
use std::collections::HashMap;

use rhai::module_resolvers::ModuleResolver;
use rhai::{AST, Engine, EvalAltResult, Module, Position, Scope, Shared};

/// The modules of a procedure, all read and checked before it runs; there are no others.
///
/// Each is made once, however often it is imported: a module that imports another twice, which imports another twice,
/// would otherwise double the work with each file.
pub(crate) struct Modules {
    compiled: HashMap<String, AST>,
    made: RefCell<HashMap<String, Shared<Module>>>,
}

impl Modules {
    /// Takes the compiled modules of a procedure by their file names.
    pub(crate) fn new(compiled: impl IntoIterator<Item = (String, AST)>) -> Modules {
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
        let name = format!("{path}.rhai");
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
