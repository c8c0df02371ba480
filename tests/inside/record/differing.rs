//! Takes of which no two agree: what was read is told everywhere, and no figure is made of it anywhere.

use serde_json::Value;

use crate::leak::Verdict;
use crate::record::Record;
use crate::tests::support::{Home, flat};

const SCRIPT: &str = r#"procedure(#{ title: "Merle M4 feeds", unit: "Merle M4", version: "1.0.0", oil: #{ pressure: 5.bar, temperature: 90.celsius } });
test(circuit(#{ name: "feed", holds: 20.inHg, leaks: 15.inHg, means: "late shifts" }));
"#;

/// A session in which the feed reads so, and its record.
fn read_as(home: &Home, takes: &str) -> (String, Record) {
    let before = home.records();
    let answers = format!("Ana\n29.92 inHg\n20 C\n25\n5\n{takes}25\n5\n");
    let text = home.run(&["guide", "feeds.rhai"], &answers).exits(0).out;
    let path = home.records().into_iter().find(|path| !before.contains(path)).unwrap();
    (flat(&text), crate::record::read(&path).unwrap())
}

#[test]
fn takes_of_which_no_two_agree_are_told_as_read_and_no_figure_comes_of_them() {
    let home = Home::with("feeds.rhai", SCRIPT);
    let (screen, record) = read_as(&home, "6\n\n10\n\n22\n");
    let reading = &record.circuits[0].readings[0];
    assert_eq!((record.circuits[0].verdict, &reading.meaning), (Some(Verdict::Retest), &None));
    let read = "read 6, 10, 22 inHg; no two takes agree, so none counts";
    assert!(screen.contains(&format!("retest feed: {read}")), "{screen}");
    let session = record.session.as_str();
    home.done(&["records", "audit", session]);
    let shown = flat(&home.done(&["records", "show", session]));
    assert!(shown.contains(read) && !shown.contains("standard"), "{shown}");
    let told = home.done(&["report", session]);
    assert!(flat(&told).contains(&format!("{read}.")), "{told}");
    for figure in ["12.6", "12.7", "standard reading ", " % that", "round hole", "l of oil", "ml of oil"] {
        assert!(!flat(&told).replace("A standard reading is", "").contains(figure), "{figure}: {told}");
    }
    home.done(&["report", session, "--html", "page.html"]);
    let page = home.read("page.html");
    assert!(
        page.contains("no two takes agree, so none counts") && !page.contains("class=\"reading\""),
        "{page}"
    );
    let lines = home.done(&["records", "export", "--format", "jsonl"]);
    let row: Value = serde_json::from_str(lines.lines().last().unwrap()).unwrap();
    for column in ["reading_inHg", "standard_reading_inHg", "hole_in", "probability_below"] {
        assert_eq!(row[column], Value::Null, "{column}");
    }
    assert_eq!(row["n_takes"], 3);
}

#[test]
fn history_leaves_them_out_of_its_means_and_says_how_many() {
    let home = Home::with("feeds.rhai", SCRIPT);
    read_as(&home, "22\n");
    read_as(&home, "6\n\n10\n\n22\n");
    for question in [&["failing"][..], &["by", "technician"], &["by", "technician", "--circuit", "feed"]] {
        let told = flat(&home.done(&[&["history"], question].concat()));
        assert!(told.contains("Left out of the means: 1 reading of which no two takes agree."), "{told}");
        let asked = home.json(&[&["history"], question].concat());
        let row = &asked["tables"][0]["rows"][0];
        assert_eq!((&row["tested"], &row["retest"]), (&Value::from(2), &Value::from(1)));
        assert!((row["mean, inHg"].as_f64().unwrap() - 22.0).abs() < 0.1, "{row}");
    }
    let spread = home.json(&["history", "spread", "feed"]);
    let rows = spread["tables"][0]["rows"].as_array().unwrap();
    let figure = |name: &str| &rows.iter().find(|row| row["figure"] == name).unwrap()["first tests, inHg"];
    assert_eq!(
        (figure("readings"), figure("left out, as no two takes agree")),
        (&Value::from(1), &Value::from(1))
    );
    // Other limits decide nothing about them either.
    let limits = flat(&home.done(&["history", "limits", "feed", "--holds", "4inHg", "--leaks", "2inHg"]));
    assert!(limits.contains("of 2"), "{limits}");
}
