//! Pictures: PNG and JPEG, told by their content, bounded, and decoded whole before anything counts as one;
//! photos, of which the pixels alone are kept; where rings and names stand on them.

mod decoding;
mod file;
mod ground;
mod photo;
mod tag;

pub(crate) use file::{BadPicture, Bounds, DRAWING, Picture, PictureKind};
pub(crate) use ground::Ground;
pub(crate) use photo::PHOTO;
pub(crate) use tag::{NamedPlace, Tag, TagEnd, tags};
