//! The pictures that a shop keeps, each once, under the digest of its bytes.

use std::io::{self, ErrorKind};

use super::{Shop, sha256};
use crate::disk::{make_folder, write_new};
use crate::picture::{Bounds, Picture, PictureKind};

impl Shop {
    /// Keeps a picture; returns its digest. It is on the disk then.
    pub(crate) fn keep_picture(&self, picture: &Picture) -> io::Result<String> {
        let digest = sha256(picture.bytes());
        make_folder(&self.pictures())?;
        match write_new(&self.picture(&digest, picture.kind), picture.bytes(), None) {
            Err(error) if error.kind() != ErrorKind::AlreadyExists => Err(error),
            _ => Ok(digest),
        }
    }

    /// Returns the picture of a digest; none where it is not kept here, or is no longer as it was.
    pub(crate) fn kept_picture(&self, digest: &str, most: Bounds) -> Option<Picture> {
        let kinds = [PictureKind::Png, PictureKind::Jpeg];
        let mut kept = kinds.iter().filter_map(|kind| Picture::read(&self.picture(digest, *kind), most).ok());
        kept.find(|picture| sha256(picture.bytes()) == digest)
    }
}
