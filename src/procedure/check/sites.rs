use rhai::{AST, ASTNode, Position};

use super::super::Stands;
use super::super::language::word_named;
use super::call;

/// Returns every statement of a file that asks or tells the technician something, with its word.
pub(crate) fn sites(ast: &AST) -> Vec<(&'static str, Position)> {
    let mut found = Vec::new();
    ast.walk(&mut |path: &[ASTNode<'_>]| {
        if let Some((call, position)) = call(path)
            && call.namespace.is_empty()
            && let Some(word) = word_named(&call.name)
            && (matches!(word.stands, Stands::Anywhere | Stands::InTest) || word.name == "test")
            && !found.contains(&(word.name, position))
        {
            found.push((word.name, position));
        }
        true
    });
    found
}
