//! What the points of a grade weigh, and the table in which an instructor changes that.

use serde::Deserialize;
use serde_json::{Value, json};

use crate::record::{Exercise, Point, Weight};

/// The points, each with its name on the screen, what it counts of 100 where an exercise has something for all (common
/// practice, no source), and what it looks at.
const POINTS: [(Point, &str, f64, &str); 14] = [
    (
        Point::RigSet,
        "rig",
        8.0,
        "both points of the rig are within what the coach is content with and 1/4 division; one more off, nothing",
    ),
    (Point::Settings, "settings", 4.0, "in how few settings of a valve it was set: 5 give all, 12 nothing"),
    (
        Point::Readings,
        "readings",
        16.0,
        "how near what was typed is to the needle: 1/4 division gives all, 1 nothing; circuits are half of it, the rig half",
    ),
    (
        Point::Handling,
        "handling",
        16.0,
        "readings with the hose in the right place, faces wiped before the plate was seated (half), a needle that stood (half)",
    ),
    (
        Point::Checks,
        "looks at the rig",
        3.0,
        "looks at the rig with the right thing on the hose and no valve turned",
    ),
    (Point::Cautions, "cautions", 3.0, "cautions that were acknowledged before the hands did anything more"),
    (
        Point::Circuits,
        "circuits chosen",
        3.0,
        "for a complaint: the circuits that can cause it, and no others",
    ),
    (
        Point::Found,
        "found",
        14.0,
        "what is not sound is found; another verdict than the true one gives three quarters",
    ),
    (Point::Spared, "spared", 14.0, "what is sound is left alone"),
    (
        Point::Cause,
        "cause and place",
        6.0,
        "the cause of what is not sound (7 tenths) and the reading that shows it (3)",
    ),
    (Point::Repair, "repair", 4.0, "what was chosen puts right what is not sound"),
    (
        Point::Confidence,
        "how sure",
        5.0,
        "how sure beside how often right: Brier score, 0.01 gives all, 0.25 nothing",
    ),
    (Point::Parts, "parts", 4.0, "no parts are bought for nothing, by the procedure's prices"),
    (Point::Time, "time", 0.0, "minutes of the bench's clock a reading: 1.5 or less give all, 5 nothing"),
];

/// A row of the table.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct WeightRow {
    point: Point,
    weight: f64,
    /// For people to read.
    #[serde(rename = "looks at", default)]
    _looks_at: String,
}

/// Returns what each point counts in an exercise: its own weights, or the usual ones.
pub(super) fn weights(exercise: &Exercise) -> Vec<(Point, f64)> {
    match exercise.weights.is_empty() {
        true => POINTS.iter().map(|known| (known.0, known.2)).collect(),
        false => exercise.weights.iter().map(|weight| (weight.point, weight.weight)).collect(),
    }
}

/// Returns the usual weights as the rows of a table, with what each point looks at.
pub(crate) fn weight_rows() -> Vec<Vec<(&'static str, Value)>> {
    let row = |(point, _, weight, looks_at): (Point, &str, f64, &str)| {
        vec![("point", json!(point)), ("weight", json!(weight)), ("looks at", json!(looks_at))]
    };
    POINTS.into_iter().map(row).collect()
}

/// Says what is wrong with an exercise's own weights; none where nothing is, or it has none of its own.
pub(super) fn fault(weights: &[Weight]) -> Option<String> {
    if weights.is_empty() {
        return None;
    }
    if let Some(wrong) = weights.iter().find(|weight| weight.weight.is_nan() || weight.weight < 0.0) {
        let (point, weight) = (point_name(wrong.point), wrong.weight);
        return Some(format!("the weight of \"{point}\" is {weight}, and a weight is 0 or more"));
    }
    let times = |point: Point| weights.iter().filter(|weight| weight.point == point).count();
    if let Some((_, name, ..)) = POINTS.iter().find(|known| times(known.0) > 1) {
        return Some(format!("\"{name}\" stands twice in its weights"));
    }
    let missing: Vec<String> = POINTS
        .iter()
        .filter(|known| times(known.0) == 0)
        .map(|known| serde_json::to_string(&known.0).unwrap_or_default())
        .collect();
    if !missing.is_empty() {
        return Some(format!(
            "its weights have nothing for {}; a point that is to count nothing weighs 0",
            missing.join(", ")
        ));
    }
    let is_nothing = weights.iter().all(|weight| weight.weight == 0.0);
    is_nothing.then(|| "all its weights are 0, so that nothing would count".to_owned())
}

/// Reads such a table in CSV; whether it has a weight for each point, and anything counts,
/// [`super::Prepared::fault`] says.
///
/// # Errors
/// Where a row names no point, or has no number for it.
pub(crate) fn read_weights(text: &str) -> Result<Vec<Weight>, String> {
    let mut rows =
        csv::ReaderBuilder::new().comment(Some(b'#')).trim(csv::Trim::All).from_reader(text.as_bytes());
    let weight = |row: csv::Result<WeightRow>| row.map(|row| Weight { point: row.point, weight: row.weight });
    let read = rows.deserialize().map(weight).collect::<csv::Result<Vec<_>>>();
    let why = match read {
        Ok(weights) if !weights.is_empty() => return Ok(weights),
        Ok(_) => "no row weighs anything".to_owned(),
        Err(error) => error.to_string(),
    };
    Err(format!(
        "{why}. The first row is point,weight,looks at; each other names a point and says what it weighs, 0 or more. spoolproof \
         practice weights prints a table to begin with"
    ))
}

pub(crate) fn point_name(point: Point) -> &'static str {
    POINTS.iter().find(|known| known.0 == point).map_or("", |known| known.1)
}
