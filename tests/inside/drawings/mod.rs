//! The drawings of the shipped procedures' bodies, drawn here: `SPOOLPROOF_WRITE_DRAWINGS=1` writes them anew.

mod bodies;
mod canvas;
mod letters;

use std::path::PathBuf;

use crate::page::PictureSight;
use crate::picture::{DRAWING, Ground, NamedPlace, Picture, tags};
use crate::procedure::{Program, SHIPPED};
use crate::record::Pixel;
use bodies::{BODIES, Body};
use canvas::Canvas;

fn path(body: &Body) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(format!("procedures/{}.png", body.id))
}

/// Writes a sheet as a PNG of 16 greys.
fn png_of(canvas: &Canvas) -> Vec<u8> {
    let mut bytes = Vec::new();
    let size = [canvas.width, canvas.height].map(|side| u32::try_from(side).unwrap());
    let mut encoder = png::Encoder::new(&mut bytes, size[0], size[1]);
    encoder.set_color(png::ColorType::Grayscale);
    encoder.set_depth(png::BitDepth::Four);
    encoder.set_compression(png::Compression::High);
    let shades = canvas.shades();
    let rows = shades.chunks(canvas.width).flat_map(|row| {
        row.chunks(2)
            .map(|pair| (pair[0] << 4) | pair.get(1).copied().unwrap_or_default())
            .collect::<Vec<u8>>()
    });
    encoder.write_header().unwrap().write_image_data(&rows.collect::<Vec<_>>()).unwrap();
    bytes
}

/// Reads the shades of a PNG of 16 greys, one a byte.
fn shades_of(bytes: &[u8]) -> (u32, Vec<u8>) {
    let mut reader = png::Decoder::new(std::io::Cursor::new(bytes)).read_info().unwrap();
    let mut packed = vec![0; reader.output_buffer_size().unwrap()];
    let frame = reader.next_frame(&mut packed).unwrap();
    assert_eq!((frame.color_type, frame.bit_depth), (png::ColorType::Grayscale, png::BitDepth::Four));
    (frame.width, packed.iter().flat_map(|pair| [pair >> 4, pair & 15]).collect())
}

#[test]
fn the_drawings_beside_the_shipped_procedures_are_what_is_drawn_here() {
    for body in &BODIES {
        let canvas = body.drawn();
        if std::env::var_os("SPOOLPROOF_WRITE_DRAWINGS").is_some() {
            std::fs::write(path(body), png_of(&canvas)).unwrap();
        }
        let bytes = std::fs::read(path(body)).unwrap();
        assert!(bytes.len() < 60_000, "{} has {} bytes", body.id, bytes.len());
        let (width, shades) = shades_of(&bytes);
        assert_eq!(width as usize, canvas.width);
        assert!(
            shades == canvas.shades(),
            "{} is another drawing; SPOOLPROOF_WRITE_DRAWINGS=1 draws it anew",
            body.id
        );
    }
}

#[test]
fn the_shipped_procedures_have_their_ports_where_they_are_drawn() {
    for body in &BODIES {
        let shipped = SHIPPED.iter().find(|shipped| shipped.id == body.id).unwrap();
        let program = Program::compile(shipped.source().unwrap()).unwrap();
        let map = program.title.map.clone().unwrap();
        let drawn = body.ports().into_iter();
        let drawn: Vec<_> =
            drawn.map(|(port, (x, y))| (port.to_owned(), Pixel { x: x as u32, y: y as u32 })).collect();
        let mut found: Vec<_> = map.ports.into_iter().collect();
        found.sort_by_key(|(port, _)| drawn.iter().position(|(known, _)| known == port));
        assert_eq!(found, drawn, "{}", body.id);
    }
}

/// Returns how many of the names that are printed beside ports an area covers a part of.
fn n_covered(body: &Body, [left, top, right, bottom]: [f64; 4]) -> usize {
    let names = body.names().into_iter();
    names.filter(|(from, to)| from.0 < right && left < to.0 && from.1 < bottom && top < to.1).count()
}

/// Returns how many of these names a ring around a place reaches.
fn n_reached(body: &Body, (x, y): (f64, f64), reach: f64) -> usize {
    let nearest = |((left, top), (right, bottom)): &((f64, f64), (f64, f64))| {
        (x.clamp(*left, *right) - x).hypot(y.clamp(*top, *bottom) - y)
    };
    body.names().iter().filter(|name| nearest(name) < reach).count()
}

#[test]
fn the_ring_of_a_port_and_its_name_hide_no_name_that_is_printed_beside_a_port() {
    for body in &BODIES {
        let ground = Ground::of(&Picture::read(&path(body), DRAWING).unwrap());
        let places = body.ports().into_iter();
        let places =
            places.map(|(port, (x, y))| (port.to_owned(), Pixel { x: x as u32, y: y as u32 })).collect();
        // On the page one port is ringed at a time; the white around its ring is as wide as three
        // quarters of its radius.
        for (port, at) in body.ports() {
            let sight = PictureSight::of(body.id, &ground, &places, Some(port), false);
            let hidden = (n_reached(body, at, sight.ring * 1.375), n_covered(body, sight.ports[0].tag.area));
            assert_eq!(hidden, (0, 0), "{} {port}", body.id);
        }
        // In a report and on a worksheet all of them are, in smaller letters; one name is hidden there still.
        let unit = ground.size().0 / 1000.0;
        let reach = ground.ring() + 7.0 * unit;
        let named = |(port, at): (&str, _)| NamedPlace { at, reach, name: port.to_owned() };
        let named: Vec<NamedPlace> = body.ports().into_iter().map(named).collect();
        let areas = tags(&named, 26.0 * unit, &ground).into_iter().map(|tag| tag.area);
        let hidden: usize =
            areas.map(|area| n_covered(body, [area.left, area.top, area.right, area.bottom])).sum();
        assert!(hidden <= 1, "{}: {hidden} of {}", body.id, named.len());
        assert!(body.ports().into_iter().all(|(_, at)| n_reached(body, at, ground.ring() + 2.0 * unit) == 0));
    }
}
