use super::Original;
use super::writer::ScriptWriter;
use crate::leak::{Land, Limits};
use crate::quantity::Unit;
use crate::record::Repair;

/// A procedure as it was answered.
#[derive(Debug, Clone, Default)]
pub(crate) struct Draft {
    /// The unit; none of a bench job's copy.
    pub unit: Option<String>,
    /// What the procedure is called: the unit, and the part of it that is tested.
    pub title: String,
    /// What a replacement for the body costs, in the shop's own money.
    pub replacement: Option<f64>,
    /// The circuits; where it is a copy, those that are added.
    pub circuits: Vec<DraftCircuit>,
    /// The procedure that it is a copy of.
    pub original: Option<Original>,
}

impl Draft {
    /// Writes the procedure, with comments for whoever goes on with it. Its version is 1.0.0: a new name begins anew, also
    /// where it is a copy.
    pub(crate) fn text(&self, file: &str) -> String {
        let mut writer = ScriptWriter::default();
        match &self.original {
            None => writer.head(self, file),
            Some(original) => writer.copy(original, self, file),
        }
        let mut n = 0;
        let mut section = None;
        for circuit in &self.circuits {
            if circuit.section != section {
                writer.section(circuit.section.as_deref());
                section.clone_from(&circuit.section);
            }
            n += 1;
            while writer.text.contains(&format!("circuit_{n}")) {
                n += 1;
            }
            writer.circuit(n, circuit);
        }
        writer.text
    }
}

#[derive(Debug, Clone, PartialEq)]
pub(crate) struct DraftCircuit {
    pub section: Option<String>,
    pub name: String,
    pub feature: &'static Feature,
    /// Where the hose goes.
    pub port: Option<String>,
    pub set_up: String,
    pub limits: DraftLimits,
    /// The sealing land, and the unit that it is written in.
    pub land: Option<(Land, &'static Unit)>,
    /// Complaints that it can cause.
    pub symptoms: Vec<String>,
    /// What can be done about a leak.
    pub repairs: Vec<Repair>,
}

#[derive(Debug, Clone, PartialEq)]
pub(crate) enum DraftLimits {
    ToBeFound,
    Known {
        limits: Limits,
        /// The unit that they are written in.
        unit: &'static Unit,
        /// Where they come from, a comment each; empty where nothing is known of it.
        note: Vec<String>,
    },
}

impl DraftCircuit {
    /// Returns whether a verdict can be given on it.
    pub(crate) fn is_judged(&self) -> bool {
        self.limits != DraftLimits::ToBeFound
    }
}

/// What is at a circuit's port, as far as it decides how the circuit is tested. What each of them asks for is common
/// practice, no source.
#[derive(Debug, PartialEq, Eq)]
pub(crate) struct Feature {
    /// What it is.
    pub told: &'static str,
    before: &'static str,
    /// What a leak does, for the customer.
    pub means: &'static str,
    /// A repair that it may take, as a sample.
    pub sample_repair: &'static str,
    unjudged: Option<&'static str>,
    judged: Option<&'static str>,
}

impl Feature {
    /// Every feature, in the order offered; the last one is for all else.
    pub(crate) const ALL: [&'static Feature; 6] = [
        &Feature {
            told: "a valve in its bore, tested at both of its stops",
            before: "Valve and spring in place and oiled, retainer fitted.",
            means: "The valve leaks in its bore, so what it controls comes late or weak.",
            sample_repair: "ream and fit an oversize valve",
            unjudged: Some(BOTH_STOPS),
            judged: Some(BOTH_STOPS_JUDGED),
        },
        &Feature {
            told: "a valve in its bore, tested where its spring leaves it",
            before: "Valve and spring in place and oiled, retainer fitted.",
            means: "The valve leaks in its bore, so what it controls comes late or weak.",
            sample_repair: "ream and fit an oversize valve",
            unjudged: None,
            judged: None,
        },
        &Feature {
            told: "the feed of a clutch, band or servo",
            before: "Seals fitted and oiled, all that the feed serves in place.",
            means: "What it feeds fills late, and slips.",
            sample_repair: "renew the sealing rings",
            unjudged: None,
            judged: Some(FEED),
        },
        &Feature {
            told: "an accumulator's piston",
            before: "Piston, seals and spring in place and oiled, cover bolted down.",
            means: "Shifts are harsh or flare, since nothing cushions them.",
            sample_repair: "renew the piston and its seals",
            unjudged: None,
            judged: Some(ACCUMULATOR),
        },
        &Feature {
            told: "a checkball on its seat",
            before: "Seat and ball clean, the ball on its seat.",
            means: "Oil goes where it should be kept from.",
            sample_repair: "renew the ball and dress its seat",
            unjudged: None,
            judged: Some(CHECKBALL),
        },
        &Feature {
            told: "anything else: one reading is enough",
            before: "Everything in place as it runs.",
            means: "Oil pressure is lost here.",
            sample_repair: "renew what seals it",
            unjudged: None,
            judged: None,
        },
    ];

    /// Says what to do before the reading.
    pub(crate) fn set_up(&self, port: Option<&str>) -> String {
        match port {
            None => format!("{} Seat the plate over the port.", self.before),
            Some(port) => format!("{} Seat the plate over port {}.", self.before, port.trim_end_matches('.')),
        }
    }

    /// Returns the lines between the braces of its test; none where nothing but one reading is to be said. Steps that
    /// branch on a verdict stand only where there can be one.
    pub(crate) fn steps(&self, is_judged: bool) -> Option<&'static str> {
        if is_judged { self.judged } else { self.unjudged }
    }
}

const BOTH_STOPS: &str = r#"    t.ready("Push the valve to its inboard stop and hold it there.");
    t.read("inboard");
    t.ready("Let it come back to its outboard stop.");
    t.read("outboard");
"#;

const BOTH_STOPS_JUDGED: &str = r#"    t.ready("Push the valve to its inboard stop and hold it there.");
    let inboard = t.read("inboard");
    t.ready("Let it come back to its outboard stop.");
    let outboard = t.read("outboard");
    // What the two readings say together; the worse of them is the verdict. What
    // neither holds nor lies too near a limit to tell is worn or leaks.
    if inboard.retest || outboard.retest {
        t.finding("It reads too near a limit to tell the stops apart: test it again.");
    } else if inboard.holds && !outboard.holds {
        t.finding("It holds at the inboard stop only: look at what seals outboard.");
    } else if !inboard.holds && outboard.holds {
        t.finding("It holds at the outboard stop only: look at what seals inboard.");
    } else if !inboard.holds && !outboard.holds {
        t.finding("It holds at neither stop: the bore is worn, or it is not the valve.");
    }
"#;

const FEED: &str = r#"    let feed = t.read();
    // A trial does not count for the verdict; it tells passage and seals apart.
    if feed.worn || feed.leaks {
        t.ready("Block the feed where it leaves the case, before the seals.");
        let blocked = t.trial("feed blocked");
        if blocked.holds {
            t.finding("With the feed blocked it holds: the leak is at the seals.");
        } else if blocked.retest {
            t.finding("Blocked, it reads too near a limit to tell: test it again.");
        } else {
            t.finding("Blocked, it is not sound: look at passage, plugs, casting.");
        }
    }
"#;

const ACCUMULATOR: &str = r#"    let piston = t.read();
    if piston.worn || piston.leaks {
        if t.ask_yes("Is its bore free of scores that catch a fingernail?") {
            t.finding("The bore is smooth: renew the seals and test again.");
        } else {
            t.finding("The bore is scored: new seals alone will not hold.");
        }
    }
"#;

const CHECKBALL: &str = r#"    let ball = t.read();
    // A trial does not count for the verdict; it tells ball and seat apart.
    if ball.worn || ball.leaks {
        t.ready("Turn the ball and set it on its seat again.");
        let turned = t.trial("ball turned");
        if turned.holds {
            t.finding("With the ball turned it holds: the ball is worn.");
        } else if turned.retest {
            t.finding("Turned, it reads too near a limit to tell: test it again.");
        } else {
            t.finding("Turned, it is not sound: look at the seat.");
        }
    }
"#;
