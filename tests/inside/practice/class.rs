//! Grades say what students can do.

use super::pupils::{Skill, attempt};
use crate::practice::{Prepared, beats_guessing, shipped};
use crate::record::Record;

/// Spearman's coefficient: Pearson's, of ranks, those that are alike sharing theirs.
fn spearman(one: &[f64], other: &[f64]) -> f64 {
    let ranks = |values: &[f64]| -> Vec<f64> {
        let rank = |value: &f64| {
            let below = values.iter().filter(|other| *other < value).count() as f64;
            let alike = values.iter().filter(|other| *other == value).count() as f64;
            below + f64::midpoint(alike, 1.0)
        };
        values.iter().map(rank).collect()
    };
    let (one, other) = (ranks(one), ranks(other));
    let mean = |values: &[f64]| values.iter().sum::<f64>() / values.len() as f64;
    let (mean_one, mean_other) = (mean(&one), mean(&other));
    let product = |a: &[f64], b: &[f64], ma: f64, mb: f64| {
        a.iter().zip(b).map(|(a, b)| (a - ma) * (b - mb)).sum::<f64>()
    };
    product(&one, &other, mean_one, mean_other)
        / (product(&one, &one, mean_one, mean_one) * product(&other, &other, mean_other, mean_other)).sqrt()
}

/// Hours of television and IQ of ten people, a worked example of textbooks: 194 as the sum of squared differences, -29/165; and
/// one with ties (SciPy).
#[test]
fn the_coefficient_is_that_of_the_textbook() {
    let iq = [106.0, 86.0, 100.0, 101.0, 99.0, 103.0, 97.0, 113.0, 112.0, 110.0];
    let hours = [7.0, 0.0, 27.0, 50.0, 28.0, 29.0, 20.0, 12.0, 6.0, 17.0];
    assert!((spearman(&iq, &hours) + 29.0 / 165.0).abs() < 1e-12);
    let tied = spearman(&[1.0, 2.0, 2.0, 3.0, 4.0], &[2.0, 1.0, 3.0, 3.0, 5.0]);
    assert!((tied - 0.763_158).abs() < 1e-6);
}

pub(super) fn total(record: &Record) -> f64 {
    record.grade.as_ref().expect("a grade").total
}

pub(super) fn show(prepared: &Prepared, record: &Record) -> String {
    let grade = record.grade.as_ref().expect("a grade");
    let points: Vec<String> = grade
        .points
        .iter()
        .map(|point| format!("{:?} {:.2}: {}", point.point, point.share, point.because))
        .collect();
    format!("{}: {} {}\n{}", prepared.exercise.name, grade.total, grade.passed, points.join("\n"))
}

#[test]
fn a_perfect_student_gets_all_points() {
    for prepared in shipped() {
        let (record, _) = attempt(&prepared, Skill::PERFECT, 1);
        assert!(total(&record) > 99.9, "{}", show(&prepared, &record));
    }
}

/// Clearly below the 70 that are needed to pass.
const FAILED: f64 = 62.0;

#[test]
fn who_condemns_everything_and_who_passes_everything_fail_where_there_is_something_to_find_and_to_spare() {
    let mut n_failed = [0, 0];
    for prepared in shipped() {
        let n_amiss = prepared.exercise.defects.iter().filter(|defect| defect.cause.is_of_circuit()).count();
        let passes = attempt(&prepared, Skill { always: Some(true), ..Skill::PERFECT }, 1).0;
        let condemns = attempt(&prepared, Skill { always: Some(false), ..Skill::PERFECT }, 1).0;
        let fails = |record: &Record| {
            let is_passed = record.grade.as_ref().expect("a grade").passed;
            assert!(!is_passed && total(record) < FAILED, "{}", show(&prepared, record));
        };
        if n_amiss > 0 {
            fails(&passes);
            n_failed[0] += 1;
        }
        if prepared.circuits.is_empty() || n_amiss < prepared.circuits.len() {
            fails(&condemns);
            n_failed[1] += 1;
        }
    }
    assert!(n_failed[0] >= 5 && n_failed[1] >= 6, "{n_failed:?}");
}

/// Youden's index of the example in the manual of R's cutpointr: 10 found, 10 missed, 20 spared, 5 condemned.
#[test]
fn how_far_verdicts_beat_guessing_is_youdens_index() {
    let index = |found, missed, spared, condemned| {
        beats_guessing((found, found + missed), (spared, spared + condemned))
    };
    assert!((index(10, 10, 20, 5) - 0.3).abs() < 1e-12);
    assert!((index(8, 18, 12, 7) - (8.0 / 26.0 + 12.0 / 19.0 - 1.0_f64).max(0.0)).abs() < 1e-12);
    // All condemned, all passed; nothing to be found.
    assert_eq!((index(3, 0, 0, 4), index(0, 3, 4, 0), index(0, 0, 3, 1)), (0.0, 0.0, 0.75));
}

#[test]
#[expect(clippy::print_stdout, reason = "the figures are for whoever asks for them")]
fn grades_rank_a_class_of_known_skill_as_their_skill_does() {
    const N_STUDENTS: u64 = 24;
    let skill = |number: u64| 1.0 - number as f64 / (N_STUDENTS - 1) as f64;
    let skills: Vec<f64> = (0..N_STUDENTS).map(skill).collect();
    // Two classes, alike but for their chances.
    for class in [100, 300] {
        let grade = |number: u64| {
            let lacks = 1.0 - skill(number);
            let skill = Skill { eye: 1.2 * lacks, haste: 0.9 * lacks, guesses: 0.8 * lacks, always: None };
            let attempts = shipped();
            let grades = attempts.iter().map(|prepared| total(&attempt(prepared, skill, class + number).0));
            grades.sum::<f64>() / attempts.len() as f64
        };
        let grades: Vec<f64> = (0..N_STUDENTS).map(grade).collect();
        let coefficient = spearman(&skills, &grades);
        println!("Spearman {coefficient:.3} of {grades:.1?}");
        assert!(coefficient >= 0.9, "{coefficient} of {grades:?}");
    }
}
