//! Pictures made in the test: no file of anybody's.

/// A PNG of one colour with a slope of brightness, so that it is not all alike.
pub(crate) fn png(width: u32, height: u32) -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, width, height);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.write_header().unwrap().write_image_data(&slope(width, height)).unwrap();
    bytes
}

/// A JPEG of the same.
pub(crate) fn jpeg(width: u16, height: u16) -> Vec<u8> {
    let mut bytes = Vec::new();
    let encoder = jpeg_encoder::Encoder::new(&mut bytes, 90);
    let pixels = slope(width.into(), height.into());
    encoder.encode(&pixels, width, height, jpeg_encoder::ColorType::Rgb).unwrap();
    bytes
}

/// Three bytes a pixel: red grows to the right, green downwards.
pub(crate) fn slope(width: u32, height: u32) -> Vec<u8> {
    let part = |at: u32, of: u32| u8::try_from(at * 255 / of.max(1)).unwrap();
    (0..height).flat_map(|y| (0..width).flat_map(move |x| [part(x, width), part(y, height), 90])).collect()
}
