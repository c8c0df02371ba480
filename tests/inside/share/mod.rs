//! Packs, from one shop to another.

mod difference;
mod fuzz;
mod hostile_packs;
mod packs;
mod pictures;
#[cfg(unix)]
mod pty;
#[cfg(unix)]
mod two_shops;
mod vectors;
mod withdrawn;
