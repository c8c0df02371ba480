/// The circuits of a draft so far, the one that is asked about last.
#[derive(Default)]
pub(super) struct SoFar(Vec<Circuit>);

struct Circuit {
    name: String,
    place: String,
    /// What there is to say of it; none while it is asked about.
    told: Option<String>,
}

impl SoFar {
    /// Adds a circuit that is asked about from now on, and the place of its questions.
    pub(super) fn begun(&mut self, name: &str, place: &str) {
        self.0.push(Circuit { name: name.to_owned(), place: place.to_owned(), told: None });
    }

    /// Says that the last one is answered to its end.
    pub(super) fn done(&mut self, told: String) {
        if let Some(circuit) = self.0.last_mut() {
            circuit.told = Some(told);
        }
    }

    /// Returns whether there is none.
    pub(super) fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Returns the place of the questions about a circuit.
    pub(super) fn place(&self, name: &str) -> Option<&str> {
        let known = self.0.iter().find(|circuit| circuit.name.to_lowercase() == name.to_lowercase());
        known.map(|circuit| circuit.place.as_str())
    }

    /// Says how far each is.
    pub(super) fn told(&self) -> impl Iterator<Item = String> {
        let told = |circuit: &Circuit| {
            format!("{}: {}", circuit.name, circuit.told.as_deref().unwrap_or("being asked about"))
        };
        self.0.iter().map(told)
    }
}
