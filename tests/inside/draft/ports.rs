//! Places of ports are written into the text of a procedure, of which nothing else changes.

use std::collections::BTreeMap;

use crate::draft::with_ports;
use crate::record::Pixel;
use crate::tests::support::{Home, Running, Script, png};

fn places(ports: &[(&str, u32, u32)]) -> BTreeMap<String, Pixel> {
    ports.iter().map(|(port, x, y)| ((*port).to_owned(), Pixel { x: *x, y: *y })).collect()
}

const BEFORE: &str = "// A comment, with ports: #{ in it.\nlet d = #{ picture: \"no.png\" };\n\
    procedure(#{\n    title: \"T\", // here too\n    version: \"1.0.0\", picture: \"b.png\"";

#[track_caller]
fn check(behind: &str, ports: &[(&str, u32, u32)], wanted: &str) {
    let end = "\n});\nsay(\"ports: #{}\");\n";
    let written = with_ports(&format!("{BEFORE}{behind}{end}"), &places(ports));
    assert_eq!(written.as_deref(), Some(format!("{BEFORE}{wanted}{end}").as_str()));
}

#[test]
fn places_are_added_changed_and_left_where_they_stand() {
    let two = [("1", 5, 6), ("3A", 7, 8)];
    let new = ",\n    ports: #{\n        \"1\": [5, 6],\n        \"3A\": [7, 8],\n    }";
    check("", &two, new);
    check(",", &two, &format!("{new},"));
    check(", ports: #{}", &two, ", ports: #{\n        \"1\": [5, 6],\n        \"3A\": [7, 8],\n    }");
    check(", ports: #{ \"3A\": [1, 2] }", &two, ", ports: #{ \"3A\": [7, 8],\n        \"1\": [5, 6], }");
    check(", ports: #{ \"3A\": [1, 2], }", &two, ", ports: #{ \"3A\": [7, 8],\n        \"1\": [5, 6], }");
    let odd = ", ports: #{ \"1\": [ 1 , 2 ] /* by hand */, B: [3, 4] }";
    check(odd, &[("1", 9, 9), ("B", 3, 5)], ", ports: #{ \"1\": [9, 9] /* by hand */, B: [3, 5] }");
}

#[test]
fn what_is_not_written_out_is_not_guessed_at() {
    for text in [
        "procedure(about);",
        "say(\"x\");",
        "procedure(#{ title: \"T\" });",
        "procedure(#{ picture: \"b.png\", ports: p })",
    ] {
        assert_eq!(with_ports(text, &places(&[("1", 5, 6)])), None, "{text}");
    }
}

#[test]
fn whoever_types_the_places_has_them_in_the_file_and_its_line_ends_are_kept() {
    let script = "procedure(#{ title: \"T\", version: \"1.0.0\", picture: \"b.png\" });\r\ncaution(\"Mind it.\");\r\n\
        test(circuit(#{ name: \"one\", port: \"1\", holds: 20.inHg, leaks: 15.inHg }));\r\n\
        test(circuit(#{ name: \"two\", port: \"2\", holds: 20.inHg, leaks: 15.inHg }));\r\n";
    let home = Home::with("b2.rhai", script);
    home.refuses(1, &["map", "b2.rhai"], "put b.png beside the procedure");
    home.write("b.png", png(40, 30));
    // Outside, no place, then a place; the first again; Enter keeps it; the second is left for later; Enter ends.
    let typed = "40 3\nhere\n39 3\nback\n38, 3\nback\n\n\n\n";
    let ran = home.run(&["map", "b2.rhai"], typed).exits(0);
    assert!(
        ran.out.contains("its places go from 0 0 to 39 29") && ran.out.contains("two whole numbers"),
        "{}",
        ran.out
    );
    let wanted =
        script.replace("\"b.png\"", "\"b.png\",\r\n    ports: #{\r\n        \"1\": [38, 3],\r\n    }");
    assert_eq!(home.read("b2.rhai"), wanted);
    assert!(home.run(&["map", "b2.rhai"], "\n\n\n").exits(0).out.contains("Nothing was changed."));
    // The last place ends nothing: it is said what is placed, and the last port can be asked for again.
    let ran = home.run(&["map", "b2.rhai"], "\n7 9\nback\n7 8\n\n").exits(0);
    assert!(ran.out.contains("All ports are placed and written into b2.rhai."), "{}", ran.out);
    assert!(Script::whole(&home.read("b2.rhai")).files[0].1.contains("\"2\": [7, 8]"));
    let bare = Home::with("b2.rhai", script.replace(", picture: \"b.png\"", ""));
    bare.refuses(1, &["map", "b2.rhai"], "names no picture of its unit");
    // One that lies elsewhere is copied beside the procedure, and never over another.
    bare.write("b2.png", png(8, 8));
    bare.write("photo.png", png(40, 30));
    bare.refuses(2, &["map", "b2.rhai", "--picture", "photo.png"], "is another picture");
    std::fs::remove_file(bare.path("b2.png")).unwrap();
    bare.run(&["map", "b2.rhai", "--picture", "photo.png"], "38 3\n\n\n").exits(0);
    let named = script.replace(
        "procedure(#{",
        "procedure(#{ picture: \"b2.png\",\r\n    ports: #{\r\n        \"1\": [38, 3],\r\n    },",
    );
    assert_eq!(bare.read("b2.rhai"), named.replace(", picture: \"b.png\"", ""));
    assert_eq!(std::fs::read(bare.path("b2.png")).unwrap(), png(40, 30));
}

#[test]
fn each_place_stands_in_the_file_before_the_next_is_asked_for_and_an_edited_file_is_left_alone() {
    let script = "procedure(#{ title: \"T\", version: \"1.0.0\", picture: \"b.png\" });\ncaution(\"Mind it.\");\n\
        test(circuit(#{ name: \"one\", port: \"1\", holds: 20.inHg, leaks: 15.inHg }));\n\
        test(circuit(#{ name: \"two\", port: \"2\", holds: 20.inHg, leaks: 15.inHg }));\n";
    let home = Home::with("b.rhai", script);
    home.write("b.png", png(40, 30));
    let mut running = Running::start(&mut home.command(&["map", "b.rhai"]));
    let shows = |running: &mut Running, wanted: &str| {
        while !running.line().expect("a line").contains(wanted) {}
    };
    shows(&mut running, "Click port 1");
    running.types("5 6\n");
    shows(&mut running, "Click port 2");
    // Nothing that it would do at its end is needed.
    let edited = home.read("b.rhai").replace("one", "first");
    assert!(edited.contains("\"1\": [5, 6]"), "{edited}");
    home.write("b.rhai", &edited);
    running.types("7 8\n");
    let ran = running.ends();
    assert!(ran.status == 1 && ran.err.contains("was changed meanwhile"), "{}", ran.err);
    assert_eq!(home.read("b.rhai"), edited);
    home.refuses(2, &["map", "osier-o7-rear"], "spoolproof draft --from osier-o7-rear");
}
