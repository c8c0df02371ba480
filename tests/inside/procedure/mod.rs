//! Procedures: the language, its checks, and what a hostile one can do.

mod any_answer;
mod cases;
mod fuzz;
mod guide_for_authors;
mod hidden_characters;
#[cfg(unix)]
mod hostile;
mod imports;
mod page_of_words;
mod plans;
mod sandbox;
mod slips;
mod to_be_found;
mod tokens;
mod wandering;
