use rhai::{Engine, Map, NativeCallContext};

use super::super::{Fault, Halt, Title, Walk};
use super::amount::Amount;
use super::fields::Fields;
use super::host::{Done, Host, wrong};
use super::testing::Test;
use crate::leak::OilState;
use crate::oil::{Oil, TYPICAL_DENSITY, ViscosityPoint, Walther};
use crate::quantity::{Dimension, Pressure, Temperature, Unit, Viscosity, VolumeFlow};
use crate::record::Told;

/// Registers `procedure`, `section`, `say`, `finding`, `barometer` and `calibrate`.
pub(super) fn register(engine: &mut Engine, host: &Host) {
    let titled = host.clone();
    engine.register_fn("procedure", move |map: Map| -> Done<()> {
        let title = title(&map)?;
        Ok(titled.walk().titled(title)?)
    });
    text_word(engine, host, "section", |walk, text| walk.tell(Told::Section { title: text }));
    text_word(engine, host, "say", |walk, text| walk.tell(Told::Said { text }));
    text_word(engine, host, "finding", Walk::found);
    let at_bench = host.clone();
    engine.register_fn("barometer", move || -> Done<Amount> {
        let station = at_bench.walk().bench().barometer().map(|barometer| barometer.station());
        let Some((station, unit)) = station.zip(Unit::by_word("inHg")) else {
            return Err(wrong("the barometer is not known yet"));
        };
        Ok(Amount { quantity: station.into(), unit })
    });
    let at_bench = host.clone();
    engine.register_fn("calibrate", move || -> Done<()> { Ok(at_bench.walk().calibrate()?) });
}

/// Registers a word that tells a text, and as a method of a test too, save `section`.
fn text_word(
    engine: &mut Engine,
    host: &Host,
    name: &'static str,
    act: fn(&mut Walk, String) -> Result<(), Halt>,
) {
    let host = host.clone();
    let word = move |context: &NativeCallContext, text: &str| -> Done<()> {
        host.mark(context);
        if text.trim().is_empty() {
            return Err(Fault::of(format!("{name}(\"...\") needs a text")).into());
        }
        act(&mut host.walk(), text.to_owned()).map_err(Into::into)
    };
    if name != "section" {
        let method = word.clone();
        engine
            .register_fn(name, move |context: NativeCallContext, _: Test, text: &str| method(&context, text));
    }
    engine.register_fn(name, move |context: NativeCallContext, text: &str| word(&context, text));
}

fn title(map: &Map) -> Result<Title, Fault> {
    let fields = Fields::new("procedure", map)?;
    Ok(Title {
        title: fields.text("title", "\"Tarn T6, lower control body\"")?,
        unit: fields.optional_text("unit")?,
        version: version(fields.text("version", "\"1.0.0\"")?)?,
        symptoms: fields.texts("symptoms")?,
        replacement: fields.number("replacement")?,
        oil: fields.map("oil")?.as_ref().map(oil).transpose()?,
    })
}

fn version(text: String) -> Result<String, Fault> {
    if is_version(&text) {
        Ok(text)
    } else {
        Err(Fault::of(format!("a version is three numbers with points between, not \"{text}\""))
            .help("write it as in \"1.0.0\""))
    }
}

/// Returns whether a text is a version: three whole numbers with points between.
pub(crate) fn is_version(text: &str) -> bool {
    let parts: Vec<_> = text.split('.').collect();
    let number = |part: &&str| part.len() <= 6 && part.parse::<u32>().is_ok() && !part.starts_with('+');
    parts.len() == 3 && parts.iter().all(number)
}

fn oil(map: &Map) -> Result<OilState, Fault> {
    let fields = Fields::new("oil", map)?;
    let missing = |key: &str| Fault::of(format!("oil needs {key}"));
    let pressure = Pressure::try_from(fields.quantity("pressure", Dimension::Pressure)?)
        .map_err(|_| missing("pressure"))?;
    let temperature = Temperature::try_from(fields.quantity("temperature", Dimension::Temperature)?)
        .map_err(|_| missing("temperature"))?;
    let delivery = fields
        .optional_quantity("delivery", Dimension::VolumeFlow)?
        .and_then(|q| VolumeFlow::try_from(q).ok());
    OilState::new(fluid(&fields)?, pressure, temperature, delivery)
        .map_err(|error| Fault::of(error.to_string()))
}

/// Returns the oil by its two viscosities, or a typical one where they are not given.
fn fluid(fields: &Fields<'_>) -> Result<Oil, Fault> {
    let viscosity = |key| {
        let found = fields.optional_quantity(key, Dimension::Viscosity)?;
        Ok::<_, Fault>(found.and_then(|quantity| Viscosity::try_from(quantity).ok()))
    };
    let at = |celsius: f64, viscosity_m2_s| ViscosityPoint {
        temperature_k: Temperature::constant(celsius + 273.15),
        viscosity_m2_s,
    };
    match (viscosity("viscosity_40")?, viscosity("viscosity_100")?) {
        (None, None) => Oil::typical().map_err(|error| Fault::of(error.to_string())),
        (Some(cold), Some(hot)) => {
            let walther = Walther::new([at(40.0, cold), at(100.0, hot)])
                .map_err(|error| Fault::of(error.to_string()))?;
            Oil::new(walther, TYPICAL_DENSITY).map_err(|error| Fault::of(error.to_string()))
        }
        _ => Err(Fault::of("oil needs both viscosity_40 and viscosity_100, or neither")),
    }
}
