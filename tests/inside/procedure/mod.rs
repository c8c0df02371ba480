//! Procedures: the language, its checks, and what a hostile one can do.

mod cases;
mod guide_for_authors;
mod hidden_characters;
#[cfg(unix)]
mod hostile;
mod imports;
mod kinds_of_circuits;
mod page_of_words;
mod pictures;
mod sandbox;
mod slips;
mod to_be_found;
mod tokens;
mod written_out;
