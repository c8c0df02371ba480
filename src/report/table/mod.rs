//! Tables with a picture: for the terminal and as a page.

mod chart;
mod histogram;
mod plain;
mod shares;
#[expect(clippy::module_inception, reason = "one noun a file: the table itself")]
mod table;

pub use chart::Chart;
pub use histogram::Histogram;
pub(super) use histogram::{N_BARS, edges};
pub use plain::show_table;
pub use shares::Shares;
pub use table::{Picture, Table};
