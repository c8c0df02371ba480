use super::customer_page::{customer_page, part};
use super::job::JobReport;
use super::markup::{Markup, classed, element, plain, void};
use super::photo::PhotoStory;
use super::port_map::drawn;
use super::port_picture::PortPicture;
use super::scale::scale;
use super::story::{Facts, REHEARSAL, Section, SectionBody, Story, closing};
use super::svg::{hatchings, legend};
use super::{Cell, Table};
use crate::leak::Verdict;
use crate::quantity::{UNITS, Unit};
use crate::tell::{CircuitStory, TAKES_DIFFER, range, verdict_word};

const STYLE: &str = include_str!("style.css");

/// The page loads nothing but what stands in it, and nothing in it can run.
const POLICY: &str = "default-src 'none'; img-src data:; style-src 'unsafe-inline'";

/// Makes the page of a report: self-contained HTML, which is also well-formed XML, to be read and printed.
pub(crate) fn page(report: &JobReport) -> String {
    let title = format!("Vacuum test: {}", report.title);
    let unit = report.stories.first().map_or(&UNITS[0], |story| story.unit);
    let mut content = Vec::new();
    content.extend(report.customer.as_ref().map(|page| customer_page(page, &report.warnings(), unit)));
    for (index, story) in report.stories.iter().enumerate() {
        content.push(part(&report.part(index)));
        content.extend(self::content(story));
    }
    content.push(classed("p", "deferral", closing(report.is_rehearsal())));
    document(&title, content)
}

/// Makes a page of tables and their pictures, in the same way.
pub(crate) fn table_page(title: &str, tables: &[Table], vacuum_unit: &Unit) -> String {
    let sections = tables.iter().map(|table| plain("section", answer(table, vacuum_unit)));
    document(title, sections.collect())
}

fn document(title: &str, content: Vec<Markup>) -> String {
    let head = [
        void("meta", &[("charset", "utf-8")]),
        void("meta", &[("http-equiv", "Content-Security-Policy"), ("content", POLICY)]),
        void("meta", &[("name", "viewport"), ("content", "width=device-width, initial-scale=1")]),
        plain("title", title),
        plain("style", Markup::trusted(STYLE)),
    ];
    let main = plain("main", [plain("h1", title), content.into()]);
    let body = plain("body", [hatchings(), main]);
    let language = [("lang", "en"), ("xmlns", "http://www.w3.org/1999/xhtml")];
    let html = element("html", &language, [plain("head", head), body]);
    format!("<!DOCTYPE html>\n{}\n", html.into_string())
}

fn content(story: &Story) -> Vec<Markup> {
    let mut content = Vec::new();
    let rehearsal = story.is_rehearsal.then_some(REHEARSAL);
    let warnings = rehearsal.into_iter().chain(story.warnings.iter().map(String::as_str));
    content.extend(warnings.map(|warning| classed("p", "warning", warning)));
    content.push(facts(&story.facts));
    content.push(classed("p", "headline", story.headline.as_str()));
    if !story.circuits.is_empty() {
        content.extend([circuits(story), circuits_legend(story)]);
    }
    content.extend(pictures(&story.pictures));
    content.extend(meanings(story));
    for Section { title, body } in &story.sections {
        let body = match body {
            SectionBody::Texts(texts) => {
                plain("ul", texts.iter().map(|text| plain("li", text.as_str())).collect::<Markup>())
            }
            SectionBody::Facts(labelled) => facts(labelled),
        };
        content.push(section(title, body));
    }
    content.extend(figures(&story.photos).map(|figures| section("Photos", figures)));
    content.push(classed("p", "proof", story.proof.as_str()));
    content
}

/// Makes the page of a paper form: the pictures of the unit, and the form as it is printed.
pub(crate) fn sheet_page(title: &str, pictures: &[PortPicture], form: &str) -> String {
    let lines = form.lines().map(|line| Markup::from([Markup::text(line), Markup::trusted("\n")]));
    let form = classed("pre", "form", lines.collect::<Markup>());
    document(title, self::pictures(pictures).into_iter().chain([form]).collect())
}

fn pictures(pictures: &[PortPicture]) -> Option<Markup> {
    let drawn: Markup = pictures.iter().map(drawn).collect();
    (!pictures.is_empty()).then(|| section("Where the ports are", drawn))
}

fn circuits(story: &Story) -> Markup {
    let heads = ["Circuit", "Verdict", "Standard reading", "On the scale"];
    let heads = heads.into_iter().map(|head| element("th", &[("scope", "col")], head)).collect();
    let rows = story.circuits.iter().map(|circuit| circuit_row(circuit, story)).collect();
    table("circuits", "Circuits, readings and verdicts", heads, rows)
}

fn circuit_row(circuit: &CircuitStory, story: &Story) -> Markup {
    let small = |text: String| classed("div", "small", text);
    let line = |text: String| classed("div", "before", text);

    let mut name = Markup::text(&circuit.name);
    name.extend(circuit.port.as_ref().map(|port| classed("span", "small", format!(" port {port}"))));
    name.extend(circuit.because.as_ref().map(|because| small(format!("tested {because}"))));

    let mut verdict = badge(circuit.verdict, verdict_word(circuit.verdict));
    let mut readings = Markup::default();
    if let Some(before) = &circuit.before {
        let decided = before.decided.as_ref().map(|decided| format!("; decided: {decided}"));
        let was = verdict_word(before.verdict);
        verdict.push(line(format!("before: {was}{}", decided.unwrap_or_default())));
        readings.extend(
            before.deciding.map(|standard| line(format!("before: {}", range(&standard, story.unit)))),
        );
    }
    for reading in &circuit.readings {
        let figure =
            reading.standard.map_or(TAKES_DIFFER.to_owned(), |standard| range(&standard, story.unit));
        readings.push(plain("div", format!("{}{figure}", reading.place())));
        readings.push(small(format!("read {}", reading.takes)));
    }
    readings.extend(circuit.left.as_ref().map(|reason| plain("div", reason.as_str())));
    plain(
        "tr",
        [
            element("th", &[("scope", "row")], name),
            plain("td", verdict),
            plain("td", readings),
            classed("td", "drawing", scale(circuit, story.unit)),
        ],
    )
}

fn circuits_legend(story: &Story) -> Markup {
    let has_before = story.circuits.iter().any(|circuit| circuit.before.is_some());
    let more = format!(
        "Diamond: standard reading; bar, and in brackets: its 95 % interval.{} A standard reading is what a rig set to 25 \
         inHg plugged and 5 inHg through a 0.035 in orifice at sea level would show; limits are standard readings. Deeper \
         vacuum is less leak.",
        if has_before { " Hollow diamond: before." } else { "" }
    );
    let has_window = story.circuits.iter().any(CircuitStory::has_window);
    let [amiss, sound] =
        if has_window { ["leaks, or too open or too tight", "holds, or right"] } else { ["leaks", "holds"] };
    let zones = [(Verdict::Leaks, amiss), (Verdict::Worn, "worn"), (Verdict::Holds, sound)];
    legend(&zones, &more)
}

/// Makes the words for a verdict, framed so that they stand out in grey as well.
pub(super) fn badge(verdict: Option<Verdict>, words: &str) -> Markup {
    let class = match verdict {
        Some(Verdict::Holds | Verdict::Right) => "badge holds",
        Some(Verdict::Worn) => "badge worn",
        Some(Verdict::Leaks | Verdict::Open | Verdict::Tight) => "badge leaks",
        Some(Verdict::Retest) => "badge retest",
        Some(Verdict::Unjudged | Verdict::NotFitted) | None => "badge none",
    };
    classed("span", class, words)
}

/// Says of each circuit that does not hold what that means.
fn meanings(story: &Story) -> Option<Markup> {
    let told: Vec<_> = story
        .circuits
        .iter()
        .filter(|circuit| !circuit.meaning.is_empty())
        .map(|circuit| {
            let word = badge(circuit.verdict, verdict_word(circuit.verdict));
            let title = [Markup::text(&circuit.name), Markup::text(" "), word];
            classed("div", "circuit", [plain("h3", title), plain("p", circuit.meaning.join(" "))])
        })
        .collect();
    (!told.is_empty()).then(|| section("What that means", told))
}

pub(super) fn facts(facts: &Facts) -> Markup {
    let fact = |(label, text): &(String, String)| {
        plain("div", [plain("dt", label.as_str()), plain("dd", text.as_str())])
    };
    plain("dl", facts.iter().map(fact).collect::<Markup>())
}

/// Shows photos beside and below each other; none where there are none.
pub(super) fn figures(photos: &[PhotoStory]) -> Option<Markup> {
    let figures = photos.iter().map(PhotoStory::figure).collect::<Markup>();
    (!photos.is_empty()).then(|| classed("div", "photos", figures))
}

pub(super) fn section(title: &str, content: impl Into<Markup>) -> Markup {
    plain("section", [plain("h2", title), content.into()])
}

/// Makes the content of a section that answers a question.
fn answer(answer: &Table, vacuum_unit: &Unit) -> Vec<Markup> {
    let class = |column: usize| if answer.is_numeric(column) { "number" } else { "words" };
    let mut content = vec![plain("h2", answer.title.as_str())];
    if let Some(lead) = &answer.lead {
        content.push(classed("p", "headline", lead.as_str()));
    } else if answer.rows.is_empty() {
        content.push(plain("p", "Nothing yet."));
    } else {
        let heads = answer.heads.iter().enumerate();
        let head = |(column, head): (usize, &&'static str)| {
            element("th", &[("scope", "col"), ("class", class(column))], *head)
        };
        let cell = |(column, cell): (usize, &Cell)| match column {
            0 => element("th", &[("scope", "row")], cell.shown.as_str()),
            // On a phone each cell stands on a line of its own, behind its head.
            _ => {
                let attributes = [("class", class(column)), ("data-head", answer.heads[column])];
                element("td", &attributes, cell.shown.as_str())
            }
        };
        let row = |row: &Vec<Cell>| plain("tr", row.iter().enumerate().map(cell).collect::<Markup>());
        content.push(table(
            "answer",
            &answer.title,
            heads.map(head).collect(),
            answer.rows.iter().map(row).collect(),
        ));
    }
    content.extend(answer.picture.iter().map(|picture| picture.drawn(vacuum_unit)));
    content.extend(answer.notes.iter().map(|note| classed("p", "legend", note.as_str())));
    content
}

fn table(class: &str, caption: &str, heads: Markup, rows: Markup) -> Markup {
    let parts = [plain("caption", caption), plain("thead", plain("tr", heads)), plain("tbody", rows)];
    classed("table", class, parts)
}
