use clap::{Args, Subcommand};

use super::air::AirArguments;
use super::arguments::ShopFolder;
use super::quantities::{length, pressure, vacuum, volume_flow};
use super::rig_dialogue;
use super::rig_file::{self, parts};
use super::status::{Outcome, Status};
use crate::console::Screen;
use crate::quantity::{INCH, Length, Pressure, UNITS, Unit, VolumeFlow, shown};
use crate::record::RigParts;
use crate::rig::coaching::CalibrationGoal;
use crate::rig::{Calibration, OrificeKind};
use crate::rig::{Invalidation, Job, Profile};

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
    Set(Box<Parts>),
}

/// The parts that may be given by flags.
#[derive(Debug, Default, Args)]
pub(super) struct Parts {
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
    #[arg(long, value_name = "KIND")]
    pub(super) kind: Option<Kind>,
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
    #[arg(long, value_name = "YES_OR_NO")]
    pub(super) line_pressure: Option<YesNo>,
    /// Whether hose and seals are of a kind that oil does not attack
    #[arg(long, value_name = "YES_OR_NO")]
    pub(super) stands_oil: Option<YesNo>,
}

/// The kind of an orifice, as a flag.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub(super) enum Kind {
    /// Drilled through something at least as thick as the hole is wide.
    Plug,
    /// Thin and sharp-edged.
    Plate,
}

/// Yes or no, as a flag.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub(super) enum YesNo {
    /// Yes.
    Yes,
    /// No.
    No,
}

impl From<Kind> for OrificeKind {
    fn from(kind: Kind) -> OrificeKind {
        match kind {
            Kind::Plug => OrificeKind::Plug,
            Kind::Plate => OrificeKind::Plate,
        }
    }
}

impl Rig {
    pub(super) fn run(self, shop: &ShopFolder) -> Outcome {
        let shop = shop.open()?;
        let mut screen = Screen::stdout();
        let before = match (rig_file::read(&shop), &self.command) {
            (Err(_), Some(RigCommand::Set(_))) => {
                screen.paragraph(0, "The description of the rig cannot be read; this begins a new one.");
                None
            }
            (before, _) => before?,
        };
        match self.command {
            None | Some(RigCommand::Show) => match &before {
                Some(profile) => show(&mut screen, profile),
                None => {
                    screen.paragraph(0, "No rig is described yet; the usual one is assumed:");
                    show(&mut screen, &usual());
                    screen.paragraph(0, "Describe yours with: spoolproof rig set");
                }
            },
            Some(RigCommand::Set(flags)) => {
                let now = rig_dialogue::changed(&mut screen, before.clone().unwrap_or_else(usual), &flags)?;
                rig_file::write(&shop, &now)?;
                show(&mut screen, &now);
                if let Some(invalidation) = before.and_then(|before| invalidation(&before, &now)) {
                    screen.paragraph(0, &invalidation.to_string());
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

fn invalidation(before: &Profile, now: &Profile) -> Option<Invalidation> {
    Invalidation::between(before, now, &Calibration::standard())
}

fn show(screen: &mut Screen, profile: &Profile) {
    let unit: &Unit = &UNITS[0];
    let unknown = || "not known".to_owned();
    let vacuum = |vacuum: Option<Pressure>| vacuum.map_or_else(unknown, |vacuum| vacuum.in_unit(unit));
    let psi = |pressure: Option<Pressure>| match (pressure, Unit::by_word("psi")) {
        (Some(pressure), Some(psi)) => pressure.in_unit(psi),
        _ => unknown(),
    };
    let RigParts { orifice, dial, .. } = parts(profile);
    let kind = if orifice.kind() == OrificeKind::Plug { "plug" } else { "plate" };
    let inches = |length: Length| shown(length.si() / INCH, 4);
    let facts = [
        (
            "dial",
            format!(
                "{}, to {}, a mark every {}",
                dial.grade().label(),
                dial.span().in_unit(unit),
                dial.smallest_division().in_unit(unit)
            ),
        ),
        (
            "orifice",
            format!("{kind}, {} in, known to {} in", inches(orifice.diameter()), inches(orifice.tolerance())),
        ),
        (
            "pump speed",
            profile
                .pump
                .speed_m3_s
                .map_or_else(unknown, |speed| format!("{} cfm", shown(speed.si() / 4.719_474e-4, 2))),
        ),
        (
            "pump ultimate",
            profile.pump.ultimate_pa.map_or_else(unknown, |p| format!("{} Pa absolute", shown(p.si(), 1))),
        ),
        (
            "hose",
            format!(
                "vacuum that it stands: {}; pressure: {}",
                vacuum(profile.hose.vacuum_rating_pa),
                psi(profile.hose.pressure_rating_pa)
            ),
        ),
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
