use crate::procedure::is_plain_name;

/// The longest name made of what was typed.
const LONGEST: usize = 40;

/// Returns the name of a procedure for a unit and a part of it, which is its file's name without the ending.
///
/// Letters and figures of the alphabet stay, in lower case, and everything else becomes a hyphen; where nothing is left,
/// or a device has that name, it is `new-procedure`.
pub fn file_name(unit: &str, part: Option<&str>) -> String {
    let typed = format!("{unit} {}", part.unwrap_or_default()).to_lowercase();
    let plain: String = typed.chars().map(|c| if c.is_ascii_alphanumeric() { c } else { '-' }).collect();
    let mut name = String::new();
    for word in plain.split('-').filter(|word| !word.is_empty()) {
        if name.len() + word.len() < LONGEST {
            name = if name.is_empty() { word.to_owned() } else { format!("{name}-{word}") };
        }
    }
    if is_plain_name(&name) { name } else { "new-procedure".to_owned() }
}
