use super::asker::{self, Asker, Stopped};
use super::quantities::{length, pressure, vacuum, volume_flow};
use super::rig::{Kind, Parts, YesNo};
use super::rig_parts::{applied, has_any};
use super::status::Failure;
use crate::console::Screen;
use crate::rig::OrificeKind;
use crate::rig::{Gauged, GoNoGo, Profile};

/// Returns the rig with the parts changed that the flags name; without any flag, asks for each part.
pub(super) fn changed(screen: &mut Screen, profile: Profile, flags: &Parts) -> Result<Profile, Failure> {
    if flags.air.is_given() && flags.pump_plugged.is_none() {
        return Err(Failure::wrong(
            "barometer and elevation are no part of the rig: here they go with --pump-plugged and --pump-through, and each \
             session asks for them itself",
        ));
    }
    if has_any(flags) {
        return applied(profile, flags);
    }
    screen.paragraph(0, HELP);
    let mut asker = Asker::open(screen)?;
    let mut now = profile;
    let mut at = 0;
    while let Some(question) = QUESTIONS.get(at) {
        let known = (question.known)(&now).unwrap_or_else(|| "not known".to_owned());
        let line = asker.line(&format!("{} [{known}]: ", question.words))?;
        match line.to_lowercase().as_str() {
            "" => at += 1,
            "back" => at = at.saturating_sub(1),
            "help" | "?" => asker.screen.paragraph(2, HELP),
            _ => match question.answered(&now, &line) {
                Ok(changed) => {
                    now = changed;
                    at += 1;
                }
                Err(why) => asker.screen.paragraph(2, &why),
            },
        }
    }
    tried(&mut asker, &mut now)?;
    Ok(now)
}

const HELP: &str = "Enter alone keeps what stands in brackets; back asks the question before it again. Nothing is changed \
                    before the last answer: Ctrl-C leaves the rig as it is.";

/// A question about one part.
struct Question {
    words: &'static str,
    /// Writes what is known of it.
    known: fn(&Profile) -> Option<String>,
    /// Reads an answer into the part that it is about.
    read: fn(&str, &mut Parts) -> Result<(), String>,
}

impl Question {
    /// Returns the rig with this answer taken in, where it can be read and goes with the others.
    fn answered(&self, now: &Profile, line: &str) -> Result<Profile, String> {
        let mut parts = Parts::default();
        (self.read)(line, &mut parts)?;
        applied(now.clone(), &parts).map_err(|failure| failure.reason().to_owned())
    }
}

const QUESTIONS: [Question; 12] = [
    Question {
        words: "Grade printed on the dial",
        known: |rig| Some(rig.dial.grade().label().to_owned()),
        read: |line, parts| put(&mut parts.grade, Ok(line.to_owned())),
    },
    Question {
        words: "End of its scale",
        known: |rig| Some(rig.dial.span().to_string()),
        read: |line, parts| put(&mut parts.span, vacuum(line)),
    },
    Question {
        words: "Step from mark to mark",
        known: |rig| Some(rig.dial.smallest_division().to_string()),
        read: |line, parts| put(&mut parts.division, vacuum(line)),
    },
    Question {
        words: "Bore of the orifice, as measured",
        known: |rig| Some(rig.orifice.diameter().to_string()),
        read: |line, parts| put(&mut parts.orifice, length(line)),
    },
    Question {
        words: "Known to, either way",
        known: |rig| Some(rig.orifice.tolerance().to_string()),
        read: |line, parts| put(&mut parts.tolerance, length(line)),
    },
    Question {
        words: "Drilled through a plug (as thick as the hole is wide) or a thin plate",
        known: |rig| Some(kind_name(rig).to_owned()),
        read: |line, parts| put(&mut parts.kind, kind(line)),
    },
    Question {
        words: "Speed of the pump, if known",
        known: |rig| rig.pump.speed_m3_s.map(|speed| speed.to_string()),
        read: |line, parts| put(&mut parts.pump_speed, volume_flow(line)),
    },
    Question {
        words: "Least absolute pressure that it reaches, if known",
        known: |rig| rig.pump.ultimate_pa.map(|pressure| pressure.to_string()),
        read: |line, parts| put(&mut parts.pump_ultimate, vacuum(line)),
    },
    Question {
        words: "Vacuum that hose and fittings are made for",
        known: |rig| rig.hose.vacuum_rating_pa.map(|pressure| pressure.to_string()),
        read: |line, parts| put(&mut parts.hose_vacuum, vacuum(line)),
    },
    Question {
        words: "Pressure that they are made for",
        known: |rig| rig.hose.pressure_rating_pa.map(|pressure| pressure.to_string()),
        read: |line, parts| put(&mut parts.hose_pressure, pressure(line)),
    },
    Question {
        words: "Is the same hose used for line pressure",
        known: |rig| Some(said(rig.hose.carries_line_pressure)),
        read: |line, parts| put(&mut parts.line_pressure, yes_no(line)),
    },
    Question {
        words: "Are hose and seals of a kind that oil does not attack",
        known: |rig| rig.hose.stands_oil.map(said),
        read: |line, parts| put(&mut parts.stands_oil, yes_no(line)),
    },
];

fn put<T>(place: &mut Option<T>, read: Result<T, String>) -> Result<(), String> {
    *place = Some(read?);
    Ok(())
}

/// Asks what the go and the no-go shank do in the orifice, where there are drills beside its size.
fn tried(asker: &mut Asker<'_>, now: &mut Profile) -> Result<(), Failure> {
    let Some(GoNoGo { go, no_go }) = GoNoGo::of(now.orifice.diameter()) else { return Ok(()) };
    let words = format!("Does the shank of drill {} go into the orifice", go.name);
    let go_passes = asker.ask(&words, "not tried", asker::yes_no)?;
    let words = format!("Does the shank of drill {} go in", no_go.name);
    let no_go_passes = asker.ask(&words, "not tried", asker::yes_no)?;
    if let (Some(go_passes), Some(no_go_passes)) = (go_passes, no_go_passes) {
        now.gauged = Some(Gauged { go_passes, no_go_passes });
    }
    Ok(())
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

fn said(yes: bool) -> String {
    if yes { "yes" } else { "no" }.to_owned()
}

impl From<Stopped> for Failure {
    fn from(stopped: Stopped) -> Failure {
        match stopped {
            Stopped::Left | Stopped::Ended => Failure::paused("nothing was changed"),
            Stopped::Failed(why) => Failure::wrong(why),
        }
    }
}
