use clap::{Args, Subcommand};

use super::arguments::ShopFolder;
use super::quantities::{AirArguments, length, orifice_kind, pressure, vacuum, volume_flow, yes_or_no};
use super::rig_dialogue;
use super::status::{Failure, Outcome, Status};
use crate::console::Screen;
use crate::quantity::{INCH, Length, Pressure, UNITS, Unit, VolumeFlow, shown};
use crate::record::{ASSUMED_AIR, RigParts, Shop};
use crate::rig::coaching::CalibrationGoal;
use crate::rig::{
    Calibration, Dial, Grade, Invalidation, Job, Orifice, OrificeKind, Profile, Pump, RelativePump,
};
use crate::share::write_whole;
use crate::tell;

/// Describe the rig of the shop, and have its parts checked against the job.
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
    Set(Box<PartFlags>),
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
    #[arg(long, value_name = "P", value_parser = vacuum)]
    pub(super) pump_ultimate: Option<Pressure>,
    /// The gauge with the bleed valve shut, the inlet valve open as far as it goes and the hose plugged: with
    /// --pump-through it gives both figures of the pump
    #[arg(long, value_name = "V", value_parser = vacuum, requires = "pump_through",
        conflicts_with_all = ["pump_speed", "pump_ultimate"])]
    pub(super) pump_plugged: Option<Pressure>,
    /// The same through the test orifice
    #[arg(long, value_name = "V", value_parser = vacuum, requires = "pump_plugged")]
    pub(super) pump_through: Option<Pressure>,
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

impl PartFlags {
    pub(super) fn has_any(&self) -> bool {
        PartFlags { air: AirArguments::default(), ..self.clone() } != PartFlags::default()
    }

    /// Returns the rig with the parts changed that are given.
    pub(super) fn applied_to(&self, mut profile: Profile) -> Result<Profile, Failure> {
        let dial = profile.dial;
        let grade =
            self.grade.as_deref().map(grade).transpose().map_err(Failure::wrong)?.unwrap_or(dial.grade());
        let or = |new: Option<Pressure>, old: Pressure| new.unwrap_or(old);
        profile.dial =
            Dial::new(grade, or(self.span, dial.span()), or(self.division, dial.smallest_division()))
                .map_err(Failure::wrong)?;
        let orifice = profile.orifice;
        let bore = self.orifice.unwrap_or(orifice.diameter());
        let kind = self.kind.unwrap_or(orifice.kind());
        if bore != orifice.diameter() {
            // What the shanks did was in another hole.
            profile.gauged = None;
        }
        profile.orifice = Orifice::with_tolerance(bore, kind, self.tolerance.unwrap_or(orifice.tolerance()))
            .map_err(Failure::wrong)?;
        profile.pump.speed_m3_s = self.pump_speed.or(profile.pump.speed_m3_s);
        profile.pump.ultimate_pa = self.pump_ultimate.or(profile.pump.ultimate_pa);
        if let (Some(plugged), Some(through)) = (self.pump_plugged, self.pump_through) {
            let pump = measured(plugged, through, &profile.orifice, self.air.barometer()?.station())?;
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
                    screen.say("Describe yours with: spoolproof rig set");
                }
            },
            Some(RigCommand::Set(flags)) => {
                let now = rig_dialogue::changed(&mut screen, before.clone().unwrap_or_else(usual), &flags)?;
                write(&shop, &now)?;
                show(&mut screen, &now);
                let set = Calibration::standard();
                if let Some(invalidation) =
                    before.and_then(|before| Invalidation::between(&before, &now, &set))
                {
                    screen.say(&invalidation.to_string());
                }
            }
        }
        Ok(Status::Done)
    }
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
    let kind = tell::orifice_kind(orifice.kind());
    let bore =
        format!("{kind}, {} in, known to {} in", inches(orifice.diameter()), inches(orifice.tolerance()));
    let speed = pump.speed_m3_s.map(|speed| format!("{} cfm", shown(speed.si() / 4.719_474e-4, 2)));
    let ultimate = pump.ultimate_pa.map(|ultimate| format!("{} Pa absolute", shown(ultimate.si(), 1)));
    let vacuum = known(hose.vacuum_rating_pa.map(|vacuum| vacuum.in_unit(unit)));
    let pressure = known(hose.pressure_rating_pa.and_then(psi));
    let facts = [
        ("dial", dial),
        ("orifice", bore),
        ("pump speed", known(speed)),
        ("pump ultimate", known(ultimate)),
        ("hose", format!("vacuum that it stands: {vacuum}; pressure: {pressure}")),
    ];
    for (name, fact) in facts {
        screen.item(&format!("{name:<14} "), &fact);
    }
    if let Ok(goal) = CalibrationGoal::usual(Calibration::standard().barometer()) {
        let job = Job { goal, line_pressure: None };
        for concern in profile.concerns(&job) {
            screen.item(if concern.is_grave() { "  !! " } else { "   - " }, &concern.to_string());
        }
    }
}

fn measured(
    plugged: Pressure,
    through: Pressure,
    orifice: &Orifice,
    barometer: Pressure,
) -> Result<Pump, Failure> {
    let pump = RelativePump::measured(plugged, through, barometer)
        .and_then(|relative| Pump::of(&relative, orifice, barometer, ASSUMED_AIR));
    pump.ok_or_else(|| {
        Failure::wrong(format!(
            "{plugged} plugged and {through} through the orifice, at a barometer of {barometer}, are what no pump does; \
             the first is to be the deeper one, and no deeper than the barometer"
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
    let text = match std::fs::read_to_string(&path) {
        Ok(text) => text,
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(None),
        Err(error) => return Err(Failure::file(&path, error)),
    };
    let profile = serde_json::from_str(&text);
    profile.map(Some).map_err(|error| {
        Failure::wrong(format!("{}: {error}; describe the rig anew with: spoolproof rig set", path.display()))
    })
}

/// Puts a description of the rig in the place of the one before, whole or not at all.
fn write(shop: &Shop, profile: &Profile) -> Result<(), Failure> {
    let text = serde_json::to_string_pretty(profile).map_err(Failure::wrong)? + "\n";
    // What could not be read again is refused while the one before still stands.
    serde_json::from_str::<Profile>(&text).map_err(Failure::wrong)?;
    write_whole(&shop.rig(), text.as_bytes()).map_err(|error| Failure::file(&shop.rig(), error))
}

/// Returns the parts of a rig that enter the figures.
pub(super) fn parts(profile: &Profile) -> RigParts {
    RigParts { orifice: profile.orifice, dial: profile.dial, pump: profile.pump.pump() }
}
