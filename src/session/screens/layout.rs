/// Column where texts begin; what stands left of it says what kind of text it is.
pub const INDENT: usize = 7;

/// Returns what stands left of a text and says what kind it is.
pub(super) fn marker(kind: &str) -> String {
    format!("{kind:>5}  ")
}

/// Returns a line across the screen with a title in it.
pub(super) fn rule(width: usize, title: &str) -> String {
    let title = crate::console::clean(title);
    let used = title.chars().count() + 4;
    format!("── {title} {}", "─".repeat(width.saturating_sub(used)))
}
