use std::collections::BTreeMap;

use crate::procedure::Program;

/// Returns how many lines of a procedure's text are others in another version: comments, blank lines, indentation and the
/// version itself aside.
///
/// Walks do not come by everything; a text that is other shows here whatever it does.
pub(super) fn lines_changed(before: &Program, after: &Program) -> usize {
    let mut balance: BTreeMap<(&str, String), i64> = BTreeMap::new();
    for (program, step) in [(before, -1), (after, 1)] {
        let version = format!("\"{}\"", program.title.version);
        for file in &program.source.files {
            let lines = file.text.lines().map(str::trim);
            for line in lines.filter(|line| !line.is_empty() && !line.starts_with("//")) {
                *balance.entry((&file.name, line.replacen(&version, "", 1))).or_default() += step;
            }
        }
    }
    let sum =
        |lines: &dyn Fn(i64) -> i64| balance.values().map(|n| lines(*n).max(0).unsigned_abs()).sum::<u64>();
    let (gone, new) = (sum(&|n| -n), sum(&|n| n));
    usize::try_from(gone.max(new)).unwrap_or(usize::MAX)
}
