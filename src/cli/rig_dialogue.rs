//! The rig described at the prompt, part by part.

use super::quantities::{absolute, elevation, length, pressure, vacuum, volume_flow};
use super::rig_flags::{PartFlags, check_point};
use crate::procedure::Aside;
use crate::quantity::{Length, parse_number};
use crate::rig::{GaugeCheck, GaugeCheckError, Gauged, GoNoGo, OrificeKind, Profile};
use crate::session::{Enter, Plain, Prompt, Said, Saying, Stopped, yes_no};
use crate::tell;

pub(super) fn asked(mut now: Profile) -> Result<Profile, Stopped> {
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
    compared(&mut prompt, &mut now)?;
    tried(&mut prompt, &mut now)?;
    Ok(now)
}

/// What else may be typed.
const WORDS: [(&str, &str); 2] =
    [("back", "the question before; back 3 goes three back"), ("park", "or Ctrl-C: leave the rig as it is")];

pub(super) const HELP: &str = "Enter alone keeps what stands in brackets; back asks the question before it again. Nothing is changed \
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

const PARTS: [AskedPart; 13] = [
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
        words: "Elevation of the shop",
        help: "How high the shop lies above the sea, as in 4300 ft or 1310 m. Without a barometer the program goes by it, and it \
               tells a weather report's figure from the barometer's own.",
        known: |rig| rig.elevation.map(tell::elevation),
        read: |line, parts| put(&mut parts.air.elevation, elevation_with_unit(line)),
    },
    AskedPart {
        words: "Speed of the pump in cfm, or with its unit, if known",
        help: "The volume that it moves, as in 3 cfm or 85 lpm; not the turns of its motor. Where nothing is known of the pump, rig set --pump-plugged and --pump-through work it out from two readings.",
        known: |rig| rig.pump.speed_m3_s.map(|speed| speed.to_string()),
        read: |line, parts| put(&mut parts.pump_speed, volume_flow(line)),
    },
    AskedPart {
        words: "Least absolute pressure that it reaches, with its unit, if known",
        help: "As on its plate, as in 100 Pa: an absolute pressure, not a vacuum.",
        known: |rig| rig.pump.ultimate_pa.map(|pressure| pressure.to_string()),
        read: |line, parts| put(&mut parts.pump_ultimate, absolute(line)),
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

/// Asks how the gauge compares with a better one, place by place up and down, where there is one to hand.
fn compared(prompt: &mut Prompt, now: &mut Profile) -> Result<(), Stopped> {
    let known = if now.gauge_check.is_some() { "as it was found" } else { "no better gauge" };
    let limit = Plain {
        words: "A better gauge on the same hose, to check this one by: how far may it be off",
        enter: Enter::Takes(known),
        help: "What the better gauge promises, as in 0.05 inHg. Put both on the hose with a tee. Enter alone leaves the check out: then \
               the gauge is taken to be as its grade says, which keeps more readings undecided.",
    };
    let Said::Answer(reference_limit) = prompt.ask_plainly(&limit, &[], vacuum)? else { return Ok(()) };
    prompt.screen.say(
        "Go up the scale in five steps or more, from a quarter of it or less to three quarters or more, then down again, and tap both \
         gauges each time. For each place type what the better one showed, then this one going up, then going down: 5 5.1 5.2",
    );
    let mut points = Vec::new();
    loop {
        let words = format!("Place {}: better gauge, this one rising, falling", points.len() + 1);
        let enter = if points.is_empty() {
            Enter::Takes("leave the check out")
        } else {
            Enter::Takes("that was all")
        };
        let question =
            Plain { words: &words, enter, help: "Three figures with blanks between, as in 5 5.1 5.2." };
        match prompt.ask_plainly(&question, &[], check_point)? {
            Said::Answer(point) => points.push(point),
            _ if points.is_empty() => return Ok(()),
            _ => {
                let check = GaugeCheck { reference_limit, points: points.clone() };
                match check.of(now.dial) {
                    Ok(_) => {
                        now.gauge_check = Some(check);
                        return Ok(());
                    }
                    Err(GaugeCheckError::TooFew { .. }) => {
                        prompt.screen.say("Five places at least: go on, or Ctrl-C.");
                    }
                    Err(why) => {
                        prompt.screen.say(&format!("Not kept: {why}."));
                        return Ok(());
                    }
                }
            }
        }
    }
}

/// Asks what the go and the no-go shank do in the orifice, where there are drills beside its size.
fn tried(prompt: &mut Prompt, now: &mut Profile) -> Result<(), Stopped> {
    let Some(GoNoGo { go, no_go }) = GoNoGo::of(now.orifice.diameter()) else { return Ok(()) };
    let known = if now.gauged.is_some() { "as tried before" } else { "not tried" };
    let mut passes = |words: String| {
        let question = Plain {
            words: &words,
            enter: Enter::Takes(known),
            help: "Try the plain end of the drill, by hand and without force: yes where it goes in, no where it does not.",
        };
        prompt.ask_plainly(&question, &[], yes_no)
    };
    let go_passes = passes(format!("Does the shank of drill {} go into the orifice", go.name))?;
    let no_go_passes = passes(format!("Does the shank of drill {} go in", no_go.name))?;
    let tried_alone = match (go_passes, no_go_passes) {
        (Said::Answer(go_passes), Said::Answer(no_go_passes)) => {
            now.gauged = Some(Gauged { go_passes, no_go_passes });
            None
        }
        (Said::Answer(_), _) => Some((go.name, no_go.name)),
        (_, Said::Answer(_)) => Some((no_go.name, go.name)),
        _ => None,
    };
    if let Some((tried, untried)) = tried_alone {
        prompt.screen.say(&format!(
            "Drill {tried} alone does not tell the size of the orifice, so its answer is not kept: try drill {untried} as well."
        ));
    }
    Ok(())
}

/// Feet and metres are both usual, and a shop at the wrong height judges wrongly.
fn elevation_with_unit(text: &str) -> Result<Length, String> {
    match parse_number(text.trim()) {
        Ok(_) => Err(format!("\"{text}\" lacks its unit: write it as in 4300 ft or 1310 m")),
        Err(_) => elevation(text),
    }
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
