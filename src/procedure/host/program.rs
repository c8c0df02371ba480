use rhai::{AST, ASTNode, Expr, Stmt};

use super::super::check;
use super::super::language::engine_to_compile;
use super::super::syntax::{Kind, parse, tokens};
use super::contained::{FAULT, contained};
use super::source::{Import, SourceFile};
use super::{Fault, Site, Source, engine::engine};

/// The most bytes that the files of a procedure may have in all.
const MOST_BYTES: usize = 512 << 10;

/// A procedure that has been read, compiled and checked.
#[derive(Debug)]
pub struct Program {
    /// Its text.
    pub source: Source,
    /// The compiled files, in the order of the source.
    pub(crate) compiled: Vec<AST>,
    /// How many circuits it describes where nothing is amiss.
    pub n_circuits: usize,
    /// Whether it says itself when the rig is set; else that comes before its first question.
    pub sets_rig: bool,
}

impl Program {
    /// Returns every statement that asks or tells the technician something, with its word.
    pub fn sites(&self) -> Vec<(&'static str, Site)> {
        let files = self.source.files.iter().zip(&self.compiled);
        let sites = files.flat_map(|(file, ast)| {
            check::sites(ast).into_iter().map(|(word, position)| {
                let (line, column) =
                    (position.line().unwrap_or_default(), position.position().unwrap_or_default());
                (word, Site { file: file.name.clone(), line, column })
            })
        });
        sites.collect()
    }

    /// Returns whether the script asks for one of these properties anywhere.
    pub fn asks_for(&self, properties: &[&str]) -> bool {
        let mut found = false;
        for ast in &self.compiled {
            ast.walk(&mut |path: &[ASTNode<'_>]| {
                found |= matches!(path.last(), Some(ASTNode::Expr(Expr::Property(names, _)))
                    if properties.contains(&names.2.as_str()));
                !found
            });
        }
        found
    }

    /// Returns whether the script asks anywhere for what is not true of something: `!` before a name, and this property of it.
    pub fn asks_for_no(&self, property: &str) -> bool {
        self.source.files.iter().any(|file| {
            let pieces = tokens(&file.text);
            pieces
                .windows(4)
                .any(|at| at[0].is("!") && at[1].kind == Kind::Word && at[2].is(".") && at[3].is(property))
        })
    }

    /// Compiles a procedure and checks every name in it, without running it.
    ///
    /// # Errors
    /// Everything that was found wrong.
    pub fn compile(source: Source) -> Result<Program, Vec<Fault>> {
        let name = source.files.first().map(|file| file.name.clone()).unwrap_or_default();
        let fault = || Err(vec![Fault::new(&name, rhai::Position::NONE, FAULT)]);
        contained(|| Program::compile_uncontained(source)).unwrap_or_else(fault)
    }

    fn compile_uncontained(source: Source) -> Result<Program, Vec<Fault>> {
        if source.files.iter().map(|file| file.bytes.len()).sum::<usize>() > MOST_BYTES {
            let message = format!("the procedure's files are larger than {} KiB in all", MOST_BYTES / 1024);
            return Err(vec![Fault::new(&source.files[0].name, rhai::Position::NONE, message)]);
        }
        let hidden: Vec<_> = source.files.iter().filter_map(SourceFile::hidden_character).collect();
        if !hidden.is_empty() {
            return Err(hidden);
        }
        let engine = engine_to_compile();
        let parsed: Vec<_> = source.files.iter().map(|file| parse(&engine, file)).collect();
        let mut faults: Vec<_> = parsed.iter().flat_map(|parsed| parsed.faults.iter().cloned()).collect();
        faults.extend(check::check(&engine, &source, &parsed));
        if !faults.is_empty() {
            faults.sort_by_key(|fault| (source.place(&fault.file), fault.line, fault.column));
            return Err(faults);
        }
        let compiled: Vec<_> = parsed.into_iter().filter_map(|parsed| parsed.ast).collect();
        let sets_rig = compiled.iter().any(|ast| check::calls(ast, "calibrate"));
        let mut program = Program { source, compiled, n_circuits: 0, sets_rig };
        program.n_circuits = program.circuits().map_or(0, |circuits| circuits.len());
        Ok(program)
    }
}

/// Returns the imports of a file; none where it can't be parsed, which checking it reports.
pub(crate) fn imports_of(file: &SourceFile) -> Result<Vec<Import>, Fault> {
    let Some(Some(ast)) = contained(|| parse(&engine(), file).ast) else { return Ok(Vec::new()) };
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
        Some(position) => Err(Fault::new(&file.name, position, "the name of a module is computed here")
            .help("write the module's name in quotes, as in import \"steps\" as steps")),
        None => Ok(imports),
    }
}
