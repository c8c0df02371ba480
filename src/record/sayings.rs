//! What people say of a transmission, and what procedures call it: slang, abbreviations and trouble codes.

use thiserror::Error;

use super::words::{stem, weighty, words};

/// The sayings that are shipped with the program; the file names their sources.
const SHIPPED: &str = include_str!("../../procedures/sayings.csv");

/// A table of sayings, a shop's own before those that are shipped.
#[derive(Debug, Clone)]
pub(crate) struct Sayings(Vec<Spoken>);

/// A row of the table.
#[derive(Debug, Clone, PartialEq, Eq, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Spoken {
    /// What is said: words, or a trouble code.
    pub said: String,
    /// The words for it, several separated by semicolons; nothing where no circuit can cause it.
    pub means: String,
    /// What a trouble code reports.
    pub reports: String,
}

#[derive(Debug, Error)]
#[error("{0}each row is said,means,reports, the first row says so, and # begins a comment")]
pub(crate) struct SayingsError(String);

impl Sayings {
    /// Reads a shop's own table, where it has one, before the one that is shipped.
    pub(crate) fn with(own: Option<&str>) -> Result<Sayings, SayingsError> {
        let mut sayings = Vec::new();
        for text in own.into_iter().chain([SHIPPED]) {
            let mut rows = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
            let wrong = |error: csv::Error| SayingsError(format!("{error}; "));
            // Without the first row, the first saying would be taken for it and be lost.
            if rows.headers().map_err(wrong)? != ["said", "means", "reports"][..] {
                return Err(SayingsError(String::new()));
            }
            for row in rows.deserialize() {
                sayings.push(row.map_err(wrong)?);
            }
        }
        Ok(Sayings(sayings))
    }

    /// Returns the row of a trouble code, or of just these words.
    pub(crate) fn of(&self, said: &str) -> Option<&Spoken> {
        self.0.iter().find(|saying| stems(&words(&saying.said)) == stems(&words(said)))
    }

    /// Returns what a complaint can mean in other words: what the table has for all of it, or the complaint with each
    /// saying in it put as procedures put it. Nothing where the table knows none of it.
    pub(crate) fn meant(&self, complaint: &str) -> Vec<String> {
        if let Some(saying) = self.of(complaint) {
            return saying
                .means
                .split(';')
                .map(|meant| meant.trim().to_owned())
                .filter(|m| !m.is_empty())
                .collect();
        }
        let mut put = words(complaint);
        let mut is_changed = false;
        // The longest saying first, so that "torque converter" is not half taken.
        let mut known: Vec<_> = self.0.iter().map(|saying| (stems(&words(&saying.said)), saying)).collect();
        known.sort_by_key(|(said, _)| std::cmp::Reverse(said.len()));
        for (said, saying) in known {
            let meant = saying.means.split(';').next().unwrap_or_default();
            if meant.is_empty() || said.is_empty() {
                continue;
            }
            if let Some(at) = put.windows(said.len()).position(|window| stems(window) == said) {
                put.splice(at..at + said.len(), words(meant));
                is_changed = true;
            }
        }
        if is_changed { vec![put.join(" ")] } else { Vec::new() }
    }
}

/// Parts what was complained of where commas or semicolons part it, and a row of trouble codes into its codes.
pub(crate) fn complaints_in(given: &str) -> Vec<String> {
    let is_code = |word: &str| {
        word.len() == 5
            && word.starts_with(['P', 'p'])
            && word.bytes().skip(1).all(|byte| byte.is_ascii_hexdigit())
    };
    let parts = given.split([',', ';']).flat_map(|part| match part.split_whitespace().all(is_code) {
        true => part.split_whitespace().collect::<Vec<_>>(),
        false => vec![part.trim()],
    });
    parts.filter(|part| !part.is_empty()).map(str::to_owned).collect()
}

/// Returns the symptoms that are nearest to a complaint, the nearest first: those that have most words of it, and of
/// those the ones that are spelt most like it.
pub(crate) fn nearest_symptoms<'a>(complaint: &str, known: &[&'a str], most: usize) -> Vec<&'a str> {
    let sought = weighty(complaint);
    let mut ranked: Vec<_> = known
        .iter()
        .map(|symptom| {
            let n_shared = weighty(symptom).intersection(&sought).count();
            let likeness = strsim::jaro_winkler(&complaint.to_lowercase(), &symptom.to_lowercase());
            (n_shared, likeness, *symptom)
        })
        .collect();
    ranked.sort_by(|one, other| other.0.cmp(&one.0).then(other.1.total_cmp(&one.1)));
    ranked.into_iter().take(most).map(|(.., symptom)| symptom).collect()
}

fn stems(words: &[String]) -> Vec<String> {
    words.iter().map(|word| stem(word)).collect()
}
