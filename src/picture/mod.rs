//! Pictures: PNG and JPEG, told by their content, bounded, and decoded whole before anything counts as one.

mod decoding;
mod file;

pub(crate) use file::{BadPicture, Bounds, DRAWING, Picture, PictureKind};
