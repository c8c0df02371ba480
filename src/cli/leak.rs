use clap::{Args, ValueEnum};
use serde_json::{Value, json};

use super::arguments::ShopFolder;
use super::quantities::{
    AirArguments, expansion, leak_kind, length, measured_by, orifice_kind, pressure, temperature, vacuum,
    viscosity,
};
use super::rig;
use super::status::{Failure, Outcome, Status};
use crate::air::AirTemperature;
use crate::console::Screen;
use crate::leak::{
    Assessment, Bench, Context, Estimate, Expansions, Interpretation, Land, LeakKind, MeasuredBy, OilState,
    Travel, assess, expect_clearance, expect_hole,
};
use crate::oil::{Oil, TYPICAL_SOURCE};
use crate::quantity::{Length, Pressure, Temperature, UNITS, Viscosity};
use crate::report::CurveSheet;
use crate::rig::{Calibration, Orifice, OrificeKind, ReadingError, targets};
use crate::tell;

/// Say what a reading means on a rig, or what a hole or a clearance would read, or draw the whole curve.
///
/// Without anything said, the rig is plugged at 25 inHg and reads 5 inHg through its orifice, at 101325 Pa and 20 °C.
#[derive(Debug, Args)]
pub(super) struct Leak {
    /// What the gauge shows, as in 18.5inHg, 18 1/2 inHg or 62.6kPa
    #[arg(value_name = "READING", allow_negative_numbers = true,
        required_unless_present_any = ["hole", "clearance", "curve"])]
    reading: Vec<String>,
    /// Say instead what a hole of this bore would read, as in 0.02in, or of a drill, as in '#76'
    #[arg(long, value_name = "D", value_parser = length, conflicts_with_all = ["reading", "curve"])]
    hole: Option<Length>,
    /// Say instead what the land would read with this radial clearance, as in 0.5thou or 12um
    #[arg(long, value_name = "C", value_parser = length, requires = "land_diameter",
        conflicts_with_all = ["reading", "hole", "curve"])]
    clearance: Option<Length>,
    /// Print the readings of all drills on this rig
    #[arg(long, value_name = "FORM", num_args = 0..=1, default_missing_value = "text",
        conflicts_with_all = ["reading", "json"])]
    curve: Option<CurveForm>,
    /// The reading with the hose plugged [default: its mark, 25inHg at sea level]
    #[arg(long, value_name = "V", value_parser = vacuum)]
    plugged: Option<Pressure>,
    /// The reading through the test orifice [default: its mark, 5inHg at sea level]
    #[arg(long, value_name = "V", value_parser = vacuum)]
    through: Option<Pressure>,
    /// The orifice's bore, as in 0.035in [default: the shop's rig]
    #[arg(long, value_name = "D", value_parser = length)]
    orifice: Option<Length>,
    /// How the orifice is made [default: the shop's rig]
    #[arg(long, value_name = "KIND", value_parser = orifice_kind())]
    orifice_kind: Option<OrificeKind>,
    #[command(flatten)]
    air: AirArguments,
    /// The temperature of the air, as in 25C or 77F [default: 20C, not known to a few kelvin]
    #[arg(long, value_name = "T", value_parser = temperature, allow_hyphen_values = true)]
    temperature: Option<Temperature>,
    /// What the leak is, which decides how its reading travels from rig to rig [default: not known, and with a
    /// land most likely a gap]
    #[arg(long, value_name = "KIND", value_parser = leak_kind(), conflicts_with_all = ["hole", "clearance", "curve"])]
    kind: Option<LeakKind>,
    /// The bore of the land that seals the circuit
    #[arg(long, value_name = "D", value_parser = length, requires = "land_length")]
    land_diameter: Option<Length>,
    /// Its length along the bore
    #[arg(long, value_name = "L", value_parser = length, requires = "land_diameter")]
    land_length: Option<Length>,
    /// How far it sits off centre: 0 centred, 1 touching [default: anything between]
    #[arg(long, value_name = "E", requires = "land_diameter")]
    eccentricity: Option<f64>,
    /// How many equal lands stand in a row
    #[arg(long, value_name = "N", default_value_t = 1, requires = "land_diameter")]
    lands: u32,
    /// How the size of the land is known [default: caliper]
    #[arg(long, value_name = "HOW", value_parser = measured_by(), requires = "land_diameter")]
    measured: Option<MeasuredBy>,
    /// What the valve is made of: steel, aluminium, or its thermal expansion in millionths per kelvin
    #[arg(long, value_name = "METAL", value_parser = expansion, requires_all = ["bore", "land_diameter"])]
    valve: Option<f64>,
    /// What its bore is in, said likewise
    #[arg(long, value_name = "METAL", value_parser = expansion, requires = "valve")]
    bore: Option<f64>,
    /// The pressure of the oil at work across the leak
    #[arg(long, value_name = "P", value_parser = pressure, requires = "oil_temperature")]
    oil_pressure: Option<Pressure>,
    /// Its temperature
    #[arg(long, value_name = "T", value_parser = temperature, requires = "oil_pressure",
        allow_hyphen_values = true)]
    oil_temperature: Option<Temperature>,
    /// The oil's viscosity at 40 °C, as in 34cSt [default: that of a typical oil]
    #[arg(long, value_name = "NU", value_parser = viscosity, requires_all = ["viscosity_100", "oil_pressure"])]
    viscosity_40: Option<Viscosity>,
    /// Its viscosity at 100 °C
    #[arg(long, value_name = "NU", value_parser = viscosity, requires = "viscosity_40")]
    viscosity_100: Option<Viscosity>,
    /// Print one JSON document instead
    #[arg(long)]
    json: bool,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum CurveForm {
    /// A table to read
    Text,
    /// A picture to print and hang beside the rig
    Svg,
}

impl Leak {
    pub(super) fn run(self, shop: &ShopFolder) -> Outcome {
        let bench = self.bench(shop)?;
        let context = self.context()?;
        let mut screen = Screen::stdout();
        if let Some(form) = self.curve {
            return curve(&bench, form, &mut screen);
        }
        let expected = match (self.hole, self.clearance, context.land) {
            (Some(hole), _, _) => Some(expect_hole(hole, &bench)),
            (_, Some(clearance), Some(land)) => Some(expect_clearance(clearance, &land, &bench)),
            _ => None,
        };
        match expected {
            Some(expected) => {
                // A hole stays one, whatever land is given.
                let kind = self.hole.map(|_| LeakKind::Hole);
                let travel = Travel::of(&Context { kind, ..context });
                self.expectation(&bench, &expected.map_err(Failure::wrong)?, &travel, &mut screen)
            }
            None => self.finding(&bench, &context, &mut screen),
        }
    }

    fn bench(&self, shop: &ShopFolder) -> Result<Bench, Failure> {
        let profile = rig::read(&shop.open()?)?;
        let parts = profile.as_ref().map(rig::parts).unwrap_or_default();
        let kind = self.orifice_kind.unwrap_or(parts.orifice.kind());
        let orifice = match (self.orifice, self.orifice_kind) {
            (None, None) => parts.orifice,
            (bore, _) => {
                Orifice::new(bore.unwrap_or(parts.orifice.diameter()), kind).map_err(Failure::wrong)?
            }
        };
        let of_shop = profile.as_ref().and_then(|profile| profile.elevation);
        let barometer = self.air.barometer(of_shop)?;
        let air = self.temperature.map_or(AirTemperature::ASSUMED, AirTemperature::read);
        // A rig of which nothing is said stands on its marks.
        let (plugged, through) = targets(barometer.station());
        let calibration = Calibration::new(
            self.plugged.unwrap_or(plugged),
            self.through.unwrap_or(through),
            orifice,
            barometer.station(),
            air.temperature(),
        )
        .and_then(|calibration| calibration.with_pump(parts.pump.as_ref()))
        .map_err(Failure::wrong)?;
        let bench = Bench::new(calibration, parts.dial).with_barometer_uncertainty(barometer.uncertainty());
        Ok(bench.with_temperature_uncertainty(air.uncertainty()))
    }

    fn context(&self) -> Result<Context, Failure> {
        if self.kind == Some(LeakKind::Hole) && self.land_diameter.is_some() {
            return Err(Failure::wrong("A hole has no land around it: leave out --kind hole, or the land."));
        }
        let land = match (self.land_diameter, self.land_length) {
            (Some(diameter), Some(length)) => {
                let land = Land::new(diameter, length, self.eccentricity).map_err(Failure::wrong)?;
                let land = land.in_row(self.lands).map_err(Failure::wrong)?;
                let land = land.measured_by(self.measured.unwrap_or_default());
                Some(match (self.valve, self.bore) {
                    (Some(valve_per_k), Some(bore_per_k)) => {
                        land.growing_by(Expansions { valve_per_k, bore_per_k }).map_err(Failure::wrong)?
                    }
                    _ => land,
                })
            }
            _ => None,
        };
        let oil = match (self.oil_pressure, self.oil_temperature) {
            (Some(pressure), Some(temperature)) => {
                let oil = match (self.viscosity_40, self.viscosity_100) {
                    (Some(at_40), Some(at_100)) => Oil::of_viscosities(at_40, at_100),
                    _ => Oil::typical(),
                };
                let oil = oil.map_err(Failure::wrong)?;
                Some(OilState::new(oil, pressure, temperature, None).map_err(Failure::wrong)?)
            }
            _ => None,
        };
        Ok(Context { kind: self.kind, land, oil })
    }

    fn finding(&self, bench: &Bench, context: &Context, screen: &mut Screen) -> Outcome {
        let reading = vacuum(&self.reading.join(" ")).map_err(Failure::wrong)?;
        let assessment = assess(&[reading], bench, context).map_err(Failure::wrong)?;
        if self.json {
            screen.json(&found(&assessment, context));
            return Ok(Status::Done);
        }
        let unit = &UNITS[0];
        screen.say(&format!(
            "{} here is {} on the standard rig.",
            assessment.reading_pa.in_unit(unit),
            tell::range(&assessment.standard_reading_pa, unit)
        ));
        let Estimate { value, low, high } = assessment.relative_leak;
        let area = match assessment.is_wide_open() || assessment.is_tight() {
            true => tell::area(&assessment),
            false => format!("{value:.3} ({low:.3} to {high:.3})"),
        };
        screen.say(&format!("The leak has {area} of the test orifice's area."));
        for sentence in tell::meaning(&assessment, context, None) {
            screen.say(&sentence);
        }
        say_rig(screen, &bench.calibration);
        Ok(Status::Done)
    }

    fn expectation(
        &self,
        bench: &Bench,
        reading: &Estimate,
        travel: &Travel,
        screen: &mut Screen,
    ) -> Outcome {
        let calibration = &bench.calibration;
        if self.json {
            screen.json(&expected(calibration, reading, travel).map_err(Failure::wrong)?);
            return Ok(Status::Done);
        }
        let unit = &UNITS[0];
        screen.say(&format!(
            "Expect {} on this rig; of 100 rigs like it, 95 read in that range.",
            tell::range(reading, unit)
        ));
        say_rig(screen, calibration);
        Ok(Status::Done)
    }
}

/// Says what was taken for granted of the rig.
fn say_rig(screen: &mut Screen, calibration: &Calibration) {
    let unit = &UNITS[0];
    let text = format!(
        "For a rig set to {} plugged and {} through its orifice, at a barometer of {} and {}; say otherwise with \
         --plugged, --through, --barometer or --elevation, and --temperature.",
        calibration.plugged().in_unit(unit),
        calibration.through().in_unit(unit),
        calibration.barometer().in_unit(unit),
        calibration.temperature()
    );
    screen.say(&text);
}

fn curve(bench: &Bench, form: CurveForm, screen: &mut Screen) -> Outcome {
    let sheet = CurveSheet::new(bench).map_err(Failure::wrong)?;
    match form {
        CurveForm::Text => sheet.show(screen),
        CurveForm::Svg => screen.document(&sheet.svg()),
    }
    Ok(Status::Done)
}

/// What a reading means, as a document: each figure with its 95 % interval, in SI, what it rests on,
/// or why there is none.
fn found(assessment: &Assessment, context: &Context) -> Value {
    let mut found = json!({
        "reading_pa": assessment.reading_pa,
        "relative_leak": assessment.relative_leak,
        "hole_m": assessment.hole_m,
        "standard_reading_pa": assessment.standard_reading_pa,
        "air_kg_s": assessment.air_kg_s,
        "air_standard_flow_m3_s": assessment.air_standard_flow(),
    });
    found["kind"] = json!(context.kind());
    if let Some(oil) = &context.oil {
        let source = if oil.oil().is_typical() { TYPICAL_SOURCE } else { "as given" };
        found["oil"] = json!({ "viscosities": oil.oil().points(), "source": source });
    }
    let in_gap = match assessment.clearance_m {
        Some(_) => "if oil takes the clearance of the land, in laminar flow",
        None => "if the leak is one narrow gap, in laminar flow",
    };
    let in_hole = "if the leak is one hole like the test orifice, in turbulent flow";
    for (name, meaning, assumption) in [
        ("clearance_m", assessment.clearance_m, tell::IN_ONE_LAND),
        ("gap_oil_m3_s", assessment.gap_oil_m3_s, in_gap),
        ("hole_oil_m3_s", assessment.hole_oil_m3_s, in_hole),
    ] {
        match meaning {
            Some(Interpretation::Value(estimate)) => {
                found[name] = json!(estimate);
                found["assumptions"][name] = json!(assumption);
            }
            Some(Interpretation::OutOfDomain { out_of_domain }) => {
                found["out_of_domain"][name] = json!(out_of_domain.to_string());
            }
            None => {}
        }
    }
    found
}

/// What to expect of a hole or a clearance, as a document: the reading, the range in which 95 of 100 rigs like this one
/// read, and what it would mean.
fn expected(calibration: &Calibration, reading: &Estimate, travel: &Travel) -> Result<Value, ReadingError> {
    let at = Pressure::from_si(reading.value).ok_or(ReadingError::None)?;
    Ok(json!({
        "expected_reading_pa": reading,
        "relative_leak": calibration.leak_at(at)?,
        "standard_reading_pa": travel.reading(&calibration.at(at)?, &Calibration::standard())?,
    }))
}
