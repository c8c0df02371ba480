use super::markup::{Markup, element, void};
use crate::leak::Verdict;
use crate::quantity::shown;

/// A place in units of the drawing.
type At = (f64, f64);

/// Width of a table's picture, and where its field begins: so narrow that its words can be read on a telephone.
pub(super) const PICTURE_WIDTH: f64 = 400.0;
pub(super) const PICTURE_LEFT: f64 = 80.0;

/// A picture while it is drawn: elements in the order in which they cover each other. What they look
/// like, their classes say.
#[derive(Default)]
pub(super) struct Drawing(Markup);

impl Drawing {
    fn put(&mut self, name: &'static str, class: &str, attributes: &[(&'static str, &str)]) {
        let class = Some(("class", class)).filter(|(_, class)| !class.is_empty());
        let all: Vec<_> = class.into_iter().chain(attributes.iter().copied()).collect();
        self.0.push(void(name, &all));
    }

    pub(super) fn line(&mut self, class: &str, (x1, y1): At, (x2, y2): At) {
        let [x1, y1, x2, y2] = [x1, y1, x2, y2].map(number);
        self.put("line", class, &[("x1", &x1), ("y1", &y1), ("x2", &x2), ("y2", &y2)]);
    }

    pub(super) fn rectangle(&mut self, class: &str, (x, y): At, (width, height): At, fill: &str) {
        let [x, y, width, height] = [x, y, width, height].map(number);
        let place = [("x", &*x), ("y", &y), ("width", &width), ("height", &height), ("fill", fill)];
        self.put("rect", class, &place);
    }

    pub(super) fn dot(&mut self, class: &str, (x, y): At, radius: f64) {
        self.put("circle", class, &[("cx", &number(x)), ("cy", &number(y)), ("r", &number(radius))]);
    }

    /// A picture of a file over the whole drawing, as a data address.
    pub(super) fn image(&mut self, (width, height): At, data: &str) {
        let [width, height] = [width, height].map(number);
        self.put("image", "", &[("width", &width), ("height", &height), ("href", data)]);
    }

    /// A line through points, or an area where its class fills it.
    pub(super) fn path(&mut self, class: &str, points: impl IntoIterator<Item = At>) {
        let to = |(index, (x, y)): (usize, At)| {
            format!("{}{} {}", if index == 0 { 'M' } else { 'L' }, number(x), number(y))
        };
        let track: String = points.into_iter().enumerate().map(to).collect();
        self.put("path", class, &[("d", &track)]);
    }

    /// A sign whose strokes are relative to its place.
    pub(super) fn sign(&mut self, class: &str, (x, y): At, strokes: &str) {
        self.put("path", class, &[("d", &format!("M{} {} {strokes}", number(x), number(y)))]);
    }

    /// Words at a place; the class says which of their ends or whether their middle is there.
    pub(super) fn text(&mut self, class: &str, at: At, words: &str) {
        self.turned_text(class, at, 0.0, words);
    }

    pub(super) fn turned_text(&mut self, class: &str, (x, y): At, turn: f64, words: &str) {
        let [x, y] = [x, y].map(number);
        let turned = format!("rotate({turn} {x} {y})");
        let mut attributes = vec![("class", class), ("x", &*x), ("y", &y)];
        if turn != 0.0 {
            attributes.push(("transform", &turned));
        }
        self.0.push(element("text", &attributes, words));
    }

    pub(super) fn group(&mut self, class: &str, drawing: Drawing) {
        self.0.push(element("g", &[("class", class)], drawing.0));
    }

    /// Makes the picture of a page, of a size, and says what it shows for those who hear it.
    pub(super) fn picture(self, class: &str, (width, height): At, said: &str) -> Markup {
        let size = format!("0 0 {} {}", number(width), number(height));
        let attributes = [("class", class), ("viewBox", &*size), ("role", "img"), ("aria-label", said)];
        element("svg", &attributes, self.0)
    }

    pub(super) fn into_markup(self) -> Markup {
        self.0
    }
}

/// The hatching of the part of a picture that a verdict takes.
pub(super) fn fill(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Leaks | Verdict::Open | Verdict::Tight => "url(#leaks)",
        Verdict::Worn => "url(#worn)",
        Verdict::Holds | Verdict::Right => "url(#holds)",
        Verdict::Retest | Verdict::Unjudged | Verdict::NotFitted => "#fff",
    }
}

/// The hatchings that pictures refer to by `url(#leaks)` and its like; stand once on a page. Zones differ in hatching
/// and not in colour alone.
pub(super) fn hatchings() -> Markup {
    Markup::trusted(include_str!("hatchings.svg"))
}

/// Makes a legend: a sample of each zone with its words, and more words behind.
pub(super) fn legend(zones: &[(Verdict, &str)], more: &str) -> Markup {
    let mut legend = Markup::default();
    for (verdict, words) in zones {
        let mut sample = Drawing::default();
        sample.rectangle("bar", (0.5, 0.5), (27.0, 11.0), fill(*verdict));
        let attributes = [("class", "sample"), ("viewBox", "0 0 28 12"), ("aria-hidden", "true")];
        legend.push(element("svg", &attributes, sample.0));
        legend.push(Markup::text(&format!(" {words}. ")));
    }
    legend.push(Markup::text(more));
    element("p", &[("class", "legend")], legend)
}

fn number(value: f64) -> String {
    shown(value, 2)
}
