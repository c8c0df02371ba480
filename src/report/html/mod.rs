//! A story as one page of HTML that needs nothing else: no network, no script, prints in grey on A4 and Letter.

mod markup;
mod page;
mod scale;
mod table;

pub use page::page;
