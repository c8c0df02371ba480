//! A story as one page of HTML that needs nothing else: no network, no script, prints in grey on A4 and Letter.

mod markup;
mod page;
mod picture;
mod scale;
mod sheet;
mod table;

pub use page::page;
pub use sheet::sheet;
