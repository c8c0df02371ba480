//! The `leak` command: its contract in both directions, and the curve in its two forms.

use crate::quantity::{INCH, INCH_OF_MERCURY};
use crate::tests::support::{Home, Run, close};
use serde_json::Value;

fn leak(words: &[&str]) -> Run {
    Home::new().run(&[&["leak"], words].concat(), "")
}

fn printed(words: &[&str]) -> String {
    let ran = leak(words).exits(0);
    assert_eq!(ran.err, "");
    ran.out
}

fn document(words: &[&str]) -> Value {
    serde_json::from_str(&printed(&[words, &["--json"]].concat())).unwrap()
}

#[track_caller]
fn refused(words: &[&str], why: &str) {
    let ran = leak(words).exits(2).complains(why);
    assert_eq!(ran.out, "");
}

#[test]
fn without_flags_the_rig_is_the_standard_one() {
    let found = document(&["5inHg"]);
    for (name, expected) in [
        ("relative_leak", 1.0),
        ("hole_m", 0.035 * INCH),
        ("standard_reading_pa", 5.0 * INCH_OF_MERCURY),
        // 0.035 in at 5 inHg, 20 °C, 101 325 Pa: 113.57 mg/s through an ideal nozzle (29.92 inHg), times 0.82.
        ("air_kg_s", 113.5698e-6 * 0.82),
    ] {
        let figure = &found[name];
        let number = |end: &str| figure[end].as_f64().unwrap();
        close(number("value"), expected, 1e-4);
        assert!(number("low") < number("value") && number("value") < number("high"));
    }
    assert!(found.get("clearance_m").is_none() && found.get("hole_oil_m3_s").is_none());
}

#[test]
fn land_and_oil_bring_their_figures_with_their_assumptions() {
    let land = ["--land-diameter", "0.5in", "--land-length", "7.6mm", "--eccentricity", "0.2"];
    let oil = ["--oil-pressure", "150psi", "--oil-temperature", "93C"];
    let found = document(&[&["62.6 kPa"][..], &land, &oil].concat());
    for name in ["clearance_m", "gap_oil_m3_s", "hole_oil_m3_s"] {
        assert!(found[name]["value"].as_f64().unwrap() > 0.0);
        assert!(found["assumptions"][name].as_str().unwrap().starts_with("if "));
    }
    let shallow = document(&[&["0.2inHg"][..], &land, &oil].concat());
    assert!(shallow.get("gap_oil_m3_s").is_none());
    assert!(shallow["out_of_domain"]["gap_oil_m3_s"].is_string());
    assert!(printed(&[&["18 1/2 inHg"][..], &land, &oil].concat()).contains("Clearance around the land"));
}

#[test]
fn a_reading_may_be_typed_as_it_is_said() {
    let expected = document(&["18.5inHg"]);
    assert_eq!(document(&["18", "1/2", "inHg"]), expected);
    assert_eq!(document(&["18,5"]), expected);
    assert_eq!(document(&["18.5", "inHg"]), expected);
}

#[test]
fn a_scaled_rig_at_altitude_reads_the_same_leak() {
    let low = document(&["15inHg"]);
    let scale = 83.0 / 101.325;
    let [plugged, through, reading] =
        [25.0, 5.0, 15.0].map(|number| format!("{}Pa", number * scale * INCH_OF_MERCURY));
    let flags = ["--plugged", &plugged, "--through", &through, "--barometer", "83kPa"];
    let high = document(&[&[reading.as_str()][..], &flags].concat());
    let leak = |document: &Value| document["relative_leak"]["value"].as_f64().unwrap();
    close(leak(&high), leak(&low), 1e-9);
}

#[test]
fn a_plate_carries_its_rising_coefficient() {
    // At 0.4 of the barometer.
    let leak = |kind: &str| {
        document(&["60795Pa", "--orifice-kind", kind])["relative_leak"]["value"].as_f64().unwrap()
    };
    // Perry's data: 0.6276 at a ratio of 0.8329 (5 inHg), 0.7869 at 0.4.
    close(leak("plate") / leak("plug"), 0.6276 / 0.7869, 3e-4);
}

#[test]
fn a_hole_or_a_clearance_gives_the_reading_to_expect() {
    let expected = document(&["--hole", "0.02in"]);
    let reading = format!("{}Pa", expected["expected_reading_pa"]["value"]);
    close(document(&[&reading])["hole_m"]["value"].as_f64().unwrap(), 0.02 * INCH, 1e-9);
    let land = ["--land-diameter", "0.5in", "--land-length", "0.3in"];
    let expected = document(&[&["--clearance", "25um"][..], &land].concat());
    let reading = format!("{}Pa", expected["expected_reading_pa"]["value"]);
    let found = document(&[&[reading.as_str()][..], &land].concat());
    close(found["clearance_m"]["value"].as_f64().unwrap(), 25e-6, 1e-9);
    // What is off on one rig is off at each of its readings.
    let text = printed(&["--hole", "0.02in"]);
    assert!(text.contains("of 100 rigs like it, 95"), "{text}");
}

#[test]
fn what_cannot_be_read_is_refused_with_what_to_do() {
    refused(&["26"], "plug the hose");
    refused(&["-3"], "check the gauge's zero");
    refused(&["0"], "check that the hose is on");
    refused(&["18 psi 3"], "");
    refused(&["18mm"], "measures length");
    refused(&["20", "--barometer", "24.6inHg", "--plugged", "25inHg"], "higher than the barometer");
    refused(&["20", "--barometer", "29inHg", "--elevation", "100ft"], "cannot be used with");
    refused(&["20", "--altimeter", "30.1inHg"], "--elevation");
    refused(&["--clearance", "1thou"], "--land-diameter");
    refused(&["--hole", "10in"], "bore of the hose");
    refused(&[], "READING");
}

#[test]
fn near_either_end_of_the_dial_only_what_it_bounds_is_told() {
    let about = [
        "--land-diameter",
        "0.5in",
        "--land-length",
        "0.25in",
        "--oil-pressure",
        "150psi",
        "--oil-temperature",
        "93C",
    ];
    let flat = |reading: &str| {
        let text = printed(&[&[reading][..], &about].concat());
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    for reading in ["0.1", "0.3", "0.5"] {
        let text = flat(reading);
        assert!(text.contains("hole of at least") && text.contains("wide open"), "{text}");
        // The bore of the hose ends the search for a hole, and is none that was found.
        assert!(!text.contains("0.2500") && !text.contains("µm") && !text.contains("l of oil"), "{text}");
    }
    let text = flat("25");
    assert!(text.contains("has at most 2 %") && text.contains("on the radius: at most"), "{text}");
    let text = flat("1");
    assert!(text.contains("µm") && text.contains("l of oil") && !text.contains("wide open"), "{text}");
}

#[test]
fn a_land_is_told_as_it_was_given() {
    let land = ["14", "--land-diameter", "0.5in", "--land-length", "0.25in"];
    let flat = |more: &[&str]| {
        let text = printed(&[&land, more].concat());
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let text = flat(&[]);
    assert!(
        text.contains("Clearance around the land,") && text.contains("to one side or in the middle"),
        "{text}"
    );
    assert!(text.contains("No measurement was found to check the law of gaps"), "{text}");
    let text = flat(&["--lands", "3", "--eccentricity", "0"]);
    assert!(text.contains("each of the 3 lands") && text.contains("as the valve is said to lie"), "{text}");
    refused(&[&land[..], &["--kind", "hole"]].concat(), "leave out --kind hole, or the land");
    refused(&["--hole", "0.02in", "--kind", "gap"], "cannot be used with");
}

#[test]
fn the_curve_is_a_table_or_a_picture() {
    let text = printed(&["--curve"]);
    assert!(
        text.lines().any(|line| line.contains("65  0.0350  0.889") && line.contains("5.00  (4.3")),
        "{text}"
    );
    let svg = printed(&["--curve", "svg"]);
    assert!(svg.starts_with("<svg xmlns=\"http://www.w3.org/2000/svg\"") && svg.ends_with("</svg>\n"));
    assert_eq!(svg.matches("class=\"point\"").count(), 32);
    assert!(svg.contains("no leak: 25 inHg") && !svg.contains("NaN"));
}

#[test]
fn a_rig_of_which_nothing_is_said_stands_on_the_marks_of_its_barometer() {
    // Scaled marks keep the standard reading of a hole at its share of the barometer: 18.5 inHg at sea level
    // is 18.5 p/p0 up there.
    let pressure = 83_000.0;
    let here = format!("{}Pa", 18.5 * INCH_OF_MERCURY * pressure / 101_325.0);
    let found = document(&[&here, "--barometer", "83000Pa", "--kind", "hole"]);
    close(found["standard_reading_pa"]["value"].as_f64().unwrap(), 18.5 * INCH_OF_MERCURY, 1e-9);
    let said = printed(&["18", "--elevation", "5280ft"]);
    assert!(said.contains("For a rig set to 20.58 inHg plugged and 4.12 inHg"), "{said}");
}

#[test]
fn a_pump_that_does_not_reach_the_usual_points_is_told_with_what_to_do() {
    let home = Home::new();
    home.done(&[
        "rig",
        "set",
        "--elevation",
        "4300ft",
        "--pump-speed",
        "1.5cfm",
        "--pump-ultimate",
        "12inHg",
    ]);
    // The usual marks at that elevation, and a half mark of the gauge beside them.
    let told = "the pump that is entered for this rig does not pull 21.";
    for command in [&["leak", "12"][..], &["leak", "--curve"], &["worksheet", "osier-o7-rear"]] {
        home.refuses(2, command, told);
        home.refuses(2, command, "leak takes these readings with --plugged and --through");
    }
    home.says(&["leak", "8", "--plugged", "11", "--through", "2"], "8 inHg");
}
