use crate::leak::LeakKind;

/// What is at a port, as far as it decides what is asked about it and how it is tested: a row of the table.
#[derive(Debug, PartialEq, Eq)]
pub(crate) struct Feature {
    /// What it is.
    pub told: &'static str,
    /// What a leak of it is, where that is sure.
    pub(super) kind: Option<LeakKind>,
    pub(super) before: &'static str,
    /// What a leak does, for the customer.
    pub means: &'static str,
    /// A repair that it may take, as a sample.
    pub(super) sample_repair: &'static str,
    pub steps: FeatureSteps,
}

/// How it is tested.
#[derive(Debug, PartialEq, Eq)]
pub(crate) enum FeatureSteps {
    /// One reading is enough.
    Once,
    /// Two readings, and what they say together.
    Twice { stops: [ReadAtStop; 2], neither: &'static str },
    /// Where it is not sound, one more reading tells two causes apart. [`NEIGHBOUR`] in it is a port beside this one.
    Trial {
        reading: &'static str,
        apart: &'static str,
        ready: &'static str,
        label: &'static str,
        cured: &'static str,
        stays: &'static str,
    },
    /// Where it is not sound, a look tells two causes apart.
    Look { reading: &'static str, asks: &'static str, yes: &'static str, no: &'static str },
    /// One reading, which is right in a window: more vacuum is too tight, less is too open.
    Open,
    /// No vacuum at all: its coil is measured in ohms.
    Coil,
}

/// One of two readings.
#[derive(Debug, PartialEq, Eq)]
pub(crate) struct ReadAtStop {
    /// What is done before it; nothing where it has a port of its own, which the plate goes over.
    pub(super) ready: Option<&'static str>,
    pub(super) label: &'static str,
    /// What is found where only this one holds.
    pub(super) alone: &'static str,
}

/// Where a port beside the circuit is named.
pub(super) const NEIGHBOUR: &str = "{neighbour}";

impl FeatureSteps {
    /// Returns whether a port beside this one is closed in it.
    pub(crate) fn has_neighbour(&self) -> bool {
        matches!(self, FeatureSteps::Trial { ready, .. } if ready.contains(NEIGHBOUR))
    }

    /// Returns whether it reads a second land at a port of its own.
    pub(crate) fn has_second_land(&self) -> bool {
        matches!(self, FeatureSteps::Twice { stops: [ReadAtStop { ready: None, .. }, _], .. })
    }
}

const VALVE: &str = "Valve and spring in place and oiled, retainer fitted.";
const VALVE_MEANS: &str = "The valve leaks in its bore, so what it controls comes late or weak.";
const OVERSIZE: &str = "ream and fit an oversize valve";

impl Feature {
    /// Returns whether a land may seal it: an open passage has none to speak of, and what leaks by a hole has none.
    pub(crate) fn may_have_land(&self) -> bool {
        self.steps != FeatureSteps::Open && self.kind != Some(LeakKind::Hole)
    }

    /// Every feature, in the order offered; the last one is for all else. What each of them asks for is common practice, no
    /// source.
    pub(crate) const ALL: [&'static Feature; 12] = [
        &Feature {
            told: "a valve in its bore, tested at both of its stops",
            kind: Some(LeakKind::Gap),
            before: VALVE,
            means: VALVE_MEANS,
            sample_repair: OVERSIZE,
            steps: FeatureSteps::Twice {
                stops: [
                    ReadAtStop {
                        ready: Some("Push the valve to its inboard stop and hold it there."),
                        label: "inboard",
                        alone: "It holds at the inboard stop only: look at what seals outboard.",
                    },
                    ReadAtStop {
                        ready: Some("Let it come back to its outboard stop."),
                        label: "outboard",
                        alone: "It holds at the outboard stop only: look at what seals inboard.",
                    },
                ],
                neither: "It holds at neither stop: the bore is worn, or it is not the valve.",
            },
        },
        &Feature {
            told: "a valve in its bore, tested where its spring leaves it",
            kind: Some(LeakKind::Gap),
            before: VALVE,
            means: VALVE_MEANS,
            sample_repair: OVERSIZE,
            steps: FeatureSteps::Once,
        },
        &Feature {
            told: "a valve that may leak across to the circuit beside it",
            kind: Some(LeakKind::Gap),
            before: VALVE,
            means: "Oil for one circuit reaches another: a shift binds, or a gear is lost.",
            sample_repair: "fit a sleeve and valve",
            steps: FeatureSteps::Trial {
                reading: "open",
                apart: "air from beside and air from outside",
                ready: "Hold a rubber pad over {neighbour}.",
                label: "with {neighbour} blocked",
                cured: "The air comes across from {neighbour}: the land between is worn.",
                stays: "It is not from {neighbour}: look at end plug, plate and casting.",
            },
        },
        &Feature {
            told: "a regulator with two lands, each with a port of its own",
            kind: Some(LeakKind::Gap),
            before: VALVE,
            means: "The pressure that it regulates wanders, so shifts are harsh or slip.",
            sample_repair: OVERSIZE,
            steps: FeatureSteps::Twice {
                stops: [
                    ReadAtStop {
                        ready: None,
                        label: "first land",
                        alone: "Only the first land seals: the bore is worn at the second.",
                    },
                    ReadAtStop {
                        ready: None,
                        label: "second land",
                        alone: "Only the second land seals: the bore is worn at the first.",
                    },
                ],
                neither: "Neither land seals: the bore is worn, or it is not the valve.",
            },
        },
        &Feature {
            told: "a boost valve in its sleeve",
            kind: Some(LeakKind::Gap),
            before: "Boost valve oiled and in its sleeve, sleeve against its snap ring.",
            means: "Pressure does not rise under load or in reverse.",
            sample_repair: "fit a boost valve and sleeve",
            steps: FeatureSteps::Trial {
                reading: "sleeve",
                apart: "inside and outside of the sleeve",
                ready: "Press assembly grease around the sleeve where it meets the body.",
                label: "sleeve greased",
                cured: "Greased, it holds: it leaks around the outside of the sleeve.",
                stays: "Grease does not help: the valve leaks inside its sleeve.",
            },
        },
        &Feature {
            told: "the manual valve",
            kind: Some(LeakKind::Gap),
            before: "Manual valve oiled and held in the detent that feeds this port.",
            means: "Oil for one range leaks away or reaches another: late engagement, or creep.",
            sample_repair: "replace the manual valve",
            steps: FeatureSteps::Look {
                reading: "valve",
                asks: "Are the valve's lands free of scores and worn edges?",
                yes: "The manual valve is good, so its bore is worn.",
                no: "The manual valve is worn: fit another, and test again.",
            },
        },
        &Feature {
            told: "the feed of a clutch, band or servo",
            kind: None,
            before: "Seals fitted and oiled, all that the feed serves in place.",
            means: "What it feeds fills late, and slips.",
            sample_repair: "renew the sealing rings",
            steps: FeatureSteps::Trial {
                reading: "feed",
                apart: "passage and seals",
                ready: "Block the feed where it leaves the case, before the seals.",
                label: "feed blocked",
                cured: "With the feed blocked it holds: the leak is at the seals.",
                stays: "Blocked, it is not sound: look at passage, plugs, casting.",
            },
        },
        &Feature {
            told: "an accumulator's piston",
            kind: None,
            before: "Piston, seals and spring in place and oiled, cover bolted down.",
            means: "Shifts are harsh or flare, since nothing cushions them.",
            sample_repair: "renew the piston and its seals",
            steps: FeatureSteps::Look {
                reading: "piston",
                asks: "Is its bore free of scores that catch a fingernail?",
                yes: "The bore is smooth: renew the seals and test again.",
                no: "The bore is scored: new seals alone will not hold.",
            },
        },
        &Feature {
            told: "a checkball on its seat",
            kind: Some(LeakKind::Hole),
            before: "Seat and ball clean, the ball on its seat.",
            means: "Oil goes where it should be kept from.",
            sample_repair: "renew the ball and dress its seat",
            steps: FeatureSteps::Trial {
                reading: "ball",
                apart: "ball and seat",
                ready: "Turn the ball and set it on its seat again.",
                label: "ball turned",
                cured: "With the ball turned it holds: the ball is worn.",
                stays: "Turned, it is not sound: look at the seat.",
            },
        },
        &Feature {
            told: "a passage or an orifice that is to be open",
            kind: None,
            before: "Passage and orifice clean, all that it feeds open.",
            means: "What it feeds gets too little oil or too much.",
            sample_repair: "clean the passage and gauge its orifice",
            steps: FeatureSteps::Open,
        },
        &Feature {
            told: "a solenoid, by the resistance of its coil",
            kind: None,
            before: "",
            means: "",
            sample_repair: "",
            steps: FeatureSteps::Coil,
        },
        &Feature {
            told: "anything else: one reading is enough",
            kind: None,
            before: "Everything in place as it runs.",
            means: "Oil pressure is lost here.",
            sample_repair: "renew what seals it",
            steps: FeatureSteps::Once,
        },
    ];

    /// Says what to do before the reading.
    pub(crate) fn set_up(&self, port: Option<&str>) -> String {
        format!("{} {}", self.before, seated(port))
    }
}

/// Says where the plate goes.
pub(super) fn seated(port: Option<&str>) -> String {
    port.map_or("Seat the plate over the port.".to_owned(), |port| {
        format!("Seat the plate over port {}.", port.trim_end_matches('.'))
    })
}
