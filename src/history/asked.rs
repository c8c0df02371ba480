use std::borrow::Cow;

use jiff::civil::Date;
use rusqlite::types::ToSql;

/// Which records a question is about; all of them where nothing is said.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct Asked {
    /// Read on this day of the shop or later.
    pub(crate) since: Option<Date>,
    /// Read on this day of the shop or before.
    pub(crate) until: Option<Date>,
    /// Read at one of these benches, by their numbers in the index.
    pub(crate) benches: Option<Vec<i64>>,
    pub(crate) unit: Option<String>,
    /// The fingerprint of the key that asks: attempts whose truth others hold back are left out. None where
    /// nothing is held back.
    pub(crate) by: Option<String>,
}

impl Asked {
    pub(crate) fn is_all(&self) -> bool {
        *self == Asked::default()
    }

    /// Returns the text of a question about these records, with parameters behind its own: in it `asked_` stands before
    /// the name of each table of which only what belongs to them counts.
    pub(super) fn narrowed<'a>(
        &self,
        sql: &'a str,
        n_parameters: usize,
    ) -> (Cow<'a, str>, Vec<Box<dyn ToSql>>) {
        if !sql.contains("asked_") {
            return (Cow::Borrowed(sql), Vec::new());
        }
        if self.is_all() {
            return (Cow::Owned(sql.replace("asked_", "")), Vec::new());
        }
        let mut wanted: Vec<String> = Vec::new();
        let mut parameters: Vec<Box<dyn ToSql>> = Vec::new();
        let mut want = |condition: &str, text: String| {
            parameters.push(Box::new(text));
            wanted.push(condition.replace('$', &format!("${}", n_parameters + parameters.len())));
        };
        for (condition, day) in [("day >= $", self.since), ("day <= $", self.until)] {
            if let Some(day) = day {
                want(condition, day.to_string());
            }
        }
        if let Some(unit) = &self.unit {
            want("unit = $", unit.clone());
        }
        if let Some(by) = &self.by {
            want("COALESCE(held_back_by, '') IN ('', $)", by.clone());
        }
        if let Some(benches) = &self.benches {
            let benches: Vec<String> = benches.iter().map(i64::to_string).collect();
            wanted.push(format!("bench IN ({})", benches.join(", ")));
        }
        let mut tables = format!("asked_record AS (SELECT * FROM record WHERE {})", wanted.join(" AND "));
        for table in ["test", "reading", "rig_check", "account"] {
            tables += &format!(
                ",\nasked_{table} AS (SELECT {table}.* FROM {table} JOIN asked_record AS asked
     ON asked.id = {table}.record AND asked.bench = {table}.bench)"
            );
        }
        let begin = ["WITH RECURSIVE ", "WITH "].into_iter().find(|begin| sql.contains(begin));
        let sql = match begin {
            Some(begin) => sql.replacen(begin, &format!("{begin}{tables},\n"), 1),
            None => format!("WITH {tables}\n{sql}"),
        };
        (Cow::Owned(sql), parameters)
    }
}
