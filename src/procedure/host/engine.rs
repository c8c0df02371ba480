use std::cell::{Cell, RefCell};
use std::collections::HashMap;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::rc::Rc;

use rhai::module_resolvers::ModuleResolver;
use rhai::packages::{
    ArithmeticPackage, BasicArrayPackage, BasicIteratorPackage, BasicMapPackage, BasicMathPackage,
    BasicStringPackage, LogicPackage, MoreStringPackage, Package,
};
use rhai::{AST, Dynamic, Engine, EvalAltResult, Module, OptimizationLevel, Position, Scope, Shared};

use super::{Aside, Halt};
use crate::console::is_interrupted;

/// The most operations that one walk may take, closures included.
pub(super) const MOST_OPERATIONS: u64 = 100_000;
const LONGEST_STRING: usize = 2_048;
/// The most elements in one array, those of arrays in it included.
const LONGEST_ARRAY: usize = 256;
/// The most keys in one map, those of maps in it included.
const LARGEST_MAP: usize = 64;

/// Why an engine stopped a script: told from what a script could raise by its type.
#[derive(Debug, Clone)]
pub(super) struct BudgetSpent;

/// Makes the sandboxed engine without the words: no files, no clock, no `exit`, `eval` or `try`, and every limit set.
///
/// `switch` is out because it passes over a case of another type without a word, as a comparison would.
///
/// The operations are counted here over the whole walk, because the engine's own count starts again for each closure
/// that a word calls. An operation may copy the largest value there can be, so the sizes of values bound the time of a
/// walk as much as the number of operations does, and with the number of variables they bound its memory.
pub(crate) fn engine(spent: Rc<Cell<u64>>) -> Engine {
    let mut engine = parser();
    ArithmeticPackage::new().register_into_engine(&mut engine);
    LogicPackage::new().register_into_engine(&mut engine);
    BasicStringPackage::new().register_into_engine(&mut engine);
    MoreStringPackage::new().register_into_engine(&mut engine);
    BasicIteratorPackage::new().register_into_engine(&mut engine);
    BasicMathPackage::new().register_into_engine(&mut engine);
    BasicArrayPackage::new().register_into_engine(&mut engine);
    BasicMapPackage::new().register_into_engine(&mut engine);

    engine.on_progress(move |_| {
        if is_interrupted() {
            return Some(Dynamic::from(Halt::Aside(Aside::Park)));
        }
        spent.set(spent.get() + 1);
        (spent.get() > MOST_OPERATIONS).then(|| Dynamic::from(BudgetSpent))
    });
    engine
}

/// Makes an engine that only parses, which needs no functions.
pub(crate) fn parser() -> Engine {
    let mut engine = Engine::new_raw();
    for symbol in ["eval", "try", "catch", "switch", "Fn", "print", "debug"] {
        engine.disable_symbol(symbol);
    }
    engine
        .set_optimization_level(OptimizationLevel::None)
        .set_fast_operators(false)
        .set_strict_variables(true)
        .set_fail_on_invalid_map_property(true)
        .set_allow_shadowing(false)
        .set_max_operations(MOST_OPERATIONS)
        .set_max_call_levels(16)
        .set_max_expr_depths(64, 64)
        .set_max_variables(256)
        .set_max_functions(512)
        .set_max_string_size(LONGEST_STRING)
        .set_max_array_size(LONGEST_ARRAY)
        .set_max_map_size(LARGEST_MAP)
        .set_max_modules(64);
    engine
}

/// The modules of a procedure, all read and checked before it runs; there are no others.
///
/// Each is made once, however often it is imported: a module that imports another twice, which imports another twice,
/// would otherwise double the work with each file.
pub(super) struct Modules {
    compiled: HashMap<String, AST>,
    made: RefCell<HashMap<String, Shared<Module>>>,
}

impl Modules {
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

/// Says that a procedure has brought out a fault of the program itself.
pub(super) const FAULT: &str = "the script brought out a fault of the program itself, which stopped it";

/// Does something that a script has a hand in; `None` where that panics.
///
/// Nothing that was touched is used afterwards: a walk that panics is dropped, and what was answered is in the journal.
pub(super) fn contained<T>(act: impl FnOnce() -> T) -> Option<T> {
    catch_unwind(AssertUnwindSafe(act)).ok()
}
