use crate::rig::WayOut;

/// Returns the pressure (a fraction of the barometer's) a while after it was `from`.
///
/// `exchange_time` is the time in s times sqrt(R T) over the volume in m3. Isothermal filling: dx/dt = exchange * (in -
/// out), stepped with the rate of approach to the point of rest, which neither overshoots nor diverges at any step.
pub(super) fn approach(from: f64, exchange_time: f64, lets_in: impl Fn(f64) -> f64, way_out: &WayOut) -> f64 {
    const STEPS: usize = 8;
    let rest = way_out.rest(&lets_in);
    let step = exchange_time / STEPS as f64;
    let mut pressure = from;
    for _ in 0..STEPS {
        let gap = pressure - rest;
        if gap.abs() < 1e-12 {
            return rest;
        }
        let rate = (way_out.draws(pressure) - lets_in(pressure)) / gap;
        pressure = rest + gap * libm::exp(-rate.max(0.0) * step);
    }
    pressure
}

/// Returns how long the pressure takes from `from` to within `close` of its point of rest, in units of volume over
/// sqrt(R T), by the rate of approach near that point.
pub(super) fn time_to_settle(
    from: f64,
    rest: f64,
    close: f64,
    lets_in: impl Fn(f64) -> f64,
    way_out: &WayOut,
) -> f64 {
    let gap = (from - rest).abs();
    if gap <= close {
        return 0.0;
    }
    let beside = rest + close.copysign(from - rest);
    let rate = (way_out.draws(beside) - lets_in(beside)).abs() / close;
    if rate > 0.0 { libm::log(gap / close) / rate } else { 0.0 }
}
