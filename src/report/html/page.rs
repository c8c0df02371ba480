use super::markup::{Markup, element, void};
use super::scale::hatchings;
use super::table::{badge, circuits};
use crate::report::{DEFERRAL, Story};

/// The style of the page.
const STYLE: &str = include_str!("style.css");

/// The page loads nothing, and nothing in it can run.
const POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'";

/// Makes the page of a story: self-contained HTML, which is also well-formed XML.
pub fn page(story: &Story) -> String {
    let title = format!("Vacuum test: {}", story.title);
    document(&title, [hatchings(), element("main", &[], content(story))])
}

/// Makes a whole document of a body.
pub(super) fn document(title: &str, body: impl Into<Markup>) -> String {
    let head = element(
        "head",
        &[],
        [
            void("meta", &[("charset", "utf-8")]),
            void("meta", &[("http-equiv", "Content-Security-Policy"), ("content", POLICY)]),
            void("meta", &[("name", "viewport"), ("content", "width=device-width, initial-scale=1")]),
            element("title", &[], title),
            element("style", &[], Markup::trusted(STYLE)),
        ],
    );
    let body = element("body", &[], body);
    let html = element("html", &[("lang", "en"), ("xmlns", "http://www.w3.org/1999/xhtml")], [head, body]);
    format!("<!DOCTYPE html>\n{}\n", html.into_string())
}

fn content(story: &Story) -> Vec<Markup> {
    let mut content = vec![element("h1", &[], format!("Vacuum test: {}", story.title))];
    if story.is_rehearsal {
        content.push(element(
            "p",
            &[("class", "warning")],
            "REHEARSAL on a simulated rig: nothing was measured.",
        ));
    }
    content
        .extend(story.warnings.iter().map(|warning| element("p", &[("class", "warning")], warning.as_str())));
    content.push(facts(&story.facts));
    content.push(element("p", &[("class", "headline")], story.headline.as_str()));
    if !story.circuits.is_empty() {
        content.push(circuits(story));
    }
    content.extend(meanings(story));
    content.extend(list("Not tested", &story.left_out));
    content.extend(list("Findings", &story.findings));
    content.extend(decisions(story));
    if !story.answers.is_empty() {
        content.push(section("Other checks", facts(&story.answers)));
    }
    content.extend(list("Notes", &story.notes));
    content.push(section("What the readings rest on", facts(&story.bench)));
    content.extend(list("Cautions that were read", &story.cautions));
    content.push(element("p", &[("class", "deferral")], DEFERRAL));
    content.push(element("p", &[("class", "proof")], story.proof.as_str()));
    content
}

/// Says of each circuit that does not hold what that means.
fn meanings(story: &Story) -> Option<Markup> {
    let told: Markup = story
        .circuits
        .iter()
        .filter(|circuit| !circuit.meaning.is_empty())
        .map(|circuit| {
            let sentences: Markup = circuit
                .meaning
                .iter()
                .map(|text| Markup::from([Markup::text(text), Markup::text(" ")]))
                .collect();
            let title = [Markup::text(&circuit.name), Markup::text(" "), badge(circuit.finding)];
            element("div", &[("class", "circuit")], [element("h3", &[], title), element("p", &[], sentences)])
        })
        .collect();
    (told != Markup::default()).then(|| section("What that means", told))
}

fn decisions(story: &Story) -> Option<Markup> {
    let account = story.account.as_ref()?;
    let decided: Markup = story
        .circuits
        .iter()
        .filter_map(|circuit| Some(format!("{}: {}", circuit.name, circuit.decided.as_ref()?)))
        .map(|text| element("li", &[], text))
        .collect();
    Some(section("What was decided", [element("ul", &[], decided), element("p", &[], account.as_str())]))
}

fn list(title: &str, texts: &[String]) -> Option<Markup> {
    let items: Markup = texts.iter().map(|text| element("li", &[], text.as_str())).collect();
    (!texts.is_empty()).then(|| section(title, element("ul", &[], items)))
}

fn facts(facts: &[(String, String)]) -> Markup {
    let facts: Markup = facts
        .iter()
        .map(|(label, text)| {
            element("div", &[], [element("dt", &[], label.as_str()), element("dd", &[], text.as_str())])
        })
        .collect();
    element("dl", &[], facts)
}

fn section(title: &str, content: impl Into<Markup>) -> Markup {
    element("section", &[], [element("h2", &[], title), content.into()])
}
