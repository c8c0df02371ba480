/// One step of a test that was taken over from an earlier procedure.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Step {
    /// Something to do.
    Ready(String),
    /// A warning.
    Caution(String),
    /// Something that is said.
    Say(String),
    /// Letting so many seconds pass.
    Wait(u64, String),
    /// A reading that counts, with what tells it from others.
    Read(Option<String>),
}

impl Step {
    /// Returns its words; none of a reading.
    pub fn words(&self) -> Option<&str> {
        match self {
            Step::Ready(words) | Step::Caution(words) | Step::Say(words) | Step::Wait(_, words) => {
                Some(words)
            }
            Step::Read(_) => None,
        }
    }

    /// Returns the step with its words as a function makes them; the label of a reading stays.
    pub fn with_words(&self, new: &impl Fn(&str) -> String) -> Step {
        match self {
            Step::Ready(words) => Step::Ready(new(words)),
            Step::Caution(words) => Step::Caution(new(words)),
            Step::Say(words) => Step::Say(new(words)),
            Step::Wait(seconds, words) => Step::Wait(*seconds, new(words)),
            Step::Read(label) => Step::Read(label.clone()),
        }
    }
}
