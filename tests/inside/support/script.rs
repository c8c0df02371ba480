//! Procedures written into a test.

use std::path::Path;

use crate::procedure::{Fault, Program, SHIPPED, Source};

/// What every script of a test begins with, on its first line, unless it says otherwise.
const HEAD: &str = "procedure(#{ title: \"Test\", version: \"1.0.0\" });";
/// What goes on there where the script has a use for it.
const CIRCUIT: &str = " let c = circuit(#{ name: \"c\", holds: 20.inHg, leaks: 15.inHg });";

/// A script as a test writes it: `▸` marks where a fault is to be reported, a line `@@ name.rhai` begins a module.
pub(crate) struct Script {
    /// Its files, the procedure first.
    pub(crate) files: Vec<(String, String)>,
    /// File, line and column of the mark.
    pub(crate) mark: Option<(String, usize, usize)>,
}

impl Script {
    /// Reads a script that goes on after the usual first line, which defines the circuit `c` where it is used.
    pub(crate) fn new(text: &str) -> Script {
        let circuit = if ["(c)", "(c,", "c.", " c ", " c;", "▸c "].iter().any(|use_| text.contains(use_)) {
            CIRCUIT
        } else {
            ""
        };
        Script::whole(&format!("{HEAD}{circuit}\n{text}"))
    }

    /// Reads a script that stands for itself.
    pub(crate) fn whole(text: &str) -> Script {
        let mut script = Script { files: vec![("test.rhai".to_owned(), String::new())], mark: None };
        for line in text.split_inclusive('\n') {
            if let Some(name) = line.strip_prefix("@@ ") {
                script.files.push((name.trim().to_owned(), String::new()));
                continue;
            }
            let (name, file) = script.files.last_mut().expect("a file");
            if let Some(at) = line.find('▸') {
                let column = line[..at].chars().count() + 1;
                script.mark = Some((name.clone(), file.lines().count() + 1, column));
            }
            file.push_str(&line.replace('▸', ""));
        }
        script
    }

    /// Compiles it, without a folder.
    pub(crate) fn compile(&self) -> Result<Program, Vec<Fault>> {
        Program::compile(sources(&self.files))
    }
}

/// Makes a source of files at hand, with the shipped pictures that they name.
pub(crate) fn sources(files: &[(String, String)]) -> Source {
    let pictures = SHIPPED.iter().map(|shipped| format!("{}.png", shipped.id));
    let pictures =
        pictures.filter(|name| files.iter().any(|(_, text)| text.contains(&format!("\"{name}\""))));
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("procedures");
    let pictures = pictures.filter_map(|name| Some((std::fs::read(folder.join(&name)).ok()?, name)));
    let texts = files.iter().map(|(name, text)| (name.clone(), text.as_bytes().to_vec()));
    let files = texts.chain(pictures.map(|(bytes, name)| (name, bytes)));
    Source::from_files("test", files).expect("text")
}

/// Makes a source of one text.
pub(crate) fn source(text: &str) -> Source {
    sources(&[("test.rhai".to_owned(), text.to_owned())])
}

/// Compiles a text that is a sound procedure.
#[track_caller]
pub(crate) fn compiled(text: &str) -> Program {
    Program::compile(source(text)).expect("a sound procedure")
}
