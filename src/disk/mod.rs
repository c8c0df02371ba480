//! Files on the disk: read only where they are what they should be, written whole or not at all, appended to line by
//! line, changed by one program at a time.

mod alone;
mod log;
mod reading;
mod writing;

pub(crate) use alone::Alone;
pub(crate) use log::{Log, LogError};
pub(crate) use reading::{LARGEST_DOCUMENT, LARGEST_SETTINGS, plain, read, read_into, read_text};
pub(crate) use writing::{append_to, make_folder, remove_folder_of, sync_folder, write_new, write_whole};
