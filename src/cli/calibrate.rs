use clap::Args;

use super::arguments::ShopFolder;
use super::quantities::{AirArguments, length, vacuum};
use super::rig;
use super::sessions::now;
use super::status::{Failure, Outcome, Status};
use crate::air::AirTemperature;
use crate::console::Screen;
use crate::leak::DEFAULT_CONFIDENCE;
use crate::quantity::{Length, Pressure, UNITS, Unit};
use crate::record::BenchState;
use crate::rig::coaching::{CalibrationGoal, PairAdvice};
use crate::rig::{Calibration, Dial, Orifice, PumpCheck, RelativePump};
use crate::session::{Person, Prompt, coach, set_words};

#[derive(Debug, Args)]
pub(super) struct Calibrate {
    /// What the gauge shows with the hose plugged, as in 25inHg
    #[arg(long, value_name = "V", value_parser = vacuum, requires = "through")]
    plugged: Option<Pressure>,
    /// What it shows through the test orifice
    #[arg(long, value_name = "V", value_parser = vacuum, requires = "plugged")]
    through: Option<Pressure>,
    /// The orifice's bore, as in 0.035in [default: the shop's rig]
    #[arg(long, value_name = "D", value_parser = length)]
    orifice: Option<Length>,
    #[command(flatten)]
    air: AirArguments,
    /// Print one JSON document instead
    #[arg(long, requires = "plugged")]
    json: bool,
}

impl Calibrate {
    pub(super) fn run(self, shop: &ShopFolder) -> Outcome {
        let shop = shop.open()?;
        let profile = rig::read(&shop)?;
        let earlier = shop.said_earlier(now());
        let mut parts = profile.as_ref().map(rig::parts).unwrap_or_default();
        if let Some(bore) = self.orifice {
            parts.orifice = Orifice::new(bore, parts.orifice.kind()).map_err(Failure::wrong)?;
        }
        let (Some(plugged), Some(through)) = (self.plugged, self.through) else {
            let elevation = profile.as_ref().and_then(|profile| profile.elevation);
            let prompt = Prompt::open(None).map_err(Failure::wrong)?;
            let person = Person::new(prompt, &UNITS[0]).at_elevation(elevation).offered(earlier.answers());
            let bench = BenchState::new(parts, None, DEFAULT_CONFIDENCE);
            coach(person, bench, &UNITS[0]).map_err(Failure::paused)?;
            return Ok(Status::Done);
        };
        let of_shop = profile.as_ref().and_then(|profile| profile.elevation);
        let barometer = self.air.barometer(of_shop)?;
        let air = earlier.air_k.unwrap_or(AirTemperature::ASSUMED.temperature());
        let calibration = Calibration::new(plugged, through, parts.orifice, barometer.station(), air)
            .and_then(|calibration| calibration.with_pump(parts.pump.as_ref()))
            .map_err(Failure::wrong)?;
        let goal = CalibrationGoal::usual(barometer.station()).map_err(Failure::wrong)?;
        let advice = PairAdvice::new(&calibration, &goal, &parts.dial);
        let mut screen = Screen::stdout();
        if self.json {
            let document = serde_json::to_string_pretty(&advice).map_err(Failure::wrong)?;
            screen.document(&format!("{document}\n"));
            return Ok(Status::Done);
        }
        let pump = profile.and_then(|profile| profile.pump.pump());
        let pump = pump.map(|pump| RelativePump::of(&pump, &calibration));
        let pump = PumpCheck::of(&calibration, pump.flatten().as_ref());
        show(&mut screen, &advice, &parts.dial, &pump);
        Ok(Status::Done)
    }
}

fn show(screen: &mut Screen, advice: &PairAdvice, dial: &Dial, pump: &PumpCheck) {
    let unit: &Unit = &UNITS[0];
    if advice.settled {
        screen.say("The rig is set: both points are where they belong.");
    } else {
        screen.say(&format!(
            "The marks are {} plugged and {} through the orifice. Do this, once and in this order:",
            advice.target_plugged_pa.in_unit(unit),
            advice.target_through_pa.in_unit(unit)
        ));
        for (index, setting) in advice.next.iter().enumerate() {
            screen.item(&format!("{} ", index + 1), &format!("{}.", set_words(setting, dial, unit)));
        }
    }
    screen.say(&pump.to_string());
}
