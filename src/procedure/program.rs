use rhai::{AST, ASTNode, Engine, Expr, Stmt};

use super::contained::{FAULT, contained};
use super::source::{Import, SourceFile};
use super::{Diagnostic, Source, check, engine::engine, modules, syntax, words};

/// A procedure that has been read, compiled and checked.
#[derive(Debug)]
pub struct Program {
    /// Its text.
    pub source: Source,
    /// The compiled files, in the order of the source.
    pub(super) compiled: Vec<AST>,
    /// Calls of `circuit` in all files.
    pub n_circuits: usize,
    /// Whether it says itself when the rig is set; else that comes before its first question.
    pub sets_rig: bool,
}

impl Program {
    /// Compiles a procedure and checks every name in it, without running it.
    ///
    /// # Errors
    /// Everything that was found wrong.
    pub fn compile(source: Source) -> Result<Program, Vec<Diagnostic>> {
        let name = source.files.first().map(|file| file.name.clone()).unwrap_or_default();
        let fault = || Err(vec![Diagnostic::new(&name, rhai::Position::NONE, FAULT)]);
        contained(|| Program::compile_uncontained(source)).unwrap_or_else(fault)
    }

    fn compile_uncontained(source: Source) -> Result<Program, Vec<Diagnostic>> {
        let mut diagnostics: Vec<_> = source.files.iter().filter_map(SourceFile::hidden_character).collect();
        if !diagnostics.is_empty() {
            return Err(diagnostics);
        }
        let engine = words::engine_to_compile();
        let mut compiled = Vec::new();
        for file in &source.files {
            match compile_file(&engine, file) {
                Ok(ast) => compiled.push(ast),
                Err(diagnostic) => diagnostics.push(diagnostic),
            }
        }
        if diagnostics.is_empty() {
            diagnostics = modules::check(&source);
        }
        if diagnostics.is_empty() {
            diagnostics = check::check(&engine, &source, &compiled);
        }
        if !diagnostics.is_empty() {
            return Err(diagnostics);
        }
        let n_calls = |word| compiled.iter().map(|ast| check::count_calls(ast, word)).sum::<usize>();
        let (n_circuits, sets_rig) = (n_calls("circuit"), n_calls("calibrate") > 0);
        Ok(Program { source, compiled, n_circuits, sets_rig })
    }
}

pub(super) fn compile_file(engine: &Engine, file: &SourceFile) -> Result<AST, Diagnostic> {
    let mut ast = engine.compile(&file.text).map_err(|error| syntax::explain(file, &error))?;
    ast.set_source(file.name.as_str());
    match open_comment(engine, file) {
        Some(diagnostic) => Err(diagnostic),
        None => Ok(ast),
    }
}

/// Finds a comment that is never closed. Rhai takes the rest of the file for part of it without a word, and the tests
/// in there would never be done; so would a stray bracket at the very end, which is how it shows.
fn open_comment(engine: &Engine, file: &SourceFile) -> Option<Diagnostic> {
    let at = file.text.rfind("/*")?;
    engine.compile(format!("{}\n)", file.text)).ok()?;
    let before = &file.text[..at];
    let line = before.matches('\n').count() + 1;
    let column = before.rsplit('\n').next().map_or(0, |line| line.chars().count()) + 1;
    let message = "this comment is never closed, and what follows it would not be done";
    Some(Diagnostic::at(&file.name, line, column, message).help("close it with */"))
}

/// Returns the imports of a file; none where it does not compile, which checking it reports.
pub(super) fn imports(file: &SourceFile) -> Result<Vec<Import>, Diagnostic> {
    let Ok(ast) = compile_file(&engine(), file) else { return Ok(Vec::new()) };
    let mut imports = Vec::new();
    let mut computed = None;
    ast.walk(&mut |path: &[ASTNode<'_>]| {
        if let Some(ASTNode::Stmt(Stmt::Import(parts, position))) = path.last() {
            match &parts.0 {
                Expr::StringConstant(name, _) => {
                    imports.push(Import {
                        file: file.name.clone(),
                        path: name.to_string(),
                        position: *position,
                    });
                }
                _ => computed = Some(*position),
            }
        }
        true
    });
    match computed {
        Some(position) => Err(Diagnostic::new(&file.name, position, "the name of a module is computed here")
            .help("write the module's name in quotes, as in import \"steps\" as steps")),
        None => Ok(imports),
    }
}
