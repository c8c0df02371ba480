use crate::record::{HoseOn, Question, Wants};

/// A danger of the work, the words that announce it, and the words of a caution that covers it.
struct Hazard {
    name: &'static str,
    /// One of each of these groups stands in a text that leads into it.
    announced_by: &'static [&'static [&'static str]],
    covered_by: &'static [&'static str],
}

/// The dangers that are known by their words; a procedure may have others.
const HAZARDS: &[Hazard] = &[
    Hazard {
        name: "compressed air",
        announced_by: &[&["blow ", "compressed air", "air gun", "air nozzle"]],
        covered_by: &["compressed air", "air pressure", "air gun"],
    },
    Hazard {
        name: "solvents",
        announced_by: &[&["solvent", "wash ", "degrease", "brake cleaner", "parts cleaner"]],
        covered_by: &["solvent", "fumes", "cleaner"],
    },
    Hazard {
        name: "preloaded springs",
        announced_by: &[
            &["remove", "pull", "take out", "release", "unscrew", "pry", "push out"],
            &["spring", "retainer", "snap ring", "circlip"],
        ],
        covered_by: &["spring"],
    },
    Hazard {
        name: "a lifted vehicle",
        announced_by: &[&[
            "under the vehicle",
            "under the car",
            "on the lift",
            "lift the vehicle",
            "lift the car",
            "jack up",
            "drop the pan",
            "remove the pan",
        ]],
        covered_by: &["vehicle", "stands", "lift"],
    },
    Hazard {
        name: "hot oil",
        announced_by: &[&["drain the", "hot oil", "operating temperature", "drop the pan", "remove the pan"]],
        covered_by: &["burn", "hot", "scald"],
    },
];

const SUCTION: &[&str] = &["hose", "suction", "vacuum"];

/// Returns the cautions that are missing before a question, each with what to do; these cautions came before it.
pub(super) fn missing(question: &Question, cautions: &str) -> Vec<(String, String)> {
    let mut found = Vec::new();
    let covered = |words: &[&str]| words.iter().any(|word| cautions.contains(word));
    let remark = |name: &str| {
        (
            format!("no caution about {name} comes before this"),
            "put caution(\"...\") before it: what can hurt, and how not to get hurt".to_owned(),
        )
    };
    if matches!(question.wants, Wants::Reading { on: HoseOn::Circuit { .. }, .. }) && !covered(SUCTION) {
        found.push(remark("the hose and its suction"));
    }
    if matches!(question.wants, Wants::Ready) {
        let words = question.words.to_lowercase();
        let announces = |hazard: &&Hazard| {
            hazard.announced_by.iter().all(|group| group.iter().any(|word| words.contains(word)))
        };
        let open = HAZARDS.iter().filter(announces).filter(|hazard| !covered(hazard.covered_by));
        found.extend(open.map(|hazard| remark(hazard.name)));
    }
    found
}
