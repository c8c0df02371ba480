//! Packs, from one shop to another.

mod difference;
mod fuzz;
mod hostile_packs;
mod packs;
#[cfg(unix)]
mod pty;
#[cfg(unix)]
mod two_shops;
mod vectors;
mod withdrawn;
