//! The page: a session shown in a browser, which answers like the terminal.

mod asked;
mod board;
mod events;
mod pairing;
mod server;
mod serving;
mod sight;
mod site;
mod upload;

pub(crate) use board::{Board, LONGEST_LINE, NotTaken, OfTerminal, PageLine};
#[cfg(test)]
pub(crate) use pairing::CodeTried;
pub(crate) use pairing::PagePairing;
pub(crate) use server::Server;
pub(crate) use sight::{
    Ask, AskKind, CircuitSight, DialSight, Heading, LastSight, Offered, PictureSight, ProgressSight,
    SaidKind, SaidSight, Sight, State, ValveSight, ValvesSight, Zone,
};
