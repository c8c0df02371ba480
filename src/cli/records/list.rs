use serde_json::{Value, json};

use super::chosen::of_each;
use super::open::stands;
use crate::cli::arguments::resume_command;
use crate::cli::status::{Failure, Outcome, Status};
use crate::console::Screen;
use crate::record::{Record, Shop, StoreError, read};
use crate::tell;

/// Lists the records, and the sessions that are still open.
pub(super) fn list(shop: &Shop, as_json: bool) -> Outcome {
    let names = shop.record_names().map_err(Failure::wrong)?;
    let open = shop.open_names().map_err(Failure::wrong)?;
    let mut screen = Screen::stdout();
    let mut status = Status::Done;
    let records = of_each("records read", &names, |name| read(&shop.record(name)));
    let records: Vec<(String, Result<Record, StoreError>)> = names.into_iter().zip(records).collect();
    for (name, record) in &records {
        if let Err(error) = record {
            // One file that cannot be read must not hide the others.
            Failure::not_in_order(format!("{name}: {error}")).report();
            status = Status::NotInOrder;
        }
    }
    if as_json {
        let records: Vec<Value> =
            records.iter().filter_map(|(_, record)| record.as_ref().ok()).map(summary).collect();
        screen.json(&json!({ "records": records, "open": open }));
        return Ok(status);
    }
    if records.is_empty() && open.is_empty() {
        screen.line(&format!("No records yet in {}.", shop.records().display()));
    }
    let sound: Vec<&Record> = records.iter().filter_map(|(_, record)| record.as_ref().ok()).collect();
    for record in &sound {
        screen.item(&format!("{}  ", record.session), &listed(record, &sound));
    }
    for name in &open {
        screen.line(&format!("{name}  {}; go on with: {}", stands(shop, name), resume_command(shop, name)));
    }
    Ok(status)
}

/// Says in a line what a record is, and which one among all stands in for it.
fn listed(record: &Record, all: &[&Record]) -> String {
    let amends = |other: &&&Record| {
        other.amends.as_ref().is_some_and(|amends| amends.earlier.session == record.session)
    };
    let amended_by: Vec<&str> = all.iter().filter(amends).map(|other| other.session.as_str()).collect();
    let after = record.plan.as_ref().and_then(|plan| plan.after.as_ref());
    let parts = [
        (!record.is_as_stored()).then(|| "NOT AS STORED, see records audit".to_owned()),
        Some(record.finished.strftime("%Y-%m-%d").to_string()),
        record.procedure.unit.clone(),
        Some(tell::summary(&record.summary)),
        record.job.as_ref().map(|job| format!("job {job}")),
        record.technician.as_ref().map(|name| format!("by {name}")),
        after.map(|after| format!("tests {} again", after.session)),
        record.amends.as_ref().map(|amends| format!("amends {}", amends.earlier.session)),
        (!amended_by.is_empty()).then(|| format!("amended by {}", amended_by.join(" and "))),
    ];
    parts.into_iter().flatten().collect::<Vec<_>>().join("; ")
}

fn summary(record: &Record) -> Value {
    json!({
        "session": record.session,
        "as_stored": record.is_as_stored(),
        "job": record.job,
        "finished": record.finished,
        "technician": record.technician,
        "procedure": record.procedure.id,
        "version": record.procedure.version,
        "unit": record.procedure.unit,
        "signer": record.procedure.signer,
        "tests_again": record.plan.as_ref().and_then(|plan| plan.after.as_ref()).map(|after| &after.session),
        "amends": record.amends.as_ref().map(|amends| &amends.earlier.session),
        "summary": record.summary,
    })
}
