use super::super::Title;
use super::{Description, KnownValue};
use crate::leak::{
    ContextError, Expansions, Land, LeakKind, Limits, LimitsError, METALS, MeasuredBy, OilState, Seal,
};
use crate::oil::Oil;
use crate::quantity::{Length, Pressure, Temperature, Viscosity, VolumeFlow};
use crate::record::{Circuit, Pixel, PortMap, Repair, Spot};

impl KnownValue {
    /// Makes a place on a picture of two whole numbers.
    pub(crate) fn point(&self) -> Option<Pixel> {
        let KnownValue::List(numbers) = self else { return None };
        let whole = |value: &KnownValue| match value {
            KnownValue::Number(number) if number.fract() == 0.0 && (0.0..1e6).contains(number) => {
                Some(*number as u32)
            }
            _ => None,
        };
        match numbers.as_slice() {
            [(_, x), (_, y)] => Some(Pixel { x: whole(x)?, y: whole(y)? }),
            _ => None,
        }
    }
}

impl Description {
    pub(super) fn circuit(&self) -> Circuit {
        let repairs = self.list("repairs").filter_map(|item| match item {
            KnownValue::Description(repair) => Some(Repair {
                does: repair.text("does").unwrap_or_default(),
                parts: repair.number("parts"),
                hours: repair.number("hours"),
            }),
            _ => None,
        });
        let Spot { port, land, kind, seal, limits } = self.spot();
        Circuit {
            name: self.text("name").unwrap_or_default(),
            port,
            set_up: self.text("set_up"),
            limits,
            symptoms: self.texts("symptoms"),
            means: self.text("means"),
            land,
            kind,
            seal,
            repairs: repairs.collect(),
            map: self.map(),
        }
    }

    pub(super) fn title(&self) -> Title {
        Title {
            title: self.text("title").unwrap_or_default(),
            unit: self.text("unit"),
            version: self.text("version").unwrap_or_default(),
            symptoms: self.texts("symptoms"),
            replacement: self.number("replacement"),
            oil: self.part("oil").and_then(Description::oil).and_then(Result::ok),
            map: self.map(),
        }
    }

    /// Makes the picture that was named, with the ports on it.
    fn map(&self) -> Option<PortMap> {
        let ports = self.part("ports").into_iter().flat_map(|ports| &ports.0);
        let ports = ports.filter_map(|port| Some((port.key.clone(), port.value.point()?)));
        Some(PortMap { picture: self.text("picture")?, ports: ports.collect() })
    }

    /// Makes what a reading has to itself.
    pub(super) fn spot(&self) -> Spot {
        Spot {
            port: self.text("port"),
            land: self.part("land").and_then(Description::land).and_then(Result::ok),
            kind: self.word_of("kind", &LeakKind::ALL.map(|kind| (kind.word(), kind))),
            seal: self.word_of("seal", &Seal::ALL.map(|seal| (seal.word(), seal))),
            limits: self.limits().and_then(Result::ok),
        }
    }

    /// Makes the limits, where both are known.
    pub(super) fn limits(&self) -> Option<Result<Limits, LimitsError>> {
        if self.given("between").is_none() {
            return Some(Limits::new(self.si("holds")?, self.si("leaks")?));
        }
        let mut ends = self.list("between").map(KnownValue::si::<Pressure>);
        Some(Limits::window(ends.next()??, ends.next()??))
    }

    /// Makes the land, where its size is known.
    pub(super) fn land(&self) -> Option<Result<Land, ContextError>> {
        let (diameter, length): (Length, Length) = (self.si("diameter")?, self.si("length")?);
        let measured = self.word_of("measured", &MeasuredBy::ALL.map(|by| (by.word(), by)));
        let made = Land::new(diameter, length, self.number("eccentricity")).and_then(|land| {
            let lands = self.number("lands").map_or(1, |lands| lands as u32);
            let land = land.in_row(lands)?.measured_by(measured.unwrap_or_default());
            match (self.expansion("valve"), self.expansion("bore")) {
                (Some(valve_per_k), Some(bore_per_k)) => {
                    land.growing_by(Expansions { valve_per_k, bore_per_k })
                }
                _ => Ok(land),
            }
        });
        Some(made)
    }

    /// Returns what the text behind a key is one of.
    fn word_of<T: Copy>(&self, key: &str, known: &[(&str, T)]) -> Option<T> {
        let text = self.text(key)?;
        known.iter().find(|(word, _)| *word == text).map(|(_, meant)| *meant)
    }

    /// Returns the thermal expansion in 1/K behind a key: a metal's, or so many millionths.
    pub(super) fn expansion(&self, key: &str) -> Option<f64> {
        self.word_of(key, &METALS.map(|metal| (metal.name, metal.expansion_per_k)))
            .or(self.number(key).map(|millionths| millionths * 1e-6))
    }

    /// Makes the oil at work, where its state is known.
    pub(super) fn oil(&self) -> Option<Result<OilState, ContextError>> {
        let (pressure, temperature): (Pressure, Temperature) =
            (self.si("pressure")?, self.si("temperature")?);
        let delivery: Option<VolumeFlow> = self.si("delivery");
        Some(OilState::new(self.fluid()?.ok()?, pressure, temperature, delivery))
    }

    /// Makes the oil of its two viscosities, or a typical one where they are not given; none where they are not known.
    pub(super) fn fluid(&self) -> Option<Result<Oil, String>> {
        Some(match (self.given("viscosity_40"), self.given("viscosity_100")) {
            (None, None) => Oil::typical().map_err(|error| error.to_string()),
            (Some(_), Some(_)) => {
                let (cold, hot): (Viscosity, Viscosity) =
                    (self.si("viscosity_40")?, self.si("viscosity_100")?);
                Oil::of_viscosities(cold, hot).map_err(|error| error.to_string())
            }
            _ => Err("oil needs both viscosity_40 and viscosity_100, or neither".to_owned()),
        })
    }
}
