use super::{Body, Draft, DraftCircuit, DraftLimits, Feature, Step, cleaned};
use crate::leak::Limits;
use crate::quantity::{Unit, shown};
use crate::record::Repair;

/// The widest line that a text is written on, in characters.
const WIDTH: usize = 80;

/// The line that every draft begins with.
pub(super) const FIRST_LINE: &str = "// What stands behind // is a comment, for whoever reads this file.";

/// What stands where the port of a circuit is not known.
pub(super) const NO_PORT: &str = "port: \"3A\",";

/// What stands above limits of which nobody knows where they come from.
pub(super) const LIMITS: &str =
    "Sound at holds and deeper, to be repaired at leaks and less, worn between; standard readings.";

/// What stands above the limits of a circuit of which they are to be found.
pub(super) const TO_BE_FOUND: &str = "To be found: it is read and recorded, and gets no verdict. When you know your figures, put them into these lines:";

/// Writes the lines of a procedure.
#[derive(Default)]
pub(super) struct Writer {
    pub(super) text: String,
}

impl Writer {
    fn line(&mut self, line: &str) {
        self.text += line;
        self.text.push('\n');
    }

    fn comment(&mut self, indent: &str, text: &str) {
        self.text += &comment(indent, text);
    }

    pub(super) fn head(&mut self, draft: &Draft, file: &str) {
        self.line(FIRST_LINE);
        self.comment("", "Change what you like, with an editor that saves plain text, and raise the version with each change.");
        self.comment(
            "",
            "The author's guide, procedures/README.md, explains every word of it. After each change:",
        );
        self.line(&format!("//     spoolproof proofread {file}"));
        self.line(&format!("//     spoolproof rehearse {file}"));
        if let Some(origin) = &draft.origin {
            let named = cleaned(&origin.named);
            self.comment(
                "",
                &if origin.unit.as_deref() == Some(&draft.unit) {
                    format!("Drafted from {named}, which is for the same unit.")
                } else {
                    format!("Drafted from {named}. Limits and texts taken over from it are another unit's: check each.")
                },
            );
        }
        self.line("");
        self.line("procedure(#{");
        self.key("title", &draft.title());
        self.key("unit", &draft.unit);
        self.line("    version: \"1.0.0\",");
        let named =
            |symptom: &&String| draft.circuits.iter().any(|circuit| circuit.symptoms.contains(symptom));
        let symptoms: Vec<_> = draft.symptoms.iter().filter(named).map(|symptom| escaped(symptom)).collect();
        if !symptoms.is_empty() {
            self.list("symptoms", &symptoms);
        }
        match &draft.oil {
            Some(oil) => self.line(&format!("    oil: {oil},")),
            None => {
                self.comment(
                    "    ",
                    "Without the // before it, and with your unit's figures, the next line makes a leak known as oil lost, too.",
                );
                self.line("    // oil: #{ pressure: 150.psi, temperature: 93.celsius },");
            }
        }
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
        let own = draft.cautions.iter().map(String::as_str);
        let usual = CAUTIONS.into_iter().filter(|_| draft.cautions.is_empty());
        for caution in own.chain(usual) {
            self.line(&format!("caution({});", quoted(caution, "")));
        }
    }

    pub(super) fn section(&mut self, title: Option<&str>) {
        if let Some(title) = title {
            self.line("");
            self.line(&format!("section({});", quoted(title, "")));
        }
    }

    pub(super) fn circuit(&mut self, n: usize, circuit: &DraftCircuit, from: Option<&str>) {
        self.line("");
        let steps = steps(circuit, from);
        self.line(&format!("let circuit_{n} = circuit(#{{"));
        self.key("name", &circuit.name);
        match &circuit.port {
            Some(port) => self.key("port", port),
            None => self.line(&format!("    // {NO_PORT}")),
        }
        if let Some(set_up) = &circuit.set_up {
            self.key("set_up", set_up);
        }
        self.limits(&circuit.limits);
        match circuit.symptoms.as_slice() {
            [] => self.line("    // symptoms: [\"late upshift\", \"slips in reverse\"],"),
            symptoms => {
                let symptoms: Vec<_> = symptoms.iter().map(|symptom| escaped(symptom)).collect();
                self.list("symptoms", &symptoms);
            }
        }
        if let Some(means) = &circuit.means {
            self.key("means", means);
        }
        match &circuit.land {
            Some(land) => {
                let unit = circuit.land_unit;
                let off_centre = match land.eccentricity() {
                    0.0 => String::new(),
                    share => format!(", eccentricity: {}", shown(share, 6)),
                };
                self.line(&format!(
                    "    land: #{{ diameter: {}, length: {}{off_centre} }},",
                    amount(land.diameter().si(), unit),
                    amount(land.length().si(), unit)
                ));
            }
            None => self.line("    // land: #{ diameter: 12.7.mm, length: 7.6.mm },"),
        }
        match circuit.repairs.as_slice() {
            [] => {
                let sample = circuit.feature().unwrap_or(Feature::Other).sample_repair();
                self.line(&format!("    // repairs: [#{{ does: \"{sample}\", parts: 48, hours: 0.6 }}],"));
            }
            repairs => {
                let repairs: Vec<_> = repairs.iter().map(repair).collect();
                self.list("repairs", &repairs);
            }
        }
        self.line("});");
        match steps {
            None => self.line(&format!("test(circuit_{n});")),
            Some(steps) => {
                self.line(&format!("test(circuit_{n}, |t| {{"));
                self.text += &steps;
                self.line("});");
            }
        }
    }

    fn limits(&mut self, limits: &DraftLimits) {
        match limits {
            DraftLimits::ToBeFound => {
                self.comment("    ", TO_BE_FOUND);
                self.line("    // holds: 20.inHg,");
                self.line("    // leaks: 15.inHg,");
                self.comment("    ", "take the // before them away, and this line out:");
                self.line("    limits: \"to be found\",");
            }
            DraftLimits::Known { limits, unit, note } => {
                if note.is_empty() {
                    self.comment("    ", LIMITS);
                }
                for sentence in note {
                    self.comment("    ", &cleaned(sentence));
                }
                self.both(limits, unit);
            }
        }
    }

    fn both(&mut self, limits: &Limits, unit: &Unit) {
        self.line(&format!("    holds: {},", amount(limits.holds().si(), unit)));
        self.line(&format!("    leaks: {},", amount(limits.leaks().si(), unit)));
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

/// Returns a comment, on lines that are not too wide.
fn comment(indent: &str, text: &str) -> String {
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
    lines + "\n"
}

/// Returns the lines of the test's steps; none where it has none of its own.
fn steps(circuit: &DraftCircuit, from: Option<&str>) -> Option<String> {
    match &circuit.body {
        Body::Of(feature) => feature.steps(circuit.is_judged()).map(str::to_owned),
        Body::AsWritten(lines) => Some(lines.clone()),
        Body::Taken(steps) if steps.as_slice() == [Step::Read(None)] => None,
        Body::Taken(steps) => {
            let said = from.map(|from| {
                let from = cleaned(from);
                let told = format!(
                    "The steps that {from} takes where all is sound; what it asks and decides besides stands there."
                );
                comment("    ", &told)
            });
            Some(said.into_iter().chain(steps.iter().map(taken)).collect())
        }
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

fn taken(step: &Step) -> String {
    let quote = |text: &String| quoted(text, "        ");
    match step {
        Step::Ready(words) => format!("    t.ready({});\n", quote(words)),
        Step::Caution(words) => format!("    t.caution({});\n", quote(words)),
        Step::Say(words) => format!("    t.say({});\n", quote(words)),
        Step::Wait(seconds, words) => format!("    t.wait({seconds}.seconds, {});\n", quote(words)),
        Step::Read(Some(label)) => format!("    t.read({});\n", quote(label)),
        Step::Read(None) => "    t.read();\n".to_owned(),
    }
}

/// Writes a number with its unit, as the language takes it.
fn amount(si: f64, unit: &Unit) -> String {
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
fn quoted(text: &str, indent: &str) -> String {
    let text = cleaned(text);
    let mut pieces = vec![String::new()];
    for word in text.split_inclusive(' ') {
        let last = pieces.last().map_or(0, |piece| piece.chars().count());
        if last > 0 && last + word.chars().count() > WIDTH - 16 {
            pieces.push(String::new());
        }
        if let Some(piece) = pieces.last_mut() {
            *piece += word;
        }
    }
    let pieces: Vec<_> = pieces.iter().map(|piece| format!("\"{}\"", inside_quotes(piece))).collect();
    pieces.join(&format!("\n{indent}    + "))
}
