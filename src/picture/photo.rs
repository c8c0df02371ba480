use jpeg_encoder::{ColorType, Encoder};

use super::decoding::Pixels;
use super::{BadPicture, Bounds, DRAWING, Picture, PictureKind};

/// What a photo may be before it is made smaller: what the cameras of telephones take.
pub(crate) const PHOTO: Bounds = Bounds { bytes: 32 << 20, side: 16_384, pixels: 64_000_000 };

/// The most pixels of the longer side of a photo that is kept: a worn land fills a screen with them.
const LONGER_SIDE: u32 = 1600;

/// How finely a photo is written, of 100 (the scale of the Independent JPEG Group).
const QUALITY: u8 = 85;

/// The tag of a picture's orientation (Exif, CIPA DC-008, 4.6.4, which takes it from TIFF 6.0).
const ORIENTATION: u16 = 0x0112;

impl Picture {
    /// Takes the bytes of a file for a picture that a procedure shows: as they are, where that may be. One with its
    /// camera's notes (Exif), or too large, is made what is kept of a photo, as finely as a procedure's picture may be.
    ///
    /// # Errors
    /// As [`Picture::of_photo`].
    pub(crate) fn of_unit(file: Vec<u8>) -> Result<Picture, BadPicture> {
        const COARSER: [u8; 3] = [70, 50, 30];
        if let Ok((picture, false)) = Picture::noted(file.clone(), DRAWING) {
            return Ok(picture);
        }
        let upright = Upright::of(file)?;
        let mut written = upright.written(QUALITY)?;
        for quality in COARSER {
            if written.bytes().len() as u64 > DRAWING.bytes {
                written = upright.written(quality)?;
            }
        }
        Ok(written)
    }

    /// Makes of a camera's file what is kept of it: its pixels the right way up, at most 1,600 on the longer
    /// side, written anew as JPEG. Nothing else of the file is carried over, so no place, time, name or
    /// preview that it may hold.
    ///
    /// # Errors
    /// Where it is no PNG or JPEG, more than [`PHOTO`] allows, or can't be decoded to the last pixel.
    pub(crate) fn of_photo(file: Vec<u8>) -> Result<Picture, BadPicture> {
        Upright::of(file)?.written(QUALITY)
    }
}

/// The pixels of a photo as they are kept: the right way up, and no more than that takes.
struct Upright {
    width: u32,
    height: u32,
    rgb: Vec<u8>,
}

impl Upright {
    fn of(file: Vec<u8>) -> Result<Upright, BadPicture> {
        let (_, pixels) = Picture::decoded(file, PHOTO)?;
        let orientation = pixels.exif.as_deref().and_then(orientation).unwrap_or(1);
        let (width, height, rgb) = turned(&shrunk(pixels), orientation);
        Ok(Upright { width, height, rgb })
    }

    fn written(&self, quality: u8) -> Result<Picture, BadPicture> {
        let Upright { width, height, ref rgb } = *self;
        let mut bytes = Vec::new();
        let side = |side: u32| u16::try_from(side).unwrap_or(u16::MAX);
        Encoder::new(&mut bytes, quality)
            .encode(rgb, side(width), side(height), ColorType::Rgb)
            .map_err(|error| BadPicture::Broken(error.to_string()))?;
        Ok(Picture { kind: PictureKind::Jpeg, width, height, bytes: bytes.into() })
    }
}

/// Reads the orientation out of Exif data: a SHORT in the first directory of its TIFF. None where none is stated.
fn orientation(exif: &[u8]) -> Option<u16> {
    let is_little = match exif.get(..4)? {
        b"II*\0" => true,
        b"MM\0*" => false,
        _ => return None,
    };
    let short = |at: usize| {
        let bytes = exif.get(at..at.checked_add(2)?)?.try_into().ok()?;
        Some(if is_little { u16::from_le_bytes(bytes) } else { u16::from_be_bytes(bytes) })
    };
    let at = exif.get(4..8)?.try_into().ok()?;
    let directory = if is_little { u32::from_le_bytes(at) } else { u32::from_be_bytes(at) };
    let directory = usize::try_from(directory).ok()?;
    let entries = (0..short(directory)?).map(|n| directory + 2 + 12 * usize::from(n));
    let stated = entries.filter(|at| short(*at) == Some(ORIENTATION)).find_map(|at| short(at + 8))?;
    (1..=8).contains(&stated).then_some(stated)
}

/// Makes a picture smaller, where its longer side is more than is kept. Each pixel is the mean of what it stands for.
fn shrunk(pixels: Pixels) -> Pixels {
    let Pixels { width, height, rgb, exif } = pixels;
    let longer = width.max(height);
    if longer <= LONGER_SIDE {
        return Pixels { width, height, rgb, exif };
    }
    let to = |side: u32| (side * LONGER_SIDE + longer / 2).checked_div(longer).unwrap_or(1).max(1);
    // Narrowed and laid on its side, twice.
    let on_its_side = narrowed(&rgb, width, to(width));
    drop(rgb);
    let rgb = narrowed(&on_its_side, height, to(height));
    Pixels { width: to(width), height: to(height), rgb, exif }
}

/// Narrows rows of pixels from one width to another that is no more, and returns them as columns.
fn narrowed(rgb: &[u8], from: u32, to: u32) -> Vec<u8> {
    let (from, to) = (from as usize, to as usize);
    let n_rows = rgb.len() / 3 / from;
    let step = from as f32 / to as f32;
    let mut turned = vec![0; n_rows * to * 3];
    for (y, row) in rgb.chunks_exact(from * 3).enumerate() {
        for x in 0..to {
            let (left, right) = (x as f32 * step, ((x + 1) as f32 * step).min(from as f32));
            let mut sums = [0.0_f32; 3];
            for at in left as usize..(right.ceil() as usize) {
                let share = right.min((at + 1) as f32) - left.max(at as f32);
                for (sum, value) in sums.iter_mut().zip(&row[at * 3..]) {
                    *sum += share * f32::from(*value);
                }
            }
            let pixel = &mut turned[(x * n_rows + y) * 3..][..3];
            for (value, sum) in pixel.iter_mut().zip(sums) {
                *value = (sum / (right - left)).round() as u8;
            }
        }
    }
    turned
}

/// Puts a picture the way up that its orientation says, 1 to 8; returns width, height and pixels.
fn turned(pixels: &Pixels, orientation: u16) -> (u32, u32, Vec<u8>) {
    let (w, h) = (pixels.width as usize, pixels.height as usize);
    let is_on_its_side = orientation >= 5;
    let (width, height) = if is_on_its_side { (h, w) } else { (w, h) };
    let from = |x: usize, y: usize| match orientation {
        2 => (w - 1 - x, y),
        3 => (w - 1 - x, h - 1 - y),
        4 => (x, h - 1 - y),
        5 => (y, x),
        6 => (y, h - 1 - x),
        7 => (w - 1 - y, h - 1 - x),
        8 => (w - 1 - y, x),
        _ => (x, y),
    };
    let mut rgb = Vec::with_capacity(pixels.rgb.len());
    for y in 0..height {
        for x in 0..width {
            let (x, y) = from(x, y);
            rgb.extend_from_slice(&pixels.rgb[(y * w + x) * 3..][..3]);
        }
    }
    let (width, height) =
        if is_on_its_side { (pixels.height, pixels.width) } else { (pixels.width, pixels.height) };
    (width, height, rgb)
}
