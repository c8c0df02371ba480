use std::io::Cursor;

use png::{ColorType, Transformations};
use zune_jpeg::JpegDecoder;
use zune_jpeg::zune_core::bytestream::ZCursor;
use zune_jpeg::zune_core::colorspace::ColorSpace;
use zune_jpeg::zune_core::options::DecoderOptions;

use super::{BadPicture, Bounds, PictureKind};

/// A picture's pixels, row by row from the top, as its file has them: three bytes each for red, green and blue. What is
/// transparent stands on white.
pub(crate) struct Pixels {
    pub(crate) width: u32,
    pub(crate) height: u32,
    pub(crate) rgb: Vec<u8>,
    /// What the camera said of the picture (Exif, without its heading); none where nothing is said.
    pub(crate) exif: Option<Vec<u8>>,
}

/// What decoding a file whole has shown of it.
pub(super) struct Decoded {
    pub(super) width: u32,
    pub(super) height: u32,
    pub(super) exif: Option<Vec<u8>>,
    bytes: Vec<u8>,
    colours: ColorType,
}

impl Decoded {
    /// Makes pixels of it, for whoever wants to see them.
    pub(super) fn pixels(self) -> Pixels {
        let Decoded { width, height, exif, bytes, colours } = self;
        Pixels { width, height, rgb: on_white(colours, bytes), exif }
    }
}

/// Decodes a file whole. Its size is looked at before anything as large as it is set aside.
pub(super) fn decode(kind: PictureKind, bytes: &[u8], most: Bounds) -> Result<Decoded, BadPicture> {
    match kind {
        PictureKind::Png => png(bytes, most),
        PictureKind::Jpeg => jpeg(bytes, most),
    }
}

fn check_size(width: u32, height: u32, most: Bounds) -> Result<(), BadPicture> {
    let is_within = width.max(height) <= most.side && u64::from(width) * u64::from(height) <= most.pixels;
    if is_within { Ok(()) } else { Err(BadPicture::Large { width, height, most }) }
}

fn broken(why: impl ToString) -> BadPicture {
    BadPicture::Broken(why.to_string())
}

fn png(bytes: &[u8], most: Bounds) -> Result<Decoded, BadPicture> {
    let mut decoder = png::Decoder::new(Cursor::new(bytes));
    decoder.set_transformations(Transformations::normalize_to_color8());
    let (width, height) = decoder.read_header_info().map_err(broken)?.size();
    check_size(width, height, most)?;
    let mut reader = decoder.read_info().map_err(broken)?;
    let size = reader.output_buffer_size().ok_or_else(|| broken("its size is none"))?;
    let mut row_by_row = vec![0; size];
    let frame = reader.next_frame(&mut row_by_row).map_err(broken)?;
    reader.finish().map_err(broken)?;
    let exif = reader.info().exif_metadata.as_ref().map(|exif| exif.to_vec());
    row_by_row.truncate(frame.buffer_size());
    Ok(Decoded { width, height, exif, bytes: row_by_row, colours: frame.color_type })
}

/// Makes three bytes a pixel of what a PNG has.
fn on_white(colours: ColorType, bytes: Vec<u8>) -> Vec<u8> {
    let over_white = |colour: u8, alpha: u8| {
        let (colour, alpha) = (u32::from(colour), u32::from(alpha));
        u8::try_from((colour * alpha + 255 * (255 - alpha)) / 255).unwrap_or(u8::MAX)
    };
    match colours {
        ColorType::Grayscale => bytes.iter().flat_map(|grey| [*grey; 3]).collect(),
        ColorType::GrayscaleAlpha => {
            bytes.chunks_exact(2).flat_map(|pixel| [over_white(pixel[0], pixel[1]); 3]).collect()
        }
        ColorType::Rgba => bytes
            .chunks_exact(4)
            .flat_map(|pixel| [0, 1, 2].map(|colour| over_white(pixel[colour], pixel[3])))
            .collect(),
        // A palette has been looked up.
        ColorType::Rgb | ColorType::Indexed => bytes,
    }
}

fn jpeg(bytes: &[u8], most: Bounds) -> Result<Decoded, BadPicture> {
    let side = usize::try_from(most.side).unwrap_or(usize::MAX);
    let options = DecoderOptions::default()
        // The decoder's own limit must not come before the one that says what is allowed.
        .set_max_width(side.max(usize::from(u16::MAX)))
        .set_max_height(side.max(usize::from(u16::MAX)))
        .set_strict_mode(true)
        .jpeg_set_out_colorspace(ColorSpace::RGB);
    let whole = to_its_end(bytes);
    let mut decoder = JpegDecoder::new_with_options(ZCursor::new(whole.unwrap_or(bytes)), options);
    decoder.decode_headers().map_err(broken)?;
    let info = decoder.info().ok_or_else(|| broken("its size is none"))?;
    let (width, height) = (u32::from(info.width), u32::from(info.height));
    check_size(width, height, most)?;
    if whole.is_none() {
        return Err(broken("its end is missing"));
    }
    let rows = decoder.decode().map_err(broken)?;
    let exif = decoder.exif().cloned();
    Ok(Decoded { width, height, exif, bytes: rows, colours: ColorType::Rgb })
}

/// Returns a JPEG up to its end of image; none where that is missing, since the decoder would make up the last pixels.
/// Telephones write films and other pictures behind it.
fn to_its_end(bytes: &[u8]) -> Option<&[u8]> {
    const MARKER: u8 = 0xff;
    let mut at = 2;
    loop {
        let marker = *bytes.get(at + 1).filter(|_| bytes[at] == MARKER)?;
        match marker {
            0xd9 => return bytes.get(..at + 2),
            // A filling byte, before any marker.
            MARKER => at += 1,
            // A segment says how long it is; of these, only a scan has data behind it, in which no marker but that of a
            // restart stands.
            _ => {
                let length = bytes.get(at + 2..at + 4)?;
                at += 2 + usize::from(u16::from_be_bytes([length[0], length[1]]));
                let is_marker = |pair: &[u8]| pair[0] == MARKER && !matches!(pair[1], 0 | 0xd0..=0xd7);
                if marker == 0xda {
                    at += bytes.get(at..)?.windows(2).position(is_marker)?;
                }
            }
        }
    }
}
