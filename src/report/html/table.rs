use super::markup::{Markup, element};
use super::scale::{sample, scale};
use crate::leak::Verdict;
use crate::report::{CircuitStory, Finding, Story};
use crate::session::screens::range;

/// Makes the table of all circuits, one row each, with the legend of its scales.
pub(super) fn circuits(story: &Story) -> Markup {
    let heads = ["Circuit", "Verdict", "Standard reading", "On the scale"];
    let heads: Markup = heads.into_iter().map(|head| element("th", &[("scope", "col")], head)).collect();
    let rows: Markup = story.circuits.iter().map(|circuit| row(circuit, story)).collect();
    let table = element(
        "table",
        &[("class", "circuits")],
        [
            element("caption", &[], "Circuits, readings and verdicts"),
            element("thead", &[], element("tr", &[], heads)),
            element("tbody", &[], rows),
        ],
    );
    [table, legend(story)].into()
}

/// Makes the word of a finding, framed so that it stands out in grey as well.
pub(super) fn badge(finding: Finding) -> Markup {
    let class = match finding {
        Finding::Tested(Verdict::Holds) => "badge holds",
        Finding::Tested(Verdict::Worn) => "badge worn",
        Finding::Tested(Verdict::Leaks) => "badge leaks",
        Finding::Tested(Verdict::Retest) => "badge retest",
        Finding::Tested(Verdict::Unjudged) | Finding::NotTested => "badge none",
    };
    element("span", &[("class", class)], finding.word())
}

fn row(circuit: &CircuitStory, story: &Story) -> Markup {
    let port =
        circuit.port.as_ref().map(|port| element("span", &[("class", "small")], format!(" port {port}")));
    let because = circuit.because.as_ref().map(|because| small(&format!("tested {because}")));
    let name: Markup = [Some(Markup::text(&circuit.name)), port, because].into_iter().flatten().collect();

    let before = circuit.earlier.as_ref().map(|earlier| {
        let decided =
            earlier.decided.as_ref().map(|decided| format!("; decided: {decided}")).unwrap_or_default();
        let text = format!("before: {}{decided}", earlier.finding.word());
        element("div", &[("class", "before")], text)
    });
    let verdict: Markup = [Some(badge(circuit.finding)), before].into_iter().flatten().collect();

    let earlier = circuit.earlier.as_ref().and_then(|earlier| earlier.standard);
    let mut readings = Markup::default();
    if let Some(earlier) = earlier {
        let text = format!("before: {}", range(&earlier, story.unit));
        readings.push(element("div", &[("class", "before")], text));
    }
    for reading in &circuit.readings {
        let label = reading.label.as_ref().map(|label| format!("{label}: ")).unwrap_or_default();
        readings.push(element("div", &[], format!("{label}{}", range(&reading.standard, story.unit))));
        readings.push(small(&format!("read {}", reading.takes)));
    }
    if let Some(reason) = &circuit.left {
        readings.push(element("div", &[], reason.as_str()));
    }
    let drawing = scale(circuit, story.unit);
    element(
        "tr",
        &[],
        [
            element("th", &[("scope", "row")], name),
            element("td", &[], verdict),
            element("td", &[], readings),
            element("td", &[("class", "drawing")], drawing),
        ],
    )
}

fn legend(story: &Story) -> Markup {
    let mut words = Markup::default();
    for (zone, meaning) in [("leaks", "leaks"), ("worn", "worn"), ("holds", "holds")] {
        words.push(sample(zone));
        words.push(Markup::text(&format!(" {meaning}   ")));
    }
    words.push(Markup::text("Diamond: standard reading; bar, and in brackets: its 95 % interval."));
    if story.circuits.iter().any(|circuit| circuit.earlier.is_some()) {
        words.push(Markup::text(" Hollow diamond: before."));
    }
    words.push(Markup::text(
        " A standard reading is what a rig set to 25 inHg plugged and 5 inHg through a 0.035 in orifice at sea level \
         would show; limits are standard readings. Deeper vacuum is less leak.",
    ));
    element("p", &[("class", "legend")], words)
}

fn small(text: &str) -> Markup {
    element("div", &[("class", "small")], text)
}
