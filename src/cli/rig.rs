use clap::{Args, Subcommand};

use super::arguments::ShopFolder;
use super::job::in_words;
use super::quantities::AirArguments;
use super::rig_commissioned::{found, latest};
use super::rig_dialogue::{HELP, asked};
use super::rig_flags::PartFlags;
use super::status::{Failure, Outcome, Status};
use crate::air::Barometer;
use crate::console::Screen;
use crate::disk::{Alone, LARGEST_SETTINGS, read_text, write_whole};
use crate::quantity::{INCH, Length, Pressure, UNITS, Unit, shown};
use crate::record::{RigParts, Shop, letters};
use crate::rig::coaching::CalibrationGoal;
use crate::rig::{BenchIdentity, Calibration, Demand, Invalidation, Profile, Repeatability};
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
            Some(RigCommand::Set(set)) => set.run(&shop, before, has_flags, &mut screen)?,
        }
        Ok(Status::Done)
    }
}

impl RigSet {
    fn has_flags(&self) -> bool {
        self.commissioned || self.bench.is_some() || self.parts.has_any()
    }

    /// Describes the rig anew; without flags somebody has answered, and another program may have been quicker.
    fn run(
        self,
        shop: &Shop,
        before: Option<Profile>,
        has_flags: bool,
        screen: &mut Screen,
    ) -> Result<(), Failure> {
        let mut now = self.described(shop, before.as_ref(), screen)?;
        let known = now.bench.take();
        let id = match &known {
            Some(bench) => bench.id.clone(),
            None => letters(getrandom::u64().map_err(Failure::wrong)?, 10),
        };
        now.bench = Some(BenchIdentity { name: self.bench.or(known.and_then(|bench| bench.name)), id });
        let _alone = (!has_flags).then(|| alone(shop)).transpose()?;
        if !has_flags && read(shop).ok().flatten() != before {
            return Err(Failure::wrong(
                "another program has described the rig while you answered; look at it with rig show, then set it again",
            ));
        }
        write(shop, &now)?;
        show(screen, &now);
        if let Some(plugged) = self.parts.pump_plugged.filter(|_| now.gauge_check.is_none()) {
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
        if let Some(invalidation) = invalidation.filter(|_| has_been_calibrated(shop)) {
            screen.say(&invalidation.to_string());
        }
        Ok(())
    }

    /// Returns the rig as it is now: with what its commissioning has found, or with the parts changed that were given.
    fn described(
        &self,
        shop: &Shop,
        before: Option<&Profile>,
        screen: &mut Screen,
    ) -> Result<Profile, Failure> {
        let so_far = before.cloned().unwrap_or_else(usual);
        if !self.commissioned {
            let is_named_only = self.bench.is_some() && !self.parts.has_any();
            return if is_named_only { Ok(so_far) } else { changed(screen, so_far, &self.parts) };
        }
        if self.parts != PartFlags::default() {
            return Err(Failure::wrong(
                "--commissioned goes alone: give the other parts to a rig set of their own, before it",
            ));
        }
        let record = latest(shop, before.and_then(|before| before.bench.as_ref()))?;
        let (now, told) = found(&record, so_far)?;
        if told.is_empty() {
            return Err(Failure::wrong(format!(
                "{} has nothing to tell of the rig: its shanks, the pump and six looks at the proof orifice were left out",
                record.session
            )));
        }
        screen.say(&format!("Taken over from {}: {}.", record.session, told.join("; ")));
        Ok(now)
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
