//! Whatever is answered, a draft writes a procedure of which proofreading has nothing to say but what is to be found.

use crate::draft::{Feature, FeatureSteps};
use crate::procedure::Source;
use crate::proofread::proofread;
use crate::rig::simulated::Chance;
use crate::tests::support::Home;

/// Draws one of these.
fn one<'a>(chance: &mut Chance, of: &[&'a str]) -> &'a str {
    of[(chance.share() * of.len() as f64) as usize]
}

/// What somebody answers about one circuit of this kind.
fn answers(chance: &mut Chance, kind: usize, n: usize) -> Vec<String> {
    let steps = &Feature::all()[kind].steps;
    let section = one(chance, &["", "", "Supply", "\"Clutch\" feeds", "none"]);
    let mut typed = vec![format!("valve {n} \"{n}\\"), section.to_owned(), (kind + 1).to_string()];
    let mut say = |lines: &str| typed.extend(lines.split('|').map(str::to_owned));
    if *steps == FeatureSteps::Coil {
        say(one(chance, &["", "4.6|5.6", "10|13 ohm", "2 kohm|2.2 kohm", "3|not known"]));
        return typed;
    }
    say(&one(chance, &["", "#A", "port #"]).replace('#', &n.to_string()));
    if steps.has_neighbour() {
        say(&one(chance, &["", "#B", "\"in\" #"]).replace('#', &n.to_string()));
    }
    say(one(chance, &["", "", "All of it oiled, the plate over the port and held by hand."]));
    if *steps == FeatureSteps::Open {
        say(one(chance, &["", "8|12", "40 kPa|50", "9|not known"]));
        say("|");
        return typed;
    }
    let limits = one(
        chance,
        &[
            "|",
            "20|",
            "17|11",
            "67.5 kPa|50",
            "20|21|20|15",
            "22.5 21.8 22.1|yes",
            "|22.5 21,8; 22.1 22.9|no",
            "|22 22.1 22.2 21.9 22 22.3 21.8 22 22.1 22.2 21.9 22 22.4 21.7 22.1|",
            "|24 6 15",
        ],
    );
    say(limits);
    say(one(chance, &["", "0.5|0.3", "12.7 mm|7.6", "0.6 in|not known"]));
    say(&one(chance, &["", "late #, flare #", "\"slips, #\", shudder #"]).replace('#', &"ab".repeat(n + 1)));
    say(one(chance, &["", "ream it||", "new seals, \"sleeve, then ream\"|12|0.5|48.50|50 min"]));
    if steps.has_second_land() {
        say(&one(chance, &["", "#C"]).replace('#', &n.to_string()));
        let is_judged = (!limits.starts_with('|') || limits.contains("22.4")) && !limits.ends_with("no");
        if is_judged {
            say(one(chance, &["", "18|12", "60 kPa|40"]));
        }
        say(one(chance, &["", "10.3 mm|8.1"]));
    }
    typed
}

#[test]
fn every_file_that_a_draft_writes_is_proofread_without_a_remark_of_its_making() {
    let home = Home::new();
    for seed in 0..12 {
        let chance = &mut Chance::new(seed);
        let mut typed = ["Merle M2", one(chance, &["", "lower body"]), one(chance, &["", "850"])]
            .map(str::to_owned)
            .to_vec();
        let n_circuits = 2 + seed as usize;
        for n in 0..n_circuits {
            // Each kind comes up, whatever is drawn.
            typed.extend(answers(chance, (seed as usize * 5 + n) % Feature::all().len(), n));
        }
        typed.push("none".to_owned());
        let file = format!("drafted-{seed}.rhai");
        let ran = home.run(&["draft", "-o", &file], &format!("{}\n", typed.join("\n"))).exits(0);
        let report = proofread(Source::from_path(&home.path(&file)).unwrap());
        let written = home.read(&file);
        for finding in &report.faults {
            assert!(finding.fault.message.contains("are to be found"), "{}\n{written}", report.text());
        }
        assert_eq!(
            report.faults.len(),
            written.matches("    limits: \"to be found\"").count(),
            "{}",
            ran.out
        );
        assert!(!written.contains("!") && ran.out.contains("Proofread: no errors"), "{written}\n{}", ran.out);
    }
}
