use super::rig::{Parts, YesNo};
use super::status::Failure;
use crate::quantity::Pressure;
use crate::record::ASSUMED_AIR;
use crate::rig::Profile;
use crate::rig::{Dial, Grade, Orifice, OrificeKind};
use crate::rig::{Pump, RelativePump};

/// Returns whether any part is given.
pub(super) fn has_any(flags: &Parts) -> bool {
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

/// Returns the rig with the parts changed that are given.
pub(super) fn applied(mut profile: Profile, flags: &Parts) -> Result<Profile, Failure> {
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
    let known = Grade::all().find(|grade| bare(grade.label()) == bare(text));
    known.ok_or_else(|| {
        let labels: Vec<_> = Grade::all().map(Grade::label).collect();
        format!("\"{text}\" is no grade of a dial; known are {}", labels.join(", "))
    })
}
