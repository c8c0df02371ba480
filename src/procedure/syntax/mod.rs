//! Syntax: a script's text taken apart, parsed past its slips, and its errors explained.

mod edits;
mod guesses;
mod lexicon;
mod mended;
mod names;
mod parse;
mod parse_errors;
mod patterns;
mod pieces;
mod search;
mod strain;
mod tokens;

use super::host::{MOST_FAULTS, parser};
use super::language::{PROPERTIES, is_general, property_names, word_named};
use super::{Fault, Sort, SourceFile, Stands, VOCABULARY, nearest};
pub(crate) use mended::Mended;
pub(crate) use parse::{Parsed, parse};
pub(crate) use tokens::{Kind, Token, position, tokens};
