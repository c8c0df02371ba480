use std::collections::{BTreeMap, BTreeSet, HashMap};

use rhai::{AST, ASTNode, FlowControl, Stmt};

use super::super::{Site, Source, check};
use super::{Aspect, Influence, Influences, Statement};

/// Going through a procedure more often than this settles nothing.
const MOST_PASSES: usize = 40;

/// A variable of the script, told from others of its name.
#[derive(Debug, Default)]
struct Variable {
    hangs_on: Influence,
    /// The body that it belongs to.
    home: usize,
}

/// A function, a set of steps, or the procedure itself.
#[derive(Debug, Default)]
pub(super) struct Body {
    /// What decides whether it is walked at all.
    pub(super) hangs_on: Influence,
    pub(super) returns: Influence,
    /// Every call in it that asks.
    pub(super) asks: BTreeSet<usize>,
    /// What decides whether something is read in it.
    pub(super) reads: Influence,
    /// Whether it is the steps of a test.
    pub(super) is_test: bool,
    /// The calls that may be left when some of what is seen outside the test has changed already. Leaving any other is
    /// as leaving the test out.
    pub(super) leavings: BTreeSet<usize>,
    /// Whether something of that has changed, as far as it has been gone through.
    pub(super) has_changed: bool,
}

/// The text of a function or of a set of steps.
pub(super) struct Text {
    pub(super) parameters: Vec<String>,
    pub(super) statements: Vec<Stmt>,
}

type Signature = (usize, String, usize);

/// Follows what hangs on what through the text, again and again until nothing is added.
///
/// Variables are told apart by where they are declared. A function counts once, whoever calls it: what its callers hang
/// on comes together in it.
pub(super) struct Tracer<'a> {
    source: &'a Source,
    pub(super) texts: HashMap<Signature, std::rc::Rc<Text>>,
    /// The bodies of the functions, by their texts.
    pub(super) functions: BTreeMap<Signature, usize>,
    /// For each file, the files that its aliases stand for.
    pub(super) aliases: Vec<HashMap<String, usize>>,
    pub(super) bodies: Vec<Body>,
    variables: Vec<Variable>,
    /// The variables of each function, `this` first.
    pub(super) parameters: BTreeMap<usize, Vec<usize>>,
    /// What decides whether a loop goes on.
    loops: Vec<Influence>,
    /// Whether what is seen outside a test changes in a loop of it.
    changes: Vec<bool>,
    numbers: HashMap<Site, usize>,
    pub(super) found: Influences,
    troubles: BTreeSet<Influence>,
    /// Steps that are handed on under a name: what decides whether they are walked, what they get and give.
    pub(super) handed_on: Body,
    pub(super) handed_over: Influence,
    pub(super) has_grown: bool,
    n_bodies: usize,
    n_variables: usize,
    n_loops: usize,
    scopes: Vec<Vec<(String, usize)>>,
    around: Vec<usize>,
    exits: Influence,
    pub(super) file: usize,
    /// The test, function or procedure that variables belong to here, and the body that `return` ends.
    pub(super) home: usize,
    pub(super) body: usize,
    /// What decides whether the statement at hand is reached.
    pub(super) here: Influence,
}

impl Influences {
    /// Works out what hangs on what in the files of a procedure.
    pub(crate) fn of(source: &Source, asts: &[AST]) -> Influences {
        let mut tracer = Tracer::new(source, asts);
        for _ in 0..MOST_PASSES {
            tracer.has_grown = false;
            tracer.pass(asts);
            if !tracer.has_grown {
                return tracer.finished();
            }
        }
        let mut found = tracer.finished();
        found.statements.iter_mut().for_each(|statement| statement.hangs_on = Influence::all());
        found
    }
}

impl<'a> Tracer<'a> {
    fn new(source: &'a Source, asts: &[AST]) -> Tracer<'a> {
        let (mut texts, mut functions) = (HashMap::new(), BTreeMap::new());
        for (file, ast) in asts.iter().enumerate() {
            for function in ast.iter_functions() {
                let signature = (file, function.name.to_owned(), function.params.len());
                if !function.name.starts_with("anon$") {
                    let next = asts.len() + functions.len();
                    functions.entry(signature.clone()).or_insert(next);
                }
                let parameters = function.params.iter().map(|name| (*name).to_owned()).collect();
                let mut only = ast.clone_functions_only();
                only.retain_functions(|_, _, name, n| name == function.name && n == function.params.len());
                let mut statements = Vec::new();
                check::visit(&only, |path| {
                    if let [ASTNode::Stmt(statement)] = path {
                        statements.push((*statement).clone());
                    }
                });
                texts.insert(signature, std::rc::Rc::new(Text { parameters, statements }));
            }
        }
        let alias = |import: check::Import| {
            let name = format!("{}.rhai", import.path?);
            Some((import.alias, source.files.iter().position(|file| file.name == name)?))
        };
        let aliases =
            asts.iter().map(|ast| check::imports_in(ast).into_iter().filter_map(alias).collect()).collect();
        Tracer {
            source,
            texts,
            aliases,
            bodies: Vec::new(),
            variables: Vec::new(),
            parameters: BTreeMap::new(),
            loops: Vec::new(),
            changes: Vec::new(),
            numbers: HashMap::new(),
            found: Influences::default(),
            troubles: BTreeSet::new(),
            handed_on: Body::default(),
            handed_over: Influence::default(),
            has_grown: false,
            n_bodies: 0,
            n_variables: 0,
            n_loops: 0,
            scopes: Vec::new(),
            around: Vec::new(),
            exits: Influence::default(),
            file: 0,
            home: 0,
            body: 0,
            here: Influence::default(),
            functions,
        }
    }

    fn pass(&mut self, asts: &[AST]) {
        (self.n_bodies, self.n_variables, self.n_loops) = (asts.len() + self.functions.len(), 0, 0);
        while self.bodies.len() < self.n_bodies {
            self.bodies.push(Body::default());
        }
        for (file, ast) in asts.iter().enumerate() {
            (self.file, self.home) = (file, file);
            self.within(file, Influence::default(), |tracer| tracer.statements(ast.statements()));
        }
        for (signature, body) in self.functions.clone() {
            let Some(text) = self.texts.get(&signature).cloned() else { continue };
            (self.file, self.home) = (signature.0, body);
            let scopes = std::mem::take(&mut self.scopes);
            self.scopes.push(Vec::new());
            let names = std::iter::once("this").chain(text.parameters.iter().map(String::as_str));
            let parameters = names.map(|name| self.declare(name)).collect();
            self.parameters.insert(body, parameters);
            let here = self.bodies[body].hangs_on.clone();
            let value = self.within(body, here, |tracer| tracer.statements(&text.statements));
            self.has_grown |= self.bodies[body].returns.join(&value);
            self.scopes = scopes;
        }
    }

    /// Closes what was found: what a statement hangs on hangs on what decides whether it is asked.
    fn finished(mut self) -> Influences {
        let own: Vec<Influence> = self.found.statements.iter().map(|found| found.hangs_on.clone()).collect();
        let close = |influence: &Influence| {
            let mut closed = influence.clone();
            let mut open: Vec<_> =
                closed.strands.iter().map(|strand| (strand.asker, strand.is_far)).collect();
            let mut seen: BTreeSet<_> = open.iter().copied().collect();
            while let Some((asker, is_far)) = open.pop() {
                let more = if is_far { own[asker].seen_from_afar() } else { own[asker].clone() };
                closed.join(&more);
                let new = more.strands.iter().map(|strand| (strand.asker, strand.is_far));
                open.extend(new.filter(|strand| seen.insert(*strand)));
            }
            closed.looked_at()
        };
        for statement in &mut self.found.statements {
            statement.hangs_on = close(&statement.hangs_on);
        }
        self.found.troubles = self.troubles.iter().map(close).collect::<BTreeSet<_>>().into_iter().collect();
        self.found
    }

    /// Goes through a body of its own: what ends it early ends nothing around it.
    pub(super) fn within(
        &mut self,
        body: usize,
        here: Influence,
        walk: impl FnOnce(&mut Self) -> Influence,
    ) -> Influence {
        let kept = (
            std::mem::replace(&mut self.here, here),
            std::mem::take(&mut self.exits),
            std::mem::take(&mut self.around),
            std::mem::replace(&mut self.body, body),
        );
        let value = walk(self);
        (self.here, self.exits, self.around, self.body) = kept;
        value
    }

    pub(super) fn new_body(&mut self) -> usize {
        let body = self.n_bodies;
        self.n_bodies += 1;
        if self.bodies.len() == body {
            self.bodies.push(Body::default());
        }
        body
    }

    pub(super) fn open_scope(&mut self) {
        self.scopes.push(Vec::new());
    }

    pub(super) fn close_scope(&mut self) {
        self.scopes.pop();
    }

    pub(super) fn declare(&mut self, name: &str) -> usize {
        let variable = self.n_variables;
        self.n_variables += 1;
        if self.variables.len() == variable {
            self.variables.push(Variable::default());
        }
        self.variables[variable].home = self.home;
        if let Some(scope) = self.scopes.last_mut() {
            scope.push((name.to_owned(), variable));
        }
        variable
    }

    pub(super) fn variable(&self, name: &str) -> Option<usize> {
        let mut names = self.scopes.iter().rev().flat_map(|scope| scope.iter().rev());
        names.find(|(known, _)| known == name).map(|(_, variable)| *variable)
    }

    pub(super) fn held_by(&self, variable: usize) -> &Influence {
        &self.variables[variable].hangs_on
    }

    pub(super) fn number(&mut self, word: &'static str, position: rhai::Position) -> usize {
        let site = Site::of(&self.source.files[self.file].name, position);
        let next = self.found.statements.len();
        let number = *self.numbers.entry(site.clone()).or_insert(next);
        if number == next {
            let (hangs_on, says) = <(Influence, Influence)>::default();
            self.found.statements.push(Statement { word, site, hangs_on, says });
        }
        number
    }

    /// Takes note that something can go wrong here, by what it is done with.
    pub(super) fn trouble(&mut self, with: &Influence) {
        if !with.is_none() {
            self.troubles.insert(self.here.clone().with(with));
        }
    }

    /// Takes note of what a variable may hold from now on. What a test leaves behind hangs also on
    /// whether it was walked.
    pub(super) fn write(&mut self, variable: usize, value: &Influence) {
        let mut value = value.clone().with(&self.here);
        let home = &self.bodies[self.home];
        if home.is_test && self.variables[variable].home != self.home {
            value = value.seen_from_afar();
            for asker in &home.leavings {
                value.join(&Influence::one(*asker, Aspect::Leaving).seen_from_afar());
            }
            self.found.tests_are_tied = true;
            self.bodies[self.home].has_changed = true;
            for around in self.around.clone() {
                self.has_grown |= !std::mem::replace(&mut self.changes[around], true);
            }
        }
        self.give(variable, &value);
    }

    pub(super) fn give(&mut self, variable: usize, value: &Influence) {
        self.has_grown |= self.variables[variable].hangs_on.join(value);
    }

    pub(super) fn statements(&mut self, block: &[Stmt]) -> Influence {
        let before = self.here.clone();
        self.open_scope();
        let mut value = Influence::default();
        for statement in block {
            self.here.join(&self.exits);
            if let Some(innermost) = self.around.last() {
                self.here.join(&self.loops[*innermost]);
            }
            value = self.statement(statement);
        }
        self.close_scope();
        self.here = before;
        value
    }

    fn statement(&mut self, statement: &Stmt) -> Influence {
        match statement {
            Stmt::Var(parts, ..) => {
                let value = self.value(&parts.1);
                let variable = self.declare(&parts.0.name);
                self.write(variable, &value);
            }
            Stmt::Assignment(parts) => {
                let value = self.value(&parts.1.rhs);
                let (_, root) = self.rooted(&parts.1.lhs);
                if let Some(root) = root {
                    self.write(root, &value);
                }
                if parts
                    .0
                    .get_op_assignment_info()
                    .is_some_and(|(_, _, _, op, ..)| matches!(op, "/=" | "%=" | "**="))
                {
                    let old = self.value(&parts.1.lhs);
                    self.trouble(&old.with(&value));
                }
            }
            Stmt::If(flow, _) => return self.either(flow),
            Stmt::While(flow, _) | Stmt::Do(flow, ..) => {
                return self.repeated(|tracer, own| {
                    let condition = tracer.value(&flow.expr);
                    tracer.end_loop(own, &condition);
                    tracer.here.join(&condition);
                    tracer.statements(flow.body.statements());
                });
            }
            Stmt::For(parts, _) => {
                let names = std::iter::once(&parts.0).chain(&parts.1).map(|name| name.name.as_str());
                return self.each(names, &parts.2);
            }
            Stmt::FnCall(call, position) => return self.call(call, *position, None),
            Stmt::Block(block) => return self.statements(block.statements()),
            Stmt::Expr(expression) => return self.value(expression),
            Stmt::BreakLoop(value, ..) => {
                let value = value.as_ref().map_or(Influence::default(), |value| self.value(value));
                if let Some(innermost) = self.around.last().copied() {
                    self.end_loop(innermost, &value);
                }
            }
            Stmt::Return(value, ..) => {
                let value = value.as_ref().map_or(Influence::default(), |value| self.value(value));
                self.end_body(value);
            }
            Stmt::Noop(_) | Stmt::Import(..) | Stmt::Export(..) | Stmt::Share(_) => {}
            // The language has no others; one that it got would be followed by nobody.
            _ => {
                self.here = Influence::all();
                self.exits = Influence::all();
            }
        }
        Influence::default()
    }

    fn either(&mut self, flow: &FlowControl) -> Influence {
        let condition = self.value(&flow.expr);
        let before = self.here.clone();
        self.here.join(&condition);
        let either = self.statements(flow.body.statements());
        let or = self.statements(flow.branch.statements());
        self.here = before;
        condition.with(&either).with(&or)
    }

    fn each<'n>(&mut self, names: impl Iterator<Item = &'n str>, flow: &FlowControl) -> Influence {
        let items = self.value(&flow.expr);
        self.repeated(|tracer, own| {
            tracer.end_loop(own, &items);
            tracer.here.join(&items);
            tracer.open_scope();
            for name in names {
                let variable = tracer.declare(name);
                tracer.write(variable, &items);
            }
            tracer.statements(flow.body.statements());
            tracer.close_scope();
        })
    }

    /// Goes through a loop; what ends it decides also what is walked in it.
    fn repeated(&mut self, walk: impl FnOnce(&mut Self, usize)) -> Influence {
        let own = self.n_loops;
        self.n_loops += 1;
        if self.loops.len() == own {
            self.loops.push(Influence::default());
            self.changes.push(false);
        }
        let home = self.home;
        self.bodies[home].has_changed |= self.changes[own];
        let before = self.here.clone();
        self.around.push(own);
        self.here.join(&self.loops[own]);
        walk(self, own);
        self.around.pop();
        self.here = before;
        self.loops[own].clone()
    }

    fn end_body(&mut self, value: Influence) {
        self.has_grown |= self.bodies[self.body].returns.join(&value.with(&self.here));
        self.exits.join(&self.here);
        for around in self.around.clone() {
            self.end_loop(around, &Influence::default());
        }
    }

    fn end_loop(&mut self, which: usize, by: &Influence) {
        let by = by.clone().with(&self.here);
        self.has_grown |= self.loops[which].join(&by);
    }
}
