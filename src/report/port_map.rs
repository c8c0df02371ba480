use data_encoding::BASE64;

use super::markup::{Markup, classed, plain};
use super::page::badge;
use super::port_picture::{PortMark, PortPicture};
use super::svg::Drawing;
use crate::leak::Verdict;
use crate::picture::{Ground, NamedPlace, TagEnd, tags};
use crate::record::PictureDigest;
use crate::tell::verdict_word;

/// The width of a picture in units of its drawing.
const WIDTH: f64 = 1000.0;
/// How far beyond a ring its cross reaches.
const CROSS: f64 = 7.0;
/// The size of a name's letters, as the style sheet has it.
const LETTER: f64 = 26.0;

const SHAPES: &str = "One ring: a port that was read. Two rings: worn. Crossed: leaks, too open or too tight. Broken: not decided.";

/// Makes a picture with its ports ringed and named, and what was read there. What is amiss is marked by the shape of
/// its ring and by a word.
pub(super) fn drawn(picture: &PortPicture) -> Markup {
    let PictureDigest { name, width, height, .. } = &picture.digest;
    let own_size = (f64::from(*width), f64::from(*height));
    let scale = WIDTH / own_size.0;
    let ground = picture.file.as_ref().map_or_else(|| Ground::blank(own_size), Ground::of).scaled_to(WIDTH);
    let (size, ring) = (ground.size(), ground.ring());
    let mut drawing = Drawing::default();
    match &picture.file {
        Some(file) => {
            let data = format!("data:{};base64,{}", file.kind.media_type(), BASE64.encode(file.bytes()));
            drawing.image(size, &data);
        }
        None => {
            drawing.rectangle("bar", (0.0, 0.0), size, "#fff");
            drawing.text("middle", (WIDTH / 2.0, size.1 / 2.0), &format!("{name} is not kept in this shop"));
        }
    }
    let at = |mark: &PortMark| (f64::from(mark.at.x) * scale, f64::from(mark.at.y) * scale);
    for mark in &picture.marks {
        ringed(&mut drawing, mark, at(mark), ring);
    }
    let named = |mark| NamedPlace { at: at(mark), reach: ring + CROSS, name: words(mark) };
    let named: Vec<NamedPlace> = picture.marks.iter().map(named).collect();
    for (NamedPlace { name, .. }, tag) in named.iter().zip(tags(&named, LETTER, &ground)) {
        let class = match tag.end {
            TagEnd::Left => "",
            TagEnd::Middle => "middle",
            TagEnd::Right => "end",
        };
        drawing.text(class, tag.at, name);
    }
    let told: Vec<_> = picture.marks.iter().map(told).collect();
    let said = format!("{name}, with these ports on it: {}", told.join("; "));
    let mut content = drawing.picture("ports", size, &said);
    content.push(classed("ul", "ports", picture.marks.iter().map(entry).collect::<Markup>()));
    let is_told = picture.marks.iter().any(|mark| worst(mark).is_some());
    content.extend(is_told.then(|| classed("p", "legend", SHAPES)));
    classed("div", "circuit", content)
}

/// The worst that came out at a port.
fn worst(mark: &PortMark) -> Option<Verdict> {
    let rank = |verdict: &Verdict| match verdict {
        Verdict::Leaks | Verdict::Open | Verdict::Tight => 3,
        Verdict::Worn => 2,
        Verdict::Retest => 1,
        Verdict::Holds | Verdict::Right | Verdict::Unjudged | Verdict::NotFitted => 0,
    };
    mark.circuits.iter().filter_map(|(_, verdict)| *verdict).max_by_key(rank)
}

fn ringed(drawing: &mut Drawing, mark: &PortMark, (x, y): (f64, f64), ring: f64) {
    let verdict = worst(mark);
    let class = if verdict == Some(Verdict::Retest) { "ring broken" } else { "ring" };
    let mut radii = vec![ring];
    radii.extend((verdict == Some(Verdict::Worn)).then_some(ring + 8.0));
    let reach = ring + CROSS;
    let is_crossed = matches!(verdict, Some(Verdict::Leaks | Verdict::Open | Verdict::Tight));
    // White around all of it first, so that it shows on a dark photograph.
    for (class, cross) in [("around", "around"), (class, "ring")] {
        radii.iter().for_each(|radius| drawing.dot(class, (x, y), *radius));
        if is_crossed {
            drawing.line(cross, (x - reach, y - reach), (x + reach, y + reach));
            drawing.line(cross, (x - reach, y + reach), (x + reach, y - reach));
        }
    }
}

/// What stands beside a ring: its port, and in a word what is amiss there.
fn words(mark: &PortMark) -> String {
    let verdict = worst(mark);
    let is_told = matches!(
        verdict,
        Some(Verdict::Leaks | Verdict::Open | Verdict::Tight | Verdict::Worn | Verdict::Retest)
    );
    let word = if is_told { format!(" {}", verdict_word(verdict)) } else { String::new() };
    format!("{}{word}", mark.port)
}

fn entry(mark: &PortMark) -> Markup {
    let mut content = Markup::text(&format!("Port {}: ", mark.port));
    for (index, (circuit, verdict)) in mark.circuits.iter().enumerate() {
        content.push(Markup::text(if index == 0 { "" } else { "; " }));
        content.push(Markup::text(&format!("{circuit} ")));
        content.extend(verdict.map(|verdict| badge(Some(verdict), verdict_word(Some(verdict)))));
    }
    plain("li", content)
}

/// Says which port it is, and what came out there.
fn told(mark: &PortMark) -> String {
    let circuit = |(circuit, verdict): &(String, Option<Verdict>)| match verdict {
        Some(verdict) => format!("{circuit} ({})", verdict_word(Some(*verdict))),
        None => circuit.clone(),
    };
    let circuits: Vec<_> = mark.circuits.iter().map(circuit).collect();
    format!("port {}, {}", mark.port, circuits.join(", "))
}
