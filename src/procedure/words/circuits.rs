use rhai::{Engine, Map, NativeCallContext};

use super::super::fields::{Fields, Mistake};
use super::host::{Done, Host, halted, mistake};
use crate::leak::{Land, Limits};
use crate::quantity::{Dimension, Length, Pressure};
use crate::record::{Circuit, Repair};

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
        let circuit = circuit(&map).map_err(mistake)?;
        let name = circuit.name.clone();
        host.walk().describe(circuit).map_err(halted).map(|()| CircuitWord { name })
    });
}

fn circuit(map: &Map) -> Result<Circuit, Mistake> {
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

fn limits(fields: &Fields<'_>) -> Result<Limits, Mistake> {
    let pressure = |key| {
        let quantity = fields.quantity(key, Dimension::Pressure)?;
        Pressure::try_from(quantity).map_err(|found| format!("{key} is a vacuum, not a {found}"))
    };
    Limits::new(pressure("holds")?, pressure("leaks")?).map_err(|error| error.to_string())
}

fn land(map: &Map) -> Result<Land, Mistake> {
    let fields = Fields::new("land", map)?;
    let length = |key| {
        let quantity = fields.quantity(key, Dimension::Length)?;
        Length::try_from(quantity).map_err(|found| format!("{key} of land is a length, not a {found}"))
    };
    let eccentricity = fields.number("eccentricity")?.unwrap_or(0.0);
    Land::new(length("diameter")?, length("length")?, eccentricity).map_err(|error| error.to_string())
}

fn repair(map: &Map) -> Result<Repair, Mistake> {
    let fields = Fields::new("repairs", map)?;
    Ok(Repair {
        does: fields.text("does", "\"ream and oversize valve\"")?,
        parts: fields.number("parts")?,
        hours: fields.number("hours")?,
    })
}
