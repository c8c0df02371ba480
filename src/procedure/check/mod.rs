//! Checks of a procedure that need no run: everything in it is held against what the language knows.

mod calls;
mod every_file;
mod expressions;
mod imports;
mod names;
mod order;
mod pictures;

use calls::Callable;
use every_file::FileCheck;
pub(super) use every_file::{call, check, visit};
use imports::Imports;
pub(super) use imports::{Import, imports_in};
use names::Names;
