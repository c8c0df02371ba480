use super::answer::{AnswerSheet, vacuum, vacuum_if, vacuum_unit};
use crate::cli::status::Failure;
use crate::history::Index;
use crate::procedure::nearest;
use crate::quantity::shown;
use crate::report::{Table, class_advice};
use crate::stats::{Components, GaugeStudy, GaugeTable, VarianceLine};

pub(super) fn class(index: &Index, unit: &str) -> Result<AnswerSheet, Failure> {
    let readings = index.study(unit)?;
    if readings.is_empty() {
        let known = index.units()?;
        let near = nearest(unit, known.iter().map(String::as_str));
        let near = near.map(|near| format!(" Did you mean --unit \"{near}\"?")).unwrap_or_default();
        return Err(Failure::not_in_order(format!(
            "no record has a unit \"{unit}\".{near} First everybody in the class walks guide class-study in this shop."
        )));
    }
    let study = GaugeStudy::of(&readings).map_err(Failure::not_in_order)?;
    let components = study.components(study.may_be_pooled());
    let (fewest, most) = study.n_trials;
    let each = if fewest == most { format!("{most}") } else { format!("{fewest} to {most}") };
    let title = format!(
        "{unit}: {} technicians, {} circuits, {each} readings each",
        study.operators.len(),
        study.parts.len(),
    );
    let mut deviations = deviations(&components, title.clone());
    deviations.note(format!(
        "What this class repeats within takes the place of the usual figure for this rig by: spoolproof rig set --repeatability \
         {}inHg --repeatability-readings {}",
        vacuum(components.repeatability),
        readings.len()
    ));
    for sentence in class_advice(&study, vacuum_unit()) {
        deviations.note(sentence);
    }
    Ok(AnswerSheet { title, tables: vec![deviations, readers(&study), variance(&study)] })
}

fn deviations(components: &Components, title: String) -> Table {
    let mut table = Table::new(title, &["where it comes from", "deviation, inHg", "of the whole, %"]);
    for (name, deviation) in [
        ("repeatability: the same hand again", components.repeatability),
        ("technicians differ", components.operators),
        ("technicians differ on some circuits", components.interaction),
        ("reading as a whole", components.gauge()),
        ("the circuits themselves", components.parts),
        ("everything", components.total()),
    ] {
        let share = if components.total() > 0.0 { deviation / components.total() } else { 0.0 };
        table.row([name.to_owned(), vacuum(deviation), format!("{:.1}", 100.0 * share)]);
    }
    table.note(
        "Deviations add up by their squares, so the shares of the whole make more than 100 % together.",
    );
    table
}

fn readers(study: &GaugeStudy) -> Table {
    let heads = ["technician", "reads higher than the class by, inHg", "own repeatability, inHg"];
    let mut table = Table::new("How each reads", &heads);
    for (name, reader) in study.operators.iter().zip(&study.readers) {
        let scatter = (reader.freedom > 0).then_some(reader.scatter);
        table.row([name.clone(), vacuum(reader.above), vacuum_if(scatter)]);
    }
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
            name.to_owned(),
            shown(source.squares / square, 4),
            source.freedom.to_string(),
            tested.map(|(ratio, _)| shown(ratio, 3)).unwrap_or_default(),
            tested.map(|(_, probability)| chance(probability)).unwrap_or_default(),
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
