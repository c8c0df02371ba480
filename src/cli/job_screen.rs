//! Jobs on the screen.

use super::arguments::{command_in, quoted, resume_command};
use super::open_sessions::{of_job, show_open, stands};
use super::status::Failure;
use crate::console::Screen;
use crate::history::{CircuitStanding, JobStanding};
use crate::record::{DoneRepair, JobNotes, Shop, Stage};
use crate::tell;

/// Shows what stands open in the shop: jobs, and sessions that are not finished.
pub(super) fn show_all(screen: &mut Screen, shop: &Shop, jobs: &[JobStanding]) -> Result<(), Failure> {
    if jobs.is_empty() {
        screen.line("No job stands open.");
    }
    for job in jobs {
        screen.item(&format!("{}  ", job.name), &in_a_line(job));
    }
    let sessions = shop.open_names().map_err(Failure::wrong)?;
    if !sessions.is_empty() {
        screen.line("Sessions that are not finished:");
    }
    for name in &sessions {
        show_open(screen, shop, name);
    }
    Ok(())
}

/// Says where a job stands in a line.
fn in_a_line(job: &JobStanding) -> String {
    let counted = Stage::ALL.into_iter().filter_map(|stage| match job.at_stage(stage).count() {
        0 => None,
        n => Some(format!("{n} {}", stage.word())),
    });
    let counted = counted.collect::<Vec<_>>().join(", ");
    let stands = match (job.tests.is_empty(), counted.is_empty()) {
        (true, _) => "nothing tested to its end yet".to_owned(),
        (false, true) => "tested, no circuits".to_owned(),
        (false, false) => counted,
    };
    let unit = job.tests.last().map(|test| test.unit.clone());
    let parts = [Some(stands), unit, job.notes.customer.clone(), job.notes.vehicle.clone()];
    parts.into_iter().flatten().collect::<Vec<_>>().join("; ")
}

/// Shows where a job stands, circuit by circuit, and what comes next.
pub(super) fn show_one(screen: &mut Screen, shop: &Shop, job: &JobStanding) {
    screen.line(&format!("Job {}", job.name));
    let JobNotes { customer, vehicle, repairs, .. } = &job.notes;
    for (label, text) in [("Customer", customer), ("Vehicle", vehicle)] {
        if let Some(text) = text {
            screen.item("  ", &format!("{label}: {text}"));
        }
    }
    for test in &job.tests {
        screen.item("  Tested: ", &format!("{}, by {}, {}", test.unit, test.technician, test.session));
    }
    for stage in Stage::ALL {
        for (index, circuit) in job.at_stage(stage).enumerate() {
            if index == 0 {
                screen.line(&sentence(stage.word()));
            }
            let decided = circuit.decided.iter().map(|decided| format!("; decided: {decided}"));
            screen.item("  ", &format!("{}{}", told_of(job, circuit), decided.collect::<String>()));
        }
    }
    if !repairs.is_empty() {
        screen.line("Repairs noted");
    }
    repairs.iter().for_each(|(_, repair)| screen.item("  ", &noted_repair(job, repair)));
    for name in of_job(shop, &job.name) {
        screen.item("Open session  ", &format!("{name}: {}; go on with:", stands(shop, &name)));
        screen.line(&format!("  {}", resume_command(shop, &name)));
    }
    match job.closed() {
        Some((_, why)) => screen.say(&format!("Closed: {why}")),
        None => next(screen, shop, job),
    }
}

/// Says by which command a job goes on.
fn next(screen: &mut Screen, shop: &Shop, job: &JobStanding) {
    let name = quoted(&job.name);
    let is_at = |stage: Stage| job.at_stage(stage).next().is_some();
    let report = [("Report", format!("report {name} --html report.html"))];
    let repaired = ("After a repair, note what was really done", format!("job repaired {name}"));
    let again = ("Test again", format!("guide --retest {name}"));
    let has_repairs = is_at(Stage::ToDecide) || is_at(Stage::ToRepair);
    let has_tests = has_repairs || is_at(Stage::ToTestAgain) || is_at(Stage::ToTest);
    let is_tested = !job.tests.is_empty();
    let steps = [(has_repairs, repaired), (has_tests, again)];
    let steps = steps.into_iter().chain(report.map(|report| (is_tested, report)));
    for (_, (when, command)) in steps.filter(|(is_next, _)| *is_next) {
        screen.line(&format!("{when}:"));
        screen.line(&format!("  {}", command_in(shop, &command)));
    }
}

/// Says before a test after a repair what was noted as done, and of which circuits nothing is.
pub(super) fn told_before_retest(screen: &mut Screen, shop: &Shop, job: &JobStanding, indent: usize) {
    for (_, repair) in &job.notes.repairs {
        screen.paragraph(indent, &format!("Repaired: {}.", noted_repair(job, repair)));
    }
    let unnoted: Vec<_> = job.at_stage(Stage::ToRepair).map(|circuit| titled(job, circuit)).collect();
    if !unnoted.is_empty() {
        let told = format!(
            "No repair is noted of: {}. Where one was done, park and note it, so that the report can say so:\n{}",
            unnoted.join(", "),
            command_in(shop, &format!("job repaired {}", quoted(&job.name)))
        );
        screen.paragraph(indent, &told);
    }
}

/// Names a circuit of a job with its verdict, or says what was found beside circuits.
pub(super) fn told_of(job: &JobStanding, circuit: &CircuitStanding) -> String {
    match circuit.is_finding {
        true => format!("found: {}", titled(job, circuit)),
        false => format!("{}: {}", titled(job, circuit), tell::verdict_word(circuit.verdict)),
    }
}

/// Names a circuit of a job, with its unit where that has several.
fn titled(job: &JobStanding, circuit: &CircuitStanding) -> String {
    tell::titled(&circuit.unit, &circuit.name, job.has_several_units())
}

/// Tells a repair that was noted, with its circuit.
pub(super) fn noted_repair(job: &JobStanding, repair: &DoneRepair) -> String {
    format!("{}{}", tell::repaired_at(repair, job.has_several_units()), tell::done_repair(repair))
}

fn sentence(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}
