use super::DraftCircuit;
use super::writer::Writer;

/// A new procedure as it was answered so far.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Draft {
    /// The unit.
    pub unit: String,
    /// The part of it that is tested.
    pub part: Option<String>,
    /// The procedure that it started from.
    pub origin: Option<Origin>,
    /// The complaints that it is for, where an earlier procedure says so; those that none of the circuits names are left out.
    pub symptoms: Vec<String>,
    /// The oil at work, as an earlier procedure describes it between its braces.
    pub oil: Option<String>,
    /// What a replacement for the body costs, in the shop's own money.
    pub replacement: Option<f64>,
    /// What can hurt at the bench; where there is nothing, what can hurt in every test.
    pub cautions: Vec<String>,
    /// The circuits.
    pub circuits: Vec<DraftCircuit>,
}

/// The procedure that a draft started from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Origin {
    /// Its name and version.
    pub named: String,
    /// The unit that it is for.
    pub unit: Option<String>,
}

impl Draft {
    /// Returns the title of the procedure.
    pub fn title(&self) -> String {
        match &self.part {
            Some(part) => format!("{}, {part}", self.unit),
            None => self.unit.clone(),
        }
    }

    /// Writes the procedure, with comments for whoever goes on with it. Its version is 1.0.0: a new name begins anew,
    /// also where it started from another procedure.
    pub fn text(&self, file: &str) -> String {
        let mut writer = Writer::default();
        writer.head(self, file);
        let from = self.origin.as_ref().map(|origin| origin.named.as_str());
        let mut section = None;
        for (n, circuit) in self.circuits.iter().enumerate() {
            if circuit.section != section || n == 0 {
                writer.section(circuit.section.as_deref());
                section.clone_from(&circuit.section);
            }
            writer.circuit(n + 1, circuit, from);
        }
        writer.text
    }
}
