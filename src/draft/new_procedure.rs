use super::DraftCircuit;
use super::writer::Writer;

/// A new procedure as it was answered so far.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Draft {
    /// The unit.
    pub unit: String,
    /// The part of it that is tested.
    pub part: Option<String>,
    /// The procedure that it started from, with its version.
    pub from: Option<String>,
    /// The circuits.
    pub circuits: Vec<DraftCircuit>,
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
        let mut section = None;
        for (n, circuit) in self.circuits.iter().enumerate() {
            if circuit.section != section || n == 0 {
                writer.section(circuit.section.as_deref());
                section.clone_from(&circuit.section);
            }
            writer.circuit(n + 1, circuit, self.from.as_deref());
        }
        writer.text
    }
}
