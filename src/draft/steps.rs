use super::feature::{NEIGHBOUR, ReadAtStop, seated};
use super::writer::{ScriptWriter, amount, land_key, limit_keys, quoted};
use super::{DraftCircuit, FeatureSteps, SecondLand};
use crate::quantity::Unit;

/// What is found where nothing is decided.
const UNDECIDED: &str = "It reads too near a limit to tell: test it again.";

impl ScriptWriter {
    /// Writes the test of a circuit. Steps that branch on a verdict stand only where there can be one.
    pub(super) fn test(&mut self, called: &str, circuit: &DraftCircuit) {
        let is_judged = circuit.is_judged();
        match &circuit.feature.steps {
            FeatureSteps::Twice { .. } => {}
            FeatureSteps::Trial { .. } | FeatureSteps::Look { .. } if is_judged => {}
            _ => return self.line(&format!("test({called});")),
        }
        self.line(&format!("test({called}, |t| {{"));
        match &circuit.feature.steps {
            FeatureSteps::Twice { stops, neither } => self.twice(stops, neither, circuit),
            FeatureSteps::Trial { reading, apart, set_up, label, cured, stays } => {
                let named = circuit.neighbour.as_ref();
                let named = named.map_or("the port beside it".to_owned(), |port| format!("port {port}"));
                let told = |text: &str| text.replace(NEIGHBOUR, &named);
                self.line(&format!("    let {reading} = t.read();"));
                self.comment(
                    "    ",
                    &format!("A trial does not count for the verdict; it tells {apart} apart."),
                );
                self.begin("if", &is_bad(reading));
                self.line(&format!("        let trial = t.trial({}, #{{", quoted(&told(label), "        ")));
                self.line(&format!("            set_up: {},", quoted(&told(set_up), "            ")));
                self.line("        });");
                self.line("        if trial.holds {");
                self.says(12, "t.finding", &told(cured));
                self.line(&format!("        }} else if {} {{", is_bad("trial")));
                self.says(12, "t.finding", &told(stays));
                self.line("        } else {");
                self.says(12, "t.finding", UNDECIDED);
                self.line("        }");
                self.line("    }");
            }
            FeatureSteps::Look { reading, asks, yes, no } => {
                self.line(&format!("    let {reading} = t.read();"));
                self.begin("if", &is_bad(reading));
                self.line(&format!("        if t.ask_yes({}) {{", quoted(asks, "        ")));
                self.says(12, "t.finding", yes);
                self.line("        } else {");
                self.says(12, "t.finding", no);
                self.line("        }");
                self.line("    }");
            }
            FeatureSteps::Once | FeatureSteps::Open | FeatureSteps::Coil => {}
        }
        self.line("});");
    }

    fn twice(&mut self, stops: &[ReadAtStop; 2], neither: &str, circuit: &DraftCircuit) {
        let is_judged = circuit.is_judged();
        let [first, second] = stops.each_ref().map(|stop| stop.label.split(' ').next().unwrap_or_default());
        for (stop, name) in stops.iter().zip([first, second]) {
            let is_second_land = stop.set_up.is_none() && name == second;
            let second_port = || seated(circuit.second.port.as_deref());
            let set_up = stop.set_up.clone().or_else(|| is_second_land.then(second_port));
            let set_up = set_up.map(|text| format!("set_up: {}", quoted(&text, "        ")));
            let result = if is_judged { format!("let {name} = ") } else { String::new() };
            let firsts = circuit.land.as_ref().filter(|_| circuit.common_land().is_none());
            let own = match is_second_land {
                true => circuit.second.keys(),
                false => firsts.map(|(land, unit)| land_key(land, unit)).into_iter().collect(),
            };
            let keys: Vec<_> = set_up.into_iter().chain(own).collect();
            let read = format!("    {result}t.read(\"{}\"", stop.label);
            match keys.as_slice() {
                [] => self.line(&format!("{read});")),
                [key] if stop.set_up.is_none() => self.line(&format!("{read}, #{{ {key} }});")),
                keys => {
                    self.line(&format!("{read}, #{{"));
                    keys.iter().for_each(|key| self.line(&format!("        {key},")));
                    self.line("    });");
                }
            }
        }
        if !is_judged {
            return;
        }
        self.comment("    ", "What the two readings say together; the worse of them is the verdict.");
        self.begin("if", &format!("{first}.holds && ({})", is_bad(second)));
        self.says(8, "t.finding", &stops[0].alone);
        self.begin("} else if", &format!("{second}.holds && ({})", is_bad(first)));
        self.says(8, "t.finding", &stops[1].alone);
        self.begin("} else if", &format!("{first}.retest || {second}.retest"));
        self.says(8, "t.finding", UNDECIDED);
        // What holds beside one that is bad is told above.
        self.begin("} else if", &is_bad(first));
        self.says(8, "t.finding", neither);
        self.line("    }");
    }

    /// Writes the measurement of a solenoid's coil.
    pub(super) fn coil(&mut self, called: &str, name: &str, ohms: Option<(f64, f64)>) {
        let asks = quoted(&format!("{name}: resistance, cold?"), "");
        let Some((least, most)) = ohms else {
            self.comment(
                "",
                "What a good coil measures is in the service information. Put it in behind the unit:",
            );
            self.line("// low: 4.6.ohm, high: 5.6.ohm,");
            return self.line(&format!("ask_number({asks}, #{{ unit: \"ohm\" }});"));
        };
        let (least, most) = match Unit::by_word("ohm") {
            Some(unit) => (amount(least, unit), amount(most, unit)),
            None => (least.to_string(), most.to_string()),
        };
        self.line(&format!("let {called} = ask_number({asks},"));
        self.line(&format!("    #{{ unit: \"ohm\", low: {least}, high: {most} }});"));
        // A figure alone blames nothing: a coil that is warm has more, and so has its plug.
        let less = "less than a good coil has. It may be shorted; measure it by itself.";
        let more = "more than a good coil has. It may be warm, or the coil or a contact broken; measure it cold, by itself.";
        self.line(&format!("if {called}.low {{"));
        self.says(4, "finding", &format!("{name}: {less}"));
        self.line(&format!("}} else if {called}.high {{"));
        self.says(4, "finding", &format!("{name}: {more}"));
        self.line("}");
    }

    fn begin(&mut self, word: &str, condition: &str) {
        self.line(&format!("    {word} {condition} {{"));
    }

    fn says(&mut self, indent: usize, call: &str, text: &str) {
        let indent = " ".repeat(indent);
        let text = quoted(text, &indent);
        self.line(&format!("{indent}{call}({text});"));
    }
}

impl SecondLand {
    fn keys(&self) -> Vec<String> {
        let port = self.port.as_ref().map(|port| format!("port: {}", quoted(port, "        ")));
        let limits = self.limits.as_ref().map(|(limits, unit)| limit_keys(limits, unit));
        let land = self.land.as_ref().map(|(land, unit)| land_key(land, unit));
        [port, limits, land].into_iter().flatten().collect()
    }
}

/// Asks whether a reading blames: one that is undecided does not.
fn is_bad(reading: &str) -> String {
    format!("{reading}.worn || {reading}.leaks")
}
