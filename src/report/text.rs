use super::customer::{CustomerPage, plain_word, plain_word_before};
use super::job::JobReport;
use super::story::{Facts, REHEARSAL, Section, SectionBody, Story, closing};
use crate::console::Screen;
use crate::tell::{CircuitStory, TAKES_DIFFER, limits, range, verdict_word};

/// Column where texts begin.
const INDENT: usize = 2;

pub(crate) fn show(screen: &mut Screen, report: &JobReport) {
    screen.line(&report.title);
    match &report.customer {
        Some(page) => show_customer(screen, page, &report.warnings()),
        None => warn(screen, report.is_rehearsal(), &report.warnings()),
    }
    for (index, story) in report.stories.iter().enumerate() {
        screen.line("");
        screen.line(&report.part(index));
        show_story(screen, story);
    }
    screen.line("");
    screen.say(closing(report.is_rehearsal()));
}

fn warn(screen: &mut Screen, is_rehearsal: bool, warnings: &[&str]) {
    if is_rehearsal {
        screen.say(REHEARSAL);
    }
    warnings.iter().for_each(|warning| screen.item("! ", warning));
}

fn show_customer(screen: &mut Screen, page: &CustomerPage, warnings: &[&str]) {
    warn(screen, page.is_rehearsal, warnings);
    page.shop.iter().for_each(|line| screen.item("  ", line));
    labelled(screen, &page.facts);
    screen.line("");
    screen.say(&page.headline);
    for trouble in &page.troubles {
        screen.line("");
        let found = match trouble.now {
            Some(now) => format!("{}, now {}", plain_word_before(trouble.found), plain_word(now)),
            None => plain_word(trouble.found).to_owned(),
        };
        screen.item("", &format!("{}: {found}", trouble.name));
        trouble.road.iter().chain(&trouble.done).for_each(|text| screen.paragraph(INDENT, text));
        trouble
            .photos
            .iter()
            .for_each(|photo| screen.paragraph(INDENT, &format!("Photo: {}.", photo.line())));
    }
    for (title, texts) in page.lists() {
        screen.line("");
        screen.line(title);
        texts.iter().for_each(|text| screen.item("  - ", text));
    }
}

fn show_story(screen: &mut Screen, story: &Story) {
    labelled(screen, &story.facts);
    screen.line("");
    screen.say(&story.headline);
    for circuit in &story.circuits {
        screen.line("");
        show_circuit(screen, circuit, story);
    }
    for picture in &story.pictures {
        screen.line("");
        screen.say(&picture.named());
    }
    for Section { title, body } in &story.sections {
        screen.line("");
        screen.line(title);
        match body {
            SectionBody::Texts(texts) => texts.iter().for_each(|text| screen.item("  - ", text)),
            SectionBody::Facts(facts) => labelled(screen, facts),
        }
    }
    if !story.photos.is_empty() {
        screen.line("");
        screen.line("Photos");
        story.photos.iter().for_each(|photo| screen.item("  - ", &photo.line()));
    }
    screen.line("");
    screen.say(&story.proof);
}

fn show_circuit(screen: &mut Screen, circuit: &CircuitStory, story: &Story) {
    let port = circuit.port.as_ref().map(|port| format!(" (port {port})")).unwrap_or_default();
    screen.item("", &format!("{}{port}: {}", circuit.name, verdict_word(circuit.verdict).to_uppercase()));
    if let Some(because) = &circuit.because {
        screen.paragraph(INDENT, &format!("Tested {because}."));
    }
    for reading in &circuit.readings {
        let own = reading.limits.filter(|_| reading.is_apart);
        let own = own.map(|own| format!(" {}.", limits(&own, story.unit))).unwrap_or_default();
        screen.paragraph(
            INDENT,
            &format!(
                "{}read {}; {}.{own}",
                reading.place(),
                reading.takes,
                reading.standard.map_or(TAKES_DIFFER.to_owned(), |standard| {
                    format!("standard reading {}", range(&standard, story.unit))
                })
            ),
        );
    }
    if let Some(of) = circuit.limits.as_ref().filter(|_| !circuit.is_all_apart()) {
        screen.paragraph(INDENT, &format!("{}.", limits(of, story.unit)));
    }
    if let Some(before) = &circuit.before {
        let standard =
            before.deciding.map(|standard| format!(", standard reading {}", range(&standard, story.unit)));
        let decided = before.decided.as_ref().map(|decided| format!("; decided: {decided}"));
        let (standard, decided) = (standard.unwrap_or_default(), decided.unwrap_or_default());
        screen.paragraph(INDENT, &format!("Before: {}{standard}{decided}.", verdict_word(before.verdict)));
    }
    if let Some(reason) = &circuit.left {
        screen.paragraph(INDENT, &format!("Not tested to its end: {reason}."));
    }
    for sentence in &circuit.meaning {
        screen.paragraph(INDENT, sentence);
    }
    if let Some(decided) = &circuit.decided {
        screen.paragraph(INDENT, &format!("Decided: {decided}."));
    }
}

fn labelled(screen: &mut Screen, facts: &Facts) {
    for (label, text) in facts {
        screen.item("  ", &format!("{label}: {text}"));
    }
}
