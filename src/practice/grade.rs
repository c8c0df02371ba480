use super::handling::Handling;
use super::judging::Judging;
use super::weights::{point_name, weights};
use crate::quantity::{shown, six_digits};
use crate::record::{Circuit, Event, Mark, Opening, Point, PointMark, Record};
use crate::tell::percent;

/// What rests on the student's verdicts: so much of it counts as they beat guessing.
const JUDGED: [Point; 6] =
    [Point::Found, Point::Spared, Point::Cause, Point::Repair, Point::Confidence, Point::Parts];

/// Who has this of 100 has passed (common practice, no source).
pub(crate) const ENOUGH: f64 = 70.0;

/// How much of a point was reached, 0 to 1, and why.
pub(super) type Reached = (f64, String);

/// Works out what a student's work at an exercise is worth, from the events of the attempt alone; none where it is no
/// attempt at one.
pub(crate) fn graded(opening: &Opening, circuits: &[Circuit], events: &[Event]) -> Option<Mark> {
    let exercise = opening.exercise.as_deref()?;
    let handling = Handling::of(exercise, circuits, events);
    let judging = Judging::of(opening, circuits, handling.bench.unit(), events);
    let share = |point: Point| match point {
        Point::RigSet => handling.rig_set(),
        Point::Settings => handling.settings(),
        Point::Readings => handling.readings(),
        Point::Handling => handling.handling(),
        Point::Checks => handling.checks(),
        Point::Cautions => handling.cautions(),
        Point::Circuits => judging.circuits_chosen(),
        Point::Found => judging.found(),
        Point::Spared => judging.spared(),
        Point::Cause => judging.causes(),
        Point::Repair => judging.repairs(),
        Point::Confidence => judging.confidence(),
        Point::Parts => judging.parts(),
        Point::Time => handling.time(),
    };
    let weights = weights(exercise);
    let weight_of = |point: Point| {
        let known = weights.iter().find(|(known, _)| *known == point);
        known.map_or(0.0, |(_, weight)| *weight)
    };
    let beats = judging.beats_guessing();
    let mark = |&(point, weight): &(Point, f64)| {
        let (share, mut because) = share(point)?;
        let mut share = share.clamp(0.0, 1.0);
        if JUDGED.contains(&point) && beats < 1.0 {
            share *= beats;
            because +=
                &format!("; of that {} counts: by so much your verdicts beat guessing", percent(beats, 0));
        }
        // Where an exercise has nothing to find, what is spared has that weight too, and the other way round.
        let other = match point {
            Point::Found => Some(Point::Spared),
            Point::Spared => Some(Point::Found),
            _ => None,
        };
        let other = other.filter(|other| judging.has_nothing(*other)).map_or(0.0, weight_of);
        Some(PointMark { point, share: six_digits(share), weight: weight + other, because })
    };
    let points: Vec<PointMark> =
        weights.iter().filter(|(_, weight)| *weight > 0.0).filter_map(mark).collect();
    let of: f64 = points.iter().map(|point| point.weight).sum();
    let got: f64 = points.iter().map(|point| point.weight * point.share).sum();
    // Weights of nothing at all weigh nothing.
    let total = if of > 0.0 { six_digits(100.0 * got / of) } else { 0.0 };
    Some(Mark { total, passed: is_passed(total), points })
}

/// Returns whether so much of 100 is enough.
pub(crate) fn is_passed(total: f64) -> bool {
    total >= ENOUGH
}

/// Says what of an attempt was not graded because another hand had set the rig.
pub(crate) fn not_graded(record: &Record) -> Option<String> {
    let exercise = record.opening()?.exercise.as_deref()?;
    let points = &record.grade.as_ref()?.points;
    let missing = |(point, weight): &(Point, f64)| {
        let is_of_setting = matches!(point, Point::RigSet | Point::Settings) && *weight > 0.0;
        let is_missing = points.iter().all(|reached| reached.point != *point);
        (is_of_setting && is_missing).then(|| point_name(*point))
    };
    let missing: Vec<&str> = weights(exercise).iter().filter_map(missing).collect();
    (exercise.is_set && !missing.is_empty()).then(|| {
        format!(
            "Not graded: {}, for the rig was handed over set. The other points count for so much more.",
            missing.join(" and ")
        )
    })
}

/// Says how the points come to the grade, and what is enough.
pub(crate) fn summed(mark: &Mark) -> String {
    let of: f64 = mark.points.iter().map(|point| point.weight).sum();
    let got: f64 = mark.points.iter().map(|point| point.weight * point.share).sum();
    let word = if mark.passed { "Passed" } else { "Not passed" };
    let (got, of, total) = (shown(got, 1), shown(of, 1), shown(mark.total, 1));
    format!("{word}: {got} of {of} points make {total} of 100. To pass, {ENOUGH} are needed.")
}
