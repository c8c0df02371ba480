//! The `rig` command: parts by flags and by the dialogue, what is said of them, and a pump too weak not to matter.

use crate::tests::support::{FEED_LINES, Home, home, keyed, lines};
use serde_json::Value;

fn profile(bench: &Home) -> Value {
    serde_json::from_str(&bench.read("data/spoolproof/rig.json")).unwrap()
}

#[test]
fn parts_are_set_by_flags_and_kept() {
    let bench = Home::new();
    bench.says(&["rig"], "No rig is described yet");
    bench.done(&["rig", "set", "--orifice", "0.0352in", "--hose-vacuum", "30inHg", "--stands-oil", "yes"]);
    for grade in ["A", "grade a", "ASME B40.100 A", "ASME A"] {
        let said = bench.done(&["rig", "set", "--grade", grade]);
        assert!(said.contains("0.0352 in") && said.contains("ASME A,"), "{said}");
    }
    bench.says(&["rig", "set", "--grade", "cl. 1.6"], "EN 1.6,");
    let orifice = profile(&bench)["orifice"].clone();
    assert!((orifice["diameter_m"].as_f64().unwrap() - 0.0352 * 0.0254).abs() < 1e-12, "{orifice}");
}

#[test]
fn a_changed_part_ends_the_calibration() {
    let bench = home();
    bench.done(&["rig", "set", "--orifice", "0.035in"]);
    let said = one_line(&bench.done(&["rig", "set", "--orifice", "0.0345in"]));
    assert!(!said.contains("a calibration from before"), "there was none: {said}");
    bench.run(&["guide", "merle.rhai"], "Ada\n29.92 inHg\n20 C\n25\n5\n").exits(3);
    bench.says(
        &["rig", "set", "--orifice", "0.034in"],
        "The orifice has been described anew: a calibration from before that no longer counts.",
    );
}

#[test]
fn a_part_that_can_hurt_is_marked() {
    let bench = Home::new();
    let said = bench.done(&["rig", "set", "--hose-vacuum", "10inHg", "--span", "15inHg"]);
    assert!(said.contains("!! The dial ends at 15 inHg"), "{said}");
    assert!(said.contains("!! The hose is made for 10 inHg of vacuum"), "{said}");
}

#[test]
fn the_dialogue_asks_again_where_an_answer_cannot_be_read_and_keeps_what_is_not_answered() {
    let bench = Home::new();
    let lines = "A\n30 inHg\n0.5 inHg\nwide\n0.0348in\n\nplug\n4,300 ft\n\n\n30inHg\n\nno\nyes\n\nyes\nno\n";
    // What was typed is shown.
    bench.run(&["rig", "set"], lines).exits(0).says("wide");
    let profile = profile(&bench);
    assert!((profile["orifice"]["diameter_m"].as_f64().unwrap() - 0.0348 * 0.0254).abs() < 1e-12);
    assert_eq!(profile["hose"]["stands_oil"], true);
}

#[test]
fn the_dialogue_goes_back_and_refuses_at_once_what_cannot_go_together() {
    let bench = Home::new();
    let typed = [
        "A", "?", "0.5 inHg", "30 inHg", "back", "", "0.5 inHg", "0.0348in", "", "", "", "3cfm", "", "", "",
        "", "", "", "", "",
    ];
    let ran = bench.run(&["rig", "set"], &lines(&typed)).exits(0);
    ran.says("a smallest division of 0.5 inHg does not fit")
        .says("Enter alone keeps what stands in brackets; back asks")
        .says("The deepest vacuum that the dial has a figure for");
    let profile = profile(&bench);
    assert!((profile["dial"]["span_pa"].as_f64().unwrap() / 3386.389 - 30.0).abs() < 1e-3, "{profile}");
    assert!(profile["pump"]["speed_m3_s"].is_number(), "{profile}");
}

#[test]
fn a_dialogue_that_is_left_changes_nothing() {
    let bench = Home::new();
    bench.run(&["rig", "set"], "A\n30 inHg\n").exits(3);
    bench
        .run(&["rig", "set"], "A\nhelp\npark\n")
        .exits(3)
        .says("leave the rig as it is")
        .complains("nothing was changed");
    assert!(!bench.shop().join("rig.json").exists());
}

#[test]
fn an_unknown_pump_is_measured_with_the_rigs_own_gauge_and_a_weak_one_counts() {
    let bench = Home::new();
    bench.says(
        &["calibrate", "--plugged", "25", "--through", "5"],
        "rig set --pump-plugged V --pump-through V",
    );
    let closed = bench.json(&["leak", "12"]);

    // ASME B40.100 grade B: 3 % of a span of 30 inHg in its outer quarter.
    bench.says(
        &["rig", "set", "--pump-plugged", "28inHg", "--pump-through", "7inHg"],
        "no better than the gauge is good: give or take 0.9 inHg",
    );
    bench.says(&["calibrate", "--plugged", "25", "--through", "5"], "The pump does not keep up");
    let full = bench.json(&["leak", "12"]);
    let leak = |document: &Value| document["relative_leak"]["value"].as_f64().unwrap();
    assert!((leak(&full) / leak(&closed) - 1.0).abs() > 0.01, "{} and {}", leak(&full), leak(&closed));

    bench.done(&["rig", "set", "--pump-speed", "3cfm", "--pump-ultimate", "100Pa"]);
    bench.says(&["calibrate", "--plugged", "25", "--through", "5"], "The inlet valve is sonic");
}

#[test]
fn readings_that_no_pump_gives_are_refused() {
    let bench = Home::new();
    // At 4,300 ft stand 25.5 inHg (U.S. Standard Atmosphere, 1976), and a usual scale of 30 inHg shows no 40.
    let high_up = ["--elevation", "4300ft"];
    for figures in [["28.6inHg", "19inHg"], ["40inHg", "17inHg"]] {
        let pump = ["rig", "set", "--pump-plugged", figures[0], "--pump-through", figures[1]];
        bench.refuses(2, &[&pump[..], &high_up].concat(), "are what no pump does");
    }
    for (plugged, through) in [("5inHg", "20inHg"), ("28inHg", "28inHg"), ("30.5inHg", "7inHg")] {
        bench.refuses(
            2,
            &["rig", "set", "--pump-plugged", plugged, "--pump-through", through],
            "are what no pump does",
        );
    }
    assert!(!bench.shop().join("rig.json").exists());
}

#[test]
fn what_could_not_be_read_again_is_refused_and_a_spoiled_description_is_begun_anew() {
    let bench = Home::new();
    bench.done(&["rig", "set", "--hose-vacuum", "30inHg"]);
    let before = profile(&bench);
    for flag in ["--hose-vacuum=-5inHg", "--pump-speed=-3cfm"] {
        bench.refused(2, &["rig", "set", flag]);
        assert_eq!(profile(&bench), before, "{flag}");
    }
    bench.write("data/spoolproof/rig.json", "{");
    let said = bench.done(&["rig", "set", "--hose-vacuum", "30inHg"]);
    assert!(said.contains("cannot be read; this begins a new one"), "{said}");
    bench.done(&["rig"]);
}

#[test]
fn a_session_that_goes_on_with_another_orifice_has_the_plate_seated_again() {
    let script = "procedure(#{ title: \"Merle M2, feed\", unit: \"Merle M2\", version: \"1.0.0\" });\n\
                  let feed = circuit(#{ name: \"feed\", set_up: \"Seat the plate.\", holds: 20.inHg, leaks: 15.inHg });\n\
                  test(feed);\n";
    let home = Home::with("merle-m2.rhai", script);
    let procedure = home.path("merle-m2.rhai");
    let guide = ["guide".as_ref(), procedure.as_os_str()];
    home.run(&guide, "Ana\n29.92 inHg\n20 C\n25\n5\npark\n").exits(3).says("Seat the plate.");
    home.done(&["rig", "set", "--orifice", "0.0352in"]);
    let ran = home.run(&["guide", "--resume"], "25\n5\n22\n25\n5\n").exits(0);
    ran.says("Seat the plate. inHg:").says("feed: standard 22 inHg");
}

#[test]
fn a_checked_gauge_and_a_measured_repeatability_narrow_what_a_session_finds() {
    let bench = Home::new();
    let points = "5 5.1 5.2, 10 10.1 10.1, 15 15.1 15.2, 20 20.1 20.2, 25 25.1 25.2";
    bench.done(&["rig", "set", "--repeatability", "0.05inHg", "--repeatability-readings", "30"]);
    let said = bench.done(&["rig", "set", "--check", points, "--check-within", "0.05inHg"]);
    assert!(
        said.contains("found by the check")
            && said.contains("by 0.1 inHg between a rising and a falling needle"),
        "{said}"
    );
    assert!(said.contains("0.05 inHg in 30 readings"), "{said}");
    bench.refuses(
        2,
        &["rig", "set", "--check", "5 5.1", "--check-within", "0.05inHg"],
        "not a point of a check",
    );
    bench.refuses(
        2,
        &["rig", "set", "--repeatability", "0.05inHg", "--repeatability-readings", "3"],
        "take 6 or more",
    );
    // Another gauge has neither.
    bench.says(&["rig", "set", "--grade", "A"], "gauge check not known");
}

#[test]
fn the_shops_elevation_is_kept_and_every_figure_goes_by_it() {
    let home = Home::new();
    let sea = home.json(&["leak", "18inHg"])["standard_reading_pa"]["value"].clone();
    home.done(&["rig", "set", "--elevation", "4,300ft"]);
    home.says(&["rig"], "4300 ft");
    let kept = home.json(&["leak", "18inHg"])["standard_reading_pa"]["value"].clone();
    assert_eq!(kept, home.json(&["leak", "18inHg", "--elevation", "4300ft"])["standard_reading_pa"]["value"]);
    assert_ne!(kept, sea);
    assert_eq!(home.json(&["leak", "18inHg", "--elevation", "0ft"])["standard_reading_pa"]["value"], sea);
    // U.S. Standard Atmosphere 1976 by its formula: 86 530 Pa at 4300 ft, which is 25.55 inHg; 25 /
    // 29.92 of that is 21.35.
    let marks = home.json(&["calibrate", "--plugged", "20inHg", "--through", "4inHg"]);
    let plugged = marks["target_plugged_pa"].as_f64().unwrap() / 3386.389;
    assert!((plugged - 21.35).abs() < 0.02, "{plugged}");
}

#[test]
fn where_the_elevation_is_known_enter_takes_its_usual_barometer_and_parts_are_held_against_it() {
    let home = Home::new();
    let said = home.done(&["rig", "set", "--elevation", "4300ft"]);
    // 25 inHg at sea level is 21.35 up there, as above.
    assert!(one_line(&said).contains("it has to be 21.35 inHg"), "{said}");
    let ran = home.run(&["calibrate"], "\n20 C\nok\n21.25\n4.25\n").exits(0);
    ran.says("Enter takes what is usual at 4300 ft: 25.6 inHg").says("Set: 21.25 inHg plugged");
    let slip = home.run(&["calibrate"], "22 inHg\n").exits(3);
    slip.says("22 inHg is no weather report's figure either: is it what the vacuum gauge shows?");
}

#[test]
fn back_undoes_one_answer_while_the_rig_is_set_without_a_session() {
    let typed = "29.92 inHg\n20 C\nok\n24\nback\n25\n4\nback 2\n25\njot the plug is new\n5\n";
    Home::new().run(&["calibrate"], typed).exits(0).says("Set: 25 inHg plugged, 5 inHg through the orifice");
}

#[test]
fn without_a_procedure_too_a_caution_is_read_before_the_hose_is_plugged() {
    let ran = Home::new().run(&["calibrate"], "29.92 inHg\n20 C\n25\nok\n").exits(3);
    let ran =
        ran.says("The open hose end holds on to skin").says("type ok: 25 Read the caution, then type ok.");
    assert_eq!(ran.out.matches("Plug the hose end.").count(), 1, "{}", ran.out);
}

#[test]
fn a_setting_between_two_marks_says_so() {
    // The usual gauge has a mark every half inch of mercury, and 21.35 inHg is a quarter from the
    // next half mark at most.
    let home = Home::new();
    home.done(&["rig", "set", "--elevation", "4300ft"]);
    let advice = home.run(&["calibrate", "--plugged", "20inHg", "--through", "4inHg"], "").exits(0);
    advice.says(".25 inHg, midway between two marks");
}

#[test]
fn an_elevation_is_not_guessed_to_be_in_feet() {
    let bench = Home::new();
    let typed = format!("{}1310\n1310 m\n{}", "\n".repeat(6), "\n".repeat(9));
    bench.run(&["rig", "set"], &typed).exits(0).says("\"1310\" lacks its unit").says("elevation 4298 ft");
}

#[test]
fn a_barometer_that_does_not_go_with_the_elevation_is_asked_for_once_more() {
    let home = home();
    home.done(&["rig", "set", "--elevation", "4300ft"]);
    let doubted = "Ada | 29.92 inHg | 29.92 inHg at 4300 ft";
    let asked = home.run(&["guide", "merle.rhai"], &lines(&keyed(doubted))).exits(3);
    let asked =
        asked.says("At 4300 ft, where rig set says that this shop lies, a barometer shows about 25.6 inHg");
    asked.says("Is 29.92 inHg a weather report's figure?").says("temperature");
    // Whoever goes back is doubted anew.
    let again = "Ada | 29.92 inHg at 4300 ft | back | 29.92 | 25.5 inHg | 20 C";
    home.run(&["guide", "merle.rhai"], &lines(&keyed(again)))
        .exits(3)
        .says("Is 29.92 inHg a weather report's figure?")
        .says("temperature: 20 C");
    // A deep low is asked about, and taken when it comes again.
    home.run(&["guide", "merle.rhai"], &lines(&keyed("Ada | 24.4 | 24.4 | 20 C | ok")))
        .exits(3)
        .says("24.4 inHg is no weather report's figure either")
        .says("Plug the hose");
    let sound = home.run(&["guide", "merle.rhai"], "Ada\n25.3 inHg\n").exits(3);
    assert!(!sound.out.contains("weather report's figure?"), "{}", sound.out);
}

#[test]
fn a_barometer_that_no_weather_makes_is_refused_however_often_it_is_typed() {
    let home = home();
    home.done(&["rig", "set", "--elevation", "800ft"]);
    // The air of 800 ft between the records of the archive of weather extremes of the World Meteorological
    // Organization, 870 and 1089.4 hPa at sea level, is 24.95 to 31.25 inHg: 29.06 inHg in the standard atmosphere.
    for impossible in ["16", "24", "24.9", "31.3", "5280 ft"] {
        let typed = format!("Ada | {impossible} | {impossible} | {impossible}");
        let asked = home.run(&["guide", "merle.rhai"], &lines(&keyed(&typed))).exits(3);
        assert_eq!(
            asked.out.matches("No weather makes that of it").count(),
            3,
            "{impossible}: {}",
            asked.out
        );
    }
    for unlikely in ["25", "31.2"] {
        let typed = format!("Ada | {unlikely} | {unlikely} | 20 C | ok");
        home.run(&["guide", "merle.rhai"], &lines(&keyed(&typed))).exits(3).says("Plug the hose");
    }
}

#[test]
fn what_was_asked_for_once_more_is_told_when_the_session_is_parked() {
    let home = home();
    home.done(&["rig", "set", "--elevation", "800ft"]);
    let told = "27 inHg, which was asked for once more, is not kept: the question will come again.";
    home.run(&["guide", "merle.rhai"], "Ada\n27 inHg\njot a storm\npark\n").exits(3).says(told);
    // So it is where the lines end, and an answer that was taken is not told of.
    home.run(&["guide", "--resume"], "27 inHg\n").exits(3).says(told);
    let parked = home.run(&["guide", "--resume"], "27 inHg\n27 inHg\npark\n").exits(3);
    assert!(!parked.out.contains("is not kept"), "{}", parked.out);
}

#[test]
fn figures_that_no_pump_has_are_refused_with_what_they_probably_are() {
    let home = Home::new();
    home.refuses(2, &["rig", "set", "--pump-speed", "1725"], "the motor's turns a minute");
    home.refuses(2, &["rig", "set", "--pump-ultimate", "24inHg"], "so that is no vacuum pump");
    home.refuses(2, &["rig", "set", "--barometer", "25.6inHg"], "a barometer is no part of the rig");
    home.refuses(
        2,
        &["leak", "18inHg", "--altimeter", "30inHg"],
        "a weather report's figure needs the elevation",
    );
}

#[test]
fn what_was_of_another_dial_is_not_thrown_away_in_silence() {
    let bench = Home::new();
    bench.done(&["rig", "set", "--repeatability", "0.1inHg", "--repeatability-readings", "10"]);
    bench.says(
        &["rig", "set", "--span", "28inHg"],
        "because it was found with the dial as it was: the repeatability.",
    );
    bench.refuses(2, &["rig", "set", "--span", "30psi"], "is not that of a vacuum gauge");
}

#[test]
fn a_pressure_on_a_plate_is_not_taken_without_its_unit() {
    let bench = Home::new();
    bench.refuses(2, &["rig", "set", "--pump-ultimate", "19"], "lacks its unit");
    bench.done(&["rig", "set", "--pump-ultimate", "1 mbar"]);
    assert_eq!(profile(&bench)["pump"]["ultimate_pa"].as_f64(), Some(100.0));
}

#[test]
fn one_shank_alone_is_not_dropped_in_silence() {
    let bench = Home::new();
    // The 13 parts as they stand, no better gauge, then drill 65 tried and drill 64 not.
    let typed = "\n".repeat(14) + "y\n\n";
    bench.run(&["rig", "set"], &typed).exits(0).says("Drill 65 alone does not tell the size of the orifice");
    assert!(profile(&bench)["gauged"].is_null());
}

#[test]
fn the_dialogue_takes_a_check_beside_a_better_gauge_place_by_place() {
    let bench = Home::new();
    let places = "5 5.1 5.2\n10 10 10.1\n15 15.1\n15 15.1 15.2\n20 20.2 20.2\n\n25 25.2 25.2\n\n";
    let typed = "\n".repeat(13) + "0.05 inHg\n" + places + "y\nn\n";
    let ran = bench.run(&["rig", "set"], &typed).exits(0);
    ran.says("\"15 15.1\" is not a point of a check").says("Five places at least").says("found by the check");
    let points = profile(&bench)["gauge_check"]["points"].as_array().unwrap().len();
    assert_eq!(points, 5);
    // It stays where Enter passes it by.
    bench.run(&["rig", "set"], &"\n".repeat(16)).exits(0).says("found by the check");
}

/// Commissioning of a bench at sea level, answered as its questions come.
const COMMISSIONED: &str = "Ada\n29.92 inHg\n\nok\nok\nok\nyes\nyes\n1\nyes\n\n28.9\n\n0.2\n\n0.1\nyes\nno\n0.035\n0.04\n\
    29.1\n29.3\n25.4\n6.5\n29.2\n25\n5\n\nyes\n25\n9.25\n9.25\n9\n9.25\n9.5\n9.25\n\n25\n5\n";

#[test]
fn what_commissioning_has_found_goes_into_the_description_and_is_asked_for_no_more() {
    let bench = Home::new();
    let described = ["rig", "set", "--orifice", "0.035in", "--hose-vacuum", "30inHg", "--stands-oil", "yes"];
    let said = one_line(&bench.done(&described));
    assert!(said.contains("has not been tried") && said.contains("is not known. Shut"), "{said}");
    bench.refuses(2, &["rig", "set", "--commissioned"], "no record of commissioning");
    bench.run(&["guide", "rig-commissioning"], COMMISSIONED).exits(0).says("rig set --commissioned");
    bench.refuses(2, &["rig", "set", "--commissioned", "--grade", "A"], "--commissioned goes alone");
    bench.refuses(2, &["rig", "set", "--commissioned", "--elevation", "4300ft"], "--commissioned goes alone");
    let shop = bench.shop().to_string_lossy().into_owned();
    let said = one_line(&bench.done(&["--shop", &shop, "rig", "set", "--commissioned"]));
    assert!(!said.contains("has not been tried") && !said.contains("is not known. Shut"), "{said}");
    let rig = profile(&bench);
    // 9.25, 9.25, 9, 9.25, 9.5 and 9.25 scatter by the root of 2 x 0.25 x 0.25 / 5 inHg.
    let deviation = rig["repeatability"]["deviation_pa"].as_f64().unwrap();
    assert!((deviation / 3386.389 - 0.1581).abs() < 1e-4, "{deviation}");
    assert_eq!(rig["repeatability"]["readings"], 6);
    assert_eq!(rig["gauged"], serde_json::json!({ "go_passes": true, "no_go_passes": false }));
    assert_eq!(rig["pump"]["keeps_sonic"], true);
    // With another orifice none of that holds.
    bench.done(&["rig", "set", "--orifice", "0.040in"]);
    bench.refuses(2, &["rig", "set", "--commissioned"], "commission the bench again");
    assert!(profile(&bench)["gauged"].is_null() && profile(&bench)["pump"].get("keeps_sonic").is_none());
}

fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn a_bench_keeps_what_tells_it_apart_while_its_parts_are_exchanged() {
    let bench = home();
    bench.done(&["rig", "set", "--orifice", "0.035in"]);
    let id = profile(&bench)["bench"]["id"].clone();
    assert_eq!(id.as_str().map(str::len), Some(10), "{id}");
    bench.done(&["rig", "set", "--bench", "North wall"]);
    bench.says(&["rig", "set", "--grade", "A"], "North wall");
    assert_eq!(profile(&bench)["bench"], serde_json::json!({ "name": "North wall", "id": id }));
    bench.run(&["guide", "merle.rhai"], &lines(&FEED_LINES)).exits(0);
    let opening = bench.record().opening().unwrap().clone();
    assert_eq!(opening.bench.map(|bench| bench.id).as_deref(), id.as_str());
    let other = Home::new();
    other.done(&["rig", "set", "--bench", "North wall"]);
    assert_ne!(profile(&other)["bench"]["id"], id, "another bench may have the same name");
}
