use super::markup::{Markup, element, void};
use super::scale::{line, number, sample};
use crate::quantity::{INCH_OF_MERCURY, Unit, shown};
use crate::report::{Chart, Histogram, N_BARS, Picture, Shares, edges};

/// Size of a picture, in units of the drawing.
const WIDTH: f64 = 600.0;
const LEFT: f64 = 60.0;

/// Draws a picture.
pub(super) fn drawn(picture: &Picture, vacuum_unit: &Unit) -> Markup {
    match picture {
        Picture::Shares(shares) => [bars(shares), shares_legend()].into(),
        Picture::Histogram(histogram) => histogram_drawn(histogram, vacuum_unit),
        Picture::Charts(charts) => charts.iter().map(chart_drawn).collect(),
    }
}

/// Zones of a bar by verdict, worst first; retest is left white.
const ZONES: [&str; 4] = ["url(#leaks)", "url(#worn)", "#fff", "url(#holds)"];

fn bars(shares: &[Shares]) -> Markup {
    const ROW: f64 = 16.0;
    const NAME: f64 = 170.0;
    let mut drawing = Markup::default();
    for (index, share) in shares.iter().enumerate() {
        let top = index as f64 * ROW;
        drawing.push(text(NAME - 6.0, top + 11.0, "end", &share.label));
        let mut from = NAME;
        let counts = share.worst_first();
        for ((end, zone), count) in share.ends(WIDTH - NAME - 6.0).into_iter().zip(ZONES).zip(counts) {
            if count > 0 {
                drawing.push(rectangle(from, top + 2.0, NAME + end - from, ROW - 4.0, zone));
            }
            from = NAME + end;
        }
    }
    let said: Vec<_> = shares
        .iter()
        .map(|share| {
            let [leaks, worn, retest, holds] = share.worst_first();
            format!("{}: {holds} hold, {worn} worn, {leaks} leak, {retest} to be read again", share.label)
        })
        .collect();
    svg(shares.len() as f64 * ROW, &said.join(". "), drawing)
}

fn shares_legend() -> Markup {
    let words: Markup = [("leaks", " leaks   "), ("worn", " worn   "), ("holds", " holds   ")]
        .into_iter()
        .flat_map(|(zone, word)| [sample(zone), Markup::text(word)])
        .collect();
    element("p", &[("class", "legend")], [words, Markup::text("White: retest.")])
}

fn histogram_drawn(histogram: &Histogram, unit: &Unit) -> Markup {
    const HEIGHT: f64 = 150.0;
    let bars = histogram.bars();
    let all = bars.map(|zones| zones.iter().sum::<u64>());
    let most = all.iter().copied().max().unwrap_or(0).max(1);
    let step = (WIDTH - LEFT - 10.0) / N_BARS as f64;
    let x = |pa: f64| LEFT + (pa / INCH_OF_MERCURY + 0.5) * step;
    let mut drawing = Markup::default();
    let limits = histogram.limits.map(|limits| (limits.leaks().si(), limits.holds().si()));
    for (index, zones) in bars.iter().enumerate() {
        let mut top = HEIGHT;
        for (n, zone) in
            zones.iter().zip(["url(#leaks)", "url(#worn)", "url(#holds)"]).filter(|(n, _)| **n > 0)
        {
            let height = (HEIGHT - 14.0) * *n as f64 / most as f64;
            top -= height;
            drawing.push(rectangle(LEFT + index as f64 * step, top, step, height, zone));
        }
    }
    for (limit, word) in limits.into_iter().flat_map(|(leaks, holds)| [(leaks, "leaks"), (holds, "holds")]) {
        drawing.push(line(x(limit), 12.0, x(limit), HEIGHT, "limit"));
        let anchor = if word == "leaks" { "end" } else { "start" };
        drawing.push(text(x(limit) + if word == "leaks" { -3.0 } else { 3.0 }, 10.0, anchor, word));
    }
    drawing.push(line(LEFT, HEIGHT, WIDTH - 10.0, HEIGHT, "axis"));
    for tick in 0..=6_u32 {
        let pa = 5.0 * f64::from(tick) * INCH_OF_MERCURY;
        drawing.push(line(x(pa), HEIGHT, x(pa), HEIGHT + 4.0, "axis"));
        drawing.push(text(x(pa), HEIGHT + 14.0, "middle", &shown(unit.from_si(pa), 1)));
    }
    drawing.push(text(LEFT - 5.0, HEIGHT, "end", unit.symbol));
    drawing.push(text(LEFT - 5.0, 20.0, "end", &format!("most: {most}")));
    let said: Vec<_> = all
        .iter()
        .enumerate()
        .filter(|(_, n)| **n > 0)
        .map(|(index, n)| {
            let [from, to] = edges(index).map(|edge| shown(unit.from_si(edge), 1));
            format!("{n} from {from} to {to} {}", unit.symbol)
        })
        .collect();
    let picture = svg(HEIGHT + 18.0, &format!("Readings: {}.", said.join(", ")), drawing);
    match limits {
        Some(_) => [picture, histogram_legend()].into(),
        None => picture,
    }
}

fn histogram_legend() -> Markup {
    let words: Markup = [
        ("leaks", " at or below leaks   "),
        ("worn", " between the limits   "),
        ("holds", " at or above holds"),
    ]
    .into_iter()
    .flat_map(|(zone, word)| [sample(zone), Markup::text(word)])
    .collect();
    element("p", &[("class", "legend")], words)
}

fn chart_drawn(chart: &Chart) -> Markup {
    const HEIGHT: f64 = 140.0;
    let title = element("h3", &[], format!("{} ({})", chart.title, chart.unit));
    if let Some(flat) = chart.flat() {
        return [title, element("p", &[], flat)].into();
    }
    let (low, high) = chart.range();
    let y = |value: f64| 8.0 + (HEIGHT - 16.0) * (high - value) / (high - low);
    let values = &chart.chart.values;
    let x =
        |index: usize| LEFT + 8.0 + (WIDTH - LEFT - 20.0) * index as f64 / (values.len() - 1).max(1) as f64;
    let mut drawing = Markup::default();
    for (value, class, word) in [
        (chart.chart.upper, "bound", "upper"),
        (chart.chart.centre, "axis", "centre"),
        (chart.chart.lower, "bound", "lower"),
    ] {
        drawing.push(line(LEFT, y(value), WIDTH - 6.0, y(value), class));
        drawing.push(text(LEFT - 4.0, y(value) + 3.0, "end", &format!("{word} {}", shown(value, 2))));
    }
    for (index, pair) in values.windows(2).enumerate() {
        drawing.push(line(x(index), y(pair[0]), x(index + 1), y(pair[1]), "thread"));
    }
    for (index, value) in values.iter().enumerate() {
        let (cx, cy) = (number(x(index)), number(y(*value)));
        if chart.is_marked(index) {
            let cross = format!("M{cx} {cy} m-4 -4 l8 8 m0 -8 l-8 8");
            drawing.push(void("path", &[("d", &cross), ("class", "cross")]));
        } else {
            drawing.push(void("circle", &[("cx", &cx), ("cy", &cy), ("r", "2.4")]));
        }
    }
    let told = chart.told();
    let said = format!(
        "{} in {}: {} values around {}, limits {} and {}. {}",
        chart.title,
        chart.unit,
        values.len(),
        shown(chart.chart.centre, 3),
        shown(chart.chart.lower, 3),
        shown(chart.chart.upper, 3),
        if told.is_empty() { "Nothing out of the ordinary.".to_owned() } else { told.join(" ") }
    );
    let words: Markup = told.iter().map(|told| element("li", &[], told.as_str())).collect();
    let words = if told.is_empty() { Markup::default() } else { element("ul", &[], words) };
    [title, svg(HEIGHT, &said, drawing), words].into()
}

fn svg(height: f64, said: &str, drawing: Markup) -> Markup {
    let size = format!("0 0 {WIDTH} {}", number(height));
    element(
        "svg",
        &[("class", "picture"), ("viewBox", &size), ("role", "img"), ("aria-label", said)],
        drawing,
    )
}

fn rectangle(x: f64, y: f64, width: f64, height: f64, fill: &str) -> Markup {
    let [x, y, width, height] = [x, y, width, height].map(number);
    let attributes =
        [("x", &*x), ("y", &y), ("width", &width), ("height", &height), ("fill", fill), ("stroke", "#000")];
    void("rect", &attributes)
}

fn text(x: f64, y: f64, anchor: &str, words: &str) -> Markup {
    element("text", &[("x", &number(x)), ("y", &number(y)), ("text-anchor", anchor)], words)
}
