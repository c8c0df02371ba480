//! Where names stand beside the places on a picture that they belong to.

use super::Ground;

/// A place on a picture, or words at one; from its left and its upper edge.
pub(super) type OnPicture = (f64, f64);

/// A place that bears its name.
#[derive(Debug, Clone)]
pub(crate) struct NamedPlace {
    pub at: OnPicture,
    /// How far what is drawn there reaches to each side.
    pub reach: f64,
    pub name: String,
}

/// Where a name stands: which of its ends, or its middle, the line that its letters stand on, and what it covers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Tag {
    pub end: TagEnd,
    pub at: OnPicture,
    pub area: Area,
}

/// What of a name lies at its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum TagEnd {
    Left,
    Middle,
    Right,
}

/// So often those that cover something look for another side: they come to rest sooner, or go round in a circle.
const MOST_ROUNDS: usize = 8;

/// Finds a side for each name, in bold letters of a size, on a picture: where it covers no other name and no ring or
/// dot, and is seen whole. Where there is no such side it takes the one where it covers least of these; where there are
/// several, the one where it covers least of the picture.
pub(crate) fn tags(named: &[NamedPlace], letter: f64, ground: &Ground) -> Vec<Tag> {
    let sides: Vec<_> = named.iter().map(|one| sides(one, letter)).collect();
    let drawn = |at: usize| Area::around(named[at].at, named[at].reach);
    let mut taken: Vec<Option<usize>> = vec![None; named.len()];
    for _ in 0..MOST_ROUNDS {
        let before = taken.clone();
        for at in 0..named.len() {
            let others = (0..named.len()).filter(|other| *other != at);
            let names = others.clone().filter_map(|other| Some(sides[other][taken[other]?].area));
            let around: Vec<Area> = others.map(drawn).chain(names).collect();
            let covered = |side: usize| {
                let area = &sides[at][side].area;
                area.outside(ground.size()) + around.iter().map(|other| area.shared_with(other)).sum::<f64>()
            };
            // Who covers nothing that was put on the picture stays.
            if taken[at].is_none_or(|now| covered(now) > 0.0) {
                let rank = |side: usize| (covered(side), ground.under(&sides[at][side].area));
                let less = |one, other| if rank(other) < rank(one) { other } else { one };
                taken[at] = (0..sides[at].len()).reduce(less);
            }
        }
        if taken == before {
            break;
        }
    }
    taken.into_iter().zip(sides).filter_map(|(side, sides)| Some(sides[side?])).collect()
}

/// The sides of a place that its name can stand on, the best first.
fn sides(NamedPlace { at: (x, y), reach, name }: &NamedPlace, letter: f64) -> Vec<Tag> {
    // Letters have a rim, so that they are seen on any ground.
    let rim = letter * 0.12;
    let (wide, beside) = (name.chars().map(width).sum::<f64>() * letter, reach + rim);
    // Right beside a place something is printed more often than above and below that.
    let (upper, lower) = (y - reach * 0.4 - letter * 0.2 - rim, y + reach * 0.4 + letter * 0.8 + rim);
    let middle = y + letter * 0.35;
    let (above, below) = (y - beside - letter * 0.2, y + beside + letter * 0.8);
    let (left, right) = ((TagEnd::Right, x - beside), (TagEnd::Left, x + beside));
    let centred = (TagEnd::Middle, *x);
    // Over the place or under it, from its one edge or to its other.
    let (from, to) = ((TagEnd::Left, x - reach + rim), (TagEnd::Right, x + reach - rim));
    let sides = [
        (right, upper),
        (left, upper),
        (right, lower),
        (left, lower),
        (right, middle),
        (left, middle),
        (centred, above),
        (centred, below),
        (from, above),
        (from, below),
        (to, above),
        (to, below),
    ];
    let placed = |((end, x), line)| {
        let left = match end {
            TagEnd::Left => x,
            TagEnd::Middle => x - wide / 2.0,
            TagEnd::Right => x - wide,
        };
        let (top, bottom) = (line - letter * 0.8 - rim, line + letter * 0.2 + rim);
        let area = Area { left: left - rim, top, right: left + wide + rim, bottom };
        Tag { end, at: (x, line), area }
    };
    sides.map(placed).to_vec()
}

/// About how wide a bold letter is, as a part of its size: as wide as in the wider ones of common fonts.
fn width(letter: char) -> f64 {
    match letter {
        ' ' | '.' | ',' | ':' | ';' | '\'' | '!' | '|' | 'i' | 'j' | 'l' | 'I' => 0.4,
        'f' | 'r' | 't' | '(' | ')' | '-' | '/' | 'J' => 0.5,
        'm' | 'w' | 'M' | 'W' | '@' | '%' => 1.1,
        'A'..='Z' | '&' => 0.85,
        letter if letter.is_ascii() => 0.72,
        _ => 1.0,
    }
}

/// A part of the picture, by its edges.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Area {
    pub left: f64,
    pub top: f64,
    pub right: f64,
    pub bottom: f64,
}

impl Area {
    fn around((x, y): OnPicture, reach: f64) -> Area {
        Area { left: x - reach, top: y - reach, right: x + reach, bottom: y + reach }
    }

    /// How much of it another covers.
    fn shared_with(&self, other: &Area) -> f64 {
        let wide = self.right.min(other.right) - self.left.max(other.left);
        let high = self.bottom.min(other.bottom) - self.top.max(other.top);
        wide.max(0.0) * high.max(0.0)
    }

    /// How much of it lies outside of a picture.
    fn outside(&self, (right, bottom): OnPicture) -> f64 {
        self.shared_with(self) - self.shared_with(&Area { left: 0.0, top: 0.0, right, bottom })
    }
}
