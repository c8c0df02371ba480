use std::io::Write;

use super::status::Failure;
use crate::record::{RigParts, Shop};
use crate::rig::Profile;

/// Reads the rig that the shop has described; none where it has not.
pub(super) fn read(shop: &Shop) -> Result<Option<Profile>, Failure> {
    let path = shop.rig();
    let text = match std::fs::read_to_string(&path) {
        Ok(text) => text,
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(None),
        Err(error) => return Err(Failure::wrong(format!("{}: {error}", path.display()))),
    };
    let profile = serde_json::from_str(&text);
    profile.map(Some).map_err(|error| {
        Failure::wrong(format!("{}: {error}; describe the rig anew with: spoolproof rig set", path.display()))
    })
}

/// Puts a description of the rig in the place of the one before, whole or not at all.
pub(super) fn write(shop: &Shop, profile: &Profile) -> Result<(), Failure> {
    let path = shop.rig();
    let failed = |error: std::io::Error| Failure::wrong(format!("{}: {error}", path.display()));
    let text = serde_json::to_string_pretty(profile).map_err(Failure::wrong)?;
    // What could not be read again is refused while the one before still stands.
    serde_json::from_str::<Profile>(&text).map_err(Failure::wrong)?;
    let mut file = tempfile::NamedTempFile::new_in(shop.root()).map_err(failed)?;
    file.write_all(text.as_bytes()).and_then(|()| file.write_all(b"\n")).map_err(failed)?;
    file.as_file().sync_all().map_err(failed)?;
    file.persist(&path).map_err(|error| failed(error.error))?;
    Ok(())
}

/// Returns the parts of a rig that enter the figures.
pub(super) fn parts(profile: &Profile) -> RigParts {
    RigParts { orifice: profile.orifice, dial: profile.dial, pump: profile.pump.pump() }
}
