use clap::{Args, Subcommand};

use super::arguments::ShopFolder;
use super::quantities::{AirArguments, length, orifice_kind, pressure, vacuum, volume_flow, yes_or_no};
use super::status::{Failure, Outcome, Status};
use crate::air::AirTemperature;
use crate::console::Screen;
use crate::disk::{Alone, LARGEST_SETTINGS, read_text, write_whole};
use crate::procedure::Aside;
use crate::quantity::{INCH, Length, Pressure, UNITS, Unit, VolumeFlow, shown};
use crate::record::{RigParts, Shop};
use crate::rig::coaching::CalibrationGoal;
use crate::rig::{
    Calibration, CheckPoint, Dial, GaugeCheck, Gauged, GoNoGo, Grade, Invalidation, Job, Orifice,
    OrificeKind, Profile, Pump, RelativePump, Repeatability,
};
use crate::session::{Enter, Plain, Prompt, Said, Saying, Stopped, yes_no};
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
    Set(Box<PartFlags>),
}

/// The parts that may be given by flags.
#[derive(Debug, Clone, Default, PartialEq, Args)]
struct PartFlags {
    /// The dial's accuracy grade: A, B, 1A ... (ASME B40.100) or 1.6, 2.5 ... (EN 837-1)
    #[arg(long, value_name = "GRADE")]
    grade: Option<String>,
    /// The end of the dial's scale, as in 30inHg
    #[arg(long, value_name = "V", value_parser = vacuum)]
    span: Option<Pressure>,
    /// The step from mark to mark on the dial, as in 0.5inHg
    #[arg(long, value_name = "V", value_parser = vacuum)]
    division: Option<Pressure>,
    /// A check of the gauge up and down beside a better one: at each of five points or more what the better one shows, and this
    /// one rising and falling, as in "5 5.1 5.2, 10 10 10.1, 15 15.1 15.2, 20 20.2 20.2, 25 25.2 25.2"
    #[arg(long, value_name = "POINTS", requires = "check_within")]
    check: Option<String>,
    /// How far that better gauge may be off, as in 0.05inHg
    #[arg(long, value_name = "V", value_parser = vacuum, requires = "check")]
    check_within: Option<Pressure>,
    /// How well readings repeat, as a class study or readings of one and the same seat after seat have shown: their standard
    /// deviation, as in 0.1inHg
    #[arg(long, value_name = "V", value_parser = vacuum, requires = "repeatability_readings")]
    repeatability: Option<Pressure>,
    /// How many readings that comes from
    #[arg(long, value_name = "N", requires = "repeatability")]
    repeatability_readings: Option<u32>,
    /// The orifice's measured bore, as in 0.0352in
    #[arg(long, value_name = "D", value_parser = length)]
    orifice: Option<Length>,
    /// How well that bore is known, either way, as in 0.0005in
    #[arg(long, value_name = "D", value_parser = length)]
    tolerance: Option<Length>,
    /// What it is drilled through: a plug at least as thick as the hole is wide, or a thin plate
    #[arg(long, value_name = "KIND", value_parser = orifice_kind())]
    kind: Option<OrificeKind>,
    /// The volume that the pump moves, as in 3cfm
    #[arg(long, value_name = "FLOW", value_parser = volume_flow)]
    pump_speed: Option<VolumeFlow>,
    /// The least absolute pressure that the pump reaches, as in 100Pa
    #[arg(long, value_name = "P", value_parser = vacuum)]
    pump_ultimate: Option<Pressure>,
    /// The gauge with the bleed valve shut, the inlet valve open as far as it goes and the hose plugged: with
    /// --pump-through it gives both figures of the pump
    #[arg(long, value_name = "V", value_parser = vacuum, requires = "pump_through",
        conflicts_with_all = ["pump_speed", "pump_ultimate"])]
    pump_plugged: Option<Pressure>,
    /// The same through the test orifice
    #[arg(long, value_name = "V", value_parser = vacuum, requires = "pump_plugged")]
    pump_through: Option<Pressure>,
    #[command(flatten)]
    air: AirArguments,
    /// The vacuum that the hose and its fittings are made for
    #[arg(long, value_name = "V", value_parser = vacuum)]
    hose_vacuum: Option<Pressure>,
    /// The pressure that the hose and its fittings are made for, as in 250psi
    #[arg(long, value_name = "P", value_parser = pressure)]
    hose_pressure: Option<Pressure>,
    /// Whether the same hose is used for line pressure
    #[arg(long, value_name = "YES_OR_NO", value_parser = yes_or_no())]
    line_pressure: Option<bool>,
    /// Whether hose and seals are of a kind that oil does not attack
    #[arg(long, value_name = "YES_OR_NO", value_parser = yes_or_no())]
    stands_oil: Option<bool>,
}

impl PartFlags {
    fn has_any(&self) -> bool {
        PartFlags { air: AirArguments::default(), ..self.clone() } != PartFlags::default()
    }

    /// Returns the rig with the parts changed that are given.
    fn applied_to(&self, mut profile: Profile) -> Result<Profile, Failure> {
        let dial = profile.dial;
        let grade =
            self.grade.as_deref().map(grade).transpose().map_err(Failure::wrong)?.unwrap_or(dial.grade());
        let or = |new: Option<Pressure>, old: Pressure| new.unwrap_or(old);
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
        // What flags say is put to what is there; nobody is kept waiting while somebody answers.
        let has_flags = matches!(&self.command, Some(RigCommand::Set(flags)) if flags.has_any());
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
            Some(RigCommand::Set(flags)) => {
                let now = changed(&mut screen, before.clone().unwrap_or_else(usual), &flags)?;
                let _alone = (!has_flags).then(|| alone(&shop)).transpose()?;
                if !has_flags && read(&shop).ok().flatten() != before {
                    return Err(Failure::wrong(
                        "another program has described the rig while you answered; look at it with rig show, then set it \
                         again",
                    ));
                }
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
    let repeats = profile.repeatability.map(|Repeatability { deviation, readings }| {
        format!("a deviation of {} in {readings} readings", deviation.in_unit(unit))
    });
    let kind = tell::orifice_kind(orifice.kind());
    let bore =
        format!("{kind}, {} in, known to {} in", inches(orifice.diameter()), inches(orifice.tolerance()));
    let speed = pump.speed_m3_s.map(|speed| format!("{} cfm", shown(speed.si() / 4.719_474e-4, 2)));
    let ultimate = pump.ultimate_pa.map(|ultimate| format!("{} Pa absolute", shown(ultimate.si(), 1)));
    let vacuum = known(hose.vacuum_rating_pa.map(|vacuum| vacuum.in_unit(unit)));
    let pressure = known(hose.pressure_rating_pa.and_then(psi));
    let facts = [
        ("dial", dial),
        ("gauge check", known(checked(profile, unit))),
        ("repeatability", known(repeats)),
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

/// Reads what two gauges show at one point of a check.
fn check_point(text: &str) -> Result<CheckPoint, String> {
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
        "found by the check, in place of the grade: {} and {} % of the reading, its own at each place up to {}, {} from rising \
         to falling",
        found.offset_pa.in_unit(unit),
        shown(100.0 * found.gain, 1),
        found.shape_pa.in_unit(unit),
        found.hysteresis_pa.in_unit(unit)
    ))
}

fn measured(
    plugged: Pressure,
    through: Pressure,
    orifice: &Orifice,
    barometer: Pressure,
) -> Result<Pump, Failure> {
    let pump = RelativePump::measured(plugged, through, barometer)
        .and_then(|relative| Pump::of(&relative, orifice, barometer, AirTemperature::ASSUMED.temperature()));
    pump.ok_or_else(|| {
        Failure::wrong(format!(
            "{plugged} plugged and {through} through the orifice, at a barometer of {barometer}, are what no pump does; \
             the first is to be the higher one, and no higher than the barometer"
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
    if flags.air.is_given() && flags.pump_plugged.is_none() {
        return Err(Failure::wrong(
            "barometer and elevation are no part of the rig: here they go with --pump-plugged and --pump-through, and each \
             session asks for them itself",
        ));
    }
    if flags.has_any() {
        return flags.applied_to(profile);
    }
    screen.say(HELP);
    asked(profile).map_err(|why| Failure::stopped(why, "nothing was changed"))
}

fn asked(mut now: Profile) -> Result<Profile, Stopped> {
    let mut prompt = Prompt::open(None)?;
    let mut at = 0;
    while let Some(part) = PARTS.get(at) {
        let known = (part.known)(&now).unwrap_or_else(|| "not known".to_owned());
        let question = Plain { words: part.words, enter: Enter::Takes(&known), help: part.help };
        match prompt.ask_plainly(&question, &WORDS, |line| part.answered(&now, line))? {
            Said::Enter => at += 1,
            Said::Answer(changed) => (now, at) = (changed, at + 1),
            Said::Word(Saying::Aside(Aside::Back(steps))) => at = at.saturating_sub(steps),
            Said::Word(_) => {}
        }
    }
    tried(&mut prompt, &mut now)?;
    Ok(now)
}

/// What else may be typed.
const WORDS: [(&str, &str); 2] =
    [("back", "the question before; back 3 goes three back"), ("park", "or Ctrl-C: leave the rig as it is")];

const HELP: &str = "Enter alone keeps what stands in brackets; back asks the question before it again. Nothing is changed \
                    before the last answer: Ctrl-C leaves the rig as it is.";

struct AskedPart {
    words: &'static str,
    help: &'static str,
    /// Writes what is known of it.
    known: fn(&Profile) -> Option<String>,
    /// Reads an answer into the part that it is about.
    read: fn(&str, &mut PartFlags) -> Result<(), String>,
}

impl AskedPart {
    /// Returns the rig with this answer taken in, where it can be read and goes with the others.
    fn answered(&self, now: &Profile, line: &str) -> Result<Profile, String> {
        let mut parts = PartFlags::default();
        (self.read)(line, &mut parts)?;
        parts.applied_to(now.clone()).map_err(|failure| failure.text)
    }
}

const PARTS: [AskedPart; 12] = [
    AskedPart {
        words: "Grade printed on the dial",
        help: "How exact the dial is, as printed on it: A, B, 1A (ASME B40.100) or 1.6, 2.5 (EN 837-1). The worse it is, the more readings stay undecided.",
        known: |rig| Some(rig.dial.grade().label().to_owned()),
        read: |line, parts| put(&mut parts.grade, Ok(line.to_owned())),
    },
    AskedPart {
        words: "End of its scale",
        help: "The deepest vacuum that the dial has a figure for, as in 30 inHg or 100 kPa. The grade is a share of it.",
        known: |rig| Some(rig.dial.span().to_string()),
        read: |line, parts| put(&mut parts.span, vacuum(line)),
    },
    AskedPart {
        words: "Step from mark to mark",
        help: "The vacuum from one mark to the next, as in 0.5 inHg: how finely it can be read.",
        known: |rig| Some(rig.dial.smallest_division().to_string()),
        read: |line, parts| put(&mut parts.division, vacuum(line)),
    },
    AskedPart {
        words: "Bore of the orifice, as measured",
        help: "The hole that the rig is set through: 0.0352 in, 0.9 mm, or a drill by its number, as in #65.",
        known: |rig| Some(rig.orifice.diameter().to_string()),
        read: |line, parts| put(&mut parts.orifice, length(line)),
    },
    AskedPart {
        words: "Known to, either way",
        help: "How far the bore can be off from that, as in 0.0005 in. Measured with pins it is about half the step between them.",
        known: |rig| Some(rig.orifice.tolerance().to_string()),
        read: |line, parts| put(&mut parts.tolerance, length(line)),
    },
    AskedPart {
        words: "Drilled through a plug (as thick as the hole is wide) or a thin plate",
        help: "Type plug where the stock is at least as thick as the hole is wide, plate where it is thin with a sharp edge: air passes them differently.",
        known: |rig| Some(tell::orifice_kind(rig.orifice.kind()).to_owned()),
        read: |line, parts| put(&mut parts.kind, kind(line)),
    },
    AskedPart {
        words: "Speed of the pump, if known",
        help: "The volume that it moves, as in 3 cfm or 85 lpm. Where nothing is known of the pump, rig set --pump-plugged and --pump-through work it out from two readings.",
        known: |rig| rig.pump.speed_m3_s.map(|speed| speed.to_string()),
        read: |line, parts| put(&mut parts.pump_speed, volume_flow(line)),
    },
    AskedPart {
        words: "Least absolute pressure that it reaches, if known",
        help: "As on its plate, as in 100 Pa: an absolute pressure, not a vacuum.",
        known: |rig| rig.pump.ultimate_pa.map(|pressure| pressure.to_string()),
        read: |line, parts| put(&mut parts.pump_ultimate, vacuum(line)),
    },
    AskedPart {
        words: "Vacuum that hose and fittings are made for",
        help: "As printed on the hose, as in 30 inHg. A hose for less may close by itself.",
        known: |rig| rig.hose.vacuum_rating_pa.map(|pressure| pressure.to_string()),
        read: |line, parts| put(&mut parts.hose_vacuum, vacuum(line)),
    },
    AskedPart {
        words: "Pressure that they are made for",
        help: "As printed on the hose, as in 250 psi. It matters where the same hose is used for line pressure.",
        known: |rig| rig.hose.pressure_rating_pa.map(|pressure| pressure.to_string()),
        read: |line, parts| put(&mut parts.hose_pressure, pressure(line)),
    },
    AskedPart {
        words: "Is the same hose used for line pressure",
        help: "Yes or no. A hose for vacuum that bursts under oil pressure burns and blinds.",
        known: |rig| Some(said(rig.hose.carries_line_pressure)),
        read: |line, parts| put(&mut parts.line_pressure, yes_no(line)),
    },
    AskedPart {
        words: "Are hose and seals of a kind that oil does not attack",
        help: "Yes or no. Nitrile and fluorocarbon rubber stand oil; natural rubber swells, and leaks.",
        known: |rig| rig.hose.stands_oil.map(said),
        read: |line, parts| put(&mut parts.stands_oil, yes_no(line)),
    },
];

fn put<T>(place: &mut Option<T>, read: Result<T, String>) -> Result<(), String> {
    *place = Some(read?);
    Ok(())
}

/// Asks what the go and the no-go shank do in the orifice, where there are drills beside its size.
fn tried(prompt: &mut Prompt, now: &mut Profile) -> Result<(), Stopped> {
    let Some(GoNoGo { go, no_go }) = GoNoGo::of(now.orifice.diameter()) else { return Ok(()) };
    let mut passes = |words: String| {
        let question = Plain {
            words: &words,
            enter: Enter::Takes("not tried"),
            help: "Try the plain end of the drill, by hand and without force: yes where it goes in, no where it does not.",
        };
        prompt.ask_plainly(&question, &[], yes_no)
    };
    let go_passes = passes(format!("Does the shank of drill {} go into the orifice", go.name))?;
    let no_go_passes = passes(format!("Does the shank of drill {} go in", no_go.name))?;
    if let (Said::Answer(go_passes), Said::Answer(no_go_passes)) = (go_passes, no_go_passes) {
        now.gauged = Some(Gauged { go_passes, no_go_passes });
    }
    Ok(())
}

fn kind(text: &str) -> Result<OrificeKind, String> {
    match text.to_lowercase().as_str() {
        "plug" => Ok(OrificeKind::Plug),
        "plate" => Ok(OrificeKind::Plate),
        _ => Err("type plug or plate".to_owned()),
    }
}

fn said(yes: bool) -> String {
    if yes { "yes" } else { "no" }.to_owned()
}
