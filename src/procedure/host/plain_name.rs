/// Names that mean a device and not a file on some systems, whatever their ending.
const DEVICES: &[&str] = &["aux", "clock", "con", "conin", "conout", "nul", "null", "prn"];

/// Returns whether a name can be a file's everywhere without an ending: 1 to 64 letters, digits, `-` and `_`, and no
/// device's name.
pub fn is_plain_name(name: &str) -> bool {
    let folded = name.to_ascii_lowercase();
    let numbered = |device| folded.strip_prefix(device).is_some_and(|rest: &str| rest.len() == 1);
    (1..=64).contains(&name.len())
        && name.chars().all(|c| c.is_ascii_alphanumeric() || c == '-' || c == '_')
        && !DEVICES.contains(&folded.as_str())
        && !numbered("com")
        && !numbered("lpt")
}

#[cfg(test)]
mod tests {
    use super::is_plain_name;

    #[test]
    fn names_of_devices_paths_and_nothing_are_not_plain() {
        for name in ["", ".", "..", "a/b", "a\\b", "a:b", "con", "NUL", "Com1", "lpt9", "a b", "ä", "a.b"] {
            assert!(!is_plain_name(name), "{name}");
        }
        for name in ["tarn-t6-lower", "Steps_2", "common", "console", "lpt10", "c"] {
            assert!(is_plain_name(name), "{name}");
        }
    }
}
