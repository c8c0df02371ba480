use std::path::Path;

use super::copy::closing;
use super::{Draft, DraftCircuit, DraftItem, DraftLimits, FeatureSteps, Original, Tested, cleaned};
use crate::leak::{Baseline, Land, Limits};
use crate::quantity::{Pressure, UNITS, Unit, shown, so_many};
use crate::record::Repair;

/// The widest line that a text is written on, in characters.
const WIDTH: usize = 80;

/// The line that every draft begins with.
const FIRST_LINE: &str = "// What stands behind // is a comment, for whoever reads this file.";

/// What stands above limits of which nobody knows where they come from.
const LIMITS: &str =
    "Sound at holds and higher, to be repaired at leaks and less, worn between; standard readings.";

/// What stands above the window of a passage.
const WINDOW: &str = "Right between these two, too open at less, too tight at more; standard readings.";

/// What stands above the limits of a circuit of which they are to be found.
const TO_BE_FOUND: &str = "To be found: it is read and recorded, and gets no verdict. When you know your figures, put them into this line:";

/// Writes the lines of a procedure.
#[derive(Default)]
pub(super) struct ScriptWriter {
    pub(super) text: String,
}

impl ScriptWriter {
    pub(super) fn line(&mut self, line: &str) {
        self.text += line;
        self.text.push('\n');
    }

    /// Writes a comment, on lines that are not too wide.
    pub(super) fn comment(&mut self, indent: &str, text: &str) {
        let mut lines = format!("{indent}//");
        let mut width = lines.chars().count();
        for word in text.split_whitespace() {
            let wide = word.chars().count();
            if width + wide >= WIDTH {
                lines += &format!("\n{indent}//");
                width = indent.len() + 2;
            }
            lines += &format!(" {word}");
            width += 1 + wide;
        }
        self.line(&lines);
    }

    /// Writes what every draft of the program's own begins with.
    fn greeting(&mut self, file: &str) {
        self.line(FIRST_LINE);
        self.comment("", "Change what you like, with an editor that saves plain text, and raise the version with each change.");
        self.comment(
            "",
            "The author's guide, procedures/README.md, explains every word of it. After each change:",
        );
        self.line(&format!("//     spoolproof proofread {file}"));
        self.line(&format!("//     spoolproof rehearse {file}"));
    }

    pub(super) fn head(&mut self, draft: &Draft, file: &str) {
        self.greeting(file);
        self.line("");
        self.line("procedure(#{");
        self.key("title", &draft.title);
        if let Some(unit) = &draft.unit {
            self.key("unit", unit);
        }
        if let Some(picture) = draft.picture_beside(Path::new(file)) {
            self.key("picture", &picture.to_string_lossy());
        }
        self.line("    version: \"1.0.0\",");
        self.comment(
            "    ",
            "Without the // before it, and with your unit's figures, the next line makes a leak known as oil lost, too.",
        );
        self.line("    // oil: #{ pressure: 150.psi, temperature: 93.celsius },");
        match draft.replacement {
            Some(cost) => self.line(&format!("    replacement: {},", shown(cost, 6))),
            None => {
                self.comment("    ", "What a replacement for the body costs, in your money: with it, the outcome says what a repair saves.");
                self.line("    // replacement: 850,");
            }
        }
        self.line("});");
        self.line("");
        self.comment(
            "",
            "What can hurt at the bench. Each has to be answered with ok. Add what your unit has besides.",
        );
        for caution in CAUTIONS {
            self.line(&format!("caution({});", quoted(caution, "")));
        }
    }

    /// Writes a procedure as it stands, under another title and for another unit. What a draft begins with is written
    /// anew: it names the file. Returns what closes it, which stands behind what is added.
    pub(super) fn copy(&mut self, original: &Original, draft: &Draft, file: &str) -> String {
        let text = original.retitled(draft.unit.as_deref(), &draft.title).unwrap_or_default();
        let body = match text.strip_prefix(FIRST_LINE) {
            Some(greeted) => {
                self.greeting(file);
                greeted.split_once("\n\n").map_or(greeted, |(_, body)| body)
            }
            None => &text,
        };
        let named = cleaned(&original.named);
        let told = match &original.title.unit {
            None => format!("Copied from {named}."),
            Some(unit) if Some(unit) == draft.unit.as_ref() => {
                format!("Copied from {named}, which is for the same unit.")
            }
            Some(unit) => format!(
                "Copied from {named}, which is for another unit, {}. Check every limit, port and text, comments too.",
                cleaned(unit)
            ),
        };
        self.comment("", &told);
        self.line("");
        let at = closing(body).filter(|_| !draft.items.is_empty()).map_or(body.len(), |(at, _)| at);
        self.text += &body[..at];
        if !self.text.ends_with('\n') {
            self.text.push('\n');
        }
        match &body[at..] {
            "" => String::new(),
            closing => {
                self.text.truncate(self.text.trim_end().len() + 1);
                format!("\n{closing}")
            }
        }
    }

    pub(super) fn section(&mut self, title: Option<&str>) {
        if let Some(title) = title {
            self.line("");
            self.line(&format!("section({});", quoted(title, "")));
        }
    }

    pub(super) fn item(&mut self, called: &str, item: &DraftItem) {
        self.line("");
        match &item.tested {
            Tested::Circuit(circuit) => {
                self.circuit(called, &item.name, circuit);
                self.test(called, circuit);
            }
            Tested::Coil(ohms) => self.coil(called, &item.name, *ohms),
        }
    }

    fn circuit(&mut self, called: &str, name: &str, circuit: &DraftCircuit) {
        self.line(&format!("let {called} = circuit(#{{"));
        self.key("name", name);
        match &circuit.port {
            Some(port) => self.key("port", port),
            None => self.line("    // port: \"3A\","),
        }
        self.key("set_up", &circuit.set_up);
        self.limits(&circuit.limits, circuit.feature.steps == FeatureSteps::Open);
        match circuit.symptoms.as_slice() {
            [] => self.line("    // symptoms: [\"late upshift\", \"slips in reverse\"],"),
            symptoms => {
                let symptoms: Vec<_> = symptoms.iter().map(|symptom| escaped(symptom)).collect();
                self.list("symptoms", &symptoms);
            }
        }
        self.key("means", &circuit.feature.means);
        match circuit.common_land() {
            Some((land, unit)) => self.line(&format!("    {},", land_key(land, unit))),
            None if circuit.land.is_some() => {}
            None => {
                if let Some(kind) = circuit.feature.kind {
                    self.key("kind", kind.word());
                }
                if circuit.feature.may_have_land() {
                    self.line("    // land: #{ diameter: 12.7.mm, length: 7.6.mm },");
                }
            }
        }
        match circuit.repairs.as_slice() {
            [] => {
                let sample = &circuit.feature.sample_repair;
                self.line(&format!("    // repairs: [#{{ does: \"{sample}\", parts: 48, hours: 0.6 }}],"));
            }
            repairs => {
                let repairs: Vec<_> = repairs.iter().map(repair).collect();
                self.list("repairs", &repairs);
            }
        }
        self.line("});");
    }

    fn limits(&mut self, limits: &DraftLimits, is_open: bool) {
        let (DraftLimits::ToBeFound { note, .. } | DraftLimits::Known { note, .. }) = limits;
        for sentence in note {
            self.comment("    ", &cleaned(sentence));
        }
        match limits {
            DraftLimits::ToBeFound { proposed, .. } => {
                self.comment("    ", TO_BE_FOUND);
                let sample =
                    if is_open { "between: [8.inHg, 12.inHg]" } else { "holds: 20.inHg, leaks: 15.inHg" };
                let keys = proposed.map_or(sample.to_owned(), |limits| limit_keys(&limits, &UNITS[0]));
                self.line(&format!("    // {keys},"));
                self.comment("    ", "take the // before it away, and this line out:");
                self.line("    limits: \"to be found\",");
            }
            DraftLimits::Known { limits, unit, note } => {
                if note.is_empty() {
                    self.comment("    ", if is_open { WINDOW } else { LIMITS });
                }
                self.line(&format!("    {},", limit_keys(limits, unit)));
            }
        }
    }

    fn key(&mut self, key: &str, text: &str) {
        self.line(&format!("    {key}: {},", quoted(text, "    ")));
    }

    fn list(&mut self, key: &str, items: &[String]) {
        let line = format!("    {key}: [{}],", items.join(", "));
        if line.chars().count() <= WIDTH {
            return self.line(&line);
        }
        self.line(&format!("    {key}: ["));
        for item in items {
            self.line(&format!("        {item},"));
        }
        self.line("    ],");
    }
}

/// What can hurt in every test that a draft describes.
const CAUTIONS: [&str; 2] = [
    "The hose holds on to what closes it: keep fingers, hair and eyes away. Oil and solvent mist goes through the \
     pump, so trap it and vent it, and no flame near.",
    "Springs leave fast: hold them back when a retainer or a cover comes off. Clean with solvents in fresh air, and \
     blow dry with little air pressure, goggles on.",
];

fn repair(repair: &Repair) -> String {
    let figure = |key: &str, figure: Option<f64>| {
        figure.map(|figure| format!(", {key}: {}", shown(figure, 6))).unwrap_or_default()
    };
    let does = escaped(&repair.does);
    format!("#{{ does: {does}{}{} }}", figure("parts", repair.parts), figure("hours", repair.hours))
}

/// Writes limits as keys of a description.
pub(super) fn limit_keys(limits: &Limits, unit: &Unit) -> String {
    let [lower, upper] = [limits.lower(), limits.upper()].map(|limit| amount(limit.si(), unit));
    if limits.is_window() {
        return format!("between: [{lower}, {upper}]");
    }
    format!("holds: {upper}, leaks: {lower}")
}

/// Writes a land as a key of a description.
pub(super) fn land_key(land: &Land, unit: &Unit) -> String {
    let [diameter, length] = [land.diameter(), land.length()].map(|length| amount(length.si(), unit));
    format!("land: #{{ diameter: {diameter}, length: {length} }}")
}

/// Writes a number with its unit, as the language takes it.
pub(super) fn amount(si: f64, unit: &Unit) -> String {
    format!("{}.{}", shown(unit.from_si(si), 6), unit.word)
}

/// Returns a text as it stands between quotes.
pub(super) fn inside_quotes(text: &str) -> String {
    text.replace('\\', "\\\\").replace('"', "\\\"")
}

/// Writes a text in quotes.
fn escaped(text: &str) -> String {
    format!("\"{}\"", inside_quotes(&cleaned(text)))
}

/// Writes a text in quotes; a long one goes on behind a plus on the next line.
pub(super) fn quoted(text: &str, indent: &str) -> String {
    let text = cleaned(text);
    let mut pieces = vec![String::new()];
    for word in text.split_inclusive(' ') {
        let last = pieces.last().map_or(0, |piece| piece.chars().count());
        if last > 0 && last + word.chars().count() > WIDTH - 14 - indent.len() {
            pieces.push(String::new());
        }
        if let Some(piece) = pieces.last_mut() {
            *piece += word;
        }
    }
    let pieces: Vec<_> = pieces.iter().map(|piece| format!("\"{}\"", inside_quotes(piece))).collect();
    pieces.join(&format!("\n{indent}    + "))
}

/// Says where limits that were proposed from readings on good units come from, a comment each.
pub(crate) fn provenance(baseline: &Baseline, readings: &[Pressure]) -> Vec<String> {
    let unit = &UNITS[0];
    let show = |pa: f64| shown(unit.from_si(pa), 2);
    let percent = |share: f64| shown(share * 100.0, 1);
    let readings: Vec<_> = readings.iter().map(|reading| show(reading.si())).collect();
    let mut told = vec![format!(
        "From {} good units, which read {} {}: mean {}, deviation {}.",
        baseline.summary.n,
        readings.join(", "),
        unit.symbol,
        show(baseline.summary.mean),
        show(baseline.deviation),
    )];
    if baseline.limits.is_none() {
        told.push("They are too few, or too scattered, for limits: read more, and propose anew.".to_owned());
        return told;
    }
    told.push(format!(
        "At holds and higher read {} % of good units, with {} % confidence (tolerance interval, ISO 16269-6).",
        percent(baseline.promise.share()),
        percent(baseline.promise.confidence()),
    ));
    match baseline.more() {
        0 => {}
        more => {
            told.push(format!("Provisional: read {}, and propose anew.", so_many(more, "more good unit")))
        }
    }
    told.push(
        "Good units say nothing of where a circuit fails: leaks is a rule, twice the leak that holds allows. Change it \
         when you have read units that failed."
            .to_owned(),
    );
    told
}
