//! The curve of a rig: readings against holes, as a table, as rows for spreadsheets and as a picture for the wall.

mod axes;
mod csv;
mod sheet;
mod svg;
mod table;

pub use csv::curve_csv;
pub use sheet::CurveSheet;
pub use svg::curve_svg;
pub use table::curve_table;
