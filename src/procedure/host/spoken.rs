use rhai::{ASTNode, Expr};

use super::super::check::call;
use super::Program;

impl Program {
    /// Returns the texts that are written out in calls of a word, wherever they stand: also in branches that a walk does
    /// not come by. A text that is put together of others counts where all of them are written out.
    pub fn texts_of(&self, word: &str) -> Vec<String> {
        let mut found = Vec::new();
        for ast in &self.compiled {
            ast.walk(&mut |path: &[ASTNode<'_>]| {
                if let Some((call, _)) = call(path)
                    && call.name == word
                    && let Some(text) = call.args.iter().find_map(written_out)
                    && !found.contains(&text)
                {
                    found.push(text);
                }
                true
            });
        }
        found
    }
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
