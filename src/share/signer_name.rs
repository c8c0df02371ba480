use crate::console::hidden;

/// The most characters in a signer's name.
const LONGEST_NAME: usize = 64;

/// Checks that a signer's name can be shown and told from others.
///
/// # Errors
/// What is wrong with it.
pub(super) fn check_name(name: &str) -> Result<(), String> {
    let n = name.chars().count();
    if n == 0 || n > LONGEST_NAME {
        return Err(format!("a signer's name has 1 to {LONGEST_NAME} characters, not {n}"));
    }
    if name.split_whitespace().collect::<Vec<_>>().join(" ") != name {
        return Err("a signer's name has single spaces between its words and none around them".to_owned());
    }
    match hidden(name).or_else(|| name.contains('\n').then_some('\n')) {
        Some(c) => Err(format!("a signer's name holds the hidden character U+{:04X}", u32::from(c))),
        None => Ok(()),
    }
}

/// Returns whether two names are the same to somebody who hears them.
pub(super) fn is_same_name(one: &str, other: &str) -> bool {
    one.to_lowercase() == other.to_lowercase()
}

/// Returns whether a name could be taken for another that it is not: one or two letters apart.
pub(super) fn is_alike(one: &str, other: &str) -> bool {
    let (one, other) = (one.to_lowercase(), other.to_lowercase());
    let letters = |name: &str| name.chars().filter(|c| c.is_alphanumeric()).collect::<String>();
    let is_short = one.chars().count().min(other.chars().count()) < 4;
    one != other
        && (letters(&one) == letters(&other)
            || strsim::damerau_levenshtein(&one, &other) <= if is_short { 1 } else { 2 })
}
