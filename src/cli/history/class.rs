use clap::Args;

use super::answer::{AnswerSheet, known_as, vacuum, vacuum_cell, vacuum_unit};
use crate::cli::quantities;
use crate::cli::status::Failure;
use crate::history::Index;
use crate::procedure::nearest;
use crate::quantity::{Pressure, shown};
use crate::record::Shop;
use crate::report::{Cell, Dots, Picture, Table, class_advice, unsteady};
use crate::session::Auditor;
use crate::stats::{Components, GaugeStudy, GaugeTable, StudyReading, VarianceLine, deviation_limits, mean};

/// The unit of the shipped procedure that a class walks.
pub(super) const STUDY: &str = "Class study";

#[derive(Debug, Args)]
pub(super) struct ClassArguments {
    /// The unit that the class has tested
    #[arg(long, default_value = STUDY)]
    unit: String,
    /// Leave this technician out; once for each
    #[arg(long, value_name = "NAME")]
    without: Vec<String>,
    /// Only these technicians, their names with commas between
    #[arg(long, value_name = "NAMES", value_delimiter = ',')]
    group: Vec<String>,
    /// What lies between the limits that the class is to tell apart
    #[arg(long, value_name = "VACUUM", default_value = "5 inHg", value_parser = quantities::vacuum)]
    between: Pressure,
}

/// Returns the readings of a gauge study. Of the shop's own records those that an audit finds not in order are left
/// out, which is said of each; on a server none is that was not audited.
pub(super) fn in_order(index: &Index, own: Option<&Shop>, unit: &str) -> Result<Vec<StudyReading>, Failure> {
    let mut readings = index.study(unit)?;
    let Some(shop) = own else { return Ok(readings) };
    let mut auditor = Auditor::default();
    for (session, technician) in index.studied(unit)? {
        let path = shop.record(&session);
        let audit = auditor.audit_file(&path).map_err(|error| Failure::file(&path, error))?;
        if let Some(fault) = audit.faults.first() {
            Failure::not_in_order(format!("{session}, by {technician}, is left out: {fault}")).report();
            readings.retain(|reading| reading.operator != technician);
        }
    }
    Ok(readings)
}

/// Returns the readings of those of the class that are meant.
fn chosen(
    index: &Index,
    own: Option<&Shop>,
    arguments: &ClassArguments,
) -> Result<Vec<StudyReading>, Failure> {
    let ClassArguments { unit, without, group, .. } = arguments;
    let mut readings = in_order(index, own, unit)?;
    let mut known: Vec<String> = readings.iter().map(|reading| reading.operator.clone()).collect();
    known.dedup();
    for name in without {
        let name = known_as(name.trim(), &known, "technician")?;
        readings.retain(|reading| reading.operator != name);
    }
    let named = |name: &String| known_as(name.trim(), &known, "technician");
    let group = group.iter().map(named).collect::<Result<Vec<_>, _>>()?;
    readings.retain(|reading| group.is_empty() || group.contains(&reading.operator));
    if readings.is_empty() && index.units()?.contains(unit) {
        return Err(Failure::not_in_order(
            "nothing is left of the class: all of it is left out by --without, --group, --since, --until or --bench, or is not in \
             order",
        ));
    }
    if readings.is_empty() {
        let known = index.units()?;
        let near = nearest(unit, known.iter().map(String::as_str));
        let near = near.map(|near| format!(" Did you mean --unit \"{near}\"?")).unwrap_or_default();
        return Err(Failure::not_in_order(format!(
            "no record has a unit \"{unit}\".{near} First everybody in the class walks guide class-study in this shop."
        )));
    }
    Ok(readings)
}

pub(super) fn class(
    index: &Index,
    own: Option<&Shop>,
    arguments: &ClassArguments,
) -> Result<AnswerSheet, Failure> {
    let ClassArguments { unit, between, .. } = arguments;
    if between.si() <= 0.0 {
        return Err(Failure::wrong(
            "--between is what lies between two limits: more than nothing, as in 5inHg",
        ));
    }
    let readings = chosen(index, own, arguments)?;
    let study = GaugeStudy::of(&readings).map_err(Failure::not_in_order)?;
    let components = study.components(study.may_be_pooled());
    let (fewest, most) = study.n_trials;
    let each = if fewest == most { format!("{most}") } else { format!("{fewest} to {most}") };
    let title = format!(
        "{unit}: {} technicians, {} circuits, {each} readings each",
        study.operators.len(),
        study.parts.len(),
    );
    let mut deviations = deviations(&components, study.table.freedom(components.is_pooled), title.clone());
    // What one hand scatters beyond the others is no property of the rig.
    if unsteady(&study).is_none() {
        deviations.note(format!(
            "What this class repeats within takes the place of the usual figure for this rig by:\nspoolproof rig set \
             --repeatability {}inHg --repeatability-readings {}",
            vacuum(components.repeatability),
            readings.len()
        ));
    }
    for alike in index.spellings(unit)? {
        let alike: Vec<String> = alike.iter().map(|name| format!("\"{name}\"")).collect();
        deviations.note(format!("Taken for one technician: {}.", alike.join(", ")));
    }
    for sentence in class_advice(&study, *between, vacuum_unit()) {
        deviations.note(sentence);
    }
    Ok(AnswerSheet {
        title,
        tables: vec![deviations, readers(&study, &readings), circuits(&study, &readings), variance(&study)],
    })
}

fn deviations(components: &Components, (repeated, whole): (f64, f64), title: String) -> Table {
    let heads = ["where it comes from", "deviation, inHg", "from", "to", "of the whole, %"];
    let mut table = Table::new(title, &heads);
    for (name, deviation, freedom) in [
        ("repeatability: the same hand again", components.repeatability, Some(repeated)),
        ("technicians differ", components.operators, None),
        ("technicians differ on some circuits", components.interaction, None),
        ("reading as a whole", components.gauge(), Some(whole)),
        ("the circuits themselves", components.parts, None),
        ("everything", components.total(), None),
    ] {
        let share = if components.total() > 0.0 { deviation / components.total() } else { 0.0 };
        let (from, to) = freedom.and_then(|freedom| deviation_limits(deviation, freedom)).unzip();
        table.row([
            Cell::from(name),
            vacuum_cell(deviation),
            vacuum_cell(from),
            vacuum_cell(to),
            Cell::figure(100.0 * share, format!("{:.1}", 100.0 * share)),
        ]);
    }
    table.note(
        "From and to: what so many readings and technicians leave open, with 95 % confidence (chi-square; that of reading as a \
         whole is an approximation, Satterthwaite's). With few technicians that is a lot.",
    );
    table.note(
        "Deviations add up by their squares, so the shares of the whole make more than 100 % together.",
    );
    table
}

/// Draws each reading by how far it is from the mean of its circuit, a row for each name.
fn off_the_mean(names: &[String], readings: &[StudyReading], of: fn(&StudyReading) -> &String) -> Picture {
    let inch = |reading: &StudyReading| vacuum_unit().from_si(reading.value);
    let mean =
        |part: &String| mean(&readings.iter().filter(|r| r.part == *part).map(inch).collect::<Vec<_>>());
    let row = |name: &String| {
        let own = readings.iter().filter(|reading| of(reading) == name);
        (name.clone(), own.map(|reading| inch(reading) - mean(&reading.part)).collect())
    };
    let unit = "inHg off the mean of all readings of the same circuit";
    Picture::Dots(Dots { rows: names.iter().map(row).collect(), unit })
}

fn circuits(study: &GaugeStudy, readings: &[StudyReading]) -> Table {
    let heads = ["circuit", "mean, inHg", "lowest", "highest", "readings"];
    let mut table = Table::new("How each circuit reads", &heads);
    for name in &study.parts {
        let own = readings.iter().filter(|reading| reading.part == *name).map(|reading| reading.value);
        let own: Vec<f64> = own.collect();
        let (low, high) = own.iter().fold((f64::INFINITY, 0.0_f64), |(l, h), v| (l.min(*v), h.max(*v)));
        table.row([
            Cell::from(name),
            vacuum_cell(mean(&own)),
            vacuum_cell(low),
            vacuum_cell(high),
            Cell::count(own.len()),
        ]);
    }
    table.picture = Some(off_the_mean(&study.parts, readings, |reading| &reading.part));
    table
}

pub(super) fn readers(study: &GaugeStudy, readings: &[StudyReading]) -> Table {
    let heads = ["technician", "reads higher than the class by, inHg", "own repeatability, inHg"];
    let mut table = Table::new("How each reads", &heads);
    for (name, reader) in study.operators.iter().zip(&study.readers) {
        let scatter = (reader.freedom > 0).then_some(reader.scatter);
        table.row([Cell::from(name), vacuum_cell(reader.above), vacuum_cell(scatter)]);
    }
    table.picture = Some(off_the_mean(&study.operators, readings, |reading| &reading.operator));
    table
}

/// The analysis of variance behind it, with the ratios over the mean square that each is tested against.
fn variance(study: &GaugeStudy) -> Table {
    let GaugeTable { parts, operators, interaction, repetition, total, .. } = &study.table;
    let pooled = study.table.pooled_error();
    let is_pooled = study.may_be_pooled();
    let error = if is_pooled { &pooled } else { interaction };
    let heads = ["source", "squares, inHg2", "freedom", "ratio", "probability"];
    let mut table = Table::new("Analysis of variance", &heads);
    let square = vacuum_unit().scale * vacuum_unit().scale;
    let mut say = |name: &str, source: &VarianceLine, against: Option<&VarianceLine>| {
        let tested = against.map(|against| source.against(against));
        table.row([
            Cell::from(name),
            Cell::figure(source.squares / square, shown(source.squares / square, 4)),
            Cell::count(source.freedom),
            tested.map(|(ratio, _)| Cell::figure(ratio, shown(ratio, 3))).unwrap_or_default(),
            tested.map(|(_, probability)| Cell::figure(probability, chance(probability))).unwrap_or_default(),
        ]);
    };
    say("circuits", parts, Some(error));
    say("technicians", operators, Some(error));
    say("circuits and technicians", interaction, Some(repetition));
    say("repetition", repetition, None);
    say("everything", total, None);
    let (fewest, most) = study.n_trials;
    if fewest < most {
        table.note(
            "Readings are missing. Circuits and technicians are each adjusted for the other (Henderson's method 3), so that the \
             squares do not add up to everything.",
        );
    }
    table
        .note("Probability: how often chance alone makes a ratio as large; below 0.05 it hardly was chance.");
    table.note(if is_pooled {
        "Technicians do not differ on some circuits more than chance explains (above 0.25), so that part is counted with the \
         repetition and has no deviation of its own above."
    } else {
        "That technicians differ on some circuits may be more than chance (not above 0.25), so that part stands on its own; \
         how much it makes is in the first table."
    });
    table
}

/// Writes a probability; the smallest are told from nothing.
fn chance(probability: f64) -> String {
    if probability < 0.001 { "<0.001".to_owned() } else { format!("{probability:.3}") }
}
