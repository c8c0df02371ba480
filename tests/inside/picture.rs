//! What counts as a picture. The layouts of PNG and JPEG that the tests spoil are those of ISO/IEC 15948 and ITU-T T.81.

use super::support::{jpeg, png, slope};
use crate::picture::{BadPicture, Bounds, DRAWING, Picture, PictureKind};

fn refused(bytes: Vec<u8>, most: Bounds) -> String {
    Picture::of(bytes, most).unwrap_err().to_string()
}

#[test]
fn a_picture_is_told_by_its_content_with_its_size_and_its_pixels() {
    let (picture, pixels) = Picture::decoded(png(40, 30), DRAWING).unwrap();
    assert_eq!((picture.kind, picture.width, picture.height), (PictureKind::Png, 40, 30));
    assert_eq!(pixels.rgb, slope(40, 30));
    let (picture, pixels) = Picture::decoded(jpeg(40, 30), DRAWING).unwrap();
    assert_eq!((picture.kind, picture.width, picture.height), (PictureKind::Jpeg, 40, 30));
    let far = |(a, b): (&u8, &u8)| a.abs_diff(*b);
    assert!(pixels.rgb.iter().zip(&slope(40, 30)).map(far).max().unwrap() < 25);
    assert_eq!(picture.bytes(), jpeg(40, 30));
}

#[test]
fn what_is_transparent_stands_on_white() {
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, 2, 1);
    encoder.set_color(png::ColorType::Rgba);
    encoder.write_header().unwrap().write_image_data(&[10, 20, 30, 0, 10, 20, 30, 255]).unwrap();
    assert_eq!(Picture::decoded(bytes, DRAWING).unwrap().1.rgb, [255, 255, 255, 10, 20, 30]);
}

#[test]
fn nothing_else_is_a_picture_whatever_its_name() {
    for bytes in
        [&b""[..], b"GIF89a", b"<svg xmlns='http://www.w3.org/2000/svg'/>", b"RIFF....WEBPVP8 ", b"\x89PNG"]
    {
        assert!(matches!(Picture::of(bytes.to_vec(), DRAWING), Err(BadPicture::Foreign)), "{bytes:?}");
    }
}

#[test]
fn a_picture_that_ends_early_is_broken_wherever_it_ends() {
    for whole in [png(40, 30), jpeg(40, 30)] {
        for length in 8..whole.len() {
            let error = Picture::of(whole[..length].to_vec(), DRAWING).map(|_| length);
            assert!(matches!(error, Err(BadPicture::Broken(_))), "{length} of {} bytes", whole.len());
        }
    }
}

#[test]
fn a_damaged_png_is_broken_by_its_checksums() {
    let whole = png(40, 30);
    for at in 8..whole.len() {
        let mut bytes = whole.clone();
        bytes[at] ^= 0x10;
        assert!(Picture::of(bytes, DRAWING).is_err(), "byte {at}");
    }
}

#[test]
fn a_picture_of_too_many_bytes_or_pixels_is_refused_with_what_is_allowed() {
    let most = Bounds { bytes: 2048, side: 100, pixels: 5000 };
    assert!(Picture::of(png(100, 10), most).is_ok());
    assert_eq!(
        refused(png(101, 10), most),
        "it is 101 x 10 pixels; 100 on a side and 5000 in all are the most"
    );
    assert_eq!(
        refused(jpeg(90, 60), Bounds { bytes: 20_000, ..most }),
        "it is 90 x 60 pixels; 100 on a side and 5000 in all are the most"
    );
    let mut heavy = png(10, 10);
    heavy.resize(2049, 0);
    assert_eq!(refused(heavy, most), "it is larger than 2 KiB");
}

#[test]
fn a_file_that_says_it_is_huge_is_refused_before_its_pixels_are_set_aside() {
    let mut bytes = png(10, 10);
    bytes[16..24].copy_from_slice(&[0x7f, 0xff, 0xff, 0xff, 0x7f, 0xff, 0xff, 0xff]);
    let checksum = crc(&bytes[12..29]);
    bytes[29..33].copy_from_slice(&checksum.to_be_bytes());
    assert!(refused(bytes, DRAWING).starts_with("it is 2147483647 x 2147483647 pixels"));
    let mut bytes = jpeg(16, 16);
    let frame = bytes.windows(2).position(|marker| marker == [0xff, 0xc0]).unwrap();
    bytes[frame + 5..frame + 9].copy_from_slice(&[0xff; 4]);
    assert!(refused(bytes, DRAWING).starts_with("it is 65535 x 65535 pixels"));
}

/// The checksum of a PNG's chunk (ISO/IEC 15948, annex D).
fn crc(bytes: &[u8]) -> u32 {
    let step = |sum: u32| if sum & 1 == 1 { 0xedb8_8320 ^ (sum >> 1) } else { sum >> 1 };
    !bytes.iter().fold(u32::MAX, |sum, byte| (0..8).fold(sum ^ u32::from(*byte), |sum, _| step(sum)))
}
