use rhai::{ASTNode, Expr, FnCallExpr, FnPtr, Position, Stmt};

/// Words and functions that call a closure and are done with it.
const CALL_CLOSURES: &[&str] =
    &["test", "map", "filter", "find", "some", "all", "reduce", "for_each", "index_of", "retain"];

/// Returns the place of a closure that is not an argument of something that calls it and is done with it.
pub(super) fn kept_closure(path: &[ASTNode<'_>]) -> Option<Position> {
    let position = match path.last()? {
        ASTNode::Expr(Expr::DynamicConstant(value, position))
            if value.read_lock::<FnPtr>().is_some_and(|closure| closure.is_anonymous()) =>
        {
            *position
        }
        _ => return None,
    };
    let mut around = path[..path.len() - 1].iter().rev().peekable();
    // A closure that uses variables from around it is wrapped: a block that shares them, then a call that binds them.
    while around.next_if(|node| is_wrapping(node)).is_some() {}
    match around.next().and_then(called) {
        Some(call) if CALL_CLOSURES.contains(&call.name.as_str()) => None,
        _ => Some(position),
    }
}

/// Returns whether a call is an operator or one that the parser made to bind a closure's variables.
pub(super) fn is_internal(call: &FnCallExpr, path: &[ASTNode<'_>]) -> bool {
    call.op_token.is_some()
        || call.name == "curry" && path.iter().rev().take(3).any(|node| is_sharing_block(node))
}

fn is_wrapping(node: &ASTNode<'_>) -> bool {
    match node {
        ASTNode::Expr(Expr::FnCall(call, _)) | ASTNode::Stmt(Stmt::FnCall(call, _)) => call.name == "curry",
        ASTNode::Stmt(Stmt::Expr(_)) => true,
        node => is_sharing_block(node),
    }
}

fn is_sharing_block(node: &ASTNode<'_>) -> bool {
    matches!(node, ASTNode::Expr(Expr::Stmt(block)) if matches!(block.iter().next(), Some(Stmt::Share(_))))
}

fn called<'a>(node: &ASTNode<'a>) -> Option<&'a FnCallExpr> {
    match node {
        ASTNode::Expr(Expr::FnCall(call, _) | Expr::MethodCall(call, _))
        | ASTNode::Stmt(Stmt::FnCall(call, _)) => Some(call),
        _ => None,
    }
}
