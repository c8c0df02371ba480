//! The table of a class: the attempts that students have handed in, each audited.

use std::collections::BTreeMap;
use std::path::Path;

use super::status::{Failure, Outcome, Status};
use crate::console::Screen;
use crate::practice::point_name;
use crate::quantity::shown;
use crate::record::{Mark, Record, names_of_documents};
use crate::session::Auditor;

/// What one student has done at one exercise, in the order of the attempts.
type Attempts = BTreeMap<(String, String), Vec<Mark>>;

/// Audits the attempts in a folder and tells the class's table; an attempt that is not in order counts nothing.
pub(super) fn tell(folder: &Path, csv: bool) -> Outcome {
    let names = names_of_documents(folder).map_err(|error| Failure::file(folder, error))?;
    let mut auditor = Auditor::default();
    let (mut attempts, mut refused) = (Attempts::new(), Vec::new());
    for name in names {
        let path = folder.join(format!("{name}.json"));
        let audit = auditor.audit_file(&path).map_err(|error| Failure::file(&path, error))?;
        match audit.record.and_then(of_attempt) {
            Some((who, mark)) => attempts.entry(who).or_default().push(mark),
            None => {
                let why = audit
                    .faults
                    .first()
                    .map_or("it is no attempt at an exercise".to_owned(), ToString::to_string);
                refused.push(format!("{name}: {why}"));
            }
        }
    }
    let mut screen = Screen::stdout();
    if csv {
        as_csv(&mut screen, &attempts)
    } else {
        as_table(&mut screen, &attempts)
    }
    let mut aside = Screen::stderr();
    for refused in &refused {
        aside.say(&format!("Not counted: {refused}."));
    }
    Ok(if refused.is_empty() { Status::Done } else { Status::NotInOrder })
}

fn of_attempt(record: Record) -> Option<((String, String), Mark)> {
    let exercise = record.opening()?.exercise.as_ref()?.name.clone();
    // "ann " and "Ann" are one student.
    let student = record.technician.as_deref().unwrap_or_default().trim().to_lowercase();
    Some(((student, exercise), record.grade?))
}

fn best(marks: &[Mark]) -> f64 {
    marks.iter().map(|mark| mark.total).fold(0.0, f64::max)
}

fn as_csv(screen: &mut Screen, attempts: &Attempts) {
    let quoted = |text: &str| format!("\"{}\"", text.replace('"', "\"\""));
    screen.line("student,exercise,attempts,best,last,passed");
    for ((student, exercise), marks) in attempts {
        let last = marks.last().map_or(0.0, |mark| mark.total);
        screen.line(&format!(
            "{},{},{},{},{},{}",
            quoted(student),
            quoted(exercise),
            marks.len(),
            shown(best(marks), 1),
            shown(last, 1),
            marks.iter().any(|mark| mark.passed)
        ));
    }
}

fn as_table(screen: &mut Screen, attempts: &Attempts) {
    for ((student, exercise), marks) in attempts {
        let last = marks.last().map_or(0.0, |mark| mark.total);
        let word = if marks.iter().any(|mark| mark.passed) { "passed" } else { "not passed" };
        let n = marks.len();
        let times =
            if n == 1 { "1 attempt".to_owned() } else { format!("{n} attempts, last {}", shown(last, 0)) };
        screen.item(
            &format!("{:>4}  ", shown(best(marks), 0)),
            &format!("{student}, {exercise}: {word}, {times}"),
        );
    }
    let mut shares: BTreeMap<&'static str, Vec<f64>> = BTreeMap::new();
    for point in attempts.values().flatten().flat_map(|mark| &mark.points) {
        shares.entry(point_name(point.point)).or_default().push(point.share);
    }
    let mut means: Vec<(&str, f64)> = shares
        .iter()
        .map(|(name, shares)| (*name, shares.iter().sum::<f64>() / shares.len() as f64))
        .collect();
    means.sort_by(|one, other| one.1.total_cmp(&other.1));
    const MOST: usize = 3;
    let weak: Vec<_> = means
        .iter()
        .filter(|(_, mean)| *mean < 0.9)
        .take(MOST)
        .map(|(name, mean)| format!("{name} ({} %)", shown(100.0 * mean, 0)))
        .collect();
    if !weak.is_empty() {
        screen.say(&format!("Where the class as a whole loses most: {}.", weak.join(", ")));
    }
    if attempts.is_empty() {
        screen.say("There is no attempt at an exercise in this folder.");
    }
}
