use rhai::{Array, Dynamic, Engine, Map, NativeCallContext};

use super::super::Fault;
use super::amount::Amount;
use super::fields::{Fields, quantity};
use super::host::{Done, Host, wrong};
use super::taken::Measured;
use super::testing::Test;
use crate::quantity::{Dimension, Quantity, Unit};
use crate::record::{Answer, Wants};

/// The longest wait, in seconds.
const LONGEST_WAIT: f64 = 3600.0;

/// Registers `caution`, `ready`, `ask_yes`, `ask_choice`, `ask_text`, `ask_number` and `wait`, each also as a method of a test.
pub(super) fn register(engine: &mut Engine, host: &Host) {
    question(engine, host, "caution", |host, text| confirmed(host, text, Wants::Acknowledgement));
    question(engine, host, "ready", |host, text| confirmed(host, text, Wants::Ready));
    question(engine, host, "ask_yes", |host, text| match ask(host, text, Wants::Yes)? {
        Answer::Yes { yes } => Ok(yes),
        _ => Err(unanswered()),
    });
    question(engine, host, "ask_text", |host, text| match ask(host, text, Wants::Text)? {
        Answer::Text { text } => Ok(text),
        _ => Ok(String::new()),
    });
    choice(engine, host);
    wait(engine, host);
    number(engine, host);
}

fn question<T: rhai::Variant + Clone>(
    engine: &mut Engine,
    host: &Host,
    name: &'static str,
    act: fn(&Host, &str) -> Done<T>,
) {
    let (word, method) = (host.clone(), host.clone());
    engine.register_fn(name, move |context: NativeCallContext, text: &str| {
        word.mark(&context);
        act(&word, text)
    });
    engine.register_fn(name, move |context: NativeCallContext, _: Test, text: &str| {
        method.mark(&context);
        act(&method, text)
    });
}

fn choice(engine: &mut Engine, host: &Host) {
    let act = |host: &Host, text: &str, options: Array| {
        let options: Vec<String> = options
            .into_iter()
            .map(|option| {
                option.into_string().map_err(|found| wrong(format!("a choice is a text, not {found}")))
            })
            .collect::<Done<_>>()?;
        let folded: std::collections::BTreeSet<_> =
            options.iter().map(|option| option.to_lowercase()).collect();
        if options.len() < 2 || folded.len() < options.len() || folded.contains("") {
            return Err(wrong(
                "ask_choice needs two or more choices, each different: ask_choice(\"...\", [\"a\", \"b\"])",
            ));
        }
        match ask(host, text, Wants::Choice { options })? {
            Answer::Choice { chosen } => Ok(chosen),
            _ => Err(unanswered()),
        }
    };
    let (word, method) = (host.clone(), host.clone());
    engine.register_fn("ask_choice", move |context: NativeCallContext, text: &str, options: Array| {
        word.mark(&context);
        act(&word, text, options)
    });
    engine.register_fn(
        "ask_choice",
        move |context: NativeCallContext, _: Test, text: &str, options: Array| {
            method.mark(&context);
            act(&method, text, options)
        },
    );
}

fn wait(engine: &mut Engine, host: &Host) {
    let act = |host: &Host, span: Dynamic, text: &str| -> Done<()> {
        let span = quantity("the time of wait", &span, Dimension::Duration)?;
        if !(1.0..=LONGEST_WAIT).contains(&span.si()) {
            return Err(wrong("a wait lasts from 1.seconds to 60.minutes"));
        }
        confirmed(host, text, Wants::Wait { seconds: span.si() })
    };
    let (word, method) = (host.clone(), host.clone());
    engine.register_fn("wait", move |context: NativeCallContext, span: Dynamic, text: &str| {
        word.mark(&context);
        act(&word, span, text)
    });
    engine.register_fn("wait", move |context: NativeCallContext, _: Test, span: Dynamic, text: &str| {
        method.mark(&context);
        act(&method, span, text)
    });
}

fn number(engine: &mut Engine, host: &Host) {
    let act = |host: &Host, text: &str, map: Map| -> Done<Measured> {
        let fields = Fields::new("ask_number", &map)?;
        let unit = fields.text("unit", "\"mm\"")?;
        let Some(unit) = Unit::by_text(&unit) else {
            return Err(Fault::of(format!("\"{unit}\" is no known unit"))
                .help("write it like \"mm\", \"psi\" or \"ohm\"")
                .into());
        };
        let limit = |key| fields.optional_quantity(key, unit.dimension);
        let (low, high) = (limit("low")?, limit("high")?);
        if let (Some(low), Some(high)) = (low, high)
            && low.si() > high.si()
        {
            return Err(Fault::of("low is above high").help("swap the two").into());
        }
        let (low, high) = (low.map(Quantity::si), high.map(Quantity::si));
        let value = match ask(host, text, Wants::Number { unit: unit.symbol.to_owned(), low, high })? {
            Answer::Quantity { entry, .. } => entry.quantity().map(|quantity| Amount { quantity, unit }),
            _ => None,
        };
        Ok(Measured { value, low, high })
    };
    let (word, method) = (host.clone(), host.clone());
    engine.register_fn("ask_number", move |context: NativeCallContext, text: &str, map: Map| {
        word.mark(&context);
        act(&word, text, map)
    });
    engine.register_fn("ask_number", move |context: NativeCallContext, _: Test, text: &str, map: Map| {
        method.mark(&context);
        act(&method, text, map)
    });
}

fn confirmed(host: &Host, text: &str, wants: Wants) -> Done<()> {
    ask(host, text, wants).map(|_| ())
}

fn ask(host: &Host, text: &str, wants: Wants) -> Done<Answer> {
    if text.trim().is_empty() {
        return Err(wrong("a question needs words: what the technician reads"));
    }
    host.walk().ask(text, wants).map_err(Into::into)
}

fn unanswered() -> Box<rhai::EvalAltResult> {
    wrong("this question was left without an answer, but what follows depends on it")
}
