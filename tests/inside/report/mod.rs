//! Reports as text and as pages.

mod pages;
mod port_maps;
