use crate::leak::Verdict;
use crate::procedure::{Halt, Walk};
use crate::record::{Circuit, Wants, options};

/// Asks what is decided about each circuit that does not hold; the record keeps it beside the verdict.
///
/// # Errors
/// A halt where nothing was answered.
pub(super) fn close(walk: &mut Walk) -> Result<(), Halt> {
    let failed: Vec<(Circuit, Verdict)> = walk
        .verdicts()
        .filter(|(_, verdict)| matches!(verdict, Verdict::Worn | Verdict::Leaks))
        .map(|(circuit, verdict)| (circuit.clone(), verdict))
        .collect();
    for (circuit, verdict) in failed {
        let words = format!("{}, {verdict}: what is to be done?", circuit.name);
        let wants = Wants::Decision { of: circuit.name.clone(), options: options(&circuit) };
        walk.ask_for_runner(&words, wants)?;
    }
    Ok(())
}
