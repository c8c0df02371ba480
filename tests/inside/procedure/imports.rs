//! Modules come from the procedure's own folder only, and are checked like the procedure before it runs.

use std::path::Path;

use crate::procedure::{Fault, Program, Source};
use crate::session::Ended;
use crate::tests::support::{Script, Shopfront, keyed};

const TITLE: &str = "procedure(#{ title: \"T\", version: \"1.0.0\" });";

/// Writes the files of a script into a folder and reads the procedure from there.
fn read(folder: &Path, script: &Script) -> Result<Source, Fault> {
    for (name, text) in &script.files {
        std::fs::write(folder.join(name), text).unwrap();
    }
    Source::from_path(&folder.join("test.rhai"))
}

/// File, line and column of a fault.
fn place(fault: &Fault) -> Option<(String, usize, usize)> {
    let (line, column) = fault.line.zip(fault.column)?;
    Some((fault.file.clone(), line, column))
}

/// Checks that a procedure in a folder of its own is refused, with this in the message, at the mark; `TITLE` in it
/// stands for the usual first statement.
#[track_caller]
fn check_refused(text: &str, wanted: &str) {
    let folder = tempfile::tempdir().unwrap();
    let script = Script::whole(&text.replace("TITLE", TITLE));
    let found = match read(folder.path(), &script) {
        Err(fault) => vec![fault],
        Ok(source) => Program::compile(source).expect_err("an error"),
    };
    let fits = |fault: &Fault| fault.message.contains(wanted) && place(fault) == script.mark;
    assert!(found.iter().any(fits), "no {wanted:?} at {:?} in {found:#?}", script.mark);
}

#[test]
fn a_module_beside_the_procedure_is_read_and_its_digest_kept() {
    let folder = tempfile::tempdir().unwrap();
    let script = Script::whole(&format!(
        "import \"steps\" as steps;\n{TITLE}\nif steps::LIMIT > 2 {{ steps::greet(steps::deep::word()); }}\n\
         @@ steps.rhai\nimport \"more\" as deep;\nexport const LIMIT = 5;\nfn greet(whom) {{ say(\"hello \" + whom); }}\n\
         @@ more.rhai\nfn word() {{ \"there\" }}\n"
    ));
    let source = read(folder.path(), &script).unwrap();
    let names: Vec<_> = source.digests().iter().map(|digest| digest.name.clone()).collect();
    assert_eq!(names, ["test.rhai", "steps.rhai", "more.rhai"]);
    // SHA-256 of the third file by an independent program (sha256sum of GNU coreutils).
    assert_eq!(
        source.digests()[2].sha256,
        "16a94f3dc1656ee6743f40e77c26e96495b5483c634ca618eec48b6eab47660f"
    );
    let front = Shopfront::of(Program::compile(source).unwrap());
    let record = front.finish(&[]);
    assert_eq!(record.procedure.files.len(), 3);
    assert!(front.shown().contains("hello there"), "{}", front.shown());
}

#[test]
fn nothing_outside_the_folder_can_be_imported() {
    let outside = tempfile::tempdir().unwrap();
    std::fs::write(outside.path().join("secret.rhai"), "fn f() { }").unwrap();
    let absolute = outside.path().join("secret").display().to_string().replace('\\', "/");
    let outside =
        keyed("../secret | ./secret | sub/secret | .. | /etc/passwd | C:\\\\secret | secret.rhai | ");
    assert_eq!(outside.len(), 8);
    for path in outside.into_iter().chain([absolute.as_str()]) {
        let text = format!("▸import \"{path}\" as x; TITLE");
        check_refused(&text, "is not a module of the procedure's own folder");
    }
    for (text, wanted) in [
        ("▸import \"gone\" as x; TITLE", "there is no module \"gone\""),
        ("TITLE\nlet n = \"steps\";\n  ▸import n as x;", "is computed here"),
        ("TITLE\nfn f() { ▸import \"../secret\" as x; }", "own folder"),
        ("TITLE\nif false { let f = || { ▸import \"gone\" as x; }; }", "there is no module"),
        ("import \"steps\" as x; TITLE\n@@ steps.rhai\n\n▸import \"../secret\" as y;", "own folder"),
    ] {
        check_refused(text, wanted);
    }
}

#[cfg(unix)]
#[test]
fn a_link_that_leads_out_of_the_folder_is_not_followed() {
    let outside = tempfile::tempdir().unwrap();
    std::fs::write(outside.path().join("secret.rhai"), "fn f() { }").unwrap();
    let folder = tempfile::tempdir().unwrap();
    let script = Script::whole(&format!("import \"steps\" as x; {TITLE}"));
    std::os::unix::fs::symlink(outside.path().join("secret.rhai"), folder.path().join("steps.rhai")).unwrap();
    let errors = Program::compile(read(folder.path(), &script).unwrap()).unwrap_err();
    let [error] = errors.as_slice() else { panic!("{errors:#?}") };
    assert!(error.message.contains("there is no module \"steps\""), "{}", error.message);
    assert_eq!((error.line, error.column), (Some(1), Some(1)));

    std::fs::remove_file(folder.path().join("steps.rhai")).unwrap();
    std::fs::write(folder.path().join("real.rhai"), "fn f() { }").unwrap();
    std::os::unix::fs::symlink("real.rhai", folder.path().join("steps.rhai")).unwrap();
    read(folder.path(), &script).expect("a link inside the folder is a file of the folder");
}

#[test]
fn a_module_holds_functions_and_constants_only() {
    let with = |module: &str| format!("import \"steps\" as steps; TITLE\n@@ steps.rhai\n{module}");
    let only = "functions and constants only";
    check_refused(&with("▸say(\"early\");"), only);
    check_refused(&with("▸if true { }"), only);
    check_refused(&with("let x = 5;\nx ▸+= 1;"), only);
    check_refused(&with("▸loop { }"), only);
    check_refused(&with("▸return 5;"), "");
    let early = "would happen before the procedure begins";
    check_refused(&with("const ANSWER = ▸ask_yes(\"?\");"), early);
    let circuit = "let x = [#{ a: ▸circuit(#{ name: \"x\", holds: 2.inHg, leaks: 1.inHg }) }];";
    check_refused(&with(circuit), early);
    let folder = tempfile::tempdir().unwrap();
    let quiet = with(
        "// Steps.\nimport \"more\" as more;\nconst X = 20.inHg;\nlet f = |x| { say(x) };\nexport X as LIMIT;\n@@ more.rhai\n",
    );
    let quiet = Script::whole(&quiet.replace("TITLE", TITLE));
    Program::compile(read(folder.path(), &quiet).unwrap()).unwrap();
}

#[test]
fn modules_that_need_each_other_are_refused_before_they_run() {
    for text in [
        "▸import \"test\" as me; TITLE",
        "import \"a\" as a; TITLE\n@@ a.rhai\n▸import \"a\" as a;",
        "import \"a\" as a; TITLE\n@@ a.rhai\nimport \"b\" as b;\n@@ b.rhai\n\n▸import \"a\" as a;",
        "import \"a\" as a; TITLE\n@@ a.rhai\nfn f() { ▸import \"test\" as t; }",
    ] {
        check_refused(text, "round in a circle");
    }
    let folder = tempfile::tempdir().unwrap();
    let diamond = format!(
        "import \"a\" as a; import \"b\" as b; {TITLE}\n@@ a.rhai\nimport \"c\" as c;\n@@ b.rhai\nimport \"c\" as c;\n@@ c.rhai\n"
    );
    Program::compile(read(folder.path(), &Script::whole(&diamond)).unwrap()).unwrap();
}

#[test]
fn what_a_module_does_not_lend_is_found_before_running() {
    let with = |use_: &str| {
        format!(
            "import \"steps\" as steps; TITLE\nif false {{ {use_} }}\n@@ steps.rhai\n\
             // fn absent(n) is only spoken of.\nexport const LIMIT = 5; const OWN = 6;\n\
             fn walk(n) {{ n }}\nprivate fn hidden(n) {{ n }}\n"
        )
    };
    check_refused(&with("steps::▸wlak(1);"), "has no function \"wlak\"");
    check_refused(&with("steps::▸absent(1);"), "has no function \"absent\"");
    check_refused(&with("steps::▸hidden(1);"), "has no function \"hidden\"");
    check_refused(&with("steps::▸walk(1, 2);"), "does not take 2 arguments");
    check_refused(&with("let x = steps::▸LIMITS;"), "lends no \"LIMITS\"");
    check_refused(&with("let x = steps::▸OWN;"), "lends no \"OWN\"");
    check_refused(&with("steps::deep::▸walk(1);"), "there is no module");
}

/// Checks where a fault inside a module or a closure is reported.
#[track_caller]
fn check_stopped(text: &str) {
    let script = Script::whole(text);
    let front = Shopfront::of(script.compile().unwrap());
    let Ended::Broken(found) = front.walk(&["22"; 4]) else { panic!("{}", front.shown()) };
    assert_eq!(place(&found), script.mark, "{}", found.message);
}

#[test]
fn a_fault_is_reported_in_the_file_and_line_that_it_lies_in() {
    let head = format!("import \"steps\" as steps; {TITLE}");
    for text in [
        "fn f(x) {\n\n  x ▸> \"5\"\n}\nf(5);",
        "fn f(x) {\n  [x].map(|y|\n y ▸> \"5\") }\nfn g(x) { f(x) }\ng(5);",
        "fn f(x) { x ▸> \"5\" }\ntest(c, |t| { t.read(); f(5); });",
        "fn f(r) {\n r ▸> 5 }\ntest(c, |t| {\n  f(t.read()) });",
        "fn f(x) { x ▸> \"4\" }\n[1].for_each(|x| {\n f(x) });",
        "steps::fault(5);\n@@ steps.rhai\n// One.\nfn fault(x) {\n  x ▸> \"5\"\n}",
        "test(c, |t| { t.read(); steps::fault(5); });\n@@ steps.rhai\nfn fault(x) {\n helper(x) }\nfn helper(x) { [1].for_each(|y| x ▸> \"5\"); }",
        "steps::body(c);\n@@ steps.rhai\nfn body(c) {\n  test(c, |t| {\n\n  judge(t.read()) });\n}\nfn judge(r) {\n\n r ▸> 5 }",
        "fn same(x) {\n x > 4 }\nsame(5); steps::same(5);\n@@ steps.rhai\nfn same(x) { x ▸> \"5\" }",
        "fn same(x) {\n x ▸> \"5\" }\nsteps::same(5); same(5);\n@@ steps.rhai\nfn same(x) { x > 4 }",
        "fn f(m) {\n m.value ▸> 5.inHg }\nlet bore = ask_number(\"Bore?\", #{\n unit: \"mm\" });\nf(bore);",
    ] {
        let circuit = "let c = circuit(#{ name: \"c\", holds: 20.inHg, leaks: 15.inHg });";
        let text = format!("{head} {}\n{text}", if text.contains("(c") { circuit } else { "" });
        check_stopped(&if text.contains("@@") { text } else { format!("{text}\n@@ steps.rhai\n") });
    }
}
