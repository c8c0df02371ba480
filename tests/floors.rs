//! The layout is the architecture: no file uses a floor above its own, `mod.rs` files only list, files stay small, and
//! only the console prints.
#![expect(clippy::unwrap_used, reason = "a test stops at the first surprise")]

use std::path::{Path, PathBuf};

/// The floors from the top; those on one line stand side by side and do not use each other.
const FLOORS: &[&[&str]] = &[
    &["cli"],
    &["report", "history"],
    &["proofread", "rehearse", "draft", "share"],
    &["session"],
    &["practice"],
    &["page"],
    &["tell"],
    &["procedure"],
    &["record"],
    &["leak"],
    &["rig"],
    &["air", "oil", "picture"],
    &["quantity", "console", "stats", "disk"],
];

const LONGEST_FILE: usize = 500;

fn floor(module: &str) -> Option<usize> {
    FLOORS.iter().position(|floor| floor.contains(&module))
}

fn sources(folder: &str) -> Vec<(PathBuf, String)> {
    fn visit(folder: &Path, found: &mut Vec<(PathBuf, String)>) {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                visit(&path, found);
            } else if path.extension().is_some_and(|extension| extension == "rs") {
                found.push((path.clone(), std::fs::read_to_string(&path).unwrap()));
            }
        }
    }
    let mut found = Vec::new();
    visit(&Path::new(env!("CARGO_MANIFEST_DIR")).join(folder), &mut found);
    assert!(!found.is_empty(), "{folder} is empty");
    found.sort();
    found
}

/// Returns the modules that the path of a file in `src` names, without the file's ending: `rig/dial.rs` is `rig::dial`.
fn modules_of(path: &Path) -> Vec<String> {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let path = path.strip_prefix(src).unwrap_or(path).with_extension("");
    let mut modules: Vec<_> = path.iter().map(|part| part.to_string_lossy().into_owned()).collect();
    if modules.last().is_some_and(|last| last == "mod") {
        modules.pop();
    }
    modules
}

fn code_of(text: &str) -> String {
    text.lines().map(|line| line.split("//").next().unwrap_or_default().to_owned() + "\n").collect()
}

/// Returns the modules at the root of the crate that a file's code uses, by `crate::` or by going up with `super::`.
fn uses(modules: &[String], text: &str) -> Vec<String> {
    let code = code_of(text);
    let (code, tests) = code.split_once("mod tests {").unwrap_or((&code, ""));
    let mut used = uses_at(modules.len(), code);
    used.extend(uses_at(modules.len() + 1, tests));
    used
}

fn uses_at(depth: usize, code: &str) -> Vec<String> {
    let mut used = Vec::new();
    for (at, _) in code.match_indices("crate::") {
        used.extend(roots(&code[at + "crate::".len()..]));
    }
    let up = "super::".repeat(depth);
    for (at, _) in code.match_indices(&up) {
        let is_longer = code[..at].ends_with("super::");
        if !is_longer {
            used.extend(roots(&code[at + up.len()..]));
        }
    }
    used
}

/// Returns the names that a path begins with: one, or each of a group in braces.
fn roots(path: &str) -> Vec<String> {
    let name = |text: &str| text.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect::<String>();
    let Some(group) = path.strip_prefix('{') else { return vec![name(path)] };
    let mut depth = 0;
    let mut parts = vec![String::new()];
    for c in group.chars() {
        match c {
            '{' => depth += 1,
            '}' if depth == 0 => break,
            '}' => depth -= 1,
            ',' if depth == 0 => parts.push(String::new()),
            _ => {}
        }
        parts.last_mut().unwrap().push(c);
    }
    parts
        .iter()
        .map(|part| name(part.trim_start_matches([',', ' ', '\n'])))
        .filter(|name| !name.is_empty())
        .collect()
}

/// Returns what of a file points up, or to the side.
fn arrows_up(modules: &[String], text: &str) -> Vec<String> {
    let Some(own) = modules.first().filter(|own| !["lib", "main"].contains(&own.as_str())) else {
        return Vec::new();
    };
    let Some(here) = floor(own) else { return vec![format!("{own}, which is on no floor")] };
    uses(modules, text)
        .into_iter()
        .filter(|used| used != own)
        .filter(|used| floor(used).is_none_or(|floor| floor <= here))
        .collect()
}

/// Returns the statements of a `mod.rs` that are more than a list.
fn logic_of(text: &str) -> Vec<String> {
    let code: String = code_of(text).lines().filter(|line| !line.trim_start().starts_with("#[")).collect();
    let is_list = |statement: &str| {
        let bare = match statement.strip_prefix("pub(").and_then(|rest| rest.split_once(')')) {
            Some((_, rest)) => rest,
            None => statement.strip_prefix("pub ").unwrap_or(statement),
        };
        let words: Vec<_> = bare.split_whitespace().collect();
        words.is_empty()
            || (words[0] == "use" && !bare.contains('='))
            || (words[0] == "mod" && words.len() == 2)
    };
    code.split(';').map(str::trim).filter(|statement| !is_list(statement)).map(str::to_owned).collect()
}

fn prints(text: &str) -> bool {
    ["print!", "println!", "eprint!", "eprintln!", "dbg!"].iter().any(|word| {
        let code = code_of(text);
        code.match_indices(word)
            .any(|(at, _)| !code[..at].ends_with(|c: char| c.is_alphanumeric() || c == '_'))
    })
}

fn is_too_long(text: &str) -> bool {
    text.lines().count() > LONGEST_FILE
}

#[test]
fn no_file_uses_a_floor_above_or_beside_its_own() {
    for (path, text) in sources("src") {
        let up = arrows_up(&modules_of(&path), &text);
        assert!(up.is_empty(), "{} must not use {}", path.display(), up.join(", "));
    }
}

#[test]
fn an_arrow_that_points_up_is_seen_however_it_is_written() {
    let check = |path: &str, text: &str, wanted: &[&str]| {
        assert_eq!(arrows_up(&modules_of(Path::new(path)), text), wanted, "{path}: {text}");
    };
    check("rig/dial.rs", "use crate::leak::Limits;", &["leak"]);
    let group = "use crate::{quantity::Unit, record::{Record, Shop}, session};";
    check("rig/dial.rs", group, &["record", "session"]);
    check("rig/dial.rs", "fn f() { crate::cli::run() }", &["cli"]);
    check("rig/dial.rs", "pub(in crate::procedure) fn f() {}", &["procedure"]);
    check("rig/dial.rs", "use super::super::record::Record;", &["record"]);
    check("rig/simulated/rig.rs", "use super::super::super::{leak::Limits, air};", &["leak"]);
    check("air/flow.rs", "use crate::oil::Oil;", &["oil"]);
    check("air/mod.rs", "use super::record;", &["record"]);
    check("rig/dial.rs", "mod tests { use super::super::super::leak::Limits; }", &["leak"]);
    check("share/pack.rs", "use crate::rehearse::Leaks;", &["rehearse"]);
    check("rig/dial.rs", "use crate::nowhere::Thing;", &["nowhere"]);
    check("attic/box.rs", "", &["attic, which is on no floor"]);
    // None of these points up.
    check("rig/dial.rs", "use crate::{air, quantity::Unit}; use super::Orifice; // crate::leak", &[]);
    check("rig/simulated/rig.rs", "use super::super::Dial; use crate::rig::Valve;", &[]);
    check("rig/dial.rs", "mod tests { use super::super::orifice; }", &[]);
    check("cli/mod.rs", "use crate::report::Page; use super::console;", &[]);
}

#[test]
fn the_map_in_the_library_names_every_floor_in_order() {
    let text = std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("src/lib.rs")).unwrap();
    let map: Vec<_> = text.lines().filter_map(|line| line.strip_prefix("//! ")).collect();
    let line_of = |module: &str| {
        map.iter().position(|line| line.split([' ', ',']).any(|word| word == module) && line.contains("   "))
    };
    let mut places = Vec::new();
    for line in text.lines() {
        let module = line.strip_prefix("mod ").and_then(|rest| rest.strip_suffix(';'));
        let Some(module) = module.filter(|module| *module != "tests") else { continue };
        let floor = floor(module).unwrap_or_else(|| panic!("{module} is on no floor"));
        places.push((floor, line_of(module).unwrap_or_else(|| panic!("the map does not name {module}"))));
    }
    places.sort_unstable();
    assert!(places.len() >= 10, "{places:?}");
    assert!(places.is_sorted_by_key(|(_, line)| *line), "the map is in another order: {places:?}");
}

#[test]
fn mod_files_only_list() {
    for (path, text) in sources("src").iter().filter(|(path, _)| path.ends_with("mod.rs")) {
        let logic = logic_of(text);
        assert!(logic.is_empty(), "{} holds more than a list: {logic:?}", path.display());
    }
    let list =
        "//! Doc.\n#[cfg(unix)]\nmod a;\npub(super) use a::{A,\n B};\npub(in super::super) use a::C;\n";
    assert!(logic_of(list).is_empty());
    for text in ["mod a;\nfn f() {}\n", "pub const A: u8 = 5;", "mod a { }", "pub struct A;", "type A = u8;"]
    {
        assert!(!logic_of(text).is_empty(), "{text}");
    }
}

#[test]
fn files_stay_small() {
    for folder in ["src", "tests", "examples", "benches"] {
        for (path, text) in sources(folder) {
            assert!(!is_too_long(&text), "{} has {} lines", path.display(), text.lines().count());
        }
    }
    assert!(is_too_long(&"\n".repeat(LONGEST_FILE + 1)));
}

#[test]
fn only_the_console_prints() {
    for (path, text) in sources("src") {
        let is_console = modules_of(&path).first().is_some_and(|module| module == "console");
        assert!(is_console || !prints(&text), "{} prints", path.display());
    }
    assert!(prints("fn f() { println!(\"x\"); }") && prints("std::eprint!()") && prints("dbg!(x)"));
    assert!(!prints("// println!()\nfn f() { blueprint!() }"));
}

/// Calls of the standard library whose last bit depends on the machine.
fn varies_with_the_machine(text: &str) -> Option<&'static str> {
    [
        ".powf(", ".powi(", ".exp(", ".exp2(", ".exp_m1(", ".ln(", ".ln_1p(", ".log(", ".log2(", ".log10(",
        ".cbrt(", ".hypot(", ".sin(", ".cos(", ".tan(", ".sinh(", ".cosh(", ".tanh(", ".asin(", ".acos(",
        ".atan(", ".atan2(",
    ]
    .into_iter()
    .find(|call| text.contains(call))
}

#[test]
fn figures_of_a_record_come_out_the_same_on_every_machine() {
    for (path, text) in sources("src") {
        let floor = modules_of(&path).first().cloned().unwrap_or_default();
        if ["quantity", "air", "oil", "rig", "leak", "record"].contains(&floor.as_str()) {
            let found = varies_with_the_machine(&text);
            assert!(found.is_none(), "{} calls {found:?}; take it from libm", path.display());
        }
    }
    assert_eq!(varies_with_the_machine("let y = x.powf(0.286);"), Some(".powf("));
    assert_eq!(varies_with_the_machine("let y = libm::pow(x, 0.286).sqrt();"), None);
}
