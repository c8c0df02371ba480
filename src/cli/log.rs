use std::fs::{self, OpenOptions};
use std::io;
use std::sync::Mutex;

use crate::record::Shop;

/// A log larger than this is moved aside, in bytes.
const LARGEST_LOG: u64 = 1 << 20;

/// Begins to write what the program does into the shop's log, for a bug report. Names, answers, readings and paths are
/// never logged; the screen stays quiet. A log that can't be written stops nothing.
pub(super) fn begin(shop: &Shop) {
    if open(shop).is_err() {
        return;
    }
    tracing::info!(version = env!("CARGO_PKG_VERSION"), os = std::env::consts::OS, "started");
    std::panic::set_hook(Box::new(|panic| {
        let place = panic.location().map(ToString::to_string).unwrap_or_default();
        tracing::error!(place, "a fault in the program itself");
        let mut screen = crate::console::Screen::stderr();
        screen.line(&format!(
            "spoolproof has a fault ({place}). Every answer given is kept; resume the session."
        ));
    }));
}

fn open(shop: &Shop) -> io::Result<()> {
    let path = shop.log();
    if fs::metadata(&path).is_ok_and(|log| log.len() > LARGEST_LOG) {
        fs::rename(&path, path.with_extension("old.txt"))?;
    }
    let file = OpenOptions::new().create(true).append(true).open(&path)?;
    let subscriber =
        tracing_subscriber::fmt().with_writer(Mutex::new(file)).with_ansi(false).with_target(false).finish();
    tracing::subscriber::set_global_default(subscriber).map_err(io::Error::other)
}
