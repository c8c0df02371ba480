//! Control charts: their deviation against published examples, their false alarms and what they find by simulation.

use std::io::Write;

use crate::stats::*;
use crate::tests::support::{Draws, near};

/// The steps from each value to the next.
fn steps(values: &[f64]) -> Vec<f64> {
    values.windows(2).map(|pair| (pair[1] - pair[0]).abs()).collect()
}

/// NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2: ten flow rates, limits 45.8159 and 55.8041 three
/// deviations off (from memory). SAS/QC User's Guide, individual measurements chart: diameters of twenty jets, mean
/// moving range 5.32632, limits 66.2243 and 94.5557. Both divide by 1.128 where this takes 2/sqrt(pi).
#[test]
fn the_deviation_by_steps_is_that_of_the_published_examples() {
    let flow = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1];
    near(deviation_by_steps(&steps(&flow)).unwrap(), (55.8041 - 45.8159) / 6.0, 1e-3);
    let jets = [
        78.4, 80.1, 84.4, 79.1, 80.4, 83.5, 73.8, 83.5, 75.0, 76.8, 70.5, 80.3, 82.4, 79.4, 86.4, 90.5, 77.7,
        82.5, 79.9, 83.2,
    ];
    near(deviation_by_steps(&steps(&jets)).unwrap(), (94.5557 - 66.2243) / 6.0, 3e-3);
    assert_eq!(deviation_by_steps(&[]), None);
}

/// Student's t as in every table (from memory): two-sided 5 % of 1, 5, 10 and 30 degrees of freedom,
/// one-sided 1 % of 10.
#[test]
fn students_quantiles_are_those_of_the_tables() {
    for (above, freedom, t) in [
        (0.025, 1.0, 12.706),
        (0.025, 5.0, 2.571),
        (0.025, 10.0, 2.228),
        (0.025, 30.0, 2.042),
        (0.01, 10.0, 2.764),
    ] {
        near(student_quantile(above, freedom).unwrap(), t, 6e-4);
    }
    assert_eq!(student_quantile(0.5, 10.0), None);
    assert_eq!(student_quantile(0.01, 0.0), None);
}

/// Chi-square of 10 degrees of freedom has 3.247 and 20.483 at 2.5 and 97.5 %, as in every table (from memory).
#[test]
fn the_limits_of_a_deviation_are_those_of_chi_square() {
    let (from, to) = deviation_limits(1.0, 10.0).unwrap();
    near(from, (10.0_f64 / 20.483).sqrt(), 2e-4);
    near(to, (10.0_f64 / 3.247).sqrt(), 2e-4);
    assert_eq!(deviation_limits(1.0, 0.0), None);
}

/// Looks at something that stays as it is, in runs of one to four behind a reference look; all rounded.
fn looks(
    draws: &mut Draws,
    n: usize,
    scatter: f64,
    rounding: f64,
    moved: impl Fn(usize) -> f64,
) -> Vec<Vec<f64>> {
    let place = draws.unit();
    let look = |moved: f64, draws: &mut Draws| {
        let seen = place + moved + draws.normal(scatter);
        if rounding > 0.0 { (seen / rounding).round() * rounding } else { seen }
    };
    let mut runs = Vec::new();
    let mut made = 0;
    while made < n {
        let reference = look(0.0, draws);
        let length = 1 + (draws.unit() * 4.0) as usize;
        let run: Vec<f64> =
            (0..length.min(n - made)).map(|at| look(moved(made + at), draws) - reference).collect();
        made += run.len();
        runs.push(run);
    }
    runs
}

/// A rig whose gauge has marks half an inch apart, read to an eighth, a quarter or a half, by eyes that scatter
/// from a hundredth to six tenths of an inch: of charts of 10, 20, 50 and 100 checks no more than 1 in 20 says
/// that something is wrong.
#[test]
fn a_rig_that_only_scatters_alarms_in_at_most_one_chart_of_twenty() {
    const CHARTS: u32 = 1_000;
    let mut draws = Draws(20_261_127);
    let mut worst = 0.0_f64;
    for n in [10, 20, 50, 100] {
        for rounding in [0.0, 0.125, 0.25, 0.5] {
            for scatter in [0.01, 0.05, 0.1, 0.3, 0.6] {
                let alarms = (0..CHARTS)
                    .filter(|_| {
                        let runs = looks(&mut draws, n, scatter, rounding, |_| 0.0);
                        !ControlChart::of(&runs, 0.5).expect("a chart").signals.is_empty()
                    })
                    .count();
                let share = alarms as f64 / f64::from(CHARTS);
                worst = worst.max(share);
                // Binomial deviation of 1000 charts at 5 %: 0.7 %.
                assert!(share <= 0.06, "{n} checks, rounded to {rounding}, scatter {scatter}: {share}");
            }
        }
    }
    writeln!(std::io::stdout(), "charts that alarm by chance: {:.1} % at most", 100.0 * worst).unwrap();
}

/// A rig that scatters by 0.1 inHg: one check that is 1 inHg off is found, and so is a rig that sinks by a quarter of
/// an inch after each setting, once it has done so for long.
#[test]
fn a_rig_that_is_off_or_sinks_is_found() {
    const CHARTS: u32 = 200;
    let mut draws = Draws(11);
    let mut found = |moved: &dyn Fn(usize) -> f64| {
        let found = (0..CHARTS).filter(|_| {
            let runs = looks(&mut draws, 50, 0.1, 0.125, moved);
            !ControlChart::of(&runs, 0.5).expect("a chart").signals.is_empty()
        });
        found.count() as f64 / f64::from(CHARTS)
    };
    let off = found(&|at| if at == 30 { -1.0 } else { 0.0 });
    let sinking = found(&|_| -0.5);
    writeln!(
        std::io::stdout(),
        "found: one check off {:.0} %, all low {:.0} %",
        100.0 * off,
        100.0 * sinking
    )
    .unwrap();
    assert!(off >= 0.95, "{off}");
    assert!(sinking >= 0.8, "{sinking}");
}

#[test]
fn a_chart_names_the_value_that_is_outside_and_the_end_of_a_long_shift() {
    let mut runs = vec![vec![0.1, -0.1, 0.0]; 6];
    runs[3][1] = 3.0;
    assert_eq!(ControlChart::of(&runs, 0.5).unwrap().signals, [Signal::Outside(10)]);
    let mut shifted = vec![vec![0.0]; 3];
    shifted.extend(vec![vec![-0.4]; 12]);
    assert!(ControlChart::of(&shifted, 0.5).unwrap().signals.contains(&Signal::Shift(14)));
    assert_eq!(ControlChart::of(&[], 0.5), None);
    assert_eq!(ControlChart::of(&[vec![f64::NAN]], 0.5), None);
}

#[test]
fn equal_checks_have_the_limits_of_a_scale_that_is_read_to_a_quarter_of_a_division() {
    let chart = ControlChart::of(&vec![vec![0.0; 5]; 10], 0.5).unwrap();
    assert_eq!(chart.signals, []);
    near(chart.deviation, 0.5 / 4.0 / 2.0, 1e-12);
}
