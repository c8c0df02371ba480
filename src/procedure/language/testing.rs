use rhai::{Dynamic, Engine, EvalAltResult, FnPtr, NativeCallContext};

use super::super::Halt;
use super::circuits::CircuitWord;
use super::host::{Done, Host, wrong};
use super::taken::Reading;

/// The test under way, as a script's `t`.
#[derive(Debug, Clone)]
pub(super) struct Test;

/// Registers `test`, `read` and `trial`.
pub(super) fn register(engine: &mut Engine, host: &Host) {
    engine.register_type_with_name::<Test>("test");

    let plain = host.clone();
    engine.register_fn("test", move |context: NativeCallContext, circuit: CircuitWord| {
        plain.mark(&context);
        walk_test(&plain, &circuit, || read(&plain, None, false).map(|_| ()))
    });
    let bodied = host.clone();
    engine.register_fn("test", move |context: NativeCallContext, circuit: CircuitWord, body: FnPtr| {
        bodied.mark(&context);
        walk_test(&bodied, &circuit, || body.call_within_context::<Dynamic>(&context, (Test,)).map(|_| ()))
    });

    let unlabelled = host.clone();
    engine.register_fn("read", move |context: NativeCallContext, _: Test| {
        unlabelled.mark(&context);
        read(&unlabelled, None, false)
    });
    for (name, trial) in [("read", false), ("trial", true)] {
        let host = host.clone();
        engine.register_fn(name, move |context: NativeCallContext, _: Test, label: &str| {
            host.mark(&context);
            if label.trim().is_empty() {
                return Err(wrong(format!("the label of {name} is empty")));
            }
            read(&host, Some(label), trial)
        });
    }
}

/// Walks the test of a circuit with these steps, unless it is to be passed over.
fn walk_test(host: &Host, circuit: &CircuitWord, steps: impl FnOnce() -> Done<()>) -> Done<()> {
    let begun = host.walk().begin_test(&circuit.name).map_err(Into::into);
    match begun {
        Ok(false) => Ok(()),
        Ok(true) => end(host, steps()),
        Err(error) => end(host, Err(error)),
    }
}

fn read(host: &Host, label: Option<&str>, trial: bool) -> Done<Reading> {
    let outcome = host.walk().read(label, trial)?;
    Reading::of(&outcome).ok_or_else(|| wrong("the reading gave no finite result"))
}

/// Ends the test, also where the technician left it; any other error passes on.
fn end(host: &Host, done: Done<()>) -> Done<()> {
    match done {
        Ok(()) => host.walk().end_test().map_err(Into::into),
        Err(error) if is_leaving(&error) => host.walk().end_test().map_err(Into::into),
        Err(error) => Err(error),
    }
}

fn is_leaving(error: &EvalAltResult) -> bool {
    match error.unwrap_inner() {
        EvalAltResult::ErrorTerminated(token, _) => {
            token.read_lock::<Halt>().is_some_and(|halt| *halt == Halt::LeaveCircuit)
        }
        _ => false,
    }
}
