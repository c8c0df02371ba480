use clap::{Args, Subcommand};

use super::arguments::ShopFolder;
use super::job::in_words;
use super::quantities::{
    AirArguments, absolute, length, orifice_kind, pressure, vacuum, volume_flow, yes_or_no,
};
use super::rig_commissioned::{found, latest};
use super::rig_dialogue::{HELP, asked};
use super::status::{Failure, Outcome, Status};
use crate::air::{AirTemperature, Barometer, BarometerSource};
use crate::console::Screen;
use crate::disk::{Alone, LARGEST_SETTINGS, read_text, write_whole};
use crate::quantity::{INCH, Length, Pressure, UNITS, Unit, VolumeFlow, shown};
use crate::record::{RigParts, Shop, letters};
use crate::rig::coaching::CalibrationGoal;
use crate::rig::{
    BenchIdentity, Calibration, CheckPoint, Demand, Dial, GaugeCheck, Grade, Invalidation, Orifice,
    OrificeKind, Profile, Pump, RelativePump, Repeatability,
};
use crate::tell;

#[derive(Debug, Args)]
pub(super) struct Rig {
    #[command(subcommand)]
    command: Option<RigCommand>,
}

#[derive(Debug, Subcommand)]
enum RigCommand {
    /// Show the rig, and what is to be said of its parts (this is what rig alone does)
    Show,
    /// Change parts: by flags, or without any by a short dialogue
    Set(Box<RigSet>),
}

#[derive(Debug, Args)]
struct RigSet {
    /// Take over what the latest commissioning of this bench has found: how well it repeats, what the drill shanks did
    /// in the orifice, whether the pump is enough
    #[arg(long)]
    commissioned: bool,
    /// What you call the bench, as in "North wall": the history tells benches apart by it, even with equal parts.
    /// Another name is another bench
    #[arg(long, value_name = "NAME", value_parser = in_words)]
    bench: Option<String>,
    #[command(flatten)]
    parts: PartFlags,
}

impl RigSet {
    fn has_flags(&self) -> bool {
        self.commissioned || self.bench.is_some() || self.parts.has_any()
    }
}

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
    pump_plugged: Option<Pressure>,
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
    fn has_any(&self) -> bool {
        let air = AirArguments { elevation: self.air.elevation, ..AirArguments::default() };
        PartFlags { air, ..self.clone() } != PartFlags::default()
    }

    /// Returns the rig with the parts changed that are given.
    pub(super) fn applied_to(&self, mut profile: Profile) -> Result<Profile, Failure> {
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
        if let Some(elevation) = self.air.elevation {
            Barometer::new(BarometerSource::Elevation { elevation }).map_err(Failure::wrong)?;
            profile.elevation = Some(elevation);
        }
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
            let pump = measured(plugged, through, &profile, &barometer)?;
            profile.pump.speed_m3_s = Some(pump.speed);
            profile.pump.ultimate_pa = Some(pump.ultimate);
        }
        profile.hose.vacuum_rating_pa = self.hose_vacuum.or(profile.hose.vacuum_rating_pa);
        profile.hose.pressure_rating_pa = self.hose_pressure.or(profile.hose.pressure_rating_pa);
        profile.hose.carries_line_pressure = self.line_pressure.unwrap_or(profile.hose.carries_line_pressure);
        profile.hose.stands_oil = self.stands_oil.or(profile.hose.stands_oil);
        Ok(profile)
    }
}

impl Rig {
    pub(super) fn run(self, shop: &ShopFolder) -> Outcome {
        let shop = shop.open()?;
        let mut screen = Screen::stdout();
        // What flags say is put to what is there; nobody is kept waiting while somebody answers.
        let has_flags = matches!(&self.command, Some(RigCommand::Set(set)) if set.has_flags());
        let _alone = has_flags.then(|| alone(&shop)).transpose()?;
        let before = match (read(&shop), &self.command) {
            (Err(_), Some(RigCommand::Set(_))) => {
                screen.say("The description of the rig cannot be read; this begins a new one.");
                None
            }
            (before, _) => before?,
        };
        match self.command {
            None | Some(RigCommand::Show) => match &before {
                Some(profile) => show(&mut screen, profile),
                None => {
                    screen.say("No rig is described yet; the usual one is assumed:");
                    show(&mut screen, &usual());
                    screen.say("Describe yours with:\nspoolproof rig set");
                }
            },
            Some(RigCommand::Set(set)) => {
                let mut now = match set.commissioned {
                    true if set.parts != PartFlags::default() => {
                        return Err(Failure::wrong(
                            "--commissioned goes alone: give the other parts to a rig set of their own, before it",
                        ));
                    }
                    true => {
                        let record = latest(&shop, before.as_ref().and_then(|before| before.bench.as_ref()))?;
                        let (now, told) = found(&record, before.clone().unwrap_or_else(usual))?;
                        if told.is_empty() {
                            return Err(Failure::wrong(format!(
                                "{} has nothing to tell of the rig: its shanks, the pump and six looks at the proof orifice were \
                                 left out",
                                record.session
                            )));
                        }
                        screen.say(&format!("Taken over from {}: {}.", record.session, told.join("; ")));
                        now
                    }
                    false if set.bench.is_some() && !set.parts.has_any() => {
                        before.clone().unwrap_or_else(usual)
                    }
                    false => changed(&mut screen, before.clone().unwrap_or_else(usual), &set.parts)?,
                };
                let known = now.bench.take();
                let id = match &known {
                    Some(bench) => bench.id.clone(),
                    None => letters(getrandom::u64().map_err(Failure::wrong)?, 10),
                };
                now.bench =
                    Some(BenchIdentity { name: set.bench.or(known.and_then(|bench| bench.name)), id });
                let _alone = (!has_flags).then(|| alone(&shop)).transpose()?;
                if !has_flags && read(&shop).ok().flatten() != before {
                    return Err(Failure::wrong(
                        "another program has described the rig while you answered; look at it with rig show, then set it \
                         again",
                    ));
                }
                write(&shop, &now)?;
                show(&mut screen, &now);
                if let Some(plugged) = set.parts.pump_plugged.filter(|_| now.gauge_check.is_none()) {
                    screen.say(&format!(
                        "By these readings the pump's least pressure is known no better than the gauge is good: give or take {}.",
                        now.dial.limit(plugged)
                    ));
                }
                if let Some(told) = before.as_ref().and_then(|before| thrown_away(before, &now)) {
                    screen.say(&told);
                }
                let set = Calibration::standard();
                let invalidation = before.and_then(|before| Invalidation::between(&before, &now, &set));
                if let Some(invalidation) = invalidation.filter(|_| has_been_calibrated(&shop)) {
                    screen.say(&invalidation.to_string());
                }
            }
        }
        Ok(Status::Done)
    }
}

/// Whether there is anything that a rig was set for: a record, or an open session.
fn has_been_calibrated(shop: &Shop) -> bool {
    [shop.record_names(), shop.open_names()].into_iter().flatten().any(|names| !names.is_empty())
}

/// Says what was known of a rig and no longer is, because it was of another dial.
fn thrown_away(before: &Profile, now: &Profile) -> Option<String> {
    let lost = [
        ("the gauge check", before.gauge_check.is_some() && now.gauge_check.is_none()),
        ("the repeatability", before.repeatability.is_some() && now.repeatability.is_none()),
    ];
    let names: Vec<_> = lost.into_iter().filter_map(|(name, is_lost)| is_lost.then_some(name)).collect();
    (!names.is_empty()).then(|| {
        format!(
            "No longer known, because it was found with the dial as it was: {}. Find it anew, and give it again.",
            names.join(", ")
        )
    })
}

/// The usual rig, of which nothing but dial and orifice is known.
fn usual() -> Profile {
    Profile::new(RigParts::USUAL.dial, RigParts::USUAL.orifice)
}

fn show(screen: &mut Screen, profile: &Profile) {
    let unit = &UNITS[0];
    let known = |told: Option<String>| told.unwrap_or_else(|| "not known".to_owned());
    let inches = |length: Length| shown(length.si() / INCH, 4);
    let psi = |pressure: Pressure| Unit::by_word("psi").map(|psi| pressure.in_unit(psi));
    let Profile { dial, orifice, pump, hose, .. } = profile;
    let dial = format!(
        "{}, to {}, a mark every {}",
        dial.grade().label(),
        dial.span().in_unit(unit),
        dial.smallest_division().in_unit(unit)
    );
    let repeats = profile.repeatability.map(|Repeatability { deviation, readings }| {
        format!("a deviation of {} in {readings} readings", deviation.in_unit(unit))
    });
    let kind = tell::orifice_kind(orifice.kind());
    let bore =
        format!("{kind}, {} in, known to {} in", inches(orifice.diameter()), inches(orifice.tolerance()));
    let speed = pump.speed_m3_s.map(|speed| format!("{} cfm", shown(speed.si() / 4.719_474e-4, 2)));
    let ultimate = pump.ultimate_pa.map(|ultimate| format!("{} absolute", ultimate.in_unit(unit)));
    let pumps = match pump.keeps_sonic {
        Some(true) => "strong enough, as commissioning found",
        Some(false) => "too weak to keep the inlet valve sonic, as commissioning found",
        None => "not tried by commissioning",
    };
    let vacuum = known(hose.vacuum_rating_pa.map(|vacuum| vacuum.in_unit(unit)));
    let pressure = known(hose.pressure_rating_pa.and_then(psi));
    let facts = [
        ("bench", known(profile.bench.as_ref().map(ToString::to_string))),
        ("dial", dial),
        ("gauge check", known(checked(profile, unit))),
        ("repeatability", known(repeats)),
        ("orifice", bore),
        ("pump", pumps.to_owned()),
        ("pump speed", known(speed)),
        ("pump ultimate", known(ultimate)),
        ("elevation", known(profile.elevation.map(tell::elevation))),
        ("hose", format!("vacuum that it stands: {vacuum}; pressure: {pressure}")),
    ];
    for (name, fact) in facts {
        screen.item(&format!("{name:<14} "), &fact);
    }
    let of_shop = AirArguments::default().barometer(profile.elevation).unwrap_or(Barometer::STANDARD);
    if let Ok(goal) = CalibrationGoal::usual(of_shop.station()) {
        let demand = Demand { goal, line_pressure: None };
        for concern in profile.concerns(&demand) {
            screen.item(if concern.is_grave() { "  !! " } else { "   - " }, &concern.to_string());
        }
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

/// Says what a check has left of a dial's errors.
fn checked(profile: &Profile, unit: &Unit) -> Option<String> {
    let dial = profile.checked_dial();
    let found = dial.checked()?;
    Some(format!(
        "found by the check, in place of the grade: off by {} and {} % of the reading, at single marks by up to {} more, and \
         by {} between a rising and a falling needle",
        found.offset_pa.in_unit(unit),
        shown(100.0 * found.gain, 1),
        found.shape_pa.in_unit(unit),
        found.hysteresis_pa.in_unit(unit)
    ))
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

/// Reads the rig that the shop has described; none where it has not.
pub(super) fn read(shop: &Shop) -> Result<Option<Profile>, Failure> {
    let path = shop.rig();
    let text = match read_text(&path, LARGEST_SETTINGS) {
        Ok(text) => text,
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(None),
        Err(error) => return Err(Failure::file(&path, error)),
    };
    let profile = serde_json::from_str(&text);
    profile.map(Some).map_err(|error| {
        Failure::wrong(format!(
            "{}: {error}; describe the rig anew with:\nspoolproof rig set",
            path.display()
        ))
    })
}

/// Puts a description of the rig in the place of the one before, whole or not at all.
fn write(shop: &Shop, profile: &Profile) -> Result<(), Failure> {
    let text = serde_json::to_string_pretty(profile).map_err(Failure::wrong)? + "\n";
    // What could not be read again is refused while the one before still stands.
    serde_json::from_str::<Profile>(&text).map_err(Failure::wrong)?;
    write_whole(&shop.rig(), text.as_bytes()).map_err(|error| Failure::file(&shop.rig(), error))
}

fn alone(shop: &Shop) -> Result<Alone, Failure> {
    Alone::in_folder(shop.root()).map_err(|error| Failure::file(shop.root(), error))
}

/// Returns the parts of a rig that enter the figures.
pub(super) fn parts(profile: &Profile) -> RigParts {
    RigParts {
        orifice: profile.orifice,
        dial: profile.checked_dial(),
        pump: profile.pump.pump(),
        repeatability: profile.repeatability,
    }
}

/// Returns the rig with the parts changed that the flags name; without any flag, asks for each part.
fn changed(screen: &mut Screen, profile: Profile, flags: &PartFlags) -> Result<Profile, Failure> {
    if flags.air.barometer.or(flags.air.altimeter).is_some() && flags.pump_plugged.is_none() {
        return Err(Failure::wrong(
            "a barometer is no part of the rig: here it goes with --pump-plugged and --pump-through, and each session asks for \
             it itself. What stays is the shop's elevation: --elevation 4300ft",
        ));
    }
    if flags.has_any() {
        return flags.applied_to(profile);
    }
    screen.say(HELP);
    asked(profile).map_err(|why| Failure::stopped(why, "nothing was changed"))
}
