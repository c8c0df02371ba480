//! What counts as a picture. The layouts of PNG and JPEG that the tests spoil are those of ISO/IEC
//! 15948 and ITU-T T.81.

use super::support::{jpeg, png, slope};
use crate::picture::{
    BadPicture, Bounds, DRAWING, Ground, NamedPlace, Picture, PictureKind, Tag, TagEnd, tags,
};

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
        "it is 101 x 10 pixels, 1010 in all; 100 on a side and 5000 in all are the most"
    );
    assert_eq!(
        refused(jpeg(90, 60), Bounds { bytes: 20_000, ..most }),
        "it is 90 x 60 pixels, 5400 in all; 100 on a side and 5000 in all are the most"
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

/// Exif data as a telephone writes it: an orientation, a maker, a place north and east, in either order of
/// bytes (CIPA DC-008).
fn exif(orientation: u16, is_little: bool) -> Vec<u8> {
    let short = |n: u16| if is_little { n.to_le_bytes() } else { n.to_be_bytes() };
    let long = |n: u32| if is_little { n.to_le_bytes() } else { n.to_be_bytes() };
    let mut bytes = if is_little { b"II*\0".to_vec() } else { b"MM\0*".to_vec() };
    let entry = |tag: u16, kind: u16, count: u32, value: [u8; 4]| {
        [&short(tag)[..], &short(kind), &long(count), &value].concat()
    };
    let in_place = |n: u16| [short(n)[0], short(n)[1], 0, 0];
    // The header has 8 bytes, the first directory 2 + 3 * 12 + 4, that of the place 2 + 2 * 12 + 4.
    let (place, maker, north) = (8 + 42, 8 + 42 + 30, 8 + 42 + 30 + 12);
    bytes.extend(long(8));
    bytes.extend(short(3));
    bytes.extend(entry(0x010f, 2, 12, long(maker)));
    bytes.extend(entry(0x0112, 3, 1, in_place(orientation)));
    bytes.extend(entry(0x8825, 4, 1, long(place)));
    bytes.extend(long(0));
    bytes.extend(short(2));
    bytes.extend(entry(1, 2, 2, *b"N\0\0\0"));
    bytes.extend(entry(2, 5, 3, long(north)));
    bytes.extend(long(0));
    bytes.extend(b"Maker Nobody");
    bytes
        .extend([(47_u32, 1_u32), (25, 1), (1234, 100)].map(|(n, of)| [long(n), long(of)].concat()).concat());
    bytes
}

/// A JPEG with Exif data, a comment and another picture and a film behind its end.
fn from_a_telephone(width: u16, height: u16, orientation: u16, is_little: bool) -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut encoder = jpeg_encoder::Encoder::new(&mut bytes, 95);
    encoder.add_exif_metadata(&exif(orientation, is_little)).unwrap();
    encoder.add_app_segment(13, b"caption by Nobody".to_vec()).unwrap();
    encoder.encode(&slope(width.into(), height.into()), width, height, jpeg_encoder::ColorType::Rgb).unwrap();
    bytes.extend(jpeg(8, 8));
    bytes.extend(b"film \xff\xda of Nobody");
    bytes
}

/// Returns the markers of a JPEG's segments up to its scan (ITU-T T.81, B.1).
fn segments(bytes: &[u8]) -> Vec<u8> {
    let (mut at, mut markers) = (2, Vec::new());
    while markers.last() != Some(&0xda) {
        markers.push(bytes[at + 1]);
        at += 2 + usize::from(u16::from_be_bytes([bytes[at + 2], bytes[at + 3]]));
    }
    markers
}

#[test]
fn of_a_photo_nothing_is_kept_but_its_pixels() {
    for is_little in [true, false] {
        let file = from_a_telephone(64, 48, 1, is_little);
        let place = exif(1, is_little);
        for told in [&b"Exif"[..], b"Nobody", &place[place.len() - 24..]] {
            assert!(file.windows(told.len()).any(|bytes| bytes == told), "the test's file lacks it");
            let kept = Picture::of_photo(file.clone()).unwrap();
            assert!(!kept.bytes().windows(told.len()).any(|bytes| bytes == told), "{told:?}");
        }
        let kept = Picture::of_photo(file).unwrap();
        // The heading of JFIF, tables, the frame and the scan: no other application's data, no comment.
        let foreign = |marker: &u8| !matches!(marker, 0xe0 | 0xdb | 0xc0 | 0xc4 | 0xda);
        assert_eq!(segments(kept.bytes()).iter().filter(|marker| foreign(marker)).count(), 0);
        assert!(kept.bytes().ends_with(&[0xff, 0xd9]));
        assert_eq!(Picture::decoded(kept.bytes().to_vec(), DRAWING).unwrap().1.exif, None);
    }
}

#[test]
fn a_photo_is_kept_the_right_way_up() {
    // Where the corner that was at the top left of the sensor's picture belongs, by Exif's table of orientations.
    let corners = [(1, "tl"), (2, "tr"), (3, "br"), (4, "bl"), (5, "tl"), (6, "tr"), (7, "br"), (8, "bl")];
    for (orientation, corner) in corners {
        for is_little in [true, false] {
            let kept = Picture::of_photo(from_a_telephone(64, 32, orientation, is_little)).unwrap();
            let size = if orientation < 5 { (64, 32) } else { (32, 64) };
            assert_eq!((kept.width, kept.height), size, "{orientation}");
            let (_, pixels) = Picture::decoded(kept.bytes().to_vec(), DRAWING).unwrap();
            let at = |x: u32, y: u32| {
                let at = ((y * kept.width + x) * 3) as usize;
                i32::from(pixels.rgb[at]) + i32::from(pixels.rgb[at + 1])
            };
            // Of a slope the darkest corner is the one at the top left.
            let (right, bottom) = (kept.width - 1, kept.height - 1);
            let corners =
                [("tl", at(0, 0)), ("tr", at(right, 0)), ("bl", at(0, bottom)), ("br", at(right, bottom))];
            assert_eq!(corners.iter().min_by_key(|(_, light)| *light).unwrap().0, corner, "{orientation}");
            // What grew along the sensor's width does so across, or down where it lay on its side.
            let is_red_across = {
                let reds = pixels.rgb[..3 * kept.width as usize].chunks(3).map(|pixel| pixel[0]);
                reds.clone().max().unwrap() - reds.min().unwrap() > 100
            };
            assert_eq!(is_red_across, orientation < 5, "{orientation}");
        }
    }
}

#[test]
fn exif_data_that_say_no_way_up_or_are_cut_anywhere_leave_a_photo_as_it_is() {
    let whole = exif(6, true);
    for cut in 0..30 {
        let mut file = Vec::new();
        let mut encoder = jpeg_encoder::Encoder::new(&mut file, 90);
        encoder.add_exif_metadata(&whole[..cut]).unwrap();
        encoder.encode(&slope(40, 20), 40, 20, jpeg_encoder::ColorType::Rgb).unwrap();
        assert_eq!(Picture::of_photo(file).unwrap().width, 40, "{cut} bytes");
    }
    assert_eq!(Picture::of_photo(from_a_telephone(40, 20, 9, true)).unwrap().width, 40);
}

#[test]
fn a_picture_that_a_procedure_shows_goes_as_it_is_or_as_finely_as_it_may() {
    let small = png(40, 30);
    assert_eq!(Picture::of_unit(small.clone()).unwrap().bytes(), small);
    assert_eq!(Picture::of_unit(from_a_telephone(40, 20, 6, true)).unwrap().width, 20, "upright");
    // No two pixels alike, as on a photo of a casting in poor light; drawn by a linear congruence (Numerical Recipes).
    let mut state = 1_u32;
    let mut noise = || {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        state.to_be_bytes()[0]
    };
    let pixels: Vec<u8> = (0..1600 * 1200 * 3).map(|_| noise()).collect();
    let mut file = Vec::new();
    let encoder = jpeg_encoder::Encoder::new(&mut file, 90);
    encoder.encode(&pixels, 1600, 1200, jpeg_encoder::ColorType::Rgb).unwrap();
    assert!(Picture::of(file.clone(), DRAWING).is_err());
    let shown = Picture::of_unit(file).unwrap();
    assert_eq!(shown.width, 1600);
    assert!(Picture::of(shown.bytes().to_vec(), DRAWING).is_ok());
}

#[test]
fn a_photo_is_made_smaller_by_its_means_and_never_larger() {
    let (width, height) = (2400, 900);
    let kept = Picture::of_photo(png(width, height)).unwrap();
    assert_eq!((kept.kind, kept.width, kept.height), (PictureKind::Jpeg, 1600, 600));
    let (_, pixels) = Picture::decoded(kept.bytes().to_vec(), DRAWING).unwrap();
    let far = |(a, b): (&u8, &u8)| a.abs_diff(*b);
    assert!(pixels.rgb.iter().zip(&slope(1600, 600)).map(far).max().unwrap() < 12);
    // Stripes that are narrower than a pixel come out grey.
    let stripes: Vec<u8> = (0..3200_u32 * 20).flat_map(|at| [if at % 2 == 0 { 0 } else { 255 }; 3]).collect();
    let mut file = Vec::new();
    let mut encoder = png::Encoder::new(&mut file, 3200, 20);
    encoder.set_color(png::ColorType::Rgb);
    encoder.write_header().unwrap().write_image_data(&stripes).unwrap();
    let kept = Picture::of_photo(file).unwrap();
    assert_eq!((kept.width, kept.height), (1600, 10));
    assert!(
        Picture::decoded(kept.bytes().to_vec(), DRAWING).unwrap().1.rgb.iter().all(|v| v.abs_diff(128) < 4)
    );
    assert_eq!(Picture::of_photo(png(30, 1)).unwrap().width, 30);
    let tall = Picture::of_photo(png(2, 4000)).unwrap();
    assert_eq!((tall.width, tall.height), (1, 1600));
}

/// What a name covers, with the rim of its letters, as wide as it is at the widest.
fn area(named: &NamedPlace, tag: &Tag, letter: f64) -> [f64; 4] {
    let wide = 0.8 * letter * named.name.chars().count() as f64;
    let (x, line) = tag.at;
    let left = match tag.end {
        TagEnd::Left => x,
        TagEnd::Middle => x - wide / 2.0,
        TagEnd::Right => x - wide,
    };
    [left, line - 0.8 * letter, left + wide, line + 0.2 * letter]
}

fn meet(one: [f64; 4], other: [f64; 4]) -> bool {
    one[0] < other[2] && other[0] < one[2] && one[1] < other[3] && other[1] < one[3]
}

/// Returns the names that cover another, or the place of another, or are not seen whole.
fn hidden(named: &[NamedPlace], letter: f64, size: (f64, f64)) -> Vec<String> {
    let tags = tags(named, letter, &Ground::blank(size));
    assert_eq!(tags.len(), named.len());
    let areas: Vec<_> = named.iter().zip(&tags).map(|(named, tag)| area(named, tag, letter)).collect();
    let drawn = |named: &NamedPlace| {
        let ((x, y), reach) = (named.at, named.reach);
        [x - reach, y - reach, x + reach, y + reach]
    };
    let is_hidden = |at: &usize| {
        let own = areas[*at];
        let is_whole = own[0] >= 0.0 && own[1] >= 0.0 && own[2] <= size.0 && own[3] <= size.1;
        let meets_name = areas.iter().enumerate().any(|(other, area)| other != *at && meet(own, *area));
        !is_whole || meets_name || named.iter().any(|other| meet(own, drawn(other)))
    };
    (0..named.len()).filter(is_hidden).map(|at| named[at].name.clone()).collect()
}

fn ports(places: &[(f64, f64)], reach: f64) -> Vec<NamedPlace> {
    let port = |(n, at): (usize, &(f64, f64))| NamedPlace { at: *at, reach, name: format!("{}A", n % 9 + 1) };
    places.iter().enumerate().map(port).collect()
}

#[test]
fn names_of_ports_that_lie_close_cover_neither_each_other_nor_a_port() {
    // Four in a square, a row along the upper edge, three whose rings nearly touch, and the four corners.
    let places = [(400.0, 300.0), (450.0, 300.0), (400.0, 350.0), (450.0, 350.0)];
    assert_eq!(hidden(&ports(&places, 10.0), 26.0, (1000.0, 700.0)), [""; 0]);
    let places = [14.0, 74.0, 134.0, 194.0].map(|x| (x, 12.0));
    assert_eq!(hidden(&ports(&places, 10.0), 26.0, (1000.0, 700.0)), [""; 0]);
    let places = [(500.0, 300.0), (540.0, 300.0), (580.0, 300.0)];
    assert_eq!(hidden(&ports(&places, 17.0), 26.0, (1000.0, 700.0)), [""; 0]);
    let places = [(1.0, 1.0), (999.0, 1.0), (1.0, 699.0), (999.0, 699.0)];
    assert_eq!(hidden(&ports(&places, 24.0), 26.0, (1000.0, 700.0)), [""; 0]);
}

#[test]
fn whoever_comes_first_makes_room_for_whoever_has_one_side_only() {
    // The first would take the right, where the second, between an edge and a third, has its only room.
    let size = (300.0, 100.0);
    let named = ports(&[(180.0, 50.0), (288.0, 50.0)], 12.0);
    assert_eq!(hidden(&named, 26.0, size), [""; 0]);
}

#[test]
fn a_name_that_has_room_stands_above_to_the_right() {
    let tag = tags(&ports(&[(500.0, 300.0)], 20.0), 26.0, &Ground::blank((1000.0, 700.0)))[0];
    assert_eq!((tag.end, tag.at.0 > 520.0, tag.at.1 < 300.0), (TagEnd::Left, true, true));
}
