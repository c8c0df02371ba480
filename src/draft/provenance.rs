use crate::leak::Baseline;
use crate::quantity::{UNITS, shown};

/// Says where limits that were proposed from readings on good units come from, a comment each.
pub fn provenance(baseline: &Baseline) -> Vec<String> {
    let unit = &UNITS[0];
    let show = |pa: f64| shown(unit.from_si(pa), 2);
    let percent = |share: f64| shown(share * 100.0, 1);
    let mut told = vec![format!(
        "From {} good units: mean {} {}, deviation {}. At holds and deeper read {} % of good units, with {} % confidence \
         (tolerance interval, ISO 16269-6).",
        baseline.summary.n,
        show(baseline.summary.mean),
        unit.symbol,
        show(baseline.deviation),
        percent(baseline.promise.share()),
        percent(baseline.promise.confidence()),
    )];
    match baseline.more() {
        0 => {}
        more => told.push(format!("Provisional: read {more} more good units, and propose anew.")),
    }
    told.push(
        "Good units say nothing of where a circuit fails: leaks is a rule, twice the leak that holds allows. Change it \
         when you have read units that failed."
            .to_owned(),
    );
    told
}
