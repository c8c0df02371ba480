//! The table of a class: the attempts that students have handed in, each audited.

use std::collections::BTreeMap;
use std::path::Path;

use serde_json::json;

use super::status::{Failure, Outcome, Status};
use crate::console::Screen;
use crate::disk::write_whole;
use crate::practice::point_name;
use crate::quantity::{UNITS, shown};
use crate::record::{Mark, Record, names_of_documents};
use crate::report::{ReadingRow, Table, csv, show_table, table_page};
use crate::session::Auditor;

/// What one student has done at one exercise, in the order of the attempts.
type Attempts = BTreeMap<(String, String), Vec<Mark>>;

/// Audits the attempts in a folder and tells the class's table; an attempt that is not in order counts nothing.
pub(super) fn tell(folder: &Path, is_csv: bool, html: Option<&Path>) -> Outcome {
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
    let tables = tables(&attempts);
    match html {
        _ if is_csv => as_csv(&mut screen, &tables[0])?,
        Some(path) => {
            let page = table_page("A class at practice", &tables, &UNITS[0]);
            write_whole(path, page.as_bytes()).map_err(|error| Failure::file(path, error))?;
            screen.say(&format!("Written: {}", path.display()));
        }
        None => tables.iter().for_each(|table| show_table(&mut screen, table, &UNITS[0])),
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

/// The class's table: a row for each student and exercise, and where the class as a whole loses most.
fn tables(attempts: &Attempts) -> [Table; 2] {
    let heads = ["student", "exercise", "attempts", "best", "last", "passed"];
    let mut students = Table::new("Grades, of 100", &heads);
    for ((student, exercise), marks) in attempts {
        let last = marks.last().map_or(0.0, |mark| mark.total);
        let passed = if marks.iter().any(|mark| mark.passed) { "yes" } else { "no" };
        let (n, best) = (marks.len().to_string(), shown(best(marks), 1));
        students.row([student.clone(), exercise.clone(), n, best, shown(last, 1), passed.to_owned()]);
    }
    let mut shares: BTreeMap<&'static str, Vec<f64>> = BTreeMap::new();
    for point in attempts.values().flatten().flat_map(|mark| &mark.points) {
        shares.entry(point_name(point.point)).or_default().push(point.share);
    }
    let mean = |shares: &Vec<f64>| shares.iter().sum::<f64>() / shares.len() as f64;
    let mut means: Vec<_> = shares.iter().map(|(name, shares)| (*name, mean(shares), shares.len())).collect();
    means.sort_by(|one, other| one.1.total_cmp(&other.1));
    let mut points =
        Table::new("What the class reached of each point, the weakest first", &["point", "%", "attempts"]);
    for (name, mean, n) in means {
        points.row([name.to_owned(), shown(100.0 * mean, 0), n.to_string()]);
    }
    [students, points]
}

fn as_csv(screen: &mut Screen, table: &Table) -> Result<(), Failure> {
    let cell = |text: &String| match (text.parse::<i64>(), text.parse::<f64>()) {
        (Ok(whole), _) => json!(whole),
        (_, Ok(number)) => json!(number),
        _ => json!(text),
    };
    let rows: Vec<ReadingRow> = table
        .rows
        .iter()
        .map(|row| table.heads.iter().copied().zip(row.iter().map(cell)).collect())
        .collect();
    screen.document(&csv(&rows).map_err(Failure::wrong)?);
    Ok(())
}
