//! Sessions that nobody will finish: out of the way with their photos, and back again.

use std::collections::BTreeSet;
use std::io;
use std::path::{Path, PathBuf};

use memchr::memmem;

use super::Journal;
use crate::disk::{self, Alone, LARGEST_DOCUMENT, make_folder, write_new};
use crate::picture::{PHOTO, Picture, PictureKind};
use crate::record::{Shop, What, sha256};

/// What became of a session that was discarded.
pub(crate) struct Discarded {
    /// Where it lies now.
    pub(crate) folder: PathBuf,
    /// How many photos went with it.
    pub(crate) n_photos: usize,
    /// How many of these stay where they were as well, since a record or another open session names them.
    pub(crate) n_shared: usize,
}

/// Moves a session that will not be finished out of the way, and its photos with it: of the shop's pictures it takes
/// those that no record and no other open session names.
pub(crate) fn discard(shop: &Shop, name: &str) -> io::Result<Discarded> {
    let photos = photos_of(&shop.journal(name));
    let folder = shop.discard(name)?;
    let mut discarded = Discarded { folder, n_photos: 0, n_shared: 0 };
    if photos.is_empty() {
        return Ok(discarded);
    }
    let _alone = Alone::in_folder(&shop.pictures())?;
    let shared = named_of(shop, &photos)?;
    for digest in &photos {
        let kept = shop.picture(digest, PictureKind::Jpeg);
        match disk::read(&kept, PHOTO.bytes) {
            Ok(photo) => put(&discarded.folder, digest, &photo)?,
            // What is missing is for the audit to say, once it is gone on with.
            Err(error) if error.kind() == io::ErrorKind::NotFound => continue,
            Err(error) => return Err(error),
        }
        discarded.n_photos += 1;
        match shared.contains(digest) {
            true => discarded.n_shared += 1,
            false => std::fs::remove_file(kept)?,
        }
    }
    Ok(discarded)
}

/// Puts the photos of a session that was discarded and moved back by hand to where photos lie.
pub(crate) fn take_back(shop: &Shop, name: &str) -> io::Result<()> {
    let folder = shop.session(name);
    let photos = photos_of(&shop.journal(name));
    for (digest, path) in photos.iter().map(|digest| (digest, file(&folder, digest))) {
        if let Some(photo) = Picture::read(&path, PHOTO).ok().filter(|photo| sha256(photo.bytes()) == *digest)
        {
            make_folder(&shop.pictures())?;
            shop.keep_picture(&photo)?;
            std::fs::remove_file(&path)?;
        }
    }
    Ok(())
}

fn photos_of(journal: &Path) -> BTreeSet<String> {
    let events = Journal::events_in(journal).into_iter();
    let photos = events.filter_map(|event| match event.what {
        What::Photographed { photo, .. } => Some(photo.sha256),
        _ => None,
    });
    // They become names of files.
    photos.filter(|digest| digest.len() == 64 && digest.bytes().all(|b| b.is_ascii_hexdigit())).collect()
}

/// Returns which of these pictures a record or an open session names, in whatever way.
fn named_of(shop: &Shop, digests: &BTreeSet<String>) -> io::Result<BTreeSet<String>> {
    let records = shop.record_names()?.into_iter().map(|name| shop.record(&name));
    let open = shop.open_names()?.into_iter().map(|name| shop.journal(&name));
    let mut named = BTreeSet::new();
    for path in records.chain(open) {
        let text = disk::read(&path, LARGEST_DOCUMENT)?;
        let is_in_it = |digest: &&String| memmem::find(&text, digest.as_bytes()).is_some();
        named.extend(digests.iter().filter(is_in_it).cloned());
    }
    Ok(named)
}

fn file(folder: &Path, digest: &str) -> PathBuf {
    folder.join(digest).with_extension(PictureKind::Jpeg.ending())
}

fn put(folder: &Path, digest: &str, photo: &[u8]) -> io::Result<()> {
    match write_new(&file(folder, digest), photo, None) {
        Err(error) if error.kind() != io::ErrorKind::AlreadyExists => Err(error),
        _ => Ok(()),
    }
}
