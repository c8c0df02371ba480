//! Grades say what students can do.

use super::pupils::{Skill, attempt};
use crate::practice::{Prepared, beats_guessing, is_passed, shipped};
use crate::record::Record;
use crate::tests::support::seeds;

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

/// Hours of television and IQ of ten people, a worked example of textbooks: 194 as the sum of squared differences,
/// -29/165; and one with ties (SciPy).
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

const PASSES_ALL: Skill = Skill { always: Some(true), ..Skill::PERFECT };
const CONDEMNS_ALL: Skill = Skill { always: Some(false), ..Skill::PERFECT };

fn n_amiss(prepared: &Prepared) -> usize {
    prepared.exercise.defects.iter().filter(|defect| defect.cause.is_of_circuit()).count()
}

#[track_caller]
fn fails(prepared: &Prepared, skill: Skill) -> f64 {
    let record = attempt(prepared, skill, 1).0;
    let is_passed = record.grade.as_ref().expect("a grade").passed;
    assert!(!is_passed && total(&record) < FAILED, "{}", show(prepared, &record));
    total(&record)
}

#[track_caller]
fn gets_all(prepared: &Prepared, skill: Skill) -> f64 {
    let record = attempt(prepared, skill, 1).0;
    assert!(total(&record) > 99.9, "{}", show(prepared, &record));
    total(&record)
}

#[test]
fn who_condemns_everything_fails_in_every_exercise_that_is_shipped() {
    for prepared in shipped() {
        fails(&prepared, CONDEMNS_ALL);
    }
}

#[test]
fn who_passes_everything_fails_in_every_exercise_with_something_to_find_and_in_the_course() {
    let grades: Vec<(bool, f64)> = shipped()
        .iter()
        .map(|prepared| match n_amiss(prepared) {
            // Where all is sound, who passes everything is right.
            0 => (true, gets_all(prepared, PASSES_ALL)),
            _ => (false, fails(prepared, PASSES_ALL)),
        })
        .collect();
    let n_sound = grades.iter().filter(|(is_sound, _)| *is_sound).count();
    assert_eq!((n_sound, grades.len()), (2, 15));
    let course = grades.iter().map(|(_, total)| total).sum::<f64>() / grades.len() as f64;
    assert!(!is_passed(course), "{course}");
}

#[test]
fn where_nothing_is_sound_who_condemns_everything_is_right_and_who_passes_everything_fails() {
    let mut all_bad = shipped().remove(1);
    all_bad.circuits.truncate(1);
    assert_eq!((n_amiss(&all_bad), all_bad.circuits.len()), (1, 1));
    gets_all(&all_bad, CONDEMNS_ALL);
    fails(&all_bad, PASSES_ALL);
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

const N_STUDENTS: u64 = 24;

/// Skill and grade over a course of all that is shipped, from the best student of a class to the worst. Classes are
/// alike but for their chances.
fn class(number: u64) -> (Vec<f64>, Vec<f64>) {
    let course = shipped();
    let student = |nth: u64| {
        let lacks = nth as f64 / (N_STUDENTS - 1) as f64;
        let skill = Skill { eye: 1.2 * lacks, haste: 0.9 * lacks, guesses: 0.8 * lacks, always: None };
        let chance = 1_000_000 + 100 * number + nth;
        let grades = course.iter().map(|prepared| total(&attempt(prepared, skill, chance).0));
        (1.0 - lacks, grades.sum::<f64>() / course.len() as f64)
    };
    (0..N_STUDENTS).map(student).unzip()
}

/// More classes by `SPOOLPROOF_SEEDS=200-212 cargo test --lib rank_every_class`.
#[test]
#[expect(clippy::print_stdout, reason = "the figures are for whoever asks for them")]
fn grades_of_a_course_rank_every_class_as_its_skill_does() {
    let ranked = |number: u64| {
        let (skills, grades) = class(number);
        let coefficient = spearman(&skills, &grades);
        println!("Class {number}: Spearman {coefficient:.3} of {grades:.1?}");
        coefficient
    };
    let classes: Vec<u64> = seeds(200..202).collect();
    let coefficients: Vec<f64> = std::thread::scope(|scope| {
        let halves = classes.chunks(classes.len().div_ceil(2));
        let threads: Vec<_> = halves
            .map(|half| scope.spawn(move || half.iter().map(|number| ranked(*number)).collect::<Vec<_>>()))
            .collect();
        threads.into_iter().flat_map(|thread| thread.join().expect("a class")).collect()
    });
    let lowest = coefficients.iter().copied().fold(1.0, f64::min);
    let mean = coefficients.iter().sum::<f64>() / coefficients.len() as f64;
    println!("{} classes: {lowest:.3} at the lowest, {mean:.3} in the mean", coefficients.len());
    assert!(coefficients.iter().all(|coefficient| *coefficient >= 0.9), "{coefficients:?}");
}
