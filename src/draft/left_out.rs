/// Something of an earlier procedure that a draft does not carry over.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LeftOut {
    /// Where it stands, as in `line 12`; none of what is not at one place.
    pub place: Option<String>,
    /// What it is, as it is written, or in words.
    pub what: String,
}
