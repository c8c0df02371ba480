use super::quantities::{length, pressure, vacuum, volume_flow};
use super::rig::PartFlags;
use super::status::Failure;
use crate::console::Screen;
use crate::procedure::Aside;
use crate::rig::{Gauged, GoNoGo, OrificeKind, Profile};
use crate::session::{Enter, Plain, Prompt, Said, Saying, Stopped, yes_no};
use crate::tell::orifice_kind;

/// Returns the rig with the parts changed that the flags name; without any flag, asks for each part.
pub(super) fn changed(screen: &mut Screen, profile: Profile, flags: &PartFlags) -> Result<Profile, Failure> {
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
        let question = Plain { words: part.words, enter: Enter::Takes(&known), help: HELP };
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
        parts.applied_to(now.clone()).map_err(|failure| failure.reason().to_owned())
    }
}

const PARTS: [AskedPart; 12] = [
    AskedPart {
        words: "Grade printed on the dial",
        known: |rig| Some(rig.dial.grade().label().to_owned()),
        read: |line, parts| put(&mut parts.grade, Ok(line.to_owned())),
    },
    AskedPart {
        words: "End of its scale",
        known: |rig| Some(rig.dial.span().to_string()),
        read: |line, parts| put(&mut parts.span, vacuum(line)),
    },
    AskedPart {
        words: "Step from mark to mark",
        known: |rig| Some(rig.dial.smallest_division().to_string()),
        read: |line, parts| put(&mut parts.division, vacuum(line)),
    },
    AskedPart {
        words: "Bore of the orifice, as measured",
        known: |rig| Some(rig.orifice.diameter().to_string()),
        read: |line, parts| put(&mut parts.orifice, length(line)),
    },
    AskedPart {
        words: "Known to, either way",
        known: |rig| Some(rig.orifice.tolerance().to_string()),
        read: |line, parts| put(&mut parts.tolerance, length(line)),
    },
    AskedPart {
        words: "Drilled through a plug (as thick as the hole is wide) or a thin plate",
        known: |rig| Some(orifice_kind(rig.orifice.kind()).to_owned()),
        read: |line, parts| put(&mut parts.kind, kind(line)),
    },
    AskedPart {
        words: "Speed of the pump, if known",
        known: |rig| rig.pump.speed_m3_s.map(|speed| speed.to_string()),
        read: |line, parts| put(&mut parts.pump_speed, volume_flow(line)),
    },
    AskedPart {
        words: "Least absolute pressure that it reaches, if known",
        known: |rig| rig.pump.ultimate_pa.map(|pressure| pressure.to_string()),
        read: |line, parts| put(&mut parts.pump_ultimate, vacuum(line)),
    },
    AskedPart {
        words: "Vacuum that hose and fittings are made for",
        known: |rig| rig.hose.vacuum_rating_pa.map(|pressure| pressure.to_string()),
        read: |line, parts| put(&mut parts.hose_vacuum, vacuum(line)),
    },
    AskedPart {
        words: "Pressure that they are made for",
        known: |rig| rig.hose.pressure_rating_pa.map(|pressure| pressure.to_string()),
        read: |line, parts| put(&mut parts.hose_pressure, pressure(line)),
    },
    AskedPart {
        words: "Is the same hose used for line pressure",
        known: |rig| Some(said(rig.hose.carries_line_pressure)),
        read: |line, parts| put(&mut parts.line_pressure, yes_no(line)),
    },
    AskedPart {
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
