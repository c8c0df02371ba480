//! Statistics against the NIST Statistical Reference Datasets, the gauge study of the AIAG manual,
//! and published tables.

use std::collections::BTreeMap;

use crate::stats::*;
use crate::tests::support::{Table, near};

/// Asserts that so many significant digits agree: the log relative error of NIST StRD.
#[track_caller]
fn agrees(name: &str, found: f64, certified: f64, wanted: f64) {
    let scale = if certified == 0.0 { 1.0 } else { certified.abs() };
    let error = (found - certified).abs() / scale;
    let digits = if error == 0.0 { 15.0 } else { -error.log10() };
    assert!(digits >= wanted, "{name}: {found} has {digits:.2} digits of {certified}, wanted {wanted}");
}

/// The data of a set: those of NIST StRD, where NumAcc1 to 4 are made by their own description.
fn univariate() -> BTreeMap<String, Vec<f64>> {
    let mut sets: BTreeMap<String, Vec<f64>> = BTreeMap::new();
    for row in Table::read("08f_nist_univariate_data.csv").rows() {
        sets.entry(row.text("dataset").to_owned()).or_default().push(row.number("y"));
    }
    sets.insert("NumAcc1".to_owned(), vec![10_000_001.0, 10_000_003.0, 10_000_002.0]);
    for (name, values) in [
        ("NumAcc2", [1.2, 1.1, 1.3]),
        ("NumAcc3", [1_000_000.2, 1_000_000.1, 1_000_000.3]),
        ("NumAcc4", [10_000_000.2, 10_000_000.1, 10_000_000.3]),
    ] {
        let mut set = vec![values[0]];
        for _ in 0..500 {
            set.extend([values[1], values[2]]);
        }
        sets.insert(name.to_owned(), set);
    }
    sets
}

#[test]
fn means_and_deviations_are_those_nist_certifies() {
    // What the rounding of the data to doubles leaves, by exact arithmetic on the rounded data.
    let wanted = BTreeMap::from([
        ("NumAcc1", 15.0),
        ("NumAcc2", 14.9),
        ("NumAcc3", 9.4),
        ("NumAcc4", 8.2),
        ("Lew", 14.9),
        ("Mavro", 13.0),
        ("Michelso", 13.7),
    ]);
    let sets = univariate();
    let mut n_checked = 0;
    for row in Table::read("08d_nist_univariate_certified.csv").rows() {
        let name = row.text("dataset");
        let Some(values) = sets.get(name) else { continue };
        assert_eq!(values.len() as f64, row.number("n"));
        let summary = Summary::of(values).unwrap();
        agrees(&format!("{name} mean"), summary.mean, row.number("certified_mean"), 14.9);
        let deviation = summary.deviation.unwrap();
        agrees(&format!("{name} deviation"), deviation, row.number("certified_sd"), wanted[name]);
        n_checked += 1;
    }
    assert_eq!(n_checked, 7);
}

fn aiag() -> Vec<StudyReading> {
    let table = Table::read("08_aiag_msa_grr_data.csv");
    let rows = table.rows().map(|row| {
        let (operator, part) = (row.text("op").to_owned(), row.text("part").to_owned());
        StudyReading { operator, part, value: row.number("y") }
    });
    rows.collect()
}

/// AIAG, Measurement Systems Analysis, 4th edition (2010), tables III-B 7 and 8 and A 4 and 5.
#[test]
fn the_gauge_study_of_the_aiag_manual_is_reproduced_pooled() {
    let study = GaugeStudy::of(&aiag()).unwrap();
    let table = &study.table;
    near(table.parts.squares, 88.3619, 5e-5);
    near(table.operators.squares, 3.1673, 5e-5);
    near(table.interaction.squares, 0.3590, 5e-5);
    near(table.repetition.squares, 2.7589, 5e-5);
    near(table.total.squares, 94.6471, 5e-5);
    let (ratio, probability) = table.interaction.against(&table.repetition);
    near(ratio, 0.434, 5e-4);
    near(probability, 0.974, 5e-4);
    assert!(study.may_be_pooled());

    let pooled = study.components(true);
    near(pooled.repeatability, 0.199_933, 1e-6);
    near(pooled.operators, 0.226_838, 1e-6);
    near(pooled.interaction, 0.0, 0.0);
    near(pooled.gauge(), 0.302_373, 2e-6);
    near(pooled.parts, 1.042_327, 1e-6);
    near(pooled.total(), 1.085, 5e-4);
    let percent = |part: f64| 100.0 * part / pooled.total();
    near(percent(pooled.repeatability), 18.4, 0.05);
    near(percent(pooled.operators), 20.9, 0.05);
    near(100.0 * pooled.gauge_share(), 27.9, 0.05);
    near(percent(pooled.parts), 96.0, 0.1);
    let contribution = |part: f64| 100.0 * (part / pooled.total()).powi(2);
    near(contribution(pooled.repeatability), 3.4, 0.05);
    near(contribution(pooled.operators), 4.4, 0.05);
    near(contribution(pooled.gauge()), 7.8, 0.05);
    near(contribution(pooled.parts), 92.2, 0.05);
    assert_eq!(pooled.distinct_categories(), Some(4));
}

/// The same data without pooling: ratios as statistical software and as the manual give them.
#[test]
fn the_gauge_study_of_the_aiag_manual_is_reproduced_unpooled() {
    let study = GaugeStudy::of(&aiag()).unwrap();
    let table = &study.table;
    near(table.parts.against(&table.interaction).0, 492.291, 5e-4);
    near(table.operators.against(&table.interaction).0, 79.406, 5e-4);
    near(table.parts.against(&table.repetition).0, 213.517, 5e-4);
    near(table.operators.against(&table.repetition).0, 34.440, 5e-4);
    let unpooled = study.components(false);
    near(unpooled.repeatability, 0.214_435, 2e-6);
    near(unpooled.gauge(), 0.313_217, 2e-6);
    near(100.0 * unpooled.gauge_share(), 28.75, 0.005);
}

/// Hemmerle and Hartley (1973), 16 values in 3 x 2 cells of 2 or 3, as printed in SAS/STAT's VARCOMP example 1: Type 1
/// estimates b 1448.4 adjusted for a, a*b 27.42659, error 78.63333.
#[test]
fn the_variances_of_hemmerle_and_hartleys_unbalanced_cells_are_reproduced() {
    let table = Table::read("08h_hemmerle_hartley_unbalanced.csv");
    let mut cells = vec![vec![Vec::new(); 2]; 3];
    for row in table.rows() {
        cells[row.number("a") as usize - 1][row.number("b") as usize - 1].push(row.number("y"));
    }
    let found = GaugeTable::of(&cells).unwrap().0.components(false);
    near(found.operators.powi(2), 1448.4, 0.05);
    near(found.interaction.powi(2), 27.426_59, 5e-6);
    near(found.repeatability.powi(2), 78.633_33, 5e-6);
}

/// The penicillin data (Davies and Goldsmith 1972, 6.6), 24 plates and 6 samples read once each; and with every
/// fifth cell missing. Whole: deviations 0.8467, 1.9316 and 0.5499 (as lme4's documentation prints; balanced, so
/// REML is this). With 28 missing: Henderson's method 3 gives 0.719836, 4.159955 and 0.315045 (computed for this
/// project by another program).
#[test]
fn the_penicillin_data_have_their_variances_whole_and_with_cells_missing() {
    let table = Table::read("08i_penicillin_crossed.csv");
    let samples = ["A", "B", "C", "D", "E", "F"];
    let mut cells: Vec<Vec<Vec<f64>>> =
        table.rows().map(|row| samples.map(|sample| vec![row.number(sample)]).to_vec()).collect();
    let whole = GaugeTable::of(&cells).unwrap().0.components(true);
    near(whole.parts, 0.8467, 5e-5);
    near(whole.operators, 1.9316, 5e-5);
    near(whole.repeatability, 0.5499, 5e-5);
    for at in (4..144).step_by(5) {
        cells[at / 6][at % 6].clear();
    }
    let missing = GaugeTable::of(&cells).unwrap().0.components(true);
    near(missing.parts.powi(2), 0.719_836, 1e-6);
    near(missing.operators.powi(2), 4.159_955, 1e-6);
    near(missing.repeatability.powi(2), 0.315_045, 1e-6);
}

/// Who reads higher does so on whatever is read: a reading that is missing moves nobody by more than it is worth.
#[test]
fn a_class_with_a_reading_and_a_technician_missing_on_some_circuits_is_analysed() {
    let all = aiag();
    let whole = GaugeStudy::of(&all).unwrap();
    let kept: Vec<_> = all[1..].iter().filter(|o| o.operator != "C" || o.part != "10").cloned().collect();
    let part = GaugeStudy::of(&kept).unwrap();
    assert_eq!(part.n_trials, (0, 3));
    for (one, other) in whole.readers.iter().zip(&part.readers) {
        near(one.above, other.above, 0.03);
    }
    near(whole.components(true).gauge(), part.components(true).gauge(), 0.02);
}

#[test]
fn readings_that_are_no_crossed_study_are_refused() {
    let all = aiag();
    // Two halves that read nothing in common.
    let halves = |o: &StudyReading| (o.operator == "A") == ["1", "2", "3"].contains(&o.part.as_str());
    let apart: Vec<_> = all.iter().filter(|o| halves(o)).cloned().collect();
    assert_eq!(GaugeStudy::of(&apart), Err(StudyError::Apart));
    let of = |keep: &dyn Fn(&StudyReading) -> bool| {
        GaugeStudy::of(&all.iter().filter(|o| keep(o)).cloned().collect::<Vec<_>>())
    };
    assert_eq!(of(&|o| o.operator == "A"), Err(StudyError::FewOperators));
    assert_eq!(of(&|o| o.part == "3"), Err(StudyError::FewParts));
    let mut once: Vec<_> = all.iter().step_by(3).cloned().collect();
    assert_eq!(GaugeStudy::of(&once), Err(StudyError::NoRepetition));
    once[0].value = f64::NAN;
    assert_eq!(GaugeStudy::of(&once), Err(StudyError::NotFinite));
}

/// Quantiles of the F distribution: NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.3, 5 % and 1 % tables
/// (from memory), and the one-way example of an uncertainty calculator's test suite: F 0.0850416 with 3 and 36 degrees
/// of freedom has probability 0.967 774 78, and 2.866 266 has 5 %.
#[test]
fn the_f_distribution_has_the_quantiles_of_the_tables() {
    near(f_above(0.085_041_6, 3.0, 36.0), 0.967_774_78, 1e-7);
    near(f_above(2.866_266, 3.0, 36.0), 0.05, 1e-7);
    for (ratio, above, below, probability) in [
        (161.448, 1.0, 1.0, 0.05),
        (4.965, 1.0, 10.0, 0.05),
        (3.326, 5.0, 10.0, 0.05),
        (10.044, 1.0, 10.0, 0.01),
    ] {
        near(f_above(ratio, above, below), probability, 2e-5);
    }
    assert_eq!(f_above(0.0, 3.0, 7.0), 1.0);
    assert_eq!(f_above(f64::INFINITY, 3.0, 7.0), 0.0);
}
