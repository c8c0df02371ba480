use std::collections::BTreeMap;

use super::prose::Prose;
use super::report::Finding;
use crate::procedure::{Fault, Source, Title, nearest};

/// Reports the symptoms that the title lists and no circuit covers, those of circuits that the title does not list, and
/// pairs that differ so little that they are most likely one.
pub(super) fn symptoms(source: &Source, title: &Title, prose: &Prose) -> Vec<Finding> {
    let mut named: BTreeMap<&str, &str> = BTreeMap::new();
    for (_, circuit) in prose.circuits.values() {
        for symptom in &circuit.symptoms {
            named.entry(symptom).or_insert(&circuit.name);
        }
    }
    let mut found = Vec::new();
    let mut report = |text: &str, message: String, help: String| {
        let (file, position) = source.find_text(text);
        let fault = Fault::new(file, position, message).help(help).warning();
        found.push(Finding::plain(fault));
    };
    // One that is most likely the same, written otherwise, is told once.
    let mut meant: Vec<&str> = Vec::new();
    for symptom in title.symptoms.iter().filter(|symptom| !named.contains_key(symptom.as_str())) {
        let help = match nearest(symptom, named.keys().copied()) {
            Some(near) => {
                meant.push(near);
                format!("a circuit has \"{near}\"; write both alike")
            }
            None => "name it with the circuit that causes it, or leave it out".to_owned(),
        };
        report(symptom, format!("no circuit covers the symptom \"{symptom}\""), help);
    }
    let names: Vec<_> = named.keys().copied().collect();
    for (n, symptom) in names.iter().enumerate() {
        let is_listed = title.symptoms.is_empty()
            || title.symptoms.iter().any(|listed| listed == symptom)
            || meant.contains(symptom);
        if !is_listed {
            let help = "list it with the procedure, or write it like one that is".to_owned();
            report(symptom, format!("the procedure does not list the symptom \"{symptom}\""), help);
        } else if let Some(twin) = names[n + 1..].iter().find(|other| is_twin(symptom, other)) {
            let message = format!("\"{symptom}\" and \"{twin}\" are most likely one symptom");
            report(twin, message, "write both alike".to_owned());
        }
    }
    found
}

/// Returns whether two texts differ only in case, blanks, hyphens or one letter of a longer text without figures.
fn is_twin(a: &str, b: &str) -> bool {
    let plain = |text: &str| text.to_lowercase().chars().filter(|c| c.is_alphanumeric()).collect::<String>();
    let (a, b) = (plain(a), plain(b));
    let has_figures = |text: &str| text.contains(|c: char| c.is_ascii_digit());
    a == b || (a.len() > 8 && !has_figures(&a) && strsim::damerau_levenshtein(&a, &b) == 1)
}
