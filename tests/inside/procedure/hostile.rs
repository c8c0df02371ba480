//! Hostile procedures: each file of `tests/hostile` says what it does and what the error must say. Each runs as a
//! child with a limit on its memory and its processor time, on a simulated rig.

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use crate::console::hidden;
use crate::procedure::{LARGEST_FILE, Stop, Walk};
use crate::record::{BenchState, Question, RigParts};
use crate::tests::support::{self, Answering, Ran, compiled, file, limited, run, sign, signer, spoolproof};

/// A folder with the corpus, the modules beside it, and what a repository can't hold: a link, a pipe, a large file.
struct Corpus(tempfile::TempDir);

impl Corpus {
    fn new() -> Corpus {
        let folder = tempfile::tempdir().unwrap();
        let procedures = folder.path().join("procedures");
        fs::create_dir(&procedures).unwrap();
        fs::write(folder.path().join("above.rhai"), "fn secret() { 1 }\n").unwrap();
        for file in support::files("tests/hostile", "rhai") {
            fs::copy(&file, procedures.join(file.file_name().unwrap())).unwrap();
        }
        std::os::unix::fs::symlink("../above.rhai", procedures.join("link_outside.rhai")).unwrap();
        fs::write(procedures.join("large.rhai"), vec![b' '; LARGEST_FILE as usize + 1]).unwrap();
        let made = Command::new("mkfifo").arg(procedures.join("pipe.rhai")).status().unwrap();
        assert!(made.success());
        Corpus(folder)
    }

    fn path(&self, name: &str) -> PathBuf {
        self.0.path().join("procedures").join(name)
    }

    fn add(&self, name: &str, text: &str) -> PathBuf {
        fs::write(self.path(name), text).unwrap();
        self.path(name)
    }

    /// Rehearses a procedure within the limits.
    fn rehearse(&self, procedure: &Path) -> Ran {
        self.run(&["rehearse".as_ref(), procedure.as_os_str()])
    }

    fn run(&self, arguments: &[&std::ffi::OsStr]) -> Ran {
        let mut command = limited(spoolproof());
        command.arg("--shop").arg(self.0.path().join("shop")).args(arguments);
        run(command.env_clear().env("LC_ALL", "C.UTF-8"), "").anyhow()
    }
}

/// The most memory that any child of this process has held at once, in KiB (POSIX getrusage; its unit on Linux).
#[cfg(target_os = "linux")]
fn most_memory() -> i64 {
    use nix::sys::resource::{UsageWho, getrusage};
    getrusage(UsageWho::RUSAGE_CHILDREN).unwrap().max_rss()
}

/// The corpus without the modules that it imports.
fn files() -> Vec<PathBuf> {
    let is_of_corpus = |path: &PathBuf| path.parent().is_some_and(|folder| folder.ends_with("hostile"));
    support::files("tests/hostile", "rhai").into_iter().filter(is_of_corpus).collect()
}

/// The text behind `// Stopped: ` in the second line.
fn expected(file: &Path) -> String {
    let text = fs::read_to_string(file).unwrap();
    let second = text.lines().nth(1).unwrap_or_default();
    second.strip_prefix("// Stopped: ").expect("the second line says what the error says").to_owned()
}

/// Says what is wrong with the way a hostile procedure was stopped.
fn complaint(ran: &Ran, expected: &str) -> Option<String> {
    let (error, shown) = (&ran.err, &ran.out);
    // 1: the procedure is not in order; 2: its files cannot be read.
    if !matches!(ran.status, 1 | 2) {
        return Some(format!("ended with {}: {error}", ran.status));
    }
    if !error.contains(expected) {
        return Some(format!("does not say \"{expected}\": {error}"));
    }
    if let Some(character) = hidden(error).or(hidden(shown)) {
        return Some(format!("let U+{:04X} through to the screen", u32::from(character)));
    }
    None
}

/// Asserts of every run of a file that it was stopped as it must be.
fn all_are_stopped(runs: impl Iterator<Item = (PathBuf, Ran, String)>) {
    let said = |(file, ran, expected): (PathBuf, Ran, String)| {
        complaint(&ran, &expected).map(|complaint| format!("{} {complaint}", name_of(&file)))
    };
    let wrong: Vec<_> = runs.filter_map(said).collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

fn name_of(file: &Path) -> String {
    file.file_name().unwrap().to_string_lossy().into_owned()
}

#[test]
fn every_hostile_procedure_is_contained_and_told_what_it_did() {
    let corpus = Corpus::new();
    all_are_stopped(files().into_iter().map(|file| {
        let ran = corpus.rehearse(&corpus.path(&name_of(&file)));
        let expected = expected(&file);
        (file, ran, expected)
    }));
    let log = fs::read_to_string(corpus.0.path().join("shop/log.txt")).unwrap();
    assert!(log.lines().count() >= files().len(), "{log}");
    assert_eq!(hidden(&log), None);
    #[cfg(target_os = "linux")]
    {
        let most = most_memory();
        // Less than a megabyte would be no measurement.
        assert!((1_024..262_144).contains(&most), "{most} KiB");
    }
}

/// Every command that opens a procedure, but for `rehearse` and `receive`, through which each file goes.
const OPENING: [&[&str]; 6] = [
    &["proofread"],
    &["worksheet"],
    &["guide"],
    &["share", "--as", "Anybody", "--folder", "packs"],
    &["draft", "--from"],
    &["proofread", "--json"],
];

/// Each file goes through one of the commands, and a heavy one through the search besides; with
/// `SPOOLPROOF_HOSTILE=all` through all of them.
#[test]
fn a_hostile_procedure_is_contained_by_every_command_that_opens_one() {
    let is_all = std::env::var_os("SPOOLPROOF_HOSTILE").is_some();
    let corpus = Corpus::new();
    let kinds = ["bomb", "deep", "endless", "flood"];
    let mut wrong = Vec::new();
    for (n, file) in files().into_iter().enumerate() {
        let is_heavy = kinds.iter().any(|kind| name_of(&file).starts_with(kind));
        for (m, command) in OPENING.into_iter().enumerate() {
            if !(is_all || m == n % OPENING.len() || m == 0 && is_heavy) {
                continue;
            }
            let path = corpus.path(&name_of(&file));
            let arguments: Vec<_> = command.iter().map(AsRef::as_ref).chain([path.as_os_str()]).collect();
            let ran = corpus.run(&arguments);
            // What stops a walk is met by what walks it to there: a form, a pack or a copy may be made, a guide waits.
            let may_pass = !matches!(command, ["proofread", ..]);
            let is_told = matches!(ran.status, 1 | 2) || may_pass && matches!(ran.status, 0 | 3);
            if !is_told || hidden(&ran.err).or(hidden(&ran.out)).is_some() {
                let said = ran.err.chars().take(400).collect::<String>();
                wrong.push(format!("{command:?} {} ended with {}: {said}", name_of(&file), ran.status));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[cfg(target_os = "linux")]
#[test]
fn the_limits_that_children_run_in_stop_what_exceeds_them() {
    let mut large = limited("dd");
    large.args(["if=/dev/zero", "of=/dev/null", "bs=300M", "count=1"]).stderr(Stdio::null());
    assert!(!large.status().unwrap().success(), "a child held 300 MiB");
    let mut endless = limited("sh");
    endless.args(["-c", "while :; do :; done"]);
    assert_eq!(endless.status().unwrap().code(), None, "a child worked on without end");
}

#[test]
fn a_hostile_procedure_in_a_signed_pack_is_contained_when_it_is_received() {
    let corpus = Corpus::new();
    let stranger = signer("Stranger", 7);
    all_are_stopped(files().into_iter().map(|path| {
        let text = fs::read_to_string(&path).unwrap();
        // A pack has no modules but its own: those that import are refused for that alone.
        let wanted = if text.contains("import ") { String::new() } else { expected(&path) };
        let document = serde_json::json!({
            "format": "spoolproof/pack/1", "id": "hostile", "title": "Invented", "unit": "Invented",
            "version": "1.0.0", "files": [file("hostile.rhai", &text)],
        });
        let document = sign(document, &stranger);
        let pack = corpus.path("hostile.pack.json");
        fs::write(&pack, serde_json::to_vec_pretty(&document).unwrap()).unwrap();
        let ran = corpus.run(&["receive".as_ref(), pack.as_os_str(), "--check".as_ref()]);
        (path, ran, wanted)
    }));
}

#[test]
fn large_files_of_nonsense_are_contained() {
    let opening = "procedure(#{ title: \"Invented\", version: \"1.0.0\" });\n";
    let fill = |piece: &str| format!("{opening}{}", piece.repeat(250_000 / piece.len()));
    let numbered = |piece: &dyn Fn(usize) -> String| {
        let mut text = opening.to_owned();
        for n in 0.. {
            text.push_str(&piece(n));
            if text.len() > 250_000 {
                return text;
            }
        }
        text
    };
    let corpus = Corpus::new();
    for (name, text, expected) in [
        ("unknown_words.rhai", fill("nonsense();"), "there is no word \"nonsense\""),
        ("different_unknown_words.rhai", numbered(&|n| format!("word{n}();")), "there is no word \"word0\""),
        ("unknown_properties.rhai", numbered(&|n| format!("1.x{n};")), "a number has no .x0"),
        ("unknown_keys.rhai", numbered(&|n| format!("circuit(#{{k{n}: 1}});")), "knows no key \"k0\""),
        ("unknown_modules.rhai", fill("m::a();"), "no module has been imported as"),
        ("closures.rhai", fill("[|x| x];"), "number of functions"),
        ("imports.rhai", fill("import \"steps\" as s;"), "Too many modules"),
        ("brackets.rhai", fill("("), "exceeds maximum complexity"),
        ("comments.rhai", fill("/*"), "this comment is never closed"),
        ("long_name.rhai", fill("x") + ";", "\"xxx"),
        ("statements.rhai", fill("1;"), "a loop does not end"),
        ("texts.rhai", fill("say(\"a\");"), "more than 5000 things"),
        ("questions.rhai", fill("ready(\"a\");"), "more than 2000 questions"),
        ("nulls.rhai", fill("\0"), "the hidden character U+0000"),
    ] {
        let output = corpus.rehearse(&corpus.add(name, &text));
        if let Some(complaint) = complaint(&output, expected) {
            panic!("{name} {}", complaint.chars().take(2_000).collect::<String>());
        }
        assert!(output.err.len() < 20_000, "{name} floods the screen with {} bytes", output.err.len());
    }
}

#[test]
fn bytes_that_are_no_text_are_refused_with_their_line() {
    let corpus = Corpus::new();
    let path = corpus.path("bytes.rhai");
    fs::File::create(&path).unwrap().write_all(b"// fine\n\xff\xfe\x00").unwrap();
    let output = corpus.rehearse(&path);
    assert_eq!(complaint(&output, "line 2 is not UTF-8 text"), None);
}

#[test]
fn a_panic_of_the_host_stops_the_walk_and_not_the_program() {
    let text = "procedure(#{ title: \"Invented\", version: \"1.0.0\" });\nready(\"Now.\");\n";
    let faulty = Answering(|_: &Question| panic!("a fault of the desk's own"));
    let bench = BenchState::new(RigParts::USUAL, None, 0.95);
    let unit = crate::quantity::Unit::by_text("inHg").unwrap();
    let stop = compiled(text).run(Walk::new(Box::new(faulty), bench, unit)).err();
    let Some(Stop::Broken(fault)) = stop else { panic!("the walk went on: {stop:?}") };
    assert!(fault.message.contains("a fault of the program itself"), "{}", fault.message);
}
