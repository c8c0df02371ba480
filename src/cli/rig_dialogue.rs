use super::air::AirArguments;
use super::asker::{self, Asker, Stopped};
use super::quantities::{length, pressure, vacuum, volume_flow};
use super::rig::{Kind, Parts, YesNo};
use super::status::Failure;
use crate::console::Screen;
use crate::quantity::Pressure;
use crate::record::ASSUMED_AIR;
use crate::rig::profile::{Gauged, GoNoGo, Profile};
use crate::rig::pump::{Pump, RelativePump};
use crate::rig::{Dial, Grade, Orifice, OrificeKind};

/// Returns the rig with the parts changed that the flags name; without any flag, asks for each part.
pub(super) fn changed(screen: &mut Screen, profile: Profile, flags: &Parts) -> Result<Profile, Failure> {
    if has_any(flags) {
        return applied(profile, flags);
    }
    screen.paragraph(0, "Enter alone keeps what stands in brackets.");
    let mut asker = Asker::open(screen)?;
    let dial = profile.dial;
    let mut now = profile.clone();
    let answers = Parts {
        grade: asker.ask("Grade printed on the dial", dial.grade().label(), |text| {
            grade(text).map(|_| text.to_owned())
        })?,
        span: asker.ask("End of its scale", &dial.span().to_string(), vacuum)?,
        division: asker.ask("Step from mark to mark", &dial.smallest_division().to_string(), vacuum)?,
        orifice: asker.ask(
            "Bore of the orifice, as measured",
            &profile.orifice.diameter().to_string(),
            length,
        )?,
        tolerance: asker.ask("Known to, either way", &profile.orifice.tolerance().to_string(), length)?,
        kind: asker.ask(
            "Drilled through a plug (as thick as the hole is wide) or a thin plate",
            kind_name(&profile),
            kind,
        )?,
        pump_speed: asker.ask("Speed of the pump, if known", "not known", volume_flow)?,
        pump_ultimate: asker.ask("Least absolute pressure that it reaches, if known", "not known", vacuum)?,
        pump_plugged: None,
        pump_through: None,
        air: AirArguments::default(),
        hose_vacuum: asker.ask("Vacuum that hose and fittings are made for", "not known", vacuum)?,
        hose_pressure: asker.ask("Pressure that they are made for", "not known", pressure)?,
        line_pressure: asker.ask("Is the same hose used for line pressure", "no", yes_no)?,
        stands_oil: asker.ask(
            "Are hose and seals of a kind that oil does not attack",
            "not asked",
            yes_no,
        )?,
    };
    now = applied(now, &answers)?;
    if let Some(GoNoGo { go, no_go }) = GoNoGo::of(now.orifice.diameter()) {
        let go_passes = asker.ask(
            &format!("Does the shank of drill {} go into the orifice", go.name),
            "not tried",
            yes_no,
        )?;
        let no_go_passes =
            asker.ask(&format!("Does the shank of drill {} go in", no_go.name), "not tried", yes_no)?;
        if let (Some(go), Some(no_go)) = (go_passes, no_go_passes) {
            now.gauged = Some(Gauged { go_passes: go == YesNo::Yes, no_go_passes: no_go == YesNo::Yes });
        }
    }
    Ok(now)
}

fn has_any(flags: &Parts) -> bool {
    flags.grade.is_some()
        || flags
            .span
            .or(flags.division)
            .or(flags.pump_ultimate)
            .or(flags.hose_vacuum)
            .or(flags.hose_pressure)
            .is_some()
        || flags.orifice.or(flags.tolerance).is_some()
        || flags.kind.is_some()
        || flags.pump_speed.is_some()
        || flags.pump_plugged.is_some()
        || flags.line_pressure.or(flags.stands_oil).is_some()
}

fn applied(mut profile: Profile, flags: &Parts) -> Result<Profile, Failure> {
    let dial = profile.dial;
    let grade =
        flags.grade.as_deref().map(grade).transpose().map_err(Failure::wrong)?.unwrap_or(dial.grade());
    let or = |new: Option<Pressure>, old: Pressure| new.unwrap_or(old);
    profile.dial =
        Dial::new(grade, or(flags.span, dial.span()), or(flags.division, dial.smallest_division()))
            .map_err(Failure::wrong)?;
    let orifice = profile.orifice;
    let bore = flags.orifice.unwrap_or(orifice.diameter());
    let kind = flags.kind.map_or(orifice.kind(), OrificeKind::from);
    if bore != orifice.diameter() {
        // What the shanks did was in another hole.
        profile.gauged = None;
    }
    profile.orifice = Orifice::with_tolerance(bore, kind, flags.tolerance.unwrap_or(orifice.tolerance()))
        .map_err(Failure::wrong)?;
    profile.pump.speed_m3_s = flags.pump_speed.or(profile.pump.speed_m3_s);
    profile.pump.ultimate_pa = flags.pump_ultimate.or(profile.pump.ultimate_pa);
    if let (Some(plugged), Some(through)) = (flags.pump_plugged, flags.pump_through) {
        let pump = measured(plugged, through, &profile.orifice, flags.air.barometer()?.station())?;
        profile.pump.speed_m3_s = Some(pump.speed);
        profile.pump.ultimate_pa = Some(pump.ultimate);
    }
    profile.hose.vacuum_rating_pa = flags.hose_vacuum.or(profile.hose.vacuum_rating_pa);
    profile.hose.pressure_rating_pa = flags.hose_pressure.or(profile.hose.pressure_rating_pa);
    if let Some(line) = flags.line_pressure {
        profile.hose.carries_line_pressure = line == YesNo::Yes;
    }
    profile.hose.stands_oil = flags.stands_oil.map(|stands| stands == YesNo::Yes).or(profile.hose.stands_oil);
    Ok(profile)
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
    let known = Grade::ALL.into_iter().find(|grade| bare(grade.label()) == bare(text));
    known.ok_or_else(|| {
        let labels: Vec<_> = Grade::ALL.into_iter().map(Grade::label).collect();
        format!("\"{text}\" is no grade of a dial; known are {}", labels.join(", "))
    })
}

fn kind(text: &str) -> Result<Kind, String> {
    match text.to_lowercase().as_str() {
        "plug" => Ok(Kind::Plug),
        "plate" => Ok(Kind::Plate),
        _ => Err("type plug or plate".to_owned()),
    }
}

fn kind_name(profile: &Profile) -> &'static str {
    match profile.orifice.kind() {
        OrificeKind::Plug => "plug",
        OrificeKind::Plate => "plate",
    }
}

fn yes_no(text: &str) -> Result<YesNo, String> {
    asker::yes_no(text).map(|is_yes| if is_yes { YesNo::Yes } else { YesNo::No })
}

impl From<Stopped> for Failure {
    fn from(stopped: Stopped) -> Failure {
        match stopped {
            Stopped::Left | Stopped::Ended => Failure::paused("nothing was changed"),
            Stopped::Failed(why) => Failure::wrong(why),
        }
    }
}
