//! Files on the disk: read only where they are what they should be, written whole or not at all, changed by one program
//! at a time.

mod alone;
mod reading;
mod writing;

pub(crate) use alone::Alone;
pub(crate) use reading::{LARGEST_DOCUMENT, LARGEST_SETTINGS, plain, read, read_text};
pub(crate) use writing::{append_to, make_folder, remove_folder_of, sync_folder, write_new, write_whole};
