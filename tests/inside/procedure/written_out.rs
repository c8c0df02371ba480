//! Circuits that are written out are made once, when a procedure is compiled.

use rhai::{AST, ASTNode, Expr};

use crate::tests::support::compiled;

/// A script with two circuits of these names, as they stand in it.
fn script(before: &str, one: &str, other: &str) -> String {
    format!(
        "procedure(#{{ title: \"Merle M1\", unit: \"Merle M1\", version: \"1.0.0\" }});\n{before}
         let first = circuit(#{{ name: {one}, port: \"3A\", holds: 20.inHg, leaks: 15.inHg, symptoms: [\"late\"],
             land: #{{ diameter: 12.7.mm, length: 7.6.mm }}, repairs: [#{{ does: \"ream\", parts: 48, hours: 0.6 }}] }});
         test(first);
         test(circuit(#{{ name: {other}, between: [8.inHg, 12.inHg] }}));\n"
    )
}

fn n_descriptions(script: &AST) -> usize {
    let mut n = 0;
    script.walk(&mut |path: &[ASTNode<'_>]| {
        n += usize::from(matches!(path.last(), Some(ASTNode::Expr(Expr::Map(..)))));
        true
    });
    n
}

#[test]
fn a_circuit_that_is_written_out_is_what_a_walk_makes_of_its_description() {
    let written = compiled(&script("", "\"a\"", "\"b\""));
    let worked_out = compiled(&script("let one = \"a\"; let other = \"b\";", "one", "other"));
    assert_eq!(written.outline().unwrap().circuits, worked_out.outline().unwrap().circuits);
    // What is left is the title.
    assert_eq!((n_descriptions(&written.as_run), n_descriptions(&worked_out.as_run)), (1, 5));
}
