//! The `rig` command: parts by flags and by the dialogue, what is said of them, and a pump too weak not to matter.

use std::io::Write;
use std::process::{Command, Output, Stdio};

use serde_json::Value;
use tempfile::TempDir;

/// A shop of its own, and the program in it.
struct Bench(TempDir);

impl Bench {
    fn new() -> Bench {
        Bench(tempfile::tempdir().unwrap())
    }

    fn run(&self, words: &[&str], typed: &str) -> Output {
        let mut program = Command::new(crate::tests::support::binary::spoolproof())
            .args(["--shop".as_ref(), self.0.path().as_os_str()])
            .args(words)
            .env("LC_ALL", "C.UTF-8")
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        // A program that has ended already takes no more lines.
        let _ = program.stdin.take().unwrap().write_all(typed.as_bytes());
        program.wait_with_output().unwrap()
    }

    /// What a run prints that goes well, in one line.
    #[track_caller]
    fn says(&self, words: &[&str]) -> String {
        let output = self.run(words, "");
        assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
        unwrapped(&output.stdout)
    }

    fn profile(&self) -> Value {
        serde_json::from_slice(&std::fs::read(self.0.path().join("rig.json")).unwrap()).unwrap()
    }
}

fn unwrapped(text: &[u8]) -> String {
    String::from_utf8_lossy(text).split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn parts_are_set_by_flags_and_kept() {
    let bench = Bench::new();
    assert!(bench.says(&["rig"]).contains("No rig is described yet"));
    bench.says(&["rig", "set", "--orifice", "0.0352in", "--hose-vacuum", "30inHg", "--stands-oil", "yes"]);
    for grade in ["A", "grade a", "ASME B40.100 A", "ASME A"] {
        let said = bench.says(&["rig", "set", "--grade", grade]);
        assert!(said.contains("0.0352 in") && said.contains("ASME A,"), "{said}");
    }
    assert!(bench.says(&["rig", "set", "--grade", "cl. 1.6"]).contains("EN 1.6,"));
    let orifice = bench.profile()["orifice"].clone();
    assert!((orifice["diameter_m"].as_f64().unwrap() - 0.0352 * 0.0254).abs() < 1e-12, "{orifice}");
}

#[test]
fn a_changed_part_ends_the_calibration() {
    let bench = Bench::new();
    bench.says(&["rig", "set", "--orifice", "0.035in"]);
    let said = bench.says(&["rig", "set", "--orifice", "0.034in"]);
    assert!(said.contains("the orifice has changed since. Calibrate before the next reading."), "{said}");
}

#[test]
fn a_part_that_can_hurt_is_marked() {
    let bench = Bench::new();
    let said = bench.says(&["rig", "set", "--hose-vacuum", "10inHg", "--span", "15inHg"]);
    assert!(said.contains("!! The dial ends at 15 inHg"), "{said}");
    assert!(said.contains("!! The hose is made for 10 inHg of vacuum"), "{said}");
}

#[test]
fn the_dialogue_asks_again_where_an_answer_cannot_be_read_and_keeps_what_is_not_answered() {
    let bench = Bench::new();
    let lines = "A\n30 inHg\n0.5 inHg\nwide\n0.0348in\n\nplug\n\n\n30inHg\n\nno\nyes\nyes\nno\n";
    let output = bench.run(&["rig", "set"], lines);
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    assert!(unwrapped(&output.stdout).contains("wide"), "what was typed is shown");
    let profile = bench.profile();
    assert!((profile["orifice"]["diameter_m"].as_f64().unwrap() - 0.0348 * 0.0254).abs() < 1e-12);
    assert_eq!(profile["hose"]["stands_oil"], true);
}

#[test]
fn the_dialogue_goes_back_and_refuses_at_once_what_cannot_go_together() {
    let bench = Bench::new();
    let lines = [
        "A", "?", "0.5 inHg", "30 inHg", "back", "", "0.5 inHg", "0.0348in", "", "", "3cfm", "", "", "", "",
        "", "", "",
    ];
    let lines: String = lines.iter().map(|line| format!("{line}\n")).collect();
    let output = bench.run(&["rig", "set"], &lines);
    assert_eq!(output.status.code(), Some(0), "{}", unwrapped(&output.stdout));
    let shown = unwrapped(&output.stdout);
    assert!(shown.contains("a smallest division of 0.5 inHg does not fit"), "{shown}");
    assert!(shown.contains("Enter alone keeps what stands in brackets; back asks"), "{shown}");
    let profile = bench.profile();
    assert!((profile["dial"]["span_pa"].as_f64().unwrap() / 3386.389 - 30.0).abs() < 1e-3, "{profile}");
    assert!(profile["pump"]["speed_m3_s"].is_number(), "{profile}");
}

#[test]
fn a_dialogue_that_is_left_changes_nothing() {
    let bench = Bench::new();
    let output = bench.run(&["rig", "set"], "A\n30 inHg\n");
    assert_eq!(output.status.code(), Some(3));
    assert!(!bench.0.path().join("rig.json").exists());
}

#[test]
fn an_unknown_pump_is_measured_with_the_rigs_own_gauge_and_a_weak_one_counts() {
    let bench = Bench::new();
    let unknown = bench.says(&["calibrate", "--plugged", "25", "--through", "5"]);
    assert!(unknown.contains("rig set --pump-plugged V --pump-through V"), "{unknown}");
    let closed: Value = serde_json::from_str(&bench.says(&["leak", "12", "--json"])).unwrap();

    bench.says(&["rig", "set", "--pump-plugged", "28inHg", "--pump-through", "7inHg"]);
    let weak = bench.says(&["calibrate", "--plugged", "25", "--through", "5"]);
    assert!(weak.contains("The inlet valve is not sonic"), "{weak}");
    let full: Value = serde_json::from_str(&bench.says(&["leak", "12", "--json"])).unwrap();
    let leak = |document: &Value| document["relative_leak"]["value"].as_f64().unwrap();
    assert!((leak(&full) / leak(&closed) - 1.0).abs() > 0.01, "{} and {}", leak(&full), leak(&closed));

    bench.says(&["rig", "set", "--pump-speed", "3cfm", "--pump-ultimate", "100Pa"]);
    let strong = bench.says(&["calibrate", "--plugged", "25", "--through", "5"]);
    assert!(strong.contains("The inlet valve is sonic"), "{strong}");
}

#[test]
fn readings_that_no_pump_gives_are_refused() {
    let bench = Bench::new();
    for (plugged, through) in [("5inHg", "20inHg"), ("28inHg", "28inHg")] {
        let output = bench.run(&["rig", "set", "--pump-plugged", plugged, "--pump-through", through], "");
        let why = unwrapped(&output.stderr);
        assert_eq!(output.status.code(), Some(2), "{why}");
        assert!(why.contains("are what no pump does"), "{why}");
    }
    assert!(!bench.0.path().join("rig.json").exists());
}

#[test]
fn what_could_not_be_read_again_is_refused_and_a_spoiled_description_is_begun_anew() {
    let bench = Bench::new();
    bench.says(&["rig", "set", "--hose-vacuum", "30inHg"]);
    let before = bench.profile();
    for flag in ["--hose-vacuum=-5inHg", "--pump-speed=-3cfm"] {
        let output = bench.run(&["rig", "set", flag], "");
        assert_eq!(output.status.code(), Some(2), "{flag}");
        assert_eq!(bench.profile(), before, "{flag}");
    }
    std::fs::write(bench.0.path().join("rig.json"), "{").unwrap();
    let said = bench.says(&["rig", "set", "--hose-vacuum", "30inHg"]);
    assert!(said.contains("cannot be read; this begins a new one"), "{said}");
    bench.says(&["rig"]);
}
