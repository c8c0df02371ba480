use rhai::{Engine, Map, NativeCallContext};

use super::super::Fault;
use super::fields::Fields;
use super::host::{Done, Host};
use crate::leak::{Land, Limits, LimitsError};
use crate::quantity::{Dimension, Length, Pressure};
use crate::record::{Circuit, Repair};

/// What `limits` of a circuit says in place of `holds` and `leaks`.
pub(crate) const TO_BE_FOUND: &str = "to be found";

/// Says that limits are given and are to be found.
pub(crate) fn limits_twice() -> Fault {
    Fault::of("limits are to be found, and given as well")
        .help("leave the line with limits out once holds and leaks are known")
}

/// Says that `limits` says something else.
pub(crate) fn no_limits(told: &str) -> Fault {
    Fault::of(format!("limits of circuit is not \"{told}\""))
        .help(format!("write holds: 20.inHg, leaks: 15.inHg, or limits: \"{TO_BE_FOUND}\""))
}

/// A circuit in a script: a handle to what was described.
#[derive(Debug, Clone)]
pub(super) struct CircuitWord {
    /// Its name, which is unique.
    pub(super) name: String,
}

/// Registers `circuit`.
pub(super) fn register(engine: &mut Engine, host: &Host) {
    engine
        .register_type_with_name::<CircuitWord>("circuit")
        .register_get("name", |circuit: &mut CircuitWord| circuit.name.clone())
        .register_fn("to_string", |circuit: &mut CircuitWord| circuit.name.clone());
    let host = host.clone();
    engine.register_fn("circuit", move |context: NativeCallContext, map: Map| -> Done<CircuitWord> {
        host.mark(&context);
        let circuit = circuit(&map)?;
        let name = circuit.name.clone();
        host.walk().describe(circuit).map_err(Into::into).map(|()| CircuitWord { name })
    });
}

fn circuit(map: &Map) -> Result<Circuit, Fault> {
    let fields = Fields::new("circuit", map)?;
    Ok(Circuit {
        name: fields.text("name", "\"clutch feed limit\"")?,
        port: fields.optional_text("port")?,
        set_up: fields.optional_text("set_up")?,
        limits: limits(&fields)?,
        symptoms: fields.texts("symptoms")?,
        means: fields.optional_text("means")?,
        land: fields.map("land")?.as_ref().map(land).transpose()?,
        repairs: fields.maps("repairs")?.iter().map(repair).collect::<Result<_, _>>()?,
    })
}

/// Reads the limits; none where the procedure says that they are to be found.
fn limits(fields: &Fields<'_>) -> Result<Option<Limits>, Fault> {
    if let Some(told) = fields.optional_text("limits")? {
        return match (told.as_str(), fields.has("holds") || fields.has("leaks")) {
            (TO_BE_FOUND, false) => Ok(None),
            (TO_BE_FOUND, true) => Err(limits_twice()),
            (other, _) => Err(no_limits(other)),
        };
    }
    let pressure = |key| {
        let quantity = fields.quantity(key, Dimension::Pressure)?;
        Pressure::try_from(quantity).map_err(|found| Fault::of(format!("{key} is a vacuum, not a {found}")))
    };
    Limits::new(pressure("holds")?, pressure("leaks")?).map(Some).map_err(|error| limits_fault(&error))
}

/// Says what is wrong with limits.
pub(crate) fn limits_fault(error: &LimitsError) -> Fault {
    match error {
        LimitsError::Range(limit) => Fault::of(format!("a limit of {limit} is not a standard reading"))
            .help("it lies above 0 and below 25 inHg, which a circuit without any leak reads"),
        LimitsError::Order { holds, leaks } => Fault::of(format!(
            "a circuit cannot leak at {leaks} and hold only from {holds}: more vacuum is less leak"
        ))
        .help("the limit for leaking must not be above that for holding, so swap the two"),
    }
}

fn land(map: &Map) -> Result<Land, Fault> {
    let fields = Fields::new("land", map)?;
    let length = |key| {
        let quantity = fields.quantity(key, Dimension::Length)?;
        Length::try_from(quantity)
            .map_err(|found| Fault::of(format!("{key} of land is a length, not a {found}")))
    };
    let eccentricity = fields.number("eccentricity")?.unwrap_or(0.0);
    Land::new(length("diameter")?, length("length")?, eccentricity)
        .map_err(|error| Fault::of(error.to_string()))
}

fn repair(map: &Map) -> Result<Repair, Fault> {
    let fields = Fields::new("repairs", map)?;
    Ok(Repair {
        does: fields.text("does", "\"ream and oversize valve\"")?,
        parts: fields.number("parts")?,
        hours: fields.number("hours")?,
    })
}
