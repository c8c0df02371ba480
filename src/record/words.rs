//! The words of complaints and symptoms as they are compared: by what carries their meaning, however it is inflected.

use std::collections::BTreeSet;

/// The words of a text in lower case, apart where anything but a letter, a figure or an apostrophe parts them.
///
/// An upshift is a shift as well, so it is two words, as people also write it.
pub(super) fn words(text: &str) -> Vec<String> {
    let lower = text.to_lowercase().replace(['\'', '’'], "");
    let parted = lower.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty());
    parted
        .flat_map(|word| {
            let way = ["up", "down"]
                .into_iter()
                .find(|way| word.strip_prefix(way).is_some_and(|rest| rest.starts_with("shift")));
            let rest = way.map_or(word, |way| &word[way.len()..]);
            way.into_iter().chain([rest]).map(str::to_owned)
        })
        .collect()
}

/// Returns what two words have alike that differ by their ending only: slips, slipped and slipping are one word.
pub(super) fn stem(word: &str) -> String {
    const LEAST: usize = 3;
    /// Things whose names only look like forms of another word: a bushing is no bush.
    const THINGS: &[&str] = &["bearing", "bushing", "casting", "coupling", "fitting", "housing", "spring"];
    if let Some(thing) = THINGS.iter().find(|thing| word.strip_suffix('s').unwrap_or(word) == **thing) {
        return (*thing).to_owned();
    }
    let without = |ending: &str| word.strip_suffix(ending).filter(|stem| stem.chars().count() >= LEAST);
    let is_plural = !word.ends_with("ss");
    let hisses = ["sses", "zzes", "shes", "ches", "xes"].iter().any(|ending| word.ends_with(ending));
    let stem = without("ments")
        .or_else(|| without("ment"))
        .or_else(|| without("ing"))
        .or_else(|| without("ed").filter(|_| !word.ends_with("eed")))
        .or_else(|| without("es").filter(|_| hisses))
        .or_else(|| without("s").filter(|_| is_plural))
        .unwrap_or(word);
    let stem = stem.strip_suffix('e').filter(|stem| stem.chars().count() >= LEAST).unwrap_or(stem);
    // Slipping has one more p than slip.
    let mut letters: Vec<char> = stem.chars().collect();
    if let [.., a, b] = letters[..]
        && a == b
        && a.is_alphabetic()
    {
        letters.pop();
    }
    letters.into_iter().collect()
}

/// Returns the stems of the words that carry a text's meaning.
pub(super) fn weighty(text: &str) -> BTreeSet<String> {
    const LIGHT: &[&str] =
        &["a", "an", "and", "at", "in", "into", "is", "it", "of", "on", "or", "the", "to", "when", "with"];
    words(text).iter().filter(|word| !LIGHT.contains(&word.as_str())).map(|word| stem(word)).collect()
}
