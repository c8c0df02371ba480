use std::collections::BTreeMap;

use super::conditions::condition;
use super::desk::Mind;
use super::gather::{Gatherer, Item};
use super::kind::Ladder;
use super::outcome::{Reach, asking, gather, reach};
use crate::air::BarometerSource;
use crate::leak::Sure;
use crate::procedure::{Program, Title};
use crate::quantity::{UNITS, shown};
use crate::record::{BenchState, Circuit, HoseOn, Question, Spot, Wants};
use crate::session::screens::{barometer_at, judged_by};
use crate::tell;

const WIDTH: usize = 80;

/// Prints a procedure as a form for a bench without a computer: a numbered field for everything that it may ask, with
/// when that is, and all cautions on top. Its limits are those of the shop's rig at its elevation, where that is given,
/// else of the usual one at sea level. Returns whether the procedure is without faults, with it.
pub(crate) fn worksheet(program: &Program, of_shop: Option<BenchState>) -> (String, bool) {
    let search = gather(program);
    let mind = &mut *search.mind.borrow_mut();
    let form = mind.form.take().unwrap_or_default();
    let mut sheet = Sheet {
        text: String::new(),
        is_shops: of_shop.is_some(),
        ladder: Ladder::on(of_shop),
        circuit: None,
        numbers: BTreeMap::new(),
    };
    let has_faults = search.found.iter().any(|found| found.fault.is_error());
    sheet.head(&program.title);
    if has_faults {
        sheet.paragraph(
            "",
            "THE PROCEDURE HAS FAULTS, which proofread names; what comes behind them is not on this form.",
        );
        sheet.line("");
    }
    sheet.cautions(program, &form);
    for (n, item) in form.items() {
        sheet.item(program, mind, &form, n, item);
    }
    if form.is_full {
        sheet.line("");
        sheet.paragraph("", "THERE IS MORE than a form can hold: use the bench with a computer.");
    }
    sheet.not_come_by(program, mind, has_faults);
    sheet.foot();
    (sheet.text, !has_faults)
}

/// Wraps a text behind a marker to the width of a sheet, later lines aligned with the first one's text.
pub(super) fn wrapped(marker: &str, text: &str) -> Vec<String> {
    let pad = " ".repeat(marker.chars().count());
    let options = textwrap::Options::new(WIDTH).initial_indent(marker).subsequent_indent(&pad);
    textwrap::wrap(&crate::console::clean(text), options).into_iter().map(Into::into).collect()
}

struct Sheet {
    text: String,
    /// Whether it is for the shop's own rig, at its elevation.
    is_shops: bool,
    ladder: Ladder,
    /// The circuit whose fields are printed.
    circuit: Option<Circuit>,
    /// The numbers of the fields printed so far, by their items.
    numbers: BTreeMap<usize, usize>,
}

impl Sheet {
    fn line(&mut self, text: &str) {
        self.text.push_str(text.trim_end());
        self.text.push('\n');
    }

    /// Writes a text behind a marker, later lines aligned with the first one's text.
    fn paragraph(&mut self, marker: &str, text: &str) {
        wrapped(marker, text).iter().for_each(|line| self.line(line));
    }

    /// Writes a text with something to fill in behind it, or below it where the line has no room.
    fn blank(&mut self, marker: &str, words: &str, blank: &str) {
        let together = format!("{marker}{words}   {blank}");
        if together.chars().count() <= WIDTH {
            self.line(&together);
        } else {
            self.paragraph(marker, words);
            self.line(&format!("{}{blank}", " ".repeat(marker.chars().count() + 4)));
        }
    }

    fn head(&mut self, title: &Title) {
        self.line(&format!("{}, version {}", title.title, title.version));
        self.line(&"=".repeat(WIDTH));
        self.paragraph(
            "",
            "The unit's service information, local codes and a licensed technician's judgement go before this form.",
        );
        self.line("");
        self.line("Technician ____________________   Date ____________   Unit no. ________________");
        self.line("Barometer at the bench ____________   Temperature at the bench ____________");
        self.line("Gauge ____________   Orifice ____________");
        self.line("");
        let holds_for = self.holds_for();
        self.paragraph("", &holds_for);
        self.line("");
    }

    /// Says on which rig and where its limits hold.
    fn holds_for(&self) -> String {
        let source = self.ladder.bench().barometer().map(|barometer| barometer.source());
        let usual = match source {
            Some(BarometerSource::Elevation { elevation }) if self.is_shops => {
                barometer_at(elevation).map(|barometer| (tell::elevation(elevation), barometer))
            }
            _ => None,
        };
        match usual {
            Some((at, barometer)) => format!(
                "LIMITS as this shop's gauge shows them at {at}, where the barometer usually stands at {barometer}, with the \
                 rig set as below; the standard ones stand beside them. On a day of another barometer the bench with a \
                 computer is more exact."
            ),
            None => "LIMITS for sea level and the usual gauge. At another elevation they do not hold: tell the program the \
                     shop's, as in spoolproof rig set --elevation 4300ft, and print this form again."
                .to_owned(),
        }
    }

    /// Writes every caution of the source, whatever leads to it, and those that were put together on walks.
    fn cautions(&mut self, program: &Program, form: &Gatherer) {
        let is_caution = |question: &&Question| question.wants == Wants::Acknowledgement;
        let asked = form.items().filter_map(|(_, item)| match item {
            Item::Asked(question) => Some(&**question),
            _ => None,
        });
        let mut cautions: Vec<String> =
            asked.filter(is_caution).map(|question| question.words.clone()).collect();
        for caution in program.texts_of("caution") {
            if !cautions.contains(caution) {
                cautions.push(caution.clone());
            }
        }
        // Where the form begins with them all, they stand on top as its first fields.
        let first = form.items().map(|(_, item)| item).filter(|item| !matches!(item, Item::Section(_)));
        let first: Vec<&str> = first
            .map_while(|item| match item {
                Item::Asked(question) if question.wants == Wants::Acknowledgement => {
                    Some(question.words.as_str())
                }
                _ => None,
            })
            .collect();
        if cautions.iter().all(|caution| first.contains(&caution.as_str())) {
            return;
        }
        self.line("CAUTIONS, before anything else; each is ticked again where it applies:");
        for caution in cautions {
            self.paragraph("  !  ", &caution);
        }
        self.line("");
    }

    /// Writes what the procedure may find or ask, though no walk came by it.
    fn not_come_by(&mut self, program: &Program, mind: &Mind, has_faults: bool) {
        let missed = asking(program).filter(|statement| {
            !matches!(reach(mind, statement, has_faults), Reach::Reached | Reach::Impossible)
        });
        let texts: Vec<String> = missed
            .filter(|statement| statement.word != "test")
            .map(|statement| {
                format!("{}: {}", statement.word, program.pieces_at(&statement.site).join(" ________ "))
            })
            .collect();
        if texts.is_empty() {
            return;
        }
        self.line("");
        self.paragraph("", "FOR THE BENCH WITH A COMPUTER ONLY, because nothing shows here when it comes:");
        for text in texts {
            self.paragraph("      ", &text);
        }
    }

    fn item(&mut self, program: &Program, mind: &Mind, form: &Gatherer, n: usize, item: &Item) {
        match item {
            Item::Section(title) => {
                self.line("");
                let title = format!("-- {title} ");
                self.line(&format!("{title}{}", "-".repeat(WIDTH.saturating_sub(title.chars().count()))));
            }
            Item::Circuit(circuit) => {
                let port = circuit.port.as_ref().map_or(String::new(), |port| format!(", port {port}"));
                self.line("");
                self.paragraph("", &format!("CIRCUIT {}{port}", circuit.name));
                let bounds = self.bounds(&circuit.spot(&Spot::default())).unwrap_or_else(|| {
                    "Limits to be found: read, seat again and read again, write both down, and give no verdict.".to_owned()
                });
                self.circuit = Some((**circuit).clone());
                self.paragraph("      ", &bounds);
            }
            Item::Said(text) => {
                self.condition(program, mind, form, n);
                self.paragraph("      ", text);
            }
            Item::Found(_) | Item::Calibration | Item::Asked(..) => {
                self.condition(program, mind, form, n);
                let number = self.numbers.len() + 1;
                self.numbers.insert(n, number);
                self.field(&format!("{number:>4}  "), item);
            }
        }
    }

    /// Writes the limits of where a reading is taken, and where it leaves no doubt.
    fn bounds(&self, spot: &Spot) -> Option<String> {
        let limits = spot.limits.as_ref()?;
        let bench = self.ladder.bench();
        let Sure { above, between, below } = self.ladder.sure(limits, &bench.context(spot))?;
        let sure = |bound: Option<f64>| bound.map_or("nowhere".to_owned(), |bound| format!("{bound:.1}"));
        let between = between.map_or("nowhere".to_owned(), |(from, to)| format!("from {from:.1} to {to:.1}"));
        let [lower, middle, upper] = limits.verdicts();
        let sound = if limits.is_window() {
            format!("Unless it is right {between},")
        } else {
            format!("Below {}", sure(above))
        };
        let calibration = bench.calibration().filter(|_| self.is_shops);
        Some(format!(
            "{} {} gauge is sure: {upper} from {} up, {middle} {between}, {lower} from {} down; \
             what lies between is retest. {sound} seat again and read again, up to twice.",
            judged_by(limits, spot, calibration, None, &UNITS[0]),
            if self.is_shops { "Your" } else { "The usual" },
            sure(above),
            sure(below),
        ))
    }

    fn condition(&mut self, program: &Program, mind: &Mind, form: &Gatherer, n: usize) {
        if let Some(text) = condition(program, mind, form, n, &self.numbers) {
            self.paragraph("    > ", &text);
        }
    }

    fn field(&mut self, marker: &str, item: &Item) {
        match item {
            Item::Found(text) => self.paragraph(&format!("{marker}[ ] found: "), text),
            Item::Calibration => {
                let points = self.ladder.bench().calibration().map(|set| [set.plugged(), set.through()]);
                let to = points.map(|points| points.map(|point| shown(UNITS[0].from_si(point.si()), 2)));
                let [plugged, through] = to.unwrap_or_default();
                let at = if self.is_shops { "here" } else { "at sea level" };
                self.paragraph(
                    marker,
                    &format!(
                        "Set the rig. Plugged ________ inHg ({plugged} {at}), through the orifice ________ inHg ({through})."
                    ),
                );
            }
            Item::Asked(question) => self.question(marker, question),
            Item::Section(_) | Item::Circuit(_) | Item::Said(_) => {}
        }
    }

    fn question(&mut self, marker: &str, question: &Question) {
        let words = question.words.as_str();
        match &question.wants {
            Wants::Acknowledgement => self.paragraph(&format!("{marker}[ ] caution: "), words),
            Wants::Ready => self.paragraph(&format!("{marker}[ ] "), words),
            Wants::Wait { seconds } => {
                self.paragraph(&format!("{marker}[ ] "), &format!("Wait {seconds} s. {words}"));
            }
            Wants::Yes => self.blank(marker, words, "[ ] yes   [ ] no"),
            Wants::Choice { options } | Wants::Decision { options, .. } => {
                self.paragraph(marker, words);
                for option in options {
                    self.paragraph("          [ ] ", option);
                }
            }
            Wants::Text | Wants::Technician | Wants::Barometer | Wants::AirTemperature => {
                self.paragraph(marker, words);
                self.line(&format!("      {}", "_".repeat(60)));
            }
            Wants::Number { unit, .. } => {
                let limits = question.within().map(|within| format!("   ({within})")).unwrap_or_default();
                self.blank(marker, words, &format!("____________ {unit}{limits}"));
            }
            Wants::Reading { unit, on, .. } => {
                let is_trial = matches!(on, HoseOn::Circuit { trial: true, .. });
                let again = if is_trial { "" } else { "   seated again ________ ________" };
                let own = if let HoseOn::Circuit { own, .. } = on { own.clone() } else { Spot::default() };
                let port = own.port.as_ref().map(|port| format!(", port {port}")).unwrap_or_default();
                self.blank(marker, &format!("{words}{port}"), &format!("________ {unit}{again}"));
                let spot = self.circuit.as_ref().map_or_else(|| own.clone(), |circuit| circuit.spot(&own));
                if let Some(bounds) = own.limits.and_then(|_| self.bounds(&spot)) {
                    self.paragraph("      ", &bounds);
                }
            }
        }
    }

    fn foot(&mut self) {
        self.line("");
        let differ = self.ladder.repeatability_limit();
        let gauge = if self.is_shops { "your" } else { "the usual" };
        self.paragraph(
            "",
            &format!(
                "TAKES that differ by more than {differ:.1} inHg on {gauge} gauge do not agree, whatever they say: seat again and \
                 read a third time. Two of three that agree count, and the odd one is crossed out; where none agree it is retest."
            ),
        );
        self.line("");
        self.paragraph("", "CHECKS OF THE RIG, after every 12 readings and at the end; where it has drifted, set it and read again:");
        for _ in 0..3 {
            self.line("      plugged ________ inHg   through ________ inHg   after field ______");
        }
        self.line("");
        self.paragraph(
            "",
            "To key this form in, run guide PROCEDURE and type what stands here: what it asks comes in the same order.",
        );
    }
}
