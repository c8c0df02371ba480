/// A question of a draft.
pub(super) struct Question<'a> {
    /// What tells it from the others of its place.
    pub(super) id: &'a str,
    /// What is asked.
    pub(super) words: &'a str,
    /// What Enter does.
    pub(super) enter: Enter<'a>,
    /// What may be typed, and what it is for.
    pub(super) help: &'a str,
}

/// What Enter alone does at a question that was not answered yet.
#[derive(Clone, Copy)]
pub(super) enum Enter<'a> {
    /// It takes this, which stands in brackets, and which can be typed as well.
    Takes(&'a str),
    /// Nothing; says what to do.
    Refused(&'a str),
}
