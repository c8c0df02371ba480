use clap::Args;

use crate::cli::status::{Failure, Outcome, Status};
use crate::console::Screen;
use crate::record::Shop;
use crate::session::{Journal, LogError};

/// Take a session that will not be finished from the list; nothing of it is deleted.
#[derive(Debug, Args)]
pub(super) struct RecordsDiscard {
    /// The open session's name
    session: String,
}

impl RecordsDiscard {
    pub(super) fn run(self, shop: &Shop) -> Outcome {
        let open = shop.open_names().map_err(Failure::wrong)?;
        if !open.contains(&self.session) {
            let known = match open.is_empty() {
                true => "no session is open".to_owned(),
                false => format!("open are: {}", open.join(", ")),
            };
            return Err(Failure::wrong(format!("there is no open session \"{}\"; {known}", self.session)));
        }
        // A damaged journal may go; one that another program is writing may not.
        if let Err(error @ LogError::InUse(_)) = Journal::open(&shop.journal(&self.session)).map(drop) {
            return Err(Failure::wrong(error));
        }
        let folder = shop.discard(&self.session).map_err(Failure::wrong)?;
        Screen::stdout().paragraph(
            0,
            &format!(
                "Discarded. All that was answered lies in {}; moved back to {}, it can be gone on with.",
                folder.display(),
                shop.open_sessions().display()
            ),
        );
        Ok(Status::Done)
    }
}

pub(super) fn stands(shop: &Shop, name: &str) -> String {
    let journal = match Journal::open(&shop.journal(name)) {
        Ok(journal) => journal,
        Err(LogError::InUse(_)) => return "open in another program".to_owned(),
        Err(error) => return format!("open, but {error}"),
    };
    let (mut n, mut at) = (0, String::new());
    for (_, question, _) in journal.standing() {
        n += 1;
        at = question.circuit.as_ref().map(|circuit| format!(", at {circuit}")).unwrap_or_default();
    }
    format!("open, {n} {}{at}", if n == 1 { "answer" } else { "answers" })
}
