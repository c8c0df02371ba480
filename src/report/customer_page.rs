use super::customer::{BeforeAfter, CustomerPage, Trouble, plain_word, plain_word_before};
use super::markup::{Markup, classed, element, plain};
use super::page::{badge, facts, figures, section};
use super::scale::{LEFT, LENGTH, needle, zones};
use super::story::REHEARSAL;
use super::svg::{Drawing, legend};
use crate::leak::{Estimate, Verdict};
use crate::quantity::Unit;
use crate::tell::range;

pub(super) fn customer_page(page: &CustomerPage, warnings: &[&str], unit: &Unit) -> Markup {
    let mut content = Markup::default();
    let rehearsal = page.is_rehearsal.then_some(REHEARSAL);
    for warning in rehearsal.iter().chain(warnings) {
        content.push(classed("p", "warning", *warning));
    }
    if !page.shop.is_empty() {
        let lines = page.shop.iter().map(|line| plain("div", line.as_str()));
        content.push(classed("div", "shop", lines.collect::<Markup>()));
    }
    content.push(facts(&page.facts));
    content.push(classed("p", "headline", page.headline.as_str()));
    if !page.troubles.is_empty() {
        let troubles = page.troubles.iter().map(|it| trouble(it, unit));
        content.push(section("What did not read as sound, the worst first", troubles.collect::<Markup>()));
        content.push(troubles_legend(&page.troubles));
    }
    for (title, texts) in page.lists() {
        let items: Markup = texts.iter().map(|text| plain("li", text.as_str())).collect();
        content.push(section(title, plain("ul", items)));
    }
    content.push(classed(
        "div",
        "signatures",
        ["For the shop, date", "Customer, date"].map(|who| plain("p", who)),
    ));
    classed("section", "customer", content)
}

fn trouble(trouble: &Trouble, unit: &Unit) -> Markup {
    let mut title = Markup::text(&trouble.name);
    title.push(Markup::text(": "));
    match trouble.now {
        Some(now) => {
            title.push(badge(Some(trouble.found), &plain_word_before(trouble.found)));
            title.push(Markup::text(", now "));
            title.push(badge(Some(now), plain_word(now)));
        }
        None => title.push(badge(Some(trouble.found), plain_word(trouble.found))),
    }
    let mut told = plain("h3", title);
    told.extend(drawn(trouble, unit));
    for text in trouble.road.iter().chain(&trouble.done) {
        told.push(plain("p", text.as_str()));
    }
    told.extend(figures(&trouble.photos));
    classed("div", "circuit", told)
}

/// Height of a row, and of the words below.
const ROW: f64 = 18.0;
const WORDS: f64 = 16.0;
/// Room for the words behind the rows.
const BEHIND: f64 = 52.0;

/// Draws what was read before and after, each marked by its shape and by a word.
fn drawn(trouble: &Trouble, unit: &Unit) -> Option<Markup> {
    let BeforeAfter { before, after, limits } = &trouble.picture;
    let rows = [(before, "earlier", "before"), (after, "reading", "after")];
    let rows: Vec<_> =
        rows.into_iter().filter_map(|(read, class, word)| Some((read.as_ref()?, class, word))).collect();
    if rows.is_empty() {
        return None;
    }
    let mut drawing = Drawing::default();
    for (n, (standard, class, word)) in rows.iter().enumerate() {
        let top = ROW * n as f64;
        limits.iter().for_each(|limits| zones(&mut drawing, limits, top, ROW));
        drawing.group(class, needle(standard, top + ROW / 2.0));
        drawing.text("", (LEFT + LENGTH + 6.0, top + ROW * 0.7), word);
    }
    let height = ROW * rows.len() as f64;
    drawing.line("axis", (LEFT, height), (LEFT + LENGTH, height));
    drawing.text("", (LEFT, height + WORDS - 4.0), "passes more air");
    drawing.text("end", (LEFT + LENGTH, height + WORDS - 4.0), "passes less air");
    let told = |label: &str, read: &Option<Estimate>, verdict: Option<Verdict>| {
        let (read, verdict) = (read.as_ref()?, verdict?);
        Some(format!("{label}: {}, {}.", plain_word(verdict), range(read, unit)))
    };
    let said = [told("Before", before, Some(trouble.found)), told("After", after, trouble.now)];
    let said = format!("{}. {}", trouble.name, said.into_iter().flatten().collect::<Vec<_>>().join(" "));
    Some(drawing.picture("plain", (LEFT + LENGTH + BEHIND, height + WORDS), &said))
}

fn troubles_legend(troubles: &[Trouble]) -> Markup {
    let has_window =
        troubles.iter().any(|trouble| trouble.picture.limits.is_some_and(|limits| limits.is_window()));
    let amiss = if has_window { "reads as leaking, too open or too tight" } else { "reads as leaking" };
    let zones = [(Verdict::Leaks, amiss), (Verdict::Worn, "as worn"), (Verdict::Holds, "as sound")];
    legend(
        &zones,
        "Hollow diamond: before; full diamond: after. The bar across each is how far the reading may be off.",
    )
}

/// Names a part of the report behind the page for the customer.
pub(super) fn part(title: &str) -> Markup {
    element("h2", &[("class", "part")], title)
}
