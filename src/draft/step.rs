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
