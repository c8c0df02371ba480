use std::collections::BTreeMap;

use serde::Serialize;

use crate::picture::{Ground, NamedPlace, Tag, TagEnd, tags};
use crate::record::Pixel;

/// All that the page shows of a session at one time: plain data, sent whole at each change.
///
/// Numbers on a dial are in its unit. Texts are as on the screen, not yet broken into lines.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub(crate) struct Sight {
    /// The number that a line has to name to be taken: of what is asked now, counted over all that this run of the
    /// program asks. Whoever is asked again, as after a refusal, is asked under a new number. 0 where nothing is asked.
    pub question: u64,
    pub heading: Heading,
    pub circuit: Option<CircuitSight>,
    pub progress: ProgressSight,
    pub ask: Option<Ask>,
    /// What was said of late, the newest last.
    pub said: Vec<SaidSight>,
    pub dial: Option<DialSight>,
    pub valves: Option<ValvesSight>,
    /// What helps with what is asked, the nearest to it first.
    pub pictures: Vec<PictureSight>,
    /// Whether photos are taken: there is a real unit.
    pub takes_photos: bool,
    pub state: State,
}

#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub(crate) struct Heading {
    /// Title and version of the procedure.
    pub procedure: String,
    pub unit: Option<String>,
    pub session: String,
    pub technician: Option<String>,
    /// The command that goes on with the session, whole, as it is typed in a shell.
    pub resume: String,
}

/// The circuit under test.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub(crate) struct CircuitSight {
    pub name: String,
    pub port: Option<String>,
    /// Which readings are good and which are not.
    pub limits: String,
    /// What a leak of it means.
    pub means: Option<String>,
    /// Complaints that it can cause.
    pub symptoms: Vec<String>,
}

#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub(crate) struct ProgressSight {
    /// What is done now: the procedure's section, or what the runner does by itself.
    pub section: Option<String>,
    /// Circuits whose test has ended, of how many; 0 of 0 before the first.
    pub tested: usize,
    pub of: usize,
    /// The circuit that comes next, where that is known.
    pub next: Option<String>,
}

/// A question as it is put to whoever answers.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub(crate) struct Ask {
    pub kind: AskKind,
    /// What is asked or to be done.
    pub words: String,
    /// What stands below that, a paragraph each.
    pub below: Vec<String>,
    /// What is wanted, in a few words: those of the prompt.
    pub wanted: String,
    /// What is wanted, in full.
    pub help: String,
    /// What can be chosen, by number from 1 or by how it begins.
    pub choices: Vec<Offered>,
    /// Units that a number can be typed in; a bare number is in the first.
    pub units: Vec<String>,
    /// What an empty line takes; none where it is refused.
    pub enter: Option<String>,
    /// Whether `stop` may stand behind the number, where the valve came to its stop.
    pub may_stop: bool,
    /// How long to wait, in s, where that is asked.
    pub seconds: Option<f64>,
    /// Why the last line was not taken.
    pub refusal: Option<String>,
    /// What is asked back of the last line, which counts where it is typed once more.
    pub doubt: Option<String>,
}

#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub(crate) enum AskKind {
    /// That a caution has been read: takes `ok`, and nothing else.
    Caution,
    /// That something has been done: takes an empty line.
    #[default]
    Ready,
    /// That time has passed: takes an empty line.
    Wait,
    YesNo,
    Choice,
    Text,
    /// Who tests.
    Name,
    /// A measured value, or how many there are where there are no units.
    Number,
    /// A reading of the vacuum gauge.
    Reading,
    Barometer,
    Temperature,
}

/// Something that can be chosen.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub(crate) struct Offered {
    pub text: String,
    /// What it costs, where that is known.
    pub cost: Option<String>,
}

/// Something that was said.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub(crate) struct SaidSight {
    pub kind: SaidKind,
    /// The circuit that was under test then.
    pub circuit: Option<String>,
    /// What stands left of it on the screen, as `found` or `rig`; often nothing.
    pub mark: String,
    pub text: String,
}

#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub(crate) enum SaidKind {
    /// The title of what follows.
    Title,
    #[default]
    Told,
    /// A question, with what stands below it.
    Asked,
    Caution,
    /// What a reading means, what is concluded, what the rig is like.
    Verdict,
    /// What all that was said at the end comes to, as the grade of an attempt.
    Result,
    /// A line that was typed at the terminal, or stands in a file of answers.
    AtTerminal,
    /// A line that was typed on the page.
    OnPage,
    Refusal,
    /// What was asked back of a line before it counts.
    Doubt,
}

/// The dial of the gauge while a reading is asked for.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub(crate) struct DialSight {
    /// The symbol of the unit.
    pub unit: String,
    pub full_scale: f64,
    pub division: f64,
    /// What one look comes to, from the shallow end to the deep one; none where nothing is judged.
    pub zones: Vec<Zone>,
    /// The limits that it is judged by, from the shallow end.
    pub limits: Vec<f64>,
    /// The reading that a valve is to be turned to.
    pub target: Option<f64>,
    /// What was read last of the circuit.
    pub last: Option<LastSight>,
    /// Where the needle is, where a gauge sends or a bench is simulated.
    pub needle: Option<f64>,
    /// Whether it still moves, where that is known.
    pub is_moving: bool,
}

/// A part of a dial.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub(crate) struct Zone {
    pub from: f64,
    pub to: f64,
    /// What a look there is sure to come to, as in `holds`, `worn`, `leaks`, `right`, `too open`, `too tight`; none
    /// where it may leave that open.
    pub verdict: Option<String>,
}

/// A take that was read before.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub(crate) struct LastSight {
    pub at: f64,
    /// Which reading of the circuit it was of, where that is named.
    pub label: Option<String>,
}

/// The valves of the simulated bench.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub(crate) struct ValvesSight {
    pub valves: Vec<ValveSight>,
    /// What else can be done at the bench: a word to type, and what it does.
    pub doings: Vec<(String, String)>,
}

#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub(crate) struct ValveSight {
    /// The word for it in a line: `inlet open 1/4`.
    pub name: String,
    /// By how many turns it is open.
    pub turns: f64,
    /// How it stands, as its knob is read.
    pub stands: String,
}

/// A picture of the unit.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub(crate) struct PictureSight {
    /// The name under which the board has it.
    pub name: String,
    /// What it shows, for whoever does not see it.
    pub shows: String,
    /// In pixels, as all that follows.
    pub width: f64,
    pub height: f64,
    /// The radius of a ring around a port, and how large the letters of its name are.
    pub ring: f64,
    pub letter: f64,
    /// The port that is meant, and where a place is asked for all others whose places are known.
    pub ports: Vec<PortSight>,
    /// Whether a click on it answers what is asked, with the place in pixels, as `412 230`.
    pub takes_place: bool,
}

impl PictureSight {
    /// Shows a picture with a port of those that lie on it, or with all of them where one's place is asked for.
    pub(crate) fn of(
        name: &str,
        ground: &Ground,
        ports: &BTreeMap<String, Pixel>,
        meant: Option<&str>,
        takes_place: bool,
    ) -> PictureSight {
        let ((width, height), ring) = (ground.size(), ground.ring());
        let letter = ring * 2.8;
        let shown = ports.iter().filter(|(port, _)| takes_place || Some(port.as_str()) == meant);
        let named = shown.map(|(port, Pixel { x, y })| {
            // A ring has a rim; a port that is not meant has a dot.
            let reach = ring * if Some(port.as_str()) == meant { 1.4 } else { 0.6 };
            NamedPlace { at: (f64::from(*x), f64::from(*y)), reach, name: port.clone() }
        });
        let named: Vec<NamedPlace> = named.collect();
        let tags = tags(&named, letter, ground);
        let port = |(named, tag): (NamedPlace, Tag)| PortSight {
            is_ringed: Some(named.name.as_str()) == meant,
            name: named.name,
            at: named.at,
            tag: TagSight {
                anchor: match tag.end {
                    TagEnd::Left => "start",
                    TagEnd::Middle => "middle",
                    TagEnd::Right => "end",
                },
                at: tag.at,
                area: [tag.area.left, tag.area.top, tag.area.right, tag.area.bottom],
            },
        };
        PictureSight {
            name: name.to_owned(),
            shows: format!("picture {name}"),
            width,
            height,
            ring,
            letter,
            ports: named.into_iter().zip(tags).map(port).collect(),
            takes_place,
        }
    }
}

/// A port on a picture; places are in pixels from the left and from the top.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub(crate) struct PortSight {
    pub name: String,
    pub at: (f64, f64),
    /// Whether the hose goes there now.
    pub is_ringed: bool,
    pub tag: TagSight,
}

/// Where a port's name stands: what of it lies at its place, as SVG calls it, and on which line.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub(crate) struct TagSight {
    pub anchor: &'static str,
    pub at: (f64, f64),
    /// What it covers: its left, upper, right and lower edge.
    pub area: [f64; 4],
}

#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub(crate) enum State {
    #[default]
    Going,
    /// It can be gone on with; what was said last says how.
    Parked,
    /// It has come to its end; what was said last says what came out.
    Ended,
    /// It could not go on; what was said last says why.
    Stopped,
}
