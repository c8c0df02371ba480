//! The page: a session shown in a browser, which answers like the terminal.

mod board;
mod sight;

pub(crate) use board::{Board, Change, LONGEST_LINE, Line, NotTaken, Picture};
pub(crate) use sight::{
    Ask, AskKind, CircuitSight, DialSight, Heading, Offered, PictureSight, PortSight, Progress, Said,
    SaidKind, Sight, State, ValveSight, ValvesSight, Zone,
};
