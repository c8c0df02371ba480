/// Finds where a continuous function changes sign between two points, to the last few bits.
///
/// Where it does not change sign, returns the end with the smaller value. Chandrupatla, "A new hybrid
/// quadratic/bisection algorithm", Advances in Engineering Software 28 (1997) 145-149: inverse quadratic steps where
/// they are safe, halving where not, so the bracket is never lost.
pub(in crate::rig) fn root(low: f64, high: f64, function: impl Fn(f64) -> f64) -> f64 {
    const MOST_STEPS: usize = 200;
    let (mut newest, mut across) = (high, low);
    let (mut at_newest, mut at_across) = (function(newest), function(across));
    let nearer =
        |a: f64, at_a: f64, b: f64, at_b: f64| if at_a.abs() < at_b.abs() { (a, at_a) } else { (b, at_b) };
    if at_newest == 0.0 || at_across == 0.0 || at_newest.signum() == at_across.signum() {
        return nearer(newest, at_newest, across, at_across).0;
    }
    let mut share = 0.5;
    for _ in 0..MOST_STEPS {
        let trial = newest + share * (across - newest);
        let at_trial = function(trial);
        let (third, at_third) = if at_trial.signum() == at_newest.signum() {
            (newest, at_newest)
        } else {
            let behind = (across, at_across);
            (across, at_across) = (newest, at_newest);
            behind
        };
        (newest, at_newest) = (trial, at_trial);
        let (nearest, at_nearest) = nearer(newest, at_newest, across, at_across);
        let finest = (2.0 * f64::EPSILON * nearest.abs() + f64::MIN_POSITIVE) / (across - newest).abs();
        if at_nearest == 0.0 || finest > 0.5 {
            return nearest;
        }
        let place = (newest - across) / (third - across);
        let value = (at_newest - at_across) / (at_third - at_across);
        let safe = value * value < place && (1.0 - value) * (1.0 - value) < 1.0 - place;
        share = if safe {
            at_newest / (at_across - at_newest) * at_third / (at_across - at_third)
                + (third - newest) / (across - newest) * at_newest / (at_third - at_newest) * at_across
                    / (at_third - at_across)
        } else {
            0.5
        };
        share = share.clamp(finest, 1.0 - finest);
    }
    nearer(newest, at_newest, across, at_across).0
}
