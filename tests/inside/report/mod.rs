//! Reports as text and as pages.

mod pages;
