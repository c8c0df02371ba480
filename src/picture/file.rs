use std::io;
use std::path::Path;
use std::sync::Arc;

use thiserror::Error;

use super::decoding::{self, Decoded, Pixels};
use crate::disk;

/// How much a picture may be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Bounds {
    /// The most bytes of its file.
    pub(crate) bytes: u64,
    /// The most pixels of its longer side.
    pub(crate) side: u32,
    /// The most pixels of all.
    pub(crate) pixels: u64,
}

/// What a procedure's picture may be: enough for a photograph of a body that fills a screen, little enough to hand on.
pub(crate) const DRAWING: Bounds = Bounds { bytes: 1 << 20, side: 4096, pixels: 8_000_000 };

/// What a picture's content says it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum PictureKind {
    Png,
    Jpeg,
}

impl PictureKind {
    /// Tells a file by its first bytes: PNG by its signature (ISO/IEC 15948, 5.2), JPEG by its start of image and the
    /// marker that follows it (ITU-T T.81, B.1).
    pub(crate) fn of(bytes: &[u8]) -> Option<PictureKind> {
        if bytes.starts_with(b"\x89PNG\r\n\x1a\n") {
            Some(PictureKind::Png)
        } else if bytes.starts_with(b"\xff\xd8\xff") {
            Some(PictureKind::Jpeg)
        } else {
            None
        }
    }

    /// Returns the type that a browser is told.
    pub(crate) fn media_type(self) -> &'static str {
        match self {
            PictureKind::Png => "image/png",
            PictureKind::Jpeg => "image/jpeg",
        }
    }

    /// Returns the usual ending of such a file's name.
    pub(crate) fn ending(self) -> &'static str {
        match self {
            PictureKind::Png => "png",
            PictureKind::Jpeg => "jpg",
        }
    }
}

/// A picture: a file that was decoded whole, within bounds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Picture {
    pub(crate) kind: PictureKind,
    /// Its width in pixels, as its file has it.
    pub(crate) width: u32,
    /// Its height in pixels, as its file has it.
    pub(crate) height: u32,
    pub(super) bytes: Arc<[u8]>,
}

/// Why a file is no picture that can be taken.
#[derive(Debug, Error)]
pub(crate) enum BadPicture {
    #[error("it cannot be read: {0}")]
    Io(#[from] io::Error),
    #[error("it is neither PNG nor JPEG")]
    Foreign,
    #[error("it is larger than {} KiB", most / 1024)]
    Heavy { most: u64 },
    #[error(
        "it is {width} x {height} pixels, {} in all; {} on a side and {} in all are the most",
        u64::from(*width) * u64::from(*height), .most.side, .most.pixels
    )]
    Large { width: u32, height: u32, most: Bounds },
    #[error("it is broken: {0}")]
    Broken(String),
}

impl BadPicture {
    /// Says of a photo's file why it is not taken, and what else to do.
    pub(crate) fn of_photo(&self, name: &str) -> String {
        let else_to_do = match self {
            BadPicture::Foreign => ". Have the camera write JPEG",
            BadPicture::Heavy { .. } | BadPicture::Large { .. } => ". Have the camera take smaller ones",
            BadPicture::Io(_) | BadPicture::Broken(_) => "",
        };
        format!("{name}: {self}{else_to_do}.")
    }
}

impl Picture {
    /// Takes the bytes of a file for a picture.
    ///
    /// # Errors
    /// Where they are no PNG or JPEG, or more than the bounds, or can't be decoded to the last pixel.
    pub(crate) fn of(bytes: Vec<u8>, most: Bounds) -> Result<Picture, BadPicture> {
        Ok(Picture::noted(bytes, most)?.0)
    }

    /// As [`Picture::of`], with whether its camera's notes are in it (Exif).
    pub(crate) fn noted(bytes: Vec<u8>, most: Bounds) -> Result<(Picture, bool), BadPicture> {
        let (picture, decoded) = Picture::looked_through(bytes, most)?;
        Ok((picture, decoded.exif.is_some()))
    }

    /// As [`Picture::of`], with its pixels.
    pub(crate) fn decoded(bytes: Vec<u8>, most: Bounds) -> Result<(Picture, Pixels), BadPicture> {
        let (picture, decoded) = Picture::looked_through(bytes, most)?;
        Ok((picture, decoded.pixels()))
    }

    fn looked_through(bytes: Vec<u8>, most: Bounds) -> Result<(Picture, Decoded), BadPicture> {
        let kind = PictureKind::of(&bytes).ok_or(BadPicture::Foreign)?;
        if bytes.len() as u64 > most.bytes {
            return Err(BadPicture::Heavy { most: most.bytes });
        }
        let decoded = decoding::decode(kind, &bytes, most)?;
        let (width, height) = (decoded.width, decoded.height);
        Ok((Picture { kind, width, height, bytes: bytes.into() }, decoded))
    }

    pub(crate) fn read(path: &Path, most: Bounds) -> Result<Picture, BadPicture> {
        Picture::of(Picture::read_bytes(path, most)?, most)
    }

    /// Reads the bytes of a file that may be a picture.
    pub(crate) fn read_bytes(path: &Path, most: Bounds) -> Result<Vec<u8>, BadPicture> {
        disk::read(path, most.bytes).map_err(|error| match error.kind() {
            io::ErrorKind::FileTooLarge => BadPicture::Heavy { most: most.bytes },
            _ => BadPicture::Io(error),
        })
    }

    pub(crate) fn bytes(&self) -> &[u8] {
        &self.bytes
    }
}
