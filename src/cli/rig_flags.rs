//! The rig described by flags, part by part.

use clap::Args;

use super::quantities::{
    AirArguments, absolute, length, orifice_kind, pressure, vacuum, volume_flow, yes_or_no,
};
use super::status::Failure;
use crate::air::{AirTemperature, Barometer, BarometerSource};
use crate::quantity::{Length, Pressure, VolumeFlow};
use crate::rig::{
    CheckPoint, Dial, GaugeCheck, Grade, Orifice, OrificeKind, Profile, Pump, RelativePump, Repeatability,
};

/// The parts that may be given by flags.
#[derive(Debug, Clone, Default, PartialEq, Args)]
pub(super) struct PartFlags {
    /// The dial's accuracy grade: A, B, 1A ... (ASME B40.100) or 1.6, 2.5 ... (EN 837-1)
    #[arg(long, value_name = "GRADE")]
    pub(super) grade: Option<String>,
    /// The end of the dial's scale, as in 30inHg
    #[arg(long, value_name = "V", value_parser = vacuum)]
    pub(super) span: Option<Pressure>,
    /// The step from mark to mark on the dial, as in 0.5inHg
    #[arg(long, value_name = "V", value_parser = vacuum)]
    pub(super) division: Option<Pressure>,
    /// A check of the gauge up and down beside a better one: at each of five points or more what the better one shows,
    /// and this one rising and falling, as in "5 5.1 5.2, 10 10 10.1, 15 15.1 15.2, 20 20.2 20.2, 25 25.2 25.2"
    #[arg(long, value_name = "POINTS", requires = "check_within")]
    check: Option<String>,
    /// How far that better gauge may be off, as in 0.05inHg
    #[arg(long, value_name = "V", value_parser = vacuum, requires = "check")]
    check_within: Option<Pressure>,
    /// How well readings repeat, as a class study or readings of one and the same seat after seat have shown: their
    /// standard deviation, as in 0.1inHg
    #[arg(long, value_name = "V", value_parser = vacuum, requires = "repeatability_readings")]
    repeatability: Option<Pressure>,
    /// How many readings that comes from
    #[arg(long, value_name = "N", requires = "repeatability")]
    repeatability_readings: Option<u32>,
    /// The orifice's measured bore, as in 0.0352in
    #[arg(long, value_name = "D", value_parser = length)]
    pub(super) orifice: Option<Length>,
    /// How well that bore is known, either way, as in 0.0005in
    #[arg(long, value_name = "D", value_parser = length)]
    pub(super) tolerance: Option<Length>,
    /// What it is drilled through: a plug at least as thick as the hole is wide, or a thin plate
    #[arg(long, value_name = "KIND", value_parser = orifice_kind())]
    pub(super) kind: Option<OrificeKind>,
    /// The volume that the pump moves, as in 3cfm
    #[arg(long, value_name = "FLOW", value_parser = volume_flow)]
    pub(super) pump_speed: Option<VolumeFlow>,
    /// The least absolute pressure that the pump reaches, as in 100Pa
    #[arg(long, value_name = "P", value_parser = absolute)]
    pub(super) pump_ultimate: Option<Pressure>,
    /// The gauge with the bleed valve shut, the inlet valve open as far as it goes and the hose plugged: with
    /// --pump-through it gives both figures of the pump
    #[arg(long, value_name = "V", value_parser = vacuum, requires = "pump_through",
        conflicts_with_all = ["pump_speed", "pump_ultimate"])]
    pub(super) pump_plugged: Option<Pressure>,
    /// The same through the test orifice
    #[arg(long, value_name = "V", value_parser = vacuum, requires = "pump_plugged")]
    pump_through: Option<Pressure>,
    #[command(flatten)]
    pub(super) air: AirArguments,
    /// The vacuum that the hose and its fittings are made for
    #[arg(long, value_name = "V", value_parser = vacuum)]
    pub(super) hose_vacuum: Option<Pressure>,
    /// The pressure that the hose and its fittings are made for, as in 250psi
    #[arg(long, value_name = "P", value_parser = pressure)]
    pub(super) hose_pressure: Option<Pressure>,
    /// Whether the same hose is used for line pressure
    #[arg(long, value_name = "YES_OR_NO", value_parser = yes_or_no())]
    pub(super) line_pressure: Option<bool>,
    /// Whether hose and seals are of a kind that oil does not attack
    #[arg(long, value_name = "YES_OR_NO", value_parser = yes_or_no())]
    pub(super) stands_oil: Option<bool>,
}

/// More than this, in m3/s, a pump beside a bench does not move: 40 cfm (common practice, no source).
const FASTEST_PUMP_M3_S: f64 = 0.019;

/// No scale of a vacuum gauge goes deeper than this, in Pa: the air itself weighs no more anywhere (1083.8 hPa is the
/// highest barometer on record, as the World Meteorological Organization lists it, from memory).
const DEEPEST_SPAN_PA: f64 = 110_000.0;

/// A pump that leaves more than this, in Pa, is none for vacuum: half of the air.
const WORST_ULTIMATE_PA: f64 = 50_000.0;

impl PartFlags {
    pub(super) fn has_any(&self) -> bool {
        let air = AirArguments { elevation: self.air.elevation, ..AirArguments::default() };
        PartFlags { air, ..self.clone() } != PartFlags::default()
    }

    /// Returns the rig with the parts changed that are given.
    pub(super) fn applied_to(&self, mut profile: Profile) -> Result<Profile, Failure> {
        self.apply_dial(&mut profile)?;
        self.apply_orifice(&mut profile)?;
        if let Some(elevation) = self.air.elevation {
            Barometer::new(BarometerSource::Elevation { elevation }).map_err(Failure::wrong)?;
            profile.elevation = Some(elevation);
        }
        self.apply_pump(&mut profile)?;
        profile.hose.vacuum_rating_pa = self.hose_vacuum.or(profile.hose.vacuum_rating_pa);
        profile.hose.pressure_rating_pa = self.hose_pressure.or(profile.hose.pressure_rating_pa);
        profile.hose.carries_line_pressure = self.line_pressure.unwrap_or(profile.hose.carries_line_pressure);
        profile.hose.stands_oil = self.stands_oil.or(profile.hose.stands_oil);
        Ok(profile)
    }

    fn apply_dial(&self, profile: &mut Profile) -> Result<(), Failure> {
        let dial = profile.dial;
        let grade =
            self.grade.as_deref().map(grade).transpose().map_err(Failure::wrong)?.unwrap_or(dial.grade());
        let or = |new: Option<Pressure>, old: Pressure| new.unwrap_or(old);
        if let Some(span) = self.span.filter(|span| span.si() > DEEPEST_SPAN_PA) {
            return Err(Failure::wrong(format!(
                "a scale to {span} is not that of a vacuum gauge: no vacuum is deeper than the air weighs, about 30 inHg; \
                 look at the unit on the dial"
            )));
        }
        profile.dial =
            Dial::new(grade, or(self.span, dial.span()), or(self.division, dial.smallest_division()))
                .map_err(Failure::wrong)?;
        if profile.dial != dial {
            // Both are of the gauge that was there.
            profile.gauge_check = None;
            profile.repeatability = None;
        }
        if let (Some(points), Some(reference_limit)) = (&self.check, self.check_within) {
            let points =
                points.split(',').map(check_point).collect::<Result<_, _>>().map_err(Failure::wrong)?;
            let check = GaugeCheck { reference_limit, points };
            check.of(profile.dial).map_err(Failure::wrong)?;
            profile.gauge_check = Some(check);
        }
        if let (Some(deviation), Some(readings)) = (self.repeatability, self.repeatability_readings) {
            profile.repeatability = Some(Repeatability { deviation, readings });
        }
        Ok(())
    }

    fn apply_orifice(&self, profile: &mut Profile) -> Result<(), Failure> {
        let orifice = profile.orifice;
        let bore = self.orifice.unwrap_or(orifice.diameter());
        let kind = self.kind.unwrap_or(orifice.kind());
        if bore != orifice.diameter() {
            // What the shanks did was in another hole.
            profile.gauged = None;
            profile.pump.keeps_sonic = None;
        }
        profile.orifice = Orifice::with_tolerance(bore, kind, self.tolerance.unwrap_or(orifice.tolerance()))
            .map_err(Failure::wrong)?;
        Ok(())
    }

    fn apply_pump(&self, profile: &mut Profile) -> Result<(), Failure> {
        if let Some(speed) = self.pump_speed.filter(|speed| speed.si() > FASTEST_PUMP_M3_S) {
            return Err(Failure::wrong(format!(
                "{speed} is more than any bench pump moves; its plate may give the motor's turns a minute beside the volume"
            )));
        }
        if let Some(ultimate) = self.pump_ultimate.filter(|ultimate| ultimate.si() > WORST_ULTIMATE_PA) {
            return Err(Failure::wrong(format!(
                "{ultimate} is what is left of the air where a pump pulls its best, from nothing up, so that is no vacuum pump; \
                 where you have a gauge's reading, rig set --pump-plugged and --pump-through work it out"
            )));
        }
        if self.pump_speed.or(profile.pump.speed_m3_s) != profile.pump.speed_m3_s {
            profile.pump.keeps_sonic = None;
        }
        profile.pump.speed_m3_s = self.pump_speed.or(profile.pump.speed_m3_s);
        profile.pump.ultimate_pa = self.pump_ultimate.or(profile.pump.ultimate_pa);
        if let (Some(plugged), Some(through)) = (self.pump_plugged, self.pump_through) {
            let barometer = self.air.barometer(profile.elevation)?;
            let pump = measured(plugged, through, profile, &barometer)?;
            profile.pump.speed_m3_s = Some(pump.speed);
            profile.pump.ultimate_pa = Some(pump.ultimate);
        }
        Ok(())
    }
}

/// Reads what two gauges show at one point of a check.
pub(super) fn check_point(text: &str) -> Result<CheckPoint, String> {
    let shown: Result<Vec<_>, _> = text.split_whitespace().map(vacuum).collect();
    match shown?[..] {
        [reference, rising, falling] => Ok(CheckPoint { reference, rising, falling }),
        _ => Err(format!(
            "\"{}\" is not a point of a check: it takes what the better gauge shows, then this one rising and falling, as in \
             5 5.1 5.2",
            text.trim()
        )),
    }
}

fn measured(
    plugged: Pressure,
    through: Pressure,
    profile: &Profile,
    barometer: &Barometer,
) -> Result<Pump, Failure> {
    let (dial, station) = (profile.checked_dial(), barometer.station());
    // A gauge may show more than there is by what its grade and the barometer allow, and by no more than its scale has.
    let highest = station.si() + dial.limit(plugged).si() + barometer.uncertainty().si();
    let is_shown = plugged.si() <= highest.min(dial.span().si());
    let air = AirTemperature::ASSUMED.temperature();
    let pump = RelativePump::measured(plugged, through, station).filter(|_| is_shown);
    pump.and_then(|relative| Pump::of(&relative, &profile.orifice, station, air)).ok_or_else(|| {
        Failure::wrong(format!(
            "{plugged} plugged and {through} through the orifice, at a barometer of {station}, are what no pump does; \
             the first is to be the higher one, no higher than the barometer by more than the gauge may be off, and on its scale"
        ))
    })
}

/// Reads a grade as it is printed on a dial.
fn grade(text: &str) -> Result<Grade, String> {
    let bare = |text: &str| {
        let around = ["asme", "b40.100", "en ", "837-1", "grade", "class", "cl", "kl"];
        let bare = around.iter().fold(text.to_lowercase(), |text, word| text.replace(word, ""));
        bare.trim_matches(['.', ',', ' ']).to_owned()
    };
    let known = Grade::all().find(|grade| bare(grade.label()) == bare(text));
    known.ok_or_else(|| {
        let labels: Vec<_> = Grade::all().map(Grade::label).collect();
        format!("\"{text}\" is no grade of a dial; known are {}", labels.join(", "))
    })
}
