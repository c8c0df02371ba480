use std::cell::Cell;
use std::fmt;
use std::rc::Rc;

use rhai::{AST, Engine, EvalAltResult, Position};

use super::super::language::{Host, PROPERTIES, Property, Sort, VOCABULARY, engine_to_run};
use super::endless::Endless;
use super::engine::{BudgetSpent, FAULT, MOST_OPERATIONS, Modules, contained};
use super::{Aside, Fault, Halt, Mood, Program, Title, Walk, nearest};

/// Why a run ended before the script's end.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Stop {
    Aside(Aside),
    Drifted,
    Broken(Box<Fault>),
}

/// An engine with the words on a host: it takes longer to make than a usual script runs.
struct Running {
    engine: Engine,
    host: Host,
}

impl Default for Running {
    fn default() -> Running {
        let host = Host::new(nobodys_walk());
        Running { engine: engine_to_run(&host), host }
    }
}

/// What ran last and can run again. One in which something panicked does not.
#[derive(Default)]
pub(super) struct Spare {
    running: Cell<Option<Box<Running>>>,
    /// The operations of all runs so far.
    n_operations: Cell<u64>,
}

impl fmt::Debug for Spare {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Spare")
    }
}

fn nobodys_walk() -> Walk {
    Walk::straight(Mood::Sound, None, &Rc::default())
}

impl Program {
    /// Returns what the procedure declares itself to be; runs it up to there.
    pub(super) fn declared(&self) -> Result<Title, Fault> {
        let (ran, walk) = self.evaluate(nobodys_walk().up_to_title());
        match ran {
            Err(error) if halt_of(&error) != Some(Halt::FarEnough) => return Err(self.diagnose(&error)),
            _ => {}
        }
        let title = walk.title().cloned();
        let nothing = "a procedure says first what it is";
        title.ok_or_else(|| Fault::new(&self.source.files[0].name, Position::new(1, 1), nothing))
    }

    /// Runs the procedure on a walk, to the end or as far as is wanted of it, and gives the walk back.
    pub(crate) fn run(&self, mut walk: Walk) -> Result<Walk, Stop> {
        walk.expect_circuits(self.outlined().0.circuits.len());
        self.walk_on(walk)
    }

    /// Runs the procedure on a walk that nobody shows how far it is.
    pub(super) fn walk_on(&self, walk: Walk) -> Result<Walk, Stop> {
        let (ran, walk) = self.evaluate(walk);
        if let Err(error) = ran {
            match halt_of(&error) {
                Some(Halt::FarEnough) => {}
                Some(Halt::Aside(aside)) => return Err(Stop::Aside(aside)),
                Some(Halt::Drifted) => return Err(Stop::Drifted),
                _ => return Err(Stop::Broken(Box::new(self.diagnose(&error)))),
            }
        }
        Ok(walk)
    }

    /// Runs the script on a walk, and gives the walk back.
    fn evaluate(&self, walk: Walk) -> (Result<(), Box<EvalAltResult>>, Walk) {
        let mut running = self.spare.running.take().unwrap_or_default();
        let nobodys = running.host.exchange(walk);
        let modules = self.source.files.iter().zip(&self.compiled).skip(1);
        let modules = modules.map(|(file, compiled)| (file.name.clone(), compiled.clone()));
        running.engine.set_module_resolver(Modules::new(modules));
        let ran = contained(|| running.engine.run_ast(&self.as_run));
        self.spare.n_operations.set(self.n_operations() + running.host.n_operations());
        let walk = running.host.exchange(nobodys);
        if ran.is_some() {
            self.spare.running.set(Some(running));
        }
        (ran.unwrap_or_else(|| Err(Fault::of(FAULT).into())), walk)
    }

    /// Returns how many operations all runs together took.
    pub(crate) fn n_operations(&self) -> u64 {
        self.spare.n_operations.get()
    }

    /// Says where a run went wrong: the innermost position, in the file of the function that it lies in.
    fn diagnose(&self, error: &EvalAltResult) -> Fault {
        let mut file = self.source.files[0].name.clone();
        let mut inner = error;
        loop {
            inner = match inner {
                EvalAltResult::ErrorInFunctionCall(function, source, next, _) => {
                    if let Some(found) = self.file_of(function, source) {
                        file = found;
                    }
                    next
                }
                EvalAltResult::ErrorInModule(path, next, _) => {
                    file = format!("{path}.rhai");
                    next
                }
                _ => break,
            };
        }
        let (place, fault) = (inner.position(), explained(inner));
        let recursion = match inner {
            EvalAltResult::ErrorStackOverflow(_) => self.recursion(),
            _ => None,
        };
        if let Some((file, place)) = recursion {
            return fault.placed(&file, place);
        }
        match self.endless(&file, place).filter(|_| fault.message == runaway()) {
            Some(Endless { file, place, is_certain: true }) => {
                let help = "a loop does not end: nothing in it changes what its condition asks, or leaves it with break";
                fault.placed(&file, place).help(help)
            }
            Some(Endless { file, place, .. }) => fault.placed(&file, place),
            None => fault.placed(&file, place),
        }
    }

    /// Returns the file that a function lies in. The engine tells the file that called it where the function is a
    /// closure that was handed on, so that counts only where several files have a function of that name.
    fn file_of(&self, function: &str, source: &str) -> Option<String> {
        let has = |ast: &AST| ast.iter_functions().any(|known| known.name == function);
        let files = self.source.files.iter().zip(&self.compiled).filter(|(_, ast)| has(ast));
        let names: Vec<_> = files.map(|(file, _)| file.name.as_str()).collect();
        let named = names.iter().find(|name| **name == source).or(names.first());
        named.map(|name| (*name).to_owned())
    }
}

fn halt_of(error: &EvalAltResult) -> Option<Halt> {
    match error.unwrap_inner() {
        EvalAltResult::ErrorTerminated(token, _) => token.clone().try_cast::<Halt>(),
        _ => None,
    }
}

fn explained(error: &EvalAltResult) -> Fault {
    const ENDLESS: &str = "a loop does not end: look at what should end it";
    match error {
        EvalAltResult::ErrorRuntime(value, _) => match value.read_lock::<Fault>() {
            Some(fault) => fault.clone(),
            None => Fault::of(format!("the script stops itself with throw, saying: {value}")),
        },
        EvalAltResult::ErrorTerminated(token, _) if token.is::<BudgetSpent>() => {
            Fault::of(runaway()).help(ENDLESS)
        }
        EvalAltResult::ErrorTooManyOperations(_) => Fault::of(runaway()).help(ENDLESS),
        EvalAltResult::ErrorTerminated(..) => Fault::of("the script was stopped"),
        EvalAltResult::ErrorStackOverflow(_) => Fault::of("a function calls itself too deeply")
            .help("call it again inside an if only, that is not so in the end; or write a loop"),
        EvalAltResult::ErrorDataTooLarge(what, _) => Fault::of(format!("{what} grows too large")),
        EvalAltResult::ErrorFunctionNotFound(signature, _) if signature.starts_with("anon$") => {
            Fault::of("a closure that a module made can be called in that module only")
                .help("make the closure here and let it call the module's function: |t| steps::walk(t)")
        }
        EvalAltResult::ErrorFunctionNotFound(signature, _) => {
            let name = signature.split(' ').next().unwrap_or_default();
            let words = || VOCABULARY.iter().map(|word| word.name);
            let near = words().find(|word| word.starts_with(name)).or_else(|| nearest(name, words()));
            let fault = Fault::of(format!("nothing fits this call: {signature}"));
            match near.filter(|near| *near != name) {
                Some(near) => fault.help(format!("did you mean {near}?")),
                None => fault,
            }
        }
        EvalAltResult::ErrorMismatchDataType(wanted, found, _) => {
            let fault = Fault::of(format!("{wanted} is wanted here, found {found}"));
            match wanted.as_str() {
                "bool" => fault
                    .help("an if asks a yes or no: ask_yes(\"...\"), or .holds, .worn, .leaks of a reading"),
                _ => fault,
            }
        }
        EvalAltResult::ErrorPropertyNotFound(name, _) => Fault::of(format!("there is no .{name} here")),
        other => explained_by_words(other),
    }
}

/// Explains what the engine tells in words only.
fn explained_by_words(error: &EvalAltResult) -> Fault {
    let mut plain = error.to_string();
    if let Some(at) = plain.rfind(" (line ") {
        plain.truncate(at);
    }
    if plain.ends_with("for type '()'") {
        let asked = plain.split('\'').nth(1).unwrap_or_default();
        return Fault::of(format!("there is nothing here that could be asked for .{asked}")).help(
            "the test of a circuit that is left out is not walked: begin with let it_leaks = false; and set that in \
             the test",
        );
    }
    let fault = Fault::of(plain);
    if let Some((property, of)) = unknown_property(&fault.message) {
        let fault = Fault::of(format!("there is no .{property} of a {of}"));
        let is_readings = |known: &Property| known.of == Sort::Reading && known.name == property;
        return match PROPERTIES.iter().any(is_readings) {
            true => fault.help(format!("ask what read gave: let r = t.read(); and then r.{property}")),
            false => fault.help("check what stands before the dot"),
        };
    }
    match error {
        EvalAltResult::ErrorDotExpr(..) => fault.help("check what stands before the dot"),
        _ => fault,
    }
}

/// Returns the property that the engine did not find, and of what kind of value.
fn unknown_property(message: &str) -> Option<(&str, &str)> {
    let (property, rest) = message.strip_prefix("Unknown property '")?.split_once('\'')?;
    let of = rest.split_once("for type '")?.1.split('\'').next()?;
    Some((property, if of == "bool" { "yes or no" } else { of }))
}

/// Returns the message of a fault that says that a script runs on and on.
pub(crate) fn runaway() -> String {
    format!("the script takes more than {MOST_OPERATIONS} operations")
}
