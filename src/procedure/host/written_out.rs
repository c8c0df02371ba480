//! Most circuits are written out and hang on no answer, and a procedure is walked many times: so these are made once.

use rhai::{AST, Dynamic, Engine, Expr, FnCallExpr, Map, Stmt};

use super::super::language::{CircuitWord, WrittenOut};

/// Returns a script in which each circuit that is written out at its outermost level stands in the place of its
/// description. One that is faulty is left, so that a walk finds its fault.
pub(super) fn with_circuits_made(engine: &Engine, script: &AST) -> AST {
    let made = |expression: &Expr| with_circuits(engine, expression);
    let statements = script.statements().iter().map(|statement| match statement {
        Stmt::Var(parts, flags, place) => {
            let (name, value, index) = &**parts;
            Stmt::Var(Box::new((name.clone(), made(value), *index)), *flags, *place)
        }
        Stmt::Expr(expression) => Stmt::Expr(Box::new(made(expression))),
        Stmt::FnCall(call, place) => Stmt::FnCall(Box::new(call_with_circuits(engine, call)), *place),
        other => other.clone(),
    });
    let statements: Vec<Stmt> = statements.collect();
    match script.source() {
        Some(source) => AST::new_with_source(statements, script.shared_lib().clone(), source),
        None => AST::new(statements, script.shared_lib().clone()),
    }
}

fn with_circuits(engine: &Engine, expression: &Expr) -> Expr {
    match expression {
        Expr::FnCall(call, place) => Expr::FnCall(Box::new(call_with_circuits(engine, call)), *place),
        other => other.clone(),
    }
}

fn call_with_circuits(engine: &Engine, call: &FnCallExpr) -> FnCallExpr {
    let mut call = call.clone();
    let is_circuit = call.namespace.is_empty() && call.name == "circuit";
    for argument in &mut call.args {
        match is_circuit.then(|| circuit(engine, argument)).flatten() {
            Some(circuit) => {
                let value = Dynamic::from(WrittenOut(circuit));
                *argument = Expr::DynamicConstant(Box::new(value), argument.start_position());
            }
            None => *argument = with_circuits(engine, argument),
        }
    }
    call
}

/// Returns the circuit of a description that is written out.
fn circuit(engine: &Engine, description: &Expr) -> Option<CircuitWord> {
    if !matches!(description, Expr::Map(..)) || !is_written_out(description) {
        return None;
    }
    let alone = AST::new([Stmt::Expr(Box::new(description.clone()))], rhai::Module::new());
    CircuitWord::of(&engine.eval_ast::<Map>(&alone).ok()?).ok()
}

/// Returns whether a value is the same whenever it is asked for: it holds texts, numbers and their units only.
fn is_written_out(value: &Expr) -> bool {
    let is_number = |value: &Expr| matches!(value, Expr::IntegerConstant(..) | Expr::FloatConstant(..));
    match value {
        Expr::StringConstant(..) => true,
        Expr::Map(entries, _) => entries.0.iter().all(|(_, value)| is_written_out(value)),
        Expr::Array(items, _) => items.iter().all(is_written_out),
        Expr::Dot(parts, ..) => is_number(&parts.lhs) && matches!(parts.rhs, Expr::Property(..)),
        other => is_number(other),
    }
}
