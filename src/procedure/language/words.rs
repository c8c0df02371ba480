use std::cell::{Cell, RefCell, RefMut};
use std::rc::Rc;
use std::sync::Arc;

use rhai::{Array, Dynamic, Engine, EvalAltResult, FnPtr, Map, NativeCallContext};

use super::super::{Fault, Halt, Mood, Site, Walk, host};
use super::description::Description;
use super::values::{Amount, Done, Measured, Reading, refuse};
use super::{compare, values};
use crate::quantity::{COUNT, Dimension, Quantity, Unit};
use crate::record::{Answer, Circuit, Told, Wants};

const LONGEST_WAIT: f64 = 3600.0;

/// What the words are called with: the walk, shared between all of them.
#[derive(Clone)]
pub(crate) struct Host {
    walk: Rc<RefCell<Walk>>,
    /// The operations of this walk so far.
    spent: Rc<Cell<u64>>,
}

impl Host {
    pub(crate) fn new(walk: Walk) -> Host {
        Host { walk: Rc::new(RefCell::new(walk)), spent: Rc::default() }
    }

    /// Begins another walk, and gives the one back that was there.
    pub(crate) fn exchange(&self, walk: Walk) -> Walk {
        self.spent.set(0);
        self.walk.replace(walk)
    }

    /// Returns how many operations this walk has taken so far.
    pub(crate) fn n_operations(&self) -> u64 {
        self.spent.get()
    }

    /// Has the walk take note of where in the script a word is called.
    fn mark(&self, context: &NativeCallContext<'_>) {
        let site = || Site::of(context.call_source().unwrap_or_default(), context.call_position());
        self.walk().stand_at(site);
    }

    /// Borrows the walk; no borrow may be held while a closure of the script runs.
    pub(crate) fn walk(&self) -> RefMut<'_, Walk> {
        self.walk.borrow_mut()
    }
}

/// Makes the one engine that runs procedures, with every word registered on this host.
pub(crate) fn engine_to_run(host: &Host) -> Engine {
    let mut engine = host::engine(Rc::clone(&host.spent));
    values::register_numbers(&mut engine);
    values::register_quantities(&mut engine);
    values::register_readings(&mut engine);
    compare::register(&mut engine, host);
    register_telling(&mut engine, host);
    register_asking(&mut engine, host);
    register_testing(&mut engine, host);
    engine
}

/// Makes the same engine with nobody at the desk, to compile and check with.
pub(crate) fn engine_to_compile() -> Engine {
    engine_to_run(&Host::new(Walk::straight(Mood::Sound, None, &Rc::default())))
}

/// A circuit in a script: a handle to what was described.
#[derive(Debug, Clone)]
pub(crate) struct CircuitWord(Arc<Circuit>);

impl CircuitWord {
    /// Makes the circuit of its description; anything wrong with it is a fault.
    pub(crate) fn of(map: &Map) -> Result<CircuitWord, Fault> {
        Ok(CircuitWord(Arc::new(Description::of("circuit", map)?.circuit())))
    }
}

/// A circuit in the place of its description, which hangs on no answer: it was made when the procedure was compiled.
#[derive(Clone)]
pub(crate) struct WrittenOut(pub(crate) CircuitWord);

/// The test under way, as a script's `t`.
#[derive(Debug, Clone)]
pub(super) struct Test;

/// Registers a word that stands by itself and behind the `t` of a test.
macro_rules! anywhere {
    ($engine:ident, $host:ident, $name:literal, $act:expr, $($argument:ident: $kind:ty),+) => {{
        let (word, method, act) = ($host.clone(), $host.clone(), $act);
        $engine.register_fn($name, move |context: NativeCallContext, $($argument: $kind),+| {
            word.mark(&context);
            act(&word, $($argument),+)
        });
        $engine.register_fn($name, move |context: NativeCallContext, _: Test, $($argument: $kind),+| {
            method.mark(&context);
            act(&method, $($argument),+)
        });
    }};
}

/// Registers `procedure`, `circuit`, `section`, `say`, `finding`, `barometer` and `calibrate`.
fn register_telling(engine: &mut Engine, host: &Host) {
    engine
        .register_type_with_name::<CircuitWord>("circuit")
        .register_get("name", |circuit: &mut CircuitWord| circuit.0.name.clone())
        .register_fn("to_string", |circuit: &mut CircuitWord| circuit.0.name.clone());
    let [titled, described, written, sectioned, closed, barometer, calibrated] =
        std::array::from_fn(|_| host.clone());
    engine.register_fn("procedure", move |map: Map| -> Done<()> {
        let title = Description::of("procedure", &map)?.title();
        Ok(titled.walk().titled(title)?)
    });
    engine.register_fn("circuit", move |context: NativeCallContext, map: Map| -> Done<CircuitWord> {
        described.mark(&context);
        describe(&described, CircuitWord::of(&map)?)
    });
    engine.register_fn("circuit", move |context: NativeCallContext, WrittenOut(circuit): WrittenOut| {
        written.mark(&context);
        describe(&written, circuit)
    });
    engine.register_fn("section", move |context: NativeCallContext, text: &str| {
        sectioned.mark(&context);
        tell(&sectioned, "section", text, |walk, title| walk.tell(Told::Section { title }))
    });
    engine.register_fn("closing", move |context: NativeCallContext, text: &str| {
        closed.mark(&context);
        tell(&closed, "closing", text, Walk::close)
    });
    let say = |host: &Host, text: &str| tell(host, "say", text, |walk, text| walk.tell(Told::Said { text }));
    anywhere!(engine, host, "say", say, text: &str);
    let find = |host: &Host, text: &str| tell(host, "finding", text, Walk::found);
    anywhere!(engine, host, "finding", find, text: &str);
    engine.register_fn("barometer", move |context: NativeCallContext| -> Done<Amount> {
        barometer.mark(&context);
        let station = barometer.walk().bench().barometer().map(|barometer| barometer.station());
        station.map_or_else(
            || refuse("the barometer is not known yet"),
            |station| Amount::in_unit(station.into(), "inHg"),
        )
    });
    engine.register_fn("calibrate", move || -> Done<()> { Ok(calibrated.walk().calibrate()?) });
}

fn describe(host: &Host, circuit: CircuitWord) -> Done<CircuitWord> {
    host.walk().describe(Arc::clone(&circuit.0))?;
    Ok(circuit)
}

fn tell(host: &Host, name: &str, text: &str, act: fn(&mut Walk, String) -> Result<(), Halt>) -> Done<()> {
    if text.trim().is_empty() {
        return refuse(format!("{name}(\"...\") needs a text"));
    }
    Ok(act(&mut host.walk(), text.to_owned())?)
}

/// Registers `caution`, `ready`, `wait` and the words that ask.
fn register_asking(engine: &mut Engine, host: &Host) {
    let caution = |host: &Host, text: &str| ask(host, text, Wants::Acknowledgement).map(|_| ());
    anywhere!(engine, host, "caution", caution, text: &str);
    let ready = |host: &Host, text: &str| ask(host, text, Wants::Ready).map(|_| ());
    anywhere!(engine, host, "ready", ready, text: &str);
    let pictured = |host: &Host, text: &str, picture: &str| {
        host.walk().show_picture(picture);
        ask(host, text, Wants::Ready).map(|_| ())
    };
    anywhere!(engine, host, "ready", pictured, text: &str, picture: &str);
    let yes = |host: &Host, text: &str| match ask(host, text, Wants::Yes)? {
        Answer::Yes(yes) => Ok(yes),
        _ => refuse(UNANSWERED),
    };
    anywhere!(engine, host, "ask_yes", yes, text: &str);
    let words = |host: &Host, text: &str| -> Done<String> {
        match ask(host, text, Wants::Text)? {
            Answer::Text(text) => Ok(text),
            _ => Ok(String::new()),
        }
    };
    anywhere!(engine, host, "ask_text", words, text: &str);
    anywhere!(engine, host, "ask_choice", choose, text: &str, options: Array);
    anywhere!(engine, host, "ask_number", measure, text: &str, map: Map);
    let counted = |host: &Host, text: &str| count(host, text, &Map::new());
    anywhere!(engine, host, "ask_count", counted, text: &str);
    let limited = |host: &Host, text: &str, map: Map| count(host, text, &map);
    anywhere!(engine, host, "ask_count", limited, text: &str, map: Map);
    anywhere!(engine, host, "wait", wait, time: Dynamic, text: &str);
}

const UNANSWERED: &str = "this question was left without an answer, but what follows depends on it";

fn ask(host: &Host, text: &str, wants: Wants) -> Done<Answer> {
    if text.trim().is_empty() {
        return refuse("a question needs words: what the technician reads");
    }
    Ok(host.walk().ask(text, wants)?)
}

fn choose(host: &Host, text: &str, options: Array) -> Done<String> {
    let text_of = |option: Dynamic| {
        option.into_string().or_else(|found| refuse(format!("a choice is a text, not {found}")))
    };
    let options: Vec<String> = options.into_iter().map(text_of).collect::<Done<_>>()?;
    let folded: std::collections::BTreeSet<_> = options.iter().map(|option| option.to_lowercase()).collect();
    if options.len() < 2 || folded.len() < options.len() || folded.contains("") {
        return refuse(
            "ask_choice needs two or more choices, each different: ask_choice(\"...\", [\"a\", \"b\"])",
        );
    }
    match ask(host, text, Wants::Choice { options })? {
        Answer::Choice(chosen) => Ok(chosen),
        _ => refuse(UNANSWERED),
    }
}

fn measure(host: &Host, text: &str, map: Map) -> Done<Measured> {
    let asked = Description::of("ask_number", &map)?;
    let Some(unit) = asked.asked_unit() else { return refuse("ask_number needs a unit") };
    let [low, high] = ["low", "high"].map(|key| asked.quantity(key).map(Quantity::si));
    measured(host, text, unit, low, high)
}

fn count(host: &Host, text: &str, map: &Map) -> Done<Measured> {
    let asked = Description::of("ask_count", map)?;
    measured(host, text, &COUNT, asked.number("low"), asked.number("high"))
}

fn measured(
    host: &Host,
    text: &str,
    unit: &'static Unit,
    low: Option<f64>,
    high: Option<f64>,
) -> Done<Measured> {
    let value = match ask(host, text, Wants::Number { unit: unit.symbol.to_owned(), low, high })? {
        Answer::Quantity { entry, .. } => entry.quantity().map(|quantity| Amount { quantity, unit }),
        _ => None,
    };
    let look = host.walk().last_look();
    Ok(Measured { value, low, high, is_count: unit.dimension == Dimension::Count, look })
}

fn wait(host: &Host, time: Dynamic, text: &str) -> Done<()> {
    let time = time.read_lock::<Amount>().map(|amount| amount.quantity);
    let Some(time) = time.filter(|time| time.dimension() == Dimension::Duration) else {
        return Err(Fault::of("the time of wait is a time span")
            .help("write 30.seconds or 2.minutes")
            .into());
    };
    if !(1.0..=LONGEST_WAIT).contains(&time.si()) {
        return refuse("a wait lasts from 1.seconds to 60.minutes");
    }
    ask(host, text, Wants::Wait { seconds: time.si() }).map(|_| ())
}

/// Registers `test`, `not_fitted`, `read` and `trial`.
fn register_testing(engine: &mut Engine, host: &Host) {
    engine.register_type_with_name::<Test>("test");
    let [plain, bodied, unlabelled] = std::array::from_fn(|_| host.clone());
    engine.register_fn("test", move |context: NativeCallContext, circuit: CircuitWord| {
        plain.mark(&context);
        test(&plain, &circuit, || read(&plain, None, false, &Description::default()).map(|_| ()))
    });
    engine.register_fn("test", move |context: NativeCallContext, circuit: CircuitWord, body: FnPtr| {
        bodied.mark(&context);
        test(&bodied, &circuit, || body.call_within_context::<Dynamic>(&context, (Test,)).map(|_| ()))
    });
    let absent = host.clone();
    engine.register_fn("not_fitted", move |context: NativeCallContext, circuit: CircuitWord, why: &str| {
        absent.mark(&context);
        if why.trim().is_empty() {
            return refuse("not_fitted needs a text that says by what that is known");
        }
        Ok(absent.walk().not_fitted(&circuit.0.name, why)?)
    });
    engine.register_fn("read", move |context: NativeCallContext, _: Test| {
        unlabelled.mark(&context);
        read(&unlabelled, None, false, &Description::default())
    });
    for (name, trial) in [("read", false), ("trial", true)] {
        let [labelled, apart] = std::array::from_fn(|_| host.clone());
        let taken = move |host: &Host, label: &str, own: &Description| {
            if label.trim().is_empty() {
                return refuse(format!("the label of {name} is empty"));
            }
            read(host, Some(label), trial, own)
        };
        engine.register_fn(name, move |context: NativeCallContext, _: Test, label: &str| {
            labelled.mark(&context);
            taken(&labelled, label, &Description::default())
        });
        engine.register_fn(name, move |context: NativeCallContext, _: Test, label: &str, map: Map| {
            apart.mark(&context);
            taken(&apart, label, &Description::of(name, &map)?)
        });
    }
}

/// Walks the test of a circuit with these steps, unless it is to be passed over. It ends also where the technician left
/// it; any other error passes on.
fn test(host: &Host, circuit: &CircuitWord, steps: impl FnOnce() -> Done<()>) -> Done<()> {
    let begun = host.walk().begin_test(&circuit.0.name);
    let done = match begun {
        Ok(false) => return Ok(()),
        Ok(true) => steps(),
        Err(halt) => Err(halt.into()),
    };
    done.or_else(|error| if is_leaving(&error) { Ok(()) } else { Err(error) })?;
    Ok(host.walk().end_test()?)
}

fn read(host: &Host, label: Option<&str>, trial: bool, own: &Description) -> Done<Reading> {
    let set_up = own.text("set_up");
    if let Some(picture) = own.text("picture") {
        host.walk().show_picture(&picture);
    }
    let outcome = host.walk().read(label, trial, &own.spot(), set_up.as_deref())?;
    let look = host.walk().last_look();
    Reading::of(&outcome, look).map_or_else(|| refuse("the reading gave no finite result"), Ok)
}

fn is_leaving(error: &EvalAltResult) -> bool {
    match error.unwrap_inner() {
        EvalAltResult::ErrorTerminated(token, _) => {
            token.read_lock::<Halt>().is_some_and(|halt| *halt == Halt::LeaveCircuit)
        }
        _ => false,
    }
}
