//! The page: a session shown in a browser, which answers like the terminal.

mod asked;
mod board;
mod events;
mod pairing;
mod server;
mod serving;
mod sight;
mod site;

pub(crate) use board::{Board, LONGEST_LINE, Line, NotTaken, OfTerminal, Picture};
pub(crate) use pairing::Pairing;
#[cfg(test)]
pub(crate) use pairing::Tried;
pub(crate) use server::Server;
pub(crate) use sight::{
    Ask, AskKind, CircuitSight, DialSight, Heading, Offered, PictureSight, Progress, Said, SaidKind, Sight,
    State, ValveSight, ValvesSight, Zone,
};
