//! The pictures that a shop keeps, each once, under the digest of its bytes: so a record that names
//! one can be held to it.

use std::io;
use std::path::{Path, PathBuf};

use thiserror::Error;

use super::{Photo, Shop, sha256};
use crate::disk::{self, Alone, make_folder, write_whole};
use crate::picture::{Bounds, PHOTO, Picture, PictureKind};

/// Why a picture that a record names is not at hand.
#[derive(Debug, Error)]
pub(crate) enum PictureFault {
    #[error("{path} is missing", path = .0.display())]
    Missing(PathBuf),
    #[error("{path} was altered: its content has another digest", path = .0.display())]
    Altered(PathBuf),
    #[error("{path}: {1}", path = .0.display())]
    Io(PathBuf, io::Error),
}

impl Shop {
    /// Keeps a picture; returns its digest. It is on the disk then; what lay in its place and had
    /// another content is gone.
    pub(crate) fn keep_picture(&self, picture: &Picture) -> io::Result<String> {
        let digest = sha256(picture.bytes());
        let path = self.picture(&digest, picture.kind);
        if read(&path, &digest).is_err() {
            make_folder(&self.pictures())?;
            write_whole(&path, picture.bytes())?;
        }
        Ok(digest)
    }

    /// Returns the picture of a digest; none where it is not kept here, or is no longer as it was.
    pub(crate) fn kept_picture(&self, digest: &str, most: Bounds) -> Option<Picture> {
        picture_in(&self.pictures(), digest, most)
    }

    /// Keeps a photo, and returns what a record says of it. Until the other value ends, nobody takes it away: by
    /// then it has to be named.
    pub(crate) fn keep_photo(&self, picture: &Picture, words: Option<String>) -> io::Result<(Photo, Alone)> {
        make_folder(&self.pictures())?;
        let alone = Alone::in_folder(&self.pictures())?;
        let sha256 = self.keep_picture(picture)?;
        Ok((Photo { sha256, width: picture.width, height: picture.height, words }, alone))
    }
}

/// Returns the folder of pictures that goes with a record's file: that of its shop, or one beside it.
pub(crate) fn pictures_beside(record: &Path) -> PathBuf {
    let folder = record.parent().unwrap_or(record);
    Shop::pictures_in(folder.parent().filter(|_| folder.ends_with("records")).unwrap_or(folder))
}

/// Returns the picture of a digest out of a folder of pictures.
pub(crate) fn picture_in(folder: &Path, digest: &str, most: Bounds) -> Option<Picture> {
    let kinds = [PictureKind::Png, PictureKind::Jpeg];
    let paths = kinds.map(|kind| folder.join(format!("{digest}.{}", kind.ending())));
    let mut kept = paths.iter().filter_map(|path| Picture::read(path, most).ok());
    kept.find(|picture| sha256(picture.bytes()) == digest)
}

/// Reads the JPEG of a photo of a record that lies at a path.
pub(crate) fn photo_beside(record: &Path, photo: &Photo) -> Result<Vec<u8>, PictureFault> {
    let Photo { sha256: digest, .. } = photo;
    read(&pictures_beside(record).join(format!("{digest}.{}", PictureKind::Jpeg.ending())), digest)
}

/// Reads a kept picture, and holds it to its digest.
fn read(path: &Path, digest: &str) -> Result<Vec<u8>, PictureFault> {
    match disk::read(path, PHOTO.bytes) {
        Ok(bytes) if sha256(&bytes) == digest => Ok(bytes),
        Ok(_) => Err(PictureFault::Altered(path.to_owned())),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Err(PictureFault::Missing(path.to_owned())),
        Err(error) => Err(PictureFault::Io(path.to_owned(), error)),
    }
}
