//! Syntax: a script's text taken apart, parsed past its slips, and its errors explained.

mod explain;
mod mended;
mod parse;
mod slips;
mod tokens;

use super::{Fault, Sort, SourceFile, Stands, VOCABULARY, Word, nearest};
pub(crate) use mended::Mended;
pub(crate) use parse::{Parsed, parse};
pub(crate) use tokens::{Kind, Token, position, tokens};
