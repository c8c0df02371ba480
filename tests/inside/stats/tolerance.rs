//! Tolerance intervals against published tables and SciPy.

use crate::stats::*;
use crate::tests::support::{Draws, Table, close, near};

/// `tests/reference/11_tolerance_factors.csv`: SciPy's noncentral t.
#[test]
fn factors_are_those_of_scipys_noncentral_t() {
    for row in Table::read("11_tolerance_factors.csv").rows() {
        let n = row.number("n") as usize;
        let factor = tolerance_factor(n, row.number("share"), row.number("confidence")).expect("a factor");
        close(factor, row.number("k"), 1e-7);
    }
}

/// Tables of one-sided factors, deviation unknown, as in ISO 16269-6 and in Natrella, Experimental Statistics (NBS
/// Handbook 91), table A-7 (three decimals; from memory).
#[test]
fn factors_are_those_of_the_published_tables_to_their_last_digit() {
    for (n, share, confidence, k) in [
        (3, 0.95, 0.95, 7.656),
        (5, 0.95, 0.95, 4.203),
        (10, 0.95, 0.95, 2.911),
        (20, 0.95, 0.95, 2.396),
        (30, 0.95, 0.95, 2.220),
        (50, 0.95, 0.95, 2.065),
        (3, 0.90, 0.95, 6.155),
        (10, 0.90, 0.95, 2.355),
        (10, 0.99, 0.95, 3.981),
    ] {
        near(tolerance_factor(n, share, confidence).expect("a factor"), k, 5.1e-4);
    }
    // NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.6.3: 43 values, 90 % with 99 % confidence (from memory).
    near(tolerance_factor(43, 0.90, 0.99).expect("a factor"), 1.8740, 5e-5);
}

/// The distribution-free sizes that every text gives: 59 for 95/95, 29 for 90/95, 22 for 90/90, 299 for 99/95.
#[test]
fn the_least_of_59_values_is_a_limit_for_95_in_100_with_95_percent_confidence() {
    for (share, confidence, n) in [(0.95, 0.95, 59), (0.90, 0.95, 29), (0.90, 0.90, 22), (0.99, 0.95, 299)] {
        assert_eq!(values_needed_for_least(share, confidence), Some(n));
    }
    assert_eq!(values_needed_for_least(1.0, 0.95), None);
}

/// `tests/reference/08f_wilks_tolerance.csv`, and that every rank keeps its promise and the next would not.
#[test]
fn the_rank_of_a_limit_is_the_highest_that_keeps_the_promise() {
    for row in Table::read("08f_wilks_tolerance.csv").rows() {
        let (n, rank) = (row.number("n_min") as usize, row.number("k") as usize);
        let (share, confidence) = (row.number("coverage"), row.number("confidence"));
        assert_eq!(limit_rank(n, share, confidence), Some(rank), "{n} {share} {confidence}");
        assert_eq!(limit_rank(n - 1, share, confidence), Some(rank - 1).filter(|rank| *rank > 0));
    }
}

/// Grubbs' critical values, one-sided 5 %: 3 values 1.153, 10 values 2.176, 30 values 2.745 (ASTM E178,
/// table 1; from memory).
#[test]
fn the_least_value_is_odd_beyond_grubbs_critical_values() {
    for (n, critical) in [(3_usize, 1.153), (10, 2.176), (30, 2.745)] {
        // All but one value are alike or alternate; the one is moved until the statistic is just this.
        let statistic = |low: f64| {
            let values: Vec<f64> = (0..n).map(|at| if at == 0 { low } else { (at % 2) as f64 }).collect();
            let summary = Summary::of(&values).expect("a summary");
            ((summary.mean - summary.least) / summary.deviation.expect("a deviation"), is_least_odd(&values))
        };
        for step in 0..4000 {
            let (g, is_odd) = statistic(-f64::from(step) * 0.01);
            if (g - critical).abs() > 2e-3 {
                assert_eq!(is_odd, g > critical, "{n} values: {g}");
            }
        }
    }
    assert!(!is_least_odd(&[1.0, 2.0]) && !is_least_odd(&[1.0; 9]));
}

/// Quantiles of the standard normal distribution, as every table has them (from memory).
#[test]
fn normal_quantiles_are_those_of_the_tables() {
    for (probability, z) in
        [(0.5, 0.0), (0.9, 1.281_551_6), (0.95, 1.644_853_6), (0.975, 1.959_964_0), (0.99, 2.326_347_9)]
    {
        near(normal_quantile(probability).expect("a quantile"), z, 5e-8);
        near(normal_below(z), probability, 1e-8);
    }
    assert_eq!(normal_quantile(0.0), None);
    assert_eq!(normal_quantile(f64::NAN), None);
}

/// What the factor promises, by Monte Carlo: in `confidence` of many samples the limit lies below `share` of the
/// population.
#[test]
fn the_limit_covers_its_share_as_often_as_it_says() {
    let mut draws = Draws(16_269);
    let (share, confidence) = (0.90, 0.95);
    let true_limit = -normal_quantile(share).expect("a quantile");
    let factor = tolerance_factor(6, share, confidence).expect("a factor");
    let n_samples = 40_000;
    let covered = (0..n_samples)
        .filter(|_| {
            let sample: Vec<f64> = (0..6).map(|_| draws.normal(1.0)).collect();
            let summary = Summary::of(&sample).expect("a summary");
            summary.mean - factor * summary.deviation.expect("a deviation") <= true_limit
        })
        .count();
    near(covered as f64 / f64::from(n_samples), confidence, 0.004);
}

#[test]
fn more_values_are_needed_the_less_slack_there_is_and_nothing_is_said_out_of_range() {
    let needed = |slack| values_needed(slack, 0.95, 0.95).expect("a number");
    let found: Vec<_> = [4.0, 2.0, 1.0, 0.5, 0.25].into_iter().map(needed).collect();
    assert!(found.windows(2).all(|pair| pair[0] < pair[1]), "{found:?}");
    for (slack, n) in [4.0, 2.0, 1.0, 0.5, 0.25].into_iter().zip(&found) {
        let excess = |n| {
            tolerance_factor(n, 0.95, 0.95).expect("a factor") - normal_quantile(0.95).expect("a quantile")
        };
        assert!(excess(*n) <= slack && (*n == 2 || excess(n - 1) > slack), "{slack}: {n}");
    }
    assert_eq!(values_needed(0.0, 0.95, 0.95), None);
    assert_eq!(tolerance_factor(1, 0.95, 0.95), None);
    assert_eq!(tolerance_factor(10, 1.0, 0.95), None);
    assert_eq!(tolerance_factor(10, 0.95, f64::NAN), None);
}
