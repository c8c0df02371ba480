//! The form: everything that a procedure may ask, in its order, with when it is asked; and its print as a worksheet.

mod blanks;
mod condition;
mod filled;
mod gather;
mod item;
mod keyed;
mod print;
mod when;

pub use filled::{FormError, KeyedIn, answers_of};
pub(super) use gather::Gatherer;
pub(super) use item::Item;
pub use print::worksheet;
