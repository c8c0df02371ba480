use std::fmt;

use crate::quantity::{parse_number, shown};
use crate::rig::Valve;

/// Something that a student does at the simulated bench, beside answering.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Doing {
    /// Turns a valve by so many turns; opening counts up.
    Turn(Valve, f64),
    /// Puts the hose's end on the plug.
    Plug,
    /// Puts the hose's end on the test orifice.
    Orifice,
    /// Takes the hose off whatever it is on.
    Off,
    /// Takes the other orifice out of the drawer.
    Swap,
    /// Seats the plate or tip over the port that the procedure names, with the hose on it.
    Seat,
    /// Wipes both faces, for the next seat.
    Wipe,
    /// Presses a rubber pad over the neighbour's port.
    Block,
    /// Takes it off.
    Unblock,
    /// Lets so many seconds pass.
    Wait(f64),
    /// Takes the hose off and looks closely at what it was on.
    Inspect,
}

/// What a student may type beside an answer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Act {
    Doing(Doing),
    /// Looks at the dial.
    Look,
    /// Looks at barometer and thermometer on the wall.
    Room,
}

/// The words of the bench, and what they do.
pub(crate) const DOINGS: &[(&str, &str)] = &[
    ("inlet open 1/4", "turn the inlet valve open by a quarter: deeper; or close"),
    ("bleed close all", "shut the bleed valve wholly: deeper; or open 1/8"),
    ("plug", "put the hose on the plug, or cap the rig"),
    ("orifice", "put the hose on the test orifice"),
    ("swap", "take the other orifice out of the drawer"),
    ("seat", "seat plate or tip over the port, hose on it"),
    ("wipe", "wipe both faces before you seat"),
    ("block", "press a pad over the neighbour's port"),
    ("unblock", "take it off"),
    ("wait 10", "let ten seconds pass"),
    ("off", "take the hose off"),
    ("inspect", "hose off; look, feel, measure what is asked for"),
    ("look", "look at the dial"),
    ("room", "look at barometer and thermometer"),
];

/// The most turns at once, and the longest wait in s.
const MOST_TURNS: f64 = 20.0;
const LONGEST_WAIT: f64 = 600.0;

impl Act {
    /// Reads a line as something done at the bench; none where it is an answer, an error where it is not said how.
    pub(crate) fn read(line: &str) -> Option<Result<Act, String>> {
        let line = line.trim().to_lowercase();
        let (first, rest) = line.split_once(char::is_whitespace).unwrap_or((&line, ""));
        let plain = match first {
            "plug" => Doing::Plug,
            "orifice" => Doing::Orifice,
            "off" => Doing::Off,
            "swap" => Doing::Swap,
            "seat" => Doing::Seat,
            "wipe" => Doing::Wipe,
            "block" => Doing::Block,
            "unblock" => Doing::Unblock,
            "inspect" => Doing::Inspect,
            "look" | "room" => {
                let act = if first == "look" { Act::Look } else { Act::Room };
                return rest.is_empty().then_some(Ok(act));
            }
            "wait" => return Some(seconds(rest).map(|seconds| Act::Doing(Doing::Wait(seconds)))),
            _ => return turn(&line).map(|turn| turn.map(Act::Doing)),
        };
        rest.is_empty().then_some(Ok(Act::Doing(plain)))
    }
}

fn seconds(text: &str) -> Result<f64, String> {
    let number = text.trim_end_matches(|c: char| c.is_alphabetic() || c.is_whitespace());
    let seconds = if text.is_empty() { Ok(10.0) } else { parse_number(number) };
    let seconds = seconds.ok().filter(|seconds| (1.0..=LONGEST_WAIT).contains(seconds));
    seconds.ok_or_else(|| format!("Say how many seconds, 1 to {LONGEST_WAIT}: wait 10"))
}

/// Reads a turn of a valve, its words in any order; none where no valve is named or nothing is said of turning it.
fn turn(line: &str) -> Option<Result<Doing, String>> {
    let mut valve = None;
    let mut sign = None;
    let mut is_whole = false;
    let mut amount: Vec<&str> = Vec::new();
    for word in line.split_whitespace() {
        match word {
            "inlet" => valve = Some(Valve::Inlet),
            "bleed" => valve = Some(Valve::Bleed),
            "open" => sign = Some(1.0),
            "close" | "shut" => sign = Some(-1.0),
            "all" | "fully" => is_whole = true,
            "turn" | "turns" | "by" | "a" | "of" | "valve" | "the" | "way" | "more" => {}
            "half" => amount.push("1/2"),
            "quarter" => amount.push("1/4"),
            other => amount.push(other),
        }
    }
    let valve = valve?;
    let name = line.split_whitespace().find(|word| ["inlet", "bleed"].contains(word)).unwrap_or_default();
    let how = || {
        format!(
            "Say which way and how far, in turns: {name} open 1/4, {name} close 1 1/2. As far as it goes: {name} close all."
        )
    };
    let Some(sign) = sign else { return Some(Err(how())) };
    if is_whole && amount.is_empty() {
        return Some(Ok(Doing::Turn(valve, sign * MOST_TURNS)));
    }
    let turns = parse_number(&amount.join(" ")).ok().filter(|turns| *turns > 0.0 && *turns <= MOST_TURNS);
    Some(turns.map(|turns| Doing::Turn(valve, sign * turns)).ok_or_else(how))
}

/// The parts of a turn that a knob is read and turned to by.
const PARTS: f64 = 16.0;

/// Shows turns as one says them: in parts of a turn where they are such, as in 1 3/16.
fn turned(turns: f64) -> String {
    let parts = turns * PARTS;
    if parts.fract() != 0.0 {
        return shown(turns, 4);
    }
    let (whole, mut over, mut of) = ((parts / PARTS).trunc(), parts % PARTS, PARTS);
    while over > 0.0 && over % 2.0 == 0.0 {
        (over, of) = (over / 2.0, of / 2.0);
    }
    match (whole, over) {
        (whole, 0.0) => format!("{whole}"),
        (0.0, over) => format!("{over}/{of}"),
        (whole, over) => format!("{whole} {over}/{of}"),
    }
}

/// Says how a valve stands that is open by so many turns, as near as its knob is read.
pub(crate) fn stands(turns: f64) -> String {
    let near = (turns * PARTS).round() / PARTS;
    match near {
        _ if turns == 0.0 => "shut".to_owned(),
        0.0 => "hardly open".to_owned(),
        near => format!("open about {} {}", turned(near), if near > 1.0 { "turns" } else { "turn" }),
    }
}

impl fmt::Display for Doing {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Doing::Turn(valve, turns) => {
                let name = if *valve == Valve::Inlet { "inlet" } else { "bleed" };
                let way = if *turns > 0.0 { "open" } else { "close" };
                write!(f, "{name} {way} {}", turned(turns.abs()))
            }
            Doing::Wait(seconds) => write!(f, "wait {}", shown(*seconds, 1)),
            Doing::Plug => f.write_str("plug"),
            Doing::Orifice => f.write_str("orifice"),
            Doing::Off => f.write_str("off"),
            Doing::Swap => f.write_str("swap"),
            Doing::Seat => f.write_str("seat"),
            Doing::Wipe => f.write_str("wipe"),
            Doing::Block => f.write_str("block"),
            Doing::Unblock => f.write_str("unblock"),
            Doing::Inspect => f.write_str("inspect"),
        }
    }
}
