use crate::leak::{Assessment, Limits};
use crate::quantity::{Pressure, Unit, shown};
use crate::rig::Calibration;

/// The gauge's scale as lines of text: numbers, the three zones of the circuit on this bench, the reading with its
/// interval, and what the letters stand for. Letters mark the zones, not colours, so that it reads in grey and aloud.
///
/// A circuit without limits has no zones. Narrow screens get a scale of fewer columns, none below 31.
pub fn dial_strip(
    width: usize,
    limits: Option<&Limits>,
    calibration: &Calibration,
    assessment: &Assessment,
    vacuum_unit: &Unit,
) -> Vec<String> {
    let plugged = calibration.plugged().si();
    let columns: u32 = match width {
        0..=38 => return Vec::new(),
        39..=69 => 30,
        _ => 60,
    };
    let full = full_scale(plugged, vacuum_unit);
    let at =
        |si: f64| ((vacuum_unit.from_si(si) / full).clamp(0.0, 1.0) * f64::from(columns)).round() as usize;
    let here = |standard: Pressure| calibration.from_standard(standard).map_or(0, |reading| at(reading.si()));
    let limits = limits.map(|limits| (here(limits.leaks()), here(limits.holds())));

    let mut numbers = String::new();
    for tick in 0..=6_u32 {
        let text = shown(full * f64::from(tick) / 6.0, 0);
        let column = (columns * tick / 6) as usize;
        while numbers.len() < column {
            numbers.push(' ');
        }
        numbers.push_str(&text);
    }
    numbers.push_str(&format!(" {}", vacuum_unit.symbol));

    let zones: String = (0..=columns as usize)
        .map(|column| match column {
            column if column > at(plugged) => ' ',
            column => match limits {
                None => '.',
                Some((leaks, _)) if column <= leaks => 'x',
                Some((_, holds)) if column < holds => '-',
                Some(_) => '=',
            },
        })
        .collect();
    let legend =
        if limits.is_some() { "x leaks, - worn, = holds, (^) reading" } else { "(^) reading; no limits yet" };
    let mut needle = vec![' '; columns as usize + 1];
    let standard = &assessment.standard_reading_pa;
    for (si, mark) in [(standard.low, '('), (standard.high, ')')] {
        needle[Pressure::from_si(si).map_or(0, here)] = mark;
    }
    needle[at(assessment.reading_pa.si())] = '^';
    vec![
        numbers,
        zones.trim_end().to_owned(),
        needle.iter().collect::<String>().trim_end().to_owned(),
        legend.to_owned(),
    ]
}

/// Returns the end of the scale: 30 inHg and its like in other units, in steps that divide by six.
fn full_scale(plugged: f64, vacuum_unit: &Unit) -> f64 {
    let least = vacuum_unit.from_si(plugged);
    let step = [6.0, 30.0, 60.0, 102.0, 120.0, 600.0, 1200.0, 6000.0, 120_000.0];
    step.into_iter().find(|full| *full >= least).unwrap_or(least)
}
