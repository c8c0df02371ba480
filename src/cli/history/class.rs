use clap::Args;

use super::answer::Answer;
use super::units::{vacuum, vacuum_unit};
use crate::cli::status::Failure;
use crate::history::Index;
use crate::quantity::shown;
use crate::report::{Table, class_advice};
use crate::stats::{Components, GaugeStudy, GaugeTable, Source};

/// How well a class reads: repeatability and reproducibility of technicians who read the same pieces.
///
/// Each technician walks the procedure class-study once on the same pieces; the latest walk of each counts.
#[derive(Debug, Args)]
pub(super) struct Class {
    /// The unit that the class has tested
    #[arg(long, default_value = "Class study")]
    unit: String,
}

impl Class {
    pub(super) fn answer(self, index: &Index) -> Result<Answer, Failure> {
        let readings = index.study(&self.unit).map_err(Failure::wrong)?;
        let study = GaugeStudy::of(&readings).map_err(Failure::not_in_order)?;
        let components = study.components(study.may_be_pooled());
        let title = format!(
            "{}: {} technicians, {} circuits, {} readings each",
            self.unit,
            study.operators.len(),
            study.parts.len(),
            study.n_trials
        );
        let mut deviations = deviations(&components, title.clone());
        for sentence in class_advice(&study, vacuum_unit()) {
            deviations.note(sentence);
        }
        Ok(Answer { title, tables: vec![deviations, variance(&study)] })
    }
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
        table.row([name.to_owned(), vacuum(deviation), shown(100.0 * share, 1)]);
    }
    table
}

/// The analysis of variance behind it, with the ratios over the mean square that each is tested against.
fn variance(study: &GaugeStudy) -> Table {
    let GaugeTable { parts, operators, interaction, repetition } = &study.table;
    let pooled = study.table.pooled_error();
    let is_pooled = study.may_be_pooled();
    let error = if is_pooled { &pooled } else { interaction };
    let heads = ["source", "squares, inHg2", "freedom", "ratio", "probability"];
    let mut table = Table::new("Analysis of variance", &heads);
    let square = vacuum_unit().scale * vacuum_unit().scale;
    let mut say = |name: &str, source: &Source, against: Option<&Source>| {
        let tested = against.map(|against| source.against(against));
        table.row([
            name.to_owned(),
            shown(source.squares / square, 4),
            source.freedom.to_string(),
            tested.map(|(ratio, _)| shown(ratio, 3)).unwrap_or_default(),
            tested.map(|(_, probability)| shown(probability, 3)).unwrap_or_default(),
        ]);
    };
    say("circuits", parts, Some(error));
    say("technicians", operators, Some(error));
    say("circuits and technicians", interaction, Some(repetition));
    say("repetition", repetition, None);
    say("everything", &study.table.total(), None);
    table.note(if is_pooled {
        "Technicians and circuits do not interact more than by chance, so that part is pooled into the repetition."
    } else {
        "Technicians and circuits interact, so that part stands on its own."
    });
    table
}
