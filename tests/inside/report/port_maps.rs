//! Pictures of the unit on a report and on a form: ports ringed and named, what is amiss marked by shape and word.

use crate::leak::Verdict;
use crate::picture::{DRAWING, Picture};
use crate::procedure::{Program, Source};
use crate::quantity::UNITS;
use crate::record::{JobNotes, Record, ShopAddress, sha256};
use crate::report::{JobReport, ReportedRecord, page, pictures_of, sheet_page, show};
use crate::tests::support::{Shopfront, png, shown};

const SCRIPT: &str = "procedure(#{ title: \"T\", unit: \"Brook B2\", version: \"1.0.0\", picture: \"b2.png\",\n\
    ports: #{ \"1\": [50, 40], \"2\": [100, 40], \"3\": [190, 40], \"9\": [10, 10] } });\n\
    for n in [\"1\", \"2\", \"3\"] {\n\
        test(circuit(#{ name: \"feed \" + n, port: n, holds: 20.inHg, leaks: 15.inHg }));\n\
    }\n";

fn program() -> Program {
    let files = [("test.rhai", SCRIPT.as_bytes().to_vec()), ("b2.png", png(200, 100))];
    let files = files.map(|(name, bytes)| (name.to_owned(), bytes));
    Program::compile(Source::from_files("test", files).unwrap()).unwrap()
}

fn record() -> Record {
    let record = Shopfront::of(program()).finish(&["23", "5", "5", "17", "17", "1", "1"]);
    let verdicts: Vec<_> = record.circuits.iter().map(|circuit| circuit.verdict).collect();
    assert_eq!(verdicts, [Some(Verdict::Holds), Some(Verdict::Leaks), Some(Verdict::Worn)]);
    record
}

fn report(record: Record, is_held: bool) -> JobReport {
    let held = (sha256(&png(200, 100)), Picture::of(png(200, 100), DRAWING).unwrap());
    let pictures = Vec::from_iter(is_held.then_some(held));
    let reported =
        ReportedRecord { record, before: None, warnings: Vec::new(), pictures, photos: Vec::new() };
    JobReport::of(&[reported], &JobNotes::default(), &ShopAddress::default(), &UNITS[0])
}

#[test]
fn the_page_shows_the_picture_with_each_port_that_was_read_and_what_came_out() {
    let html = page(&report(record(), true));
    let data = data_encoding::BASE64.encode(&png(200, 100));
    assert!(html.contains(&format!("href=\"data:image/png;base64,{data}\"")));
    // The drawing is 1000 wide: five units a pixel.
    assert!(html.contains("<circle class=\"ring\" cx=\"250\" cy=\"200\" r=\"17\" />"));
    assert!(html.contains("2 leaks</text>") && html.contains("3 worn</text>"));
    assert!(html.contains(">1</text>") && !html.contains("1 holds</text>"));
    // Crossed where it leaks, two rings where it is worn: shapes, not colours.
    assert_eq!(html.matches("<line class=\"ring\"").count(), 2);
    assert_eq!(html.matches("<circle class=\"ring\"").count(), 4);
    assert!(html.contains("port 1, feed 1 (holds); port 2, feed 2 (leaks); port 3, feed 3 (worn)"));
    // Nothing was read on the fourth.
    assert!(!html.contains("Port 9"));
}

#[test]
fn a_picture_that_is_not_kept_is_said_to_be_missing_and_the_text_has_names_only() {
    let report = report(record(), false);
    let html = page(&report);
    assert!(!html.contains("<image") && html.contains("b2.png is not kept in this shop"));
    let text = shown(80, |screen| show(screen, &report));
    assert!(text.contains("Ports on b2.png: 1, 2, 3."), "{text}");
}

#[test]
fn the_form_shows_every_port_that_is_to_be_read() {
    let program = program();
    let held = |name: &str| program.source.picture(name).cloned();
    let html = sheet_page("T", &pictures_of(program.outline().unwrap(), held), "CIRCUIT <feed>\nnext line");
    assert!(html.contains("CIRCUIT &lt;feed&gt;\nnext line"));
    assert_eq!(html.matches("<circle class=\"ring\"").count(), 3);
    assert!(html.contains("<li>Port 3: feed 3"));
}

#[test]
fn rings_bear_the_names_of_their_ports_on_a_side_where_they_cover_no_neighbour() {
    let script = "procedure(#{ title: \"T\", version: \"1.0.0\", picture: \"b2.png\",\n\
        ports: #{ \"C1\": [50, 40], \"X1\": [62, 36], \"E9\": [196, 40] } });\n\
        for n in [\"C1\", \"X1\", \"E9\"] {\n\
            test(circuit(#{ name: \"feed \" + n, port: n, holds: 20.inHg, leaks: 15.inHg }));\n\
        }\n";
    let files = [("test.rhai", script.as_bytes().to_vec()), ("b2.png", png(200, 100))];
    let files = files.map(|(name, bytes)| (name.to_owned(), bytes));
    let program = Program::compile(Source::from_files("test", files).unwrap()).unwrap();
    let held = |name: &str| program.source.picture(name).cloned();
    let html = sheet_page("T", &pictures_of(program.outline().unwrap(), held), "");
    // Five units a pixel: X1's ring is at 310, 180, where the words to the right of C1's, at 250, 200, would begin.
    assert!(html.contains("<text class=\"end\" x=\"222.88\" y=\"182.08\">C1</text>"), "{html}");
    assert!(html.contains("<text class=\"\" x=\"337.12\" y=\"162.08\">X1</text>"), "{html}");
    // At the right edge there is room to the left alone.
    assert!(html.contains("<text class=\"end\" x=\"952.88\" y=\"182.08\">E9</text>"), "{html}");
}
