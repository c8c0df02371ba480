use std::cell::{RefCell, RefMut};
use std::rc::Rc;

use rhai::{Engine, EvalAltResult, NativeCallContext};

use super::super::host::engine;
use super::super::{Fault, Mood, Site, Walk};

/// What the words are called with: the walk, shared between all of them.
#[derive(Clone)]
pub(crate) struct Host(Rc<RefCell<Walk>>);

/// A result of a word.
pub(super) type Done<T> = Result<T, Box<EvalAltResult>>;

impl Host {
    /// Takes the walk that the words act on.
    pub(crate) fn new(walk: Walk) -> Host {
        Host(Rc::new(RefCell::new(walk)))
    }

    /// Gives the walk back, once no engine holds it any more.
    pub(crate) fn into_walk(self) -> Option<Walk> {
        Rc::try_unwrap(self.0).ok().map(RefCell::into_inner)
    }

    /// Has the walk take note of where in the script a word is called.
    pub(super) fn mark(&self, context: &NativeCallContext<'_>) {
        let site = || Site::of(context.call_source().unwrap_or_default(), context.call_position());
        self.walk().stand_at(site);
    }

    /// Borrows the walk; no borrow may be held while a closure of the script runs.
    pub(crate) fn walk(&self) -> RefMut<'_, Walk> {
        self.0.borrow_mut()
    }
}

/// Makes an engine error of what a script did wrong.
pub(super) fn wrong(text: impl Into<String>) -> Box<EvalAltResult> {
    Fault::of(text).into()
}

/// Makes the one engine that runs procedures, with every word registered on this host.
pub(crate) fn engine_to_run(host: &Host) -> Engine {
    let mut engine = engine();
    super::numbers::register(&mut engine);
    super::amount::register(&mut engine);
    super::comparing::register(&mut engine);
    super::taken::register(&mut engine);
    super::titles::register(&mut engine, host);
    super::circuits::register(&mut engine, host);
    super::asking::register(&mut engine, host);
    super::testing::register(&mut engine, host);
    engine
}

/// Makes the same engine with nobody at the desk, to compile and check with.
pub(crate) fn engine_to_compile() -> Engine {
    engine_to_run(&Host::new(Walk::straight(Mood::Sound, None, &Rc::default())))
}
