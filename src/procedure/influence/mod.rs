//! Which answers may decide whether a statement is reached: worked out from the text, without a walk.
//!
//! What can't be followed counts as hanging on everything, so that what is left out can't matter: a statement whose
//! strands have been exhausted and that no walk came by is one that no answer leads to.

mod calls;
mod expressions;
mod statements;
mod strands;
mod tracer;

pub(crate) use statements::{Influences, Statement};
pub(crate) use strands::{Aspect, Influence, Strand};
use tracer::Tracer;
