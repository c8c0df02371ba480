use serde::{Deserialize, Serialize};

use super::meaning::{Seen, widened};
use super::{Bench, Budget, Context, Estimate, Interpretation};
use crate::air::{
    self, CRITICAL_RATIO, PLATE_LIMIT, PLUG_CHANGE_LIMIT, PLUG_COEFFICIENT, PLUG_LIMIT, STANDARD_PRESSURE,
    mass_flow,
};
use crate::quantity::{INCH, Pressure};
use crate::rig::{Calibration, OrificeKind, ReadingError, STANDARD_PLUGGED};

/// Everything that the readings of one state of a circuit mean. Intervals are 95 %; values are SI.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Assessment {
    /// How many readings were taken.
    pub readings: u32,
    /// Their mean, in Pa.
    pub reading_pa: Pressure,
    /// Area of the equivalent hole over that of the test orifice.
    pub relative_leak: Estimate,
    /// Bore of the equivalent hole, of the test orifice's kind, in m.
    pub hole_m: Estimate,
    /// What the standard rig would show, in Pa.
    pub standard_reading_pa: Estimate,
    /// Air through the leak at this reading, in kg/s.
    pub air_mass_flow_kg_s: Estimate,
    /// The same as volume at 20 °C and 101 325 Pa, in m3/s.
    pub air_standard_flow_m3_s: Estimate,
    /// Radial clearance of the land in m, where one was given.
    pub clearance_m: Option<Interpretation>,
    /// Oil lost at working pressure through a gap, in m3/s, where oil was given: the laminar end of the bracket.
    pub oil_flow_annulus_m3_s: Option<Interpretation>,
    /// Oil lost at working pressure through a hole, in m3/s, where oil was given: the turbulent end.
    pub oil_flow_hole_m3_s: Option<Interpretation>,
    /// Share of the pump's delivery lost through a gap, where that delivery was given.
    pub pump_share_annulus: Option<Interpretation>,
    /// Share of the pump's delivery lost through a hole.
    pub pump_share_hole: Option<Interpretation>,
    /// Standard uncertainties of the standard reading.
    pub budget: Budget,
}

/// Share of the probability in every interval.
pub(super) const COVERAGE: f64 = 0.95;

/// Half-width of a normal 95 % interval in standard deviations.
const COVERAGE_FACTOR: f64 = 1.959_963_984_540_054;

/// Bore of the test hose, beyond which no leak shows: 1/4 in; common practice, no source.
const HOSE: f64 = 0.25 * INCH;

/// Limit of the error of the air's temperature in K; common practice, no source.
const TEMPERATURE_LIMIT: f64 = 2.0;

/// Assesses the readings of one state of a circuit.
///
/// Every error is referred to the reading to first order, gauge errors as common to calibration and reading. The
/// reading that a perfect gauge would show then lies between that of the open hose and the plugged point, and the ends of
/// its shortest 95 % interval go through the monotone relations.
pub fn assess(readings: &[Pressure], bench: &Bench, context: &Context) -> Result<Assessment, ReadingError> {
    let calibration = bench.calibration();
    for reading in readings {
        calibration.area_at(*reading)?;
    }
    let (mean, repeatability) = summary(readings, bench.repeatability().si()).ok_or(ReadingError::None)?;
    let mean = Pressure::from_si(mean.min(calibration.plugged().si())).ok_or(ReadingError::None)?;

    let orifice = calibration.orifice();
    let bore = 2.0 * orifice.tolerance().si() / orifice.diameter().si();
    let (coefficient, change, against_standard) = match orifice.kind() {
        OrificeKind::Plug => (PLUG_LIMIT / PLUG_COEFFICIENT, PLUG_CHANGE_LIMIT, 0.0),
        OrificeKind::Plate => {
            let plate = PLATE_LIMIT / orifice.kind().coefficient(calibration.ratio(calibration.through()));
            (plate, 2.0 * plate, PLUG_LIMIT / PLUG_COEFFICIENT + plate)
        }
    };
    let change = change * change_share(calibration, mean);
    let leak_weights = calibration.leak_sensitivity(mean)?;
    let area_weights = calibration.area_sensitivity(mean)?;
    let leak_budget = Budget::new(bench, &leak_weights, repeatability, change, 0.0);
    let hole_budget = Budget::new(bench, &leak_weights, repeatability, change, bore);
    let standard_budget = Budget::new(bench, &area_weights, repeatability, against_standard, bore);
    let flow_budget = Budget::new(bench, &area_weights, repeatability, 0.0, 0.0);

    let hose = (HOSE / orifice.diameter().si()) * (HOSE / orifice.diameter().si());
    let open = calibration.reading_of_area(hose)?.si().min(mean.si());
    let ends = |budget: &Budget| {
        let (low, high) = budget.spread().interval(mean.si(), open, calibration.plugged().si(), COVERAGE);
        let pressure =
            |si: f64| Pressure::from_si(si.clamp(open, calibration.plugged().si())).unwrap_or(mean);
        (pressure(low), pressure(high))
    };
    let through = |budget: &Budget, relation: &dyn Fn(Pressure) -> Result<f64, ReadingError>| {
        let (shallow, deep) = ends(budget);
        let (one, other) = (relation(shallow)?, relation(deep)?);
        Ok(Estimate { value: relation(mean)?, low: one.min(other), high: one.max(other) })
    };
    let relative_leak = through(&leak_budget, &|reading| calibration.leak_at(reading))?;
    let hole_m = through(&hole_budget, &|reading| Ok(calibration.hole(calibration.leak_at(reading)?)))?;
    let standard_reading_pa =
        through(&standard_budget, &|reading| Ok(calibration.standard_reading(reading)?.si()))?;

    let (shallow, deep) = ends(&flow_budget);
    let flow = |reading: Pressure| flow_at(calibration, reading);
    let flows = [flow(mean)?, flow(deep)?, flow(shallow)?];
    let half = |limit: f64| COVERAGE_FACTOR / 3.0_f64.sqrt() * limit;
    let temperature = TEMPERATURE_LIMIT / (2.0 * calibration.temperature().si());
    let flow_scale = half((coefficient * coefficient + bore * bore + temperature * temperature).sqrt());
    let air_mass_flow_kg_s =
        widened(flows[0], flows[1], flows[2], flows[0] * (1.0 - flow_scale), flows[0] * (1.0 + flow_scale));

    let seen = Seen { calibration, readings: [mean, deep, shallow], flows, flow_scale, leak: relative_leak };
    let clearance_m = seen.clearance(context);
    let oil = context.oil.as_ref();
    let oil_flow_annulus_m3_s = oil.and_then(|oil| seen.oil_annulus(context, oil, clearance_m));
    let oil_flow_hole_m3_s = oil.and_then(|oil| seen.oil_hole(oil, half(bore)));
    let delivery = oil.and_then(|oil| oil.pump_delivery_m3_s);
    let share = |flow: Option<Interpretation>| Some(flow?.scaled(1.0 / delivery?.si()));

    Ok(Assessment {
        readings: readings.len() as u32,
        reading_pa: mean,
        relative_leak,
        hole_m,
        standard_reading_pa,
        air_mass_flow_kg_s,
        air_standard_flow_m3_s: air_mass_flow_kg_s.scaled(1.0 / air::density(STANDARD_PRESSURE, 293.15)),
        clearance_m,
        oil_flow_annulus_m3_s,
        oil_flow_hole_m3_s,
        pump_share_annulus: share(oil_flow_annulus_m3_s),
        pump_share_hole: share(oil_flow_hole_m3_s),
        budget: standard_budget.scaled(standard_slope(calibration, mean, standard_reading_pa.value)?),
    })
}

/// Air through the leak in kg/s at a reading.
fn flow_at(calibration: &Calibration, reading: Pressure) -> Result<f64, ReadingError> {
    let orifice = calibration.orifice().effective_area(calibration.ratio(calibration.through()));
    let room = calibration.barometer().si();
    let area = calibration.area_at(reading)? * orifice;
    mass_flow(area, room, room - reading.si(), calibration.temperature().si()).ok_or(ReadingError::Zero)
}

/// How much of the coefficient's change between the through point and sonic flow is behind a reading.
fn change_share(calibration: &Calibration, reading: Pressure) -> f64 {
    let through = calibration.ratio(calibration.through());
    let whole = through - CRITICAL_RATIO;
    if whole <= 0.0 { 1.0 } else { ((through - calibration.ratio(reading)) / whole).abs().min(1.0) }
}

/// Slope of the standard reading over the reading: both are taken for the same area.
fn standard_slope(calibration: &Calibration, reading: Pressure, standard: f64) -> Result<f64, ReadingError> {
    let rig = Calibration::standard();
    let standard = Pressure::from_si(standard).unwrap_or(STANDARD_PLUGGED);
    Ok(calibration.area_slope(reading)? * calibration.orifice_over_standard() / rig.area_slope(standard)?)
}

/// Mean of the readings and the standard deviation of that mean.
///
/// The bench's own repeatability stands unless the readings scatter more than it explains (chi-square test at 2.5 %);
/// then their own scatter does.
fn summary(readings: &[Pressure], repeatability: f64) -> Option<(f64, f64)> {
    let n_readings = readings.len() as f64;
    let mean = readings.iter().map(|reading| reading.si()).sum::<f64>() / n_readings;
    if !mean.is_finite() {
        return None;
    }
    let squares: f64 = readings.iter().map(|reading| (reading.si() - mean) * (reading.si() - mean)).sum();
    let freedom = n_readings - 1.0;
    // Wilson and Hilferty's approximation of the chi-square quantile.
    let spread = 2.0 / (9.0 * freedom.max(1.0));
    let root = 1.0 - spread + COVERAGE_FACTOR * spread.sqrt();
    let explained = squares <= freedom * root * root * root * repeatability * repeatability;
    let deviation = if explained || freedom < 1.0 { repeatability } else { (squares / freedom).sqrt() };
    Some((mean, deviation / n_readings.sqrt()))
}
