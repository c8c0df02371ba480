use std::cell::OnceCell;
use std::collections::{BTreeMap, BTreeSet};

use rhai::{AST, ASTNode, Expr, Position};

use super::super::check;
use super::super::influence::Influences;
use super::super::language::{Stands, Word, engine_to_compile, word_named};
use super::super::syntax::parse;
use super::engine::{FAULT, contained};
use super::pictures::is_picture_name;
use super::run::Spare;
use super::source::SourceFile;
use super::written_out::with_circuits_made;
use super::{Fault, Outline, Site, Source};
use crate::leak::OilState;
use crate::record::{PortMap, ProcedureIdentity};

/// The most bytes that the files of a procedure may have in all.
const MOST_BYTES: usize = 512 << 10;

/// What a procedure declares itself to be.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct Title {
    pub title: String,
    /// The unit that it tests; none for a bench job.
    pub unit: Option<String>,
    pub version: String,
    /// The complaints that it is for.
    pub symptoms: Vec<String>,
    /// What a replacement for the body costs.
    pub replacement: Option<f64>,
    /// Oil at working conditions.
    pub oil: Option<OilState>,
    /// A picture of the unit, and where ports lie on it.
    pub map: Option<PortMap>,
}

/// A procedure that has been read, compiled and checked.
#[derive(Debug)]
pub struct Program {
    pub(crate) source: Source,
    pub(crate) title: Title,
    /// Whether it says itself when the rig is set; else that comes before its first test.
    pub(crate) sets_rig: bool,
    /// The compiled files, in the order of the source.
    pub(super) compiled: Vec<AST>,
    /// The procedure's own file as it is run: with each circuit that is written out made already.
    pub(crate) as_run: AST,
    words: Vec<WordCall>,
    /// Every text that is written out, with its first place.
    texts: BTreeMap<String, Site>,
    outline: OnceCell<(Outline, Option<Fault>)>,
    pub(super) spare: Spare,
    influences: OnceCell<Influences>,
}

/// A call of a word in a script.
#[derive(Debug)]
struct WordCall {
    word: &'static Word,
    site: Site,
    /// Its text, where all of it is written out.
    text: Option<String>,
    /// The texts that are written out in it.
    pieces: Vec<String>,
}

impl Program {
    /// Compiles a procedure and checks every name in it; of its statements only the declaration of its title is run.
    pub fn compile(source: Source) -> Result<Program, Vec<Fault>> {
        let name = source.files.first().map(|file| file.name.clone()).unwrap_or_default();
        let fault = || Err(vec![Fault::new(&name, Position::NONE, FAULT)]);
        contained(|| Program::compile_uncontained(source)).unwrap_or_else(fault)
    }

    fn compile_uncontained(source: Source) -> Result<Program, Vec<Fault>> {
        if source.files.iter().map(|file| file.bytes.len()).sum::<usize>() > MOST_BYTES {
            let message = format!("the procedure's files are larger than {} KiB in all", MOST_BYTES / 1024);
            return Err(vec![Fault::new(&source.files[0].name, Position::NONE, message)]);
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
            // What was said first of a place is the most to the point.
            faults.dedup_by(|next, first| {
                first.line.is_some()
                    && (&first.file, first.line, first.column) == (&next.file, next.line, next.column)
            });
            return Err(faults);
        }
        let compiled: Vec<AST> = parsed.into_iter().filter_map(|parsed| parsed.ast).collect();
        let mut program = Program {
            source,
            title: Title::default(),
            sets_rig: false,
            as_run: compiled.first().map(|own| with_circuits_made(&engine, own)).unwrap_or_default(),
            compiled,
            words: Vec::new(),
            texts: BTreeMap::new(),
            outline: OnceCell::new(),
            spare: Spare::default(),
            influences: OnceCell::new(),
        };
        program.title = program.declared().map_err(|fault| vec![fault])?;
        program.survey();
        Ok(program)
    }

    /// Takes note of what is written in its files, also in branches that no walk comes by.
    fn survey(&mut self) {
        let Program { words, texts, .. } = self;
        let mut known = BTreeSet::new();
        for (file, ast) in self.source.files.iter().zip(&self.compiled) {
            check::visit(ast, |path| {
                if let Some(ASTNode::Expr(Expr::StringConstant(text, position))) = path.last() {
                    texts.entry(text.to_string()).or_insert_with(|| Site::of(&file.name, *position));
                }
                let Some((call, position)) = check::call(path) else { return };
                if !call.namespace.is_empty() {
                    return;
                }
                if let Some(word) = word_named(&call.name) {
                    let site = Site::of(&file.name, position);
                    if known.insert((word.name, site.clone())) {
                        let text = call.args.iter().find_map(written_out);
                        let pieces = call.args.iter().flat_map(pieces).collect();
                        words.push(WordCall { word, site, text, pieces });
                    }
                }
            });
        }
        self.sets_rig = self.words.iter().any(|call| call.word.name == "calibrate");
    }

    /// Returns every statement that asks or tells the technician something, with its word.
    pub(crate) fn sites(&self) -> impl Iterator<Item = (&'static str, &Site)> {
        let asks =
            |word: &Word| matches!(word.stands, Stands::Anywhere | Stands::InTest) || word.name == "test";
        self.words.iter().filter(move |call| asks(call.word)).map(|call| (call.word.name, &call.site))
    }

    /// Returns the texts that are written out in the call of a word at a place.
    pub(crate) fn pieces_at(&self, site: &Site) -> &[String] {
        self.words.iter().find(|call| call.site == *site).map_or(&[], |call| &call.pieces)
    }

    /// Returns where a text stands first; the whole procedure where it is put together.
    pub(crate) fn place_of(&self, text: &str) -> Option<&Site> {
        self.texts.get(text)
    }

    /// Returns the texts that are written out in calls of a word, wherever they stand. A text that is put together of
    /// others counts where all of them are written out.
    pub(crate) fn texts_of(&self, word: &str) -> impl Iterator<Item = &String> {
        self.words.iter().filter(move |call| call.word.name == word).filter_map(|call| call.text.as_ref())
    }

    /// Returns what the procedure does, worked out once.
    pub(crate) fn outline(&self) -> Result<&Outline, Fault> {
        let (outline, fault) = self.outlined();
        fault.as_ref().map_or(Ok(outline), |fault| Err(fault.clone()))
    }

    /// Returns what hangs on what in it, worked out once.
    pub(crate) fn influences(&self) -> &Influences {
        self.influences.get_or_init(|| Influences::of(&self.source, &self.compiled))
    }

    pub(super) fn outlined(&self) -> &(Outline, Option<Fault>) {
        self.outline.get_or_init(|| Outline::of(self))
    }

    /// Returns what a record says of the procedure: its title, where it came from, and its files.
    pub(crate) fn identity(&self) -> ProcedureIdentity {
        let title = self.title.clone();
        ProcedureIdentity {
            id: self.source.id.clone(),
            title: title.title,
            unit: title.unit,
            version: title.version,
            sets_rig: self.sets_rig,
            oil: title.oil,
            origin: self.source.origin,
            signer: self.source.signer.clone(),
            files: self.source.digests(),
            pictures: self.source.picture_digests(),
            map: title.map,
        }
    }
}

/// Returns the texts that are written out in an expression, in their order.
fn pieces(expression: &Expr) -> Vec<String> {
    let mut found = Vec::new();
    expression.walk(&mut Vec::new(), &mut |path: &[ASTNode<'_>]| {
        if let Some(ASTNode::Expr(Expr::StringConstant(text, _))) = path.last()
            && !is_picture_name(text)
        {
            found.push(text.to_string());
        }
        true
    });
    found
}

fn written_out(expression: &Expr) -> Option<String> {
    match expression {
        Expr::StringConstant(text, _) => Some(text.to_string()),
        Expr::FnCall(call, _) if call.op_token.is_some() && call.name == "+" => {
            call.args.iter().map(written_out).collect()
        }
        _ => None,
    }
}
