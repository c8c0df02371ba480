use std::path::Path;
use std::time::Duration;

use crate::disk::remove_folder_of;
use crate::record::{JOURNAL, ORIGIN, Shop};

/// Removes the folders of sessions that ended before their first event: nobody has answered anything in them. What the
/// program did not make stays, and what can't be removed stops nobody.
pub(crate) fn sweep(shop: &Shop) {
    const LONG_ENOUGH_TO_BEGIN: Duration = Duration::from_secs(60);
    for entry in std::fs::read_dir(shop.open_sessions()).into_iter().flatten().flatten() {
        let folder = entry.path();
        let is_empty = std::fs::metadata(folder.join(JOURNAL)).map_or(true, |journal| journal.len() == 0);
        let age =
            std::fs::metadata(&folder).and_then(|folder| folder.modified()).map(|begun| begun.elapsed());
        // A younger one may be another program's that is just beginning.
        let is_old = matches!(age, Ok(Ok(age)) if age > LONG_ENOUGH_TO_BEGIN);
        if folder.is_dir() && is_empty && is_old {
            put_away(&folder);
        }
    }
}

/// Removes the folder of a session that is over; where something else lies in it, that stays.
pub(super) fn put_away(folder: &Path) {
    if let Err(error) = remove_folder_of(folder, &[JOURNAL, ORIGIN]) {
        tracing::warn!(%error, "a session's folder stays");
    }
}
